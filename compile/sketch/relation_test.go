package sketch

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
)

// board is a sketch with two of each entity at random places.
type board struct {
	s      *Sketch
	points []*Point
	l, m   *Line
	k, c   *Circle
	a, b   *Arc
	chain  [3]Entity // a line, an arc and an arc, each from the end of the one before
	v      *Solved
}

func newBoard(r *rand.Rand) *board {
	b := &board{s: New("board", nowhere)}
	p := func() *Point {
		q := b.s.FreePoint(fmt.Sprint("p", len(b.points)), geom.Vec2{X: 25 * r.Float64(), Y: 25 * r.Float64()}, nowhere)
		b.points = append(b.points, q)
		return q
	}
	b.l, b.m = b.s.NewLine("l", p(), p(), nowhere), b.s.NewLine("m", p(), p(), nowhere)
	b.k, b.c = b.s.CircleNear("k", p(), 6+2*r.Float64(), nowhere), b.s.CircleNear("c", p(), 12+5*r.Float64(), nowhere)
	b.a, b.b = b.s.NewArc("a", p(), p(), p(), nil, false, nowhere), b.s.NewArc("b", p(), p(), p(), nil, true, nowhere)
	d, e, f := p(), p(), p()
	b.chain = [3]Entity{b.s.NewLine("d", p(), d, nowhere), b.s.NewArc("e", d, e, p(), nil, false, nowhere), b.s.NewArc("f", e, f, p(), nil, false, nowhere)}
	return b
}

// Measures by plain vector geometry.

func (b *board) at(p *Point) geom.Vec2     { return b.v.Place(p) }
func (b *board) along(l *Line) geom.Vec2   { return b.at(l.B).Sub(b.at(l.A)) }
func (b *board) length(l *Line) float64    { return b.along(l).Len() }
func (b *board) apart(p, q *Point) float64 { return b.at(p).Sub(b.at(q)).Len() }
func (b *board) off(p *Point, l *Line) float64 {
	return b.along(l).Cross(b.at(p).Sub(b.at(l.A))) / b.length(l)
}
func (b *board) sine(l, m *Line) float64 {
	return b.along(l).Cross(b.along(m)) / b.length(l) / b.length(m)
}
func (b *board) cosine(l, m *Line) float64 {
	return b.along(l).Dot(b.along(m)) / b.length(l) / b.length(m)
}

// relationForms lists every form of every relation, with what it means.
var relationForms = []struct {
	word string
	say  func(b *board) Sentence
	off  func(b *board) []float64 // all zero when it holds
}{
	{"horizontal", func(b *board) Sentence { return of(b.l, b.m) }, func(b *board) []float64 {
		return []float64{b.along(b.l).Y, b.along(b.m).Y}
	}},
	{"vertical", func(b *board) Sentence { return of(b.l) }, func(b *board) []float64 { return []float64{b.along(b.l).X} }},
	{"parallel", func(b *board) Sentence { return of(b.l).to(b.m) }, func(b *board) []float64 { return []float64{b.sine(b.l, b.m)} }},
	{"perpendicular", func(b *board) Sentence { return of(b.l).to(b.m) }, func(b *board) []float64 { return []float64{b.cosine(b.l, b.m)} }},
	{"collinear", func(b *board) Sentence { return of(b.l).to(b.m) }, func(b *board) []float64 {
		return []float64{b.off(b.m.A, b.l), b.off(b.m.B, b.l)}
	}},
	{"collinear", func(b *board) Sentence { return of(b.points[0], b.points[1], b.points[2]) }, func(b *board) []float64 {
		return []float64{b.off(b.points[2], b.l)}
	}},
	{"tangent", func(b *board) Sentence { return of(b.k).to(b.l) }, func(b *board) []float64 {
		return []float64{math.Abs(b.off(b.k.Centre, b.l)) - b.v.Value(b.k.R)}
	}},
	{"tangent", func(b *board) Sentence { return of(b.l).to(b.a) }, func(b *board) []float64 {
		return []float64{math.Abs(b.off(b.a.Centre, b.l)) - b.v.Value(b.a.R)}
	}},
	{"tangent", func(b *board) Sentence { return of(b.k).to(b.c) }, func(b *board) []float64 {
		d, p, q := b.apart(b.k.Centre, b.c.Centre), b.v.Value(b.k.R), b.v.Value(b.c.R)
		return []float64{min(math.Abs(d-p-q), math.Abs(d-math.Abs(p-q)))}
	}},
	{"tangent", func(b *board) Sentence { return of(b.k).to(b.c).mode("inside") }, func(b *board) []float64 {
		return []float64{b.apart(b.k.Centre, b.c.Centre) - (b.v.Value(b.c.R) - b.v.Value(b.k.R))}
	}},
	{"tangent", func(b *board) Sentence { return of(b.k).to(b.a).mode("outside") }, func(b *board) []float64 {
		return []float64{b.apart(b.k.Centre, b.a.Centre) - (b.v.Value(b.a.R) + b.v.Value(b.k.R))}
	}},
	{"tangent", func(b *board) Sentence { return of(b.chain[0]).to(b.chain[1]) }, func(b *board) []float64 {
		l, a := b.chain[0].(*Line), b.chain[1].(*Arc)
		r := b.at(a.A).Sub(b.at(a.Centre))
		return []float64{b.along(l).Dot(r) / b.length(l), r.Len() - b.v.Value(a.R)}
	}},
	{"tangent", func(b *board) Sentence { return of(b.chain[1]).to(b.chain[2]) }, func(b *board) []float64 {
		a, c := b.chain[1].(*Arc), b.chain[2].(*Arc)
		p := b.at(a.B)
		u, w := p.Sub(b.at(a.Centre)), p.Sub(b.at(c.Centre))
		return []float64{u.Cross(w) / u.Len()}
	}},
	{"concentric", func(b *board) Sentence { return of(b.k).to(b.a) }, func(b *board) []float64 { return []float64{b.apart(b.k.Centre, b.a.Centre)} }},
	{"coincident", func(b *board) Sentence { return of(b.points[1]).to(b.points[2]) }, func(b *board) []float64 {
		return []float64{b.apart(b.points[1], b.points[2])}
	}},
	{"on", func(b *board) Sentence { return of(b.points[0]).to(b.m) }, func(b *board) []float64 { return []float64{b.off(b.points[0], b.m)} }},
	{"on", func(b *board) Sentence { return of(b.points[0], b.points[1]).to(b.k) }, func(b *board) []float64 {
		r := b.v.Value(b.k.R)
		return []float64{b.apart(b.points[0], b.k.Centre) - r, b.apart(b.points[1], b.k.Centre) - r}
	}},
	{"on", func(b *board) Sentence { return of(b.points[0]).to(b.a) }, func(b *board) []float64 {
		return []float64{b.apart(b.points[0], b.a.Centre) - b.v.Value(b.a.R)}
	}},
	{"midpoint", func(b *board) Sentence { return of(b.points[0]).to(b.m) }, func(b *board) []float64 {
		return []float64{b.at(b.m.A).Add(b.at(b.m.B)).Scale(0.5).Sub(b.at(b.points[0])).Len()}
	}},
	{"midpoint", func(b *board) Sentence { return of(b.points[0]).to(b.points[2], b.points[4]) }, func(b *board) []float64 {
		return []float64{b.at(b.points[2]).Add(b.at(b.points[4])).Scale(0.5).Sub(b.at(b.points[0])).Len()}
	}},
	{"equal", func(b *board) Sentence { return of(b.l).to(b.m) }, func(b *board) []float64 { return []float64{b.length(b.l) - b.length(b.m)} }},
	{"equal", func(b *board) Sentence { return of(b.k, b.a, b.c) }, func(b *board) []float64 {
		r := b.v.Value(b.k.R)
		return []float64{r - b.v.Value(b.a.R), r - b.v.Value(b.c.R)}
	}},
	{"mirrors", func(b *board) Sentence { return of(b.points[0]).to(b.points[2]).about("x", 3) }, func(b *board) []float64 {
		p, q := b.at(b.points[0]), b.at(b.points[2])
		return []float64{p.X + q.X - 6, p.Y - q.Y}
	}},
	{"mirrors", func(b *board) Sentence { return of(b.k).to(b.c).about("y", -2) }, func(b *board) []float64 {
		p, q := b.at(b.k.Centre), b.at(b.c.Centre)
		return []float64{p.X - q.X, p.Y + q.Y + 4, b.v.Value(b.k.R) - b.v.Value(b.c.R)}
	}},
	{"mirrors", func(b *board) Sentence {
		s := of(b.points[2]).to(b.points[4])
		s.AboutLine = b.l
		return s
	}, func(b *board) []float64 {
		p, q := b.at(b.points[2]), b.at(b.points[4])
		u := b.along(b.l).Scale(1 / b.length(b.l))
		return []float64{u.Dot(q.Sub(p)), u.Cross(p.Add(q).Scale(0.5).Sub(b.at(b.l.A)))}
	}},
}

func of(es ...Entity) Sentence { return Sentence{Subjects: es} }

func (s Sentence) to(es ...Entity) Sentence { s.Objects = es; return s }

func (s Sentence) mode(m string) Sentence { s.Mode = m; return s }

func (s Sentence) about(axis string, at float64) Sentence {
	s.Axis, s.About = axis, solve.Const(at)
	return s
}

// TestRelationsHold solves each form from random starts and measures the
// result with plain vectors.
func TestRelationsHold(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	met := map[string]bool{}
	for i, f := range relationForms {
		met[f.word] = true
		for range 20 {
			b := newBoard(r)
			if err := b.s.Relate(f.word, f.say(b)); err != nil {
				t.Fatal(f.word, err)
			}
			var err error
			var list diag.List
			if b.v, list, err = b.s.Solve(context.Background()); err != nil || b.v == nil {
				t.Errorf("%s, form %d: not solved; %v %v", f.word, i, err, list)
				continue
			}
			for _, off := range f.off(b) {
				if !(math.Abs(off) < 2e-9) {
					t.Errorf("%s, form %d: off by %g", f.word, i, off)
				}
			}
		}
	}
	for _, rel := range Relations() {
		if !met[rel.Word] {
			t.Errorf("%s is not tried", rel.Word)
		}
	}
}

// TestRelationDerivatives compares the derivatives of every form with central
// differences.
func TestRelationDerivatives(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	for i, f := range relationForms {
		for range 5 {
			b := newBoard(r)
			before := len(b.s.sys.Residuals(b.values(r)))
			if err := b.s.Relate(f.word, f.say(b)); err != nil {
				t.Fatal(f.word, err)
			}
			x := b.values(r)
			for e := before; e < len(b.s.sys.Residuals(x)); e++ {
				for v, got := range b.s.sys.Gradient(e, x) {
					const h = 1e-5
					up, down := append([]float64(nil), x...), append([]float64(nil), x...)
					up[v] += h
					down[v] -= h
					want := (b.s.sys.Residuals(up)[e] - b.s.sys.Residuals(down)[e]) / (2 * h)
					if math.Abs(got-want) > 1e-6*max(1, math.Abs(want)) {
						t.Errorf("%s, form %d, by variable %d: %g, differences give %g", f.word, i, v, got, want)
					}
				}
			}
		}
	}
}

// values are the starts, shaken.
func (b *board) values(r *rand.Rand) []float64 {
	x := make([]float64, b.s.sys.Vars())
	for _, p := range b.s.points {
		if p.vx >= 0 {
			x[p.vx], x[p.vy] = b.s.start(p.X)+r.Float64(), b.s.start(p.Y)+r.Float64()
		}
	}
	for _, c := range b.s.circles {
		x[c.vr] = b.s.start(c.R) + r.Float64()
	}
	return x
}
