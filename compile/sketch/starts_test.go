package sketch

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
)

// pinned names the cases of the corpus that have one solution near their
// start: all but those that test the nearest of many.
func pinned(t testing.TB) []corpusCase {
	var out []corpusCase
	for _, c := range readCorpus(t) {
		if c.name[0] == 'C' {
			out = append(out, c)
		}
	}
	return out
}

// shake moves the start of everything that is free by up to share of the
// extent of the drawing.
func (d *drawing) shake(r *rand.Rand, share float64) {
	lo, hi := geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, p := range d.s.points {
		q := d.s.StartOf(p)
		lo, hi = geom.Vec2{X: min(lo.X, q.X), Y: min(lo.Y, q.Y)}, geom.Vec2{X: max(hi.X, q.X), Y: max(hi.Y, q.Y)}
	}
	size := hi.Sub(lo).Len()
	move := func() float64 { return share * size * (2*r.Float64() - 1) }
	for _, p := range d.s.points {
		d.s.Near(p, d.s.StartOf(p).Add(geom.Vec2{X: move(), Y: move()}))
	}
	for _, c := range d.s.circles {
		if c.vr >= 0 {
			d.s.sys.SetStart(c.R, math.Abs(d.s.start(c.R)+move()))
		}
	}
}

// TestShakenStarts: starts that are off by 1, 10 and 50 % of the size still
// lead to a solution. Choices that the written start makes, such as the side
// of a tangent, are made before the shaking, so a few cannot.
func TestShakenStarts(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	for _, k := range []struct{ share, least float64 }{{0.01, 1}, {0.1, 1}, {0.5, 0.98}} {
		tried, solved := 0, 0
		for _, c := range pinned(t) {
			for range 10 {
				d := drawCase(t, c.draw, c.hold)
				d.shake(r, k.share)
				res, err := d.s.sys.Solve(context.Background())
				if err != nil {
					t.Fatal(err)
				}
				tried++
				if res.Solved {
					solved++
				}
			}
		}
		rate := float64(solved) / float64(tried)
		t.Logf("starts off by %g %%: %d of %d solved", 100*k.share, solved, tried)
		if rate < k.least {
			t.Errorf("starts off by %g %%: %.3f solved, want %.3f", 100*k.share, rate, k.least)
		}
	}
}

// TestMovedStarts: a drawing without fixed points that starts elsewhere and
// turned comes out elsewhere and turned, with the same shape.
func TestMovedStarts(t *testing.T) {
	loose := []struct{ draw, hold string }{
		{"a(0, 0), b(9, 1), c(3, 7)", "distance a b = 10; distance b c = 8; distance c a = 6"},
		{"a(0, 0), b(52, 6), c(20, 41)", "length ab = length bc; length bc = length ca"},
		{"a(0, 1), b(10, 7), c(21, 9), d(33, 18)", "c on line ab; d on line ab"},
		{"a(0, 0), b(24, 1), c(7, 28); circle k1 at a r~10, circle k2 at b r~14, circle k3 at c r~19", "k1, k2 tangent outside; k2, k3 tangent outside; k3, k1 tangent outside; distance a b = 25"},
		{"a(0, 0), b(10, 0), c(12, 9), d(5, 14)", "ab perpendicular to bc; distance a b = 10; bc perpendicular to cd"},
	}
	r := rand.New(rand.NewPCG(33, 34))
	for _, c := range loose {
		still := drawCase(t, c.draw, c.hold)
		v := settle(t, still.s)
		for range 10 {
			d := drawCase(t, c.draw, c.hold)
			sin, cos := math.Sincos(7 * r.Float64())
			shift := geom.Vec2{X: 200 * r.Float64(), Y: -100 * r.Float64()}
			move := func(p geom.Vec2) geom.Vec2 {
				return geom.Vec2{X: cos*p.X - sin*p.Y, Y: sin*p.X + cos*p.Y}.Add(shift)
			}
			for _, p := range d.s.points {
				d.s.Near(p, move(d.s.StartOf(p)))
			}
			w := settle(t, d.s)
			for name, p := range d.points {
				if want := move(v.Place(still.points[name])); w.Place(p).Sub(want).Len() > 1e-8 {
					t.Fatalf("%s: %s at %v, want %v", c.hold, name, w.Place(p), want)
				}
			}
		}
	}
}
