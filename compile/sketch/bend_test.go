package sketch

import (
	"math"
	"testing"

	"perch/compile/geom"
	"perch/compile/solve"
)

// TestBend: area and length of outlines with rounded and bevelled corners at
// arcs, as measures, beside those of the border that is drawn.
func TestBend(t *testing.T) {
	arc := func(to, centre *Point, clockwise bool) Step {
		return Step{To: to, Centre: centre, Clockwise: clockwise}
	}
	for _, c := range []struct {
		name string
		draw func(s *Sketch) (o *Outline, at []*Point)
	}{
		{"half disc", func(s *Sketch) (*Outline, []*Point) {
			a, b := s.pin(-10, 0), s.pin(10, 0)
			return walked(t, s, a, Step{To: b}, arc(a, s.pin(0, 0), false)), []*Point{a, b}
		}},
		{"half disc, clockwise", func(s *Sketch) (*Outline, []*Point) {
			a, b := s.pin(-10, 3), s.pin(10, 3)
			return walked(t, s, b, Step{To: a}, arc(b, s.pin(0, 3), true)), []*Point{a}
		}},
		{"lens of two arcs", func(s *Sketch) (*Outline, []*Point) {
			a, b := s.pin(-6, 1), s.pin(6, 1)
			return walked(t, s, a, arc(b, s.pin(0, 9), false), arc(a, s.pin(0, -4), false)), []*Point{a, b}
		}},
		{"moon", func(s *Sketch) (*Outline, []*Point) {
			a, b := s.pin(6, 1), s.pin(-6, 1)
			return walked(t, s, a, arc(b, s.pin(0, 1), false), arc(a, s.pin(0, -7), true)), []*Point{a, b}
		}},
		{"block with a cove", func(s *Sketch) (*Outline, []*Point) {
			foot, o := s.pin(math.Sqrt(800), 0), s.pin(0, 10)
			top := s.pin(math.Sqrt(500), 30)
			return walked(t, s, foot, Step{To: s.pin(60, 0)}, Step{To: s.pin(60, 30)}, Step{To: top}, arc(foot, o, true)), []*Point{foot, top}
		}},
		{"bite in a side", func(s *Sketch) (*Outline, []*Point) {
			p, q := s.pin(12, 0), s.pin(8, 0)
			return walked(t, s, s.pin(0, 0), Step{To: q}, arc(p, s.pin(10, 0), true), Step{To: s.pin(20, 0)}, Step{To: s.pin(10, 15)}), []*Point{p, q}
		}},
	} {
		for _, bevel := range []bool{false, true} {
			s := New("s", nowhere)
			o, at := c.draw(s)
			for i, p := range at {
				if err := s.RoundCorner(p, mm(0.5+0.25*float64(i)), bevel, nowhere); err != nil {
					t.Fatal(err)
				}
			}
			v := settle(t, s)
			b := border(t, v, o)
			area, length := v.Value(s.Area(o)), v.Value(s.Perimeter(o))
			if !(math.Abs(area-b.Surface()) < 1e-9) || !(math.Abs(length-b.Perimeter()) < 1e-9) {
				t.Errorf("%s, bevelled %v: area %.12g, length %.12g, drawn %.12g and %.12g", c.name, bevel, area, length, b.Surface(), b.Perimeter())
			}
		}
	}
}

// TestBendSets: a half disc of radius R whose corners are rounded by r consists
// of a sector of the disc, two sectors of the roundings about (±x, r) with
// x² = (R-r)² - r², and two right triangles; an equation of its area sets R.
func TestBendSets(t *testing.T) {
	const R, r = 10.0, 1.5
	x := math.Sqrt((R-r)*(R-r) - r*r)
	α := math.Atan2(r, x)
	area := R*R/2*(math.Pi-2*α) + x*r + r*r*(math.Pi/2+α)
	length := R*(math.Pi-2*α) + 2*x + 2*r*(math.Pi/2+α)
	s := New("s", nowhere)
	o := s.pin(0, 0)
	a, b := s.FreePoint("a", geom.Vec2{X: -9}, nowhere), s.FreePoint("b", geom.Vec2{X: 9}, nowhere)
	half := walked(t, s, a, Step{To: b}, Step{To: a, Centre: o})
	for _, p := range []*Point{a, b} {
		if err := s.RoundCorner(p, mm(r), false, nowhere); err != nil {
			t.Fatal(err)
		}
		s.Equation(p.Y, solve.Const(0), LengthOf, nowhere)
	}
	s.Equation(s.Area(half), solve.Const(area), AnyOther, nowhere)
	v := settle(t, s)
	if at := v.Place(b); at.Sub(geom.Vec2{X: R}).Len() > 1e-9 {
		t.Errorf("the corner lies at %v, want (%v, 0)", at, R)
	}
	if got := v.Value(s.Perimeter(half)); math.Abs(got-length) > 1e-9 {
		t.Errorf("length %.12g, want %.12g", got, length)
	}
}
