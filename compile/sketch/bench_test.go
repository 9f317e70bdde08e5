package sketch

import (
	"context"
	"fmt"
	"math"
	"testing"

	"perch/compile/cputime"
	"perch/compile/geom"
)

// keyhole draws an open keyhole: two arcs about two centres joined by upright
// lines that run on into the smaller arc, and a bore; 15 equations.
func keyhole(t testing.TB) *Sketch {
	s := New("keyhole", nowhere)
	o := s.pin(0, 0)
	near := func(name string, x, y float64) *Point { return s.FreePoint(name, geom.Vec2{X: x, Y: y}, nowhere) }
	c := near("c", 0.4, 21.8)
	p1, p2, p3, p4 := near("p1", -2.6, 9.7), near("p2", 3.2, 9.3), near("p3", 3.3, 21.6), near("p4", -2.7, 22.3)
	axis := s.NewLine("axis", o, c, nowhere)
	right, left := s.NewLine("right", p2, p3, nowhere), s.NewLine("left", p4, p1, nowhere)
	s.NewArc("big", p1, p2, o, mm(10), false, nowhere)
	small := s.NewArc("small", p3, p4, c, mm(3), false, nowhere)
	s.CircleOf("bore", c, mm(1.5), nowhere)
	relate := func(word string, r Sentence) {
		if err := s.Relate(word, r); err != nil {
			t.Fatal(err)
		}
	}
	relate("vertical", Sentence{Subjects: []Entity{axis, right, left}})
	relate("tangent", Sentence{Subjects: []Entity{small}, Objects: []Entity{right, left}})
	d, err := s.Distance(o, c)
	if err != nil {
		t.Fatal(err)
	}
	s.Equation(d, mm(22), LengthOf, nowhere)
	return s
}

func TestKeyhole(t *testing.T) {
	v, list, err := keyhole(t).Solve(context.Background())
	if err != nil || len(list) != 0 {
		t.Fatal(err, list)
	}
	for name, want := range map[string]geom.Vec2{"p1": {X: -3, Y: math.Sqrt(91)}, "p3": {X: 3, Y: 22}, "c": {Y: 22}} {
		for _, e := range v.sketch.Entities() {
			if p, ok := e.(*Point); ok && p.name == name && v.Place(p).Sub(want).Len() > 1e-9 {
				t.Errorf("%s at %v, want %v", name, v.Place(p), want)
			}
		}
	}
}

func BenchmarkKeyhole(b *testing.B) {
	began := cputime.Used()
	for b.Loop() {
		if _, list, err := keyhole(b).Solve(context.Background()); err != nil || len(list) != 0 {
			b.Fatal(err, list)
		}
	}
	b.ReportMetric((cputime.Used()-began).Seconds()*1e6/float64(b.N), "cpu-us/op")
}

// combOf draws a profile of teeth, each of five segments and tied to the first.
func combOf(t testing.TB, teeth int) *Sketch {
	s := New("comb", nowhere)
	start := s.pin(0, 0)
	o := s.NewOutline("comb", start, nowhere)
	line := func(dir string, length float64, to *Point) *Line {
		l, err := o.Line(Step{Dir: dir, Length: mm(length), To: to, At: nowhere})
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	for range teeth {
		line("up", 12, nil)
		line("right", 4, nil)
		line("down", 12, nil)
		line("right", 3, nil)
	}
	line("down", 5, nil)
	line("left", 7*float64(teeth), nil)
	if err := o.Close(true, "", nowhere); err != nil {
		t.Fatal(err)
	}
	return s
}

func BenchmarkWalked(b *testing.B) {
	for _, teeth := range []int{10, 100} {
		b.Run(fmt.Sprint(teeth, " teeth"), func(b *testing.B) {
			for b.Loop() {
				s := combOf(b, teeth)
				v, list, err := s.Solve(context.Background())
				if err != nil || len(list) != 0 {
					b.Fatal(err, list)
				}
				if _, list := v.Boundary(s.outlines[0]); len(list) != 0 {
					b.Fatal(list)
				}
			}
		})
	}
}

// BenchmarkCombGrowth fits the exponent with which the processor time for a comb
// outline, drawn, solved and checked, grows with the number of its teeth.
func BenchmarkCombGrowth(b *testing.B) {
	g := cputime.Growth{Sizes: []int{25, 50, 100, 200, 400}, Run: func(teeth int) {
		s := combOf(b, teeth)
		v, list, err := s.Solve(context.Background())
		if err != nil || len(list) != 0 {
			b.Fatal(err, list)
		}
		if _, list := v.Boundary(s.outlines[0]); len(list) != 0 {
			b.Fatal(list)
		}
	}}
	for b.Loop() {
		g.Measure()
	}
	b.ReportMetric(g.Exponent(), "exponent")
	b.ReportMetric(1e3*g.Largest(), "largest-cpu-ms")
}
