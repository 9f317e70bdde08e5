package solid

import (
	"errors"
	"math"
	"testing"

	"perch/compile/geom"
)

func moved2(r []geom.Vec2, x, y float64) []geom.Vec2 {
	var out []geom.Vec2
	for _, v := range r {
		out = append(out, geom.Vec2{X: v.X + x, Y: v.Y + y})
	}
	return out
}

func turnedBack(r []geom.Vec2) []geom.Vec2 {
	r = append([]geom.Vec2(nil), r...)
	reverse(r)
	return r
}

// Lofts by the prismatoid formula h/6 (A + 4 M + B) with the middle section
// M. Between a square of half side a and a circle of radius r that are
// matched by length, M = (4a² + π r²)/4 + 4√2 a r/π: the mixed area is the
// integral of (a, 4aθ/π) × (-r sin θ, r cos θ) over a side.
func TestLoftClosedForms(t *testing.T) {
	circle := func(r float64) []geom.Vec2 { return Circle(geom.Vec2{}, r, 80) }
	n160 := regular(80)
	square := func(a float64) []geom.Vec2 { return rect(-a, -a, a, a) }
	frustum := func(a, b, h float64) float64 { return h / 3 * (a*a + a*b + b*b) }
	for _, c := range []struct {
		name   string
		a, b   Profile
		h      float64
		volume float64
		within float64
	}{
		{"square on square", Profile{square(10)}, Profile{square(4)}, 9, 4 * frustum(10, 4, 9), 1e-7},
		{"the same, leaning (Cavalieri)", Profile{square(10)}, Profile{moved2(square(4), 13, -2)}, 9, 4 * frustum(10, 4, 9), 1e-7},
		{"leaning cone", Profile{circle(10)}, Profile{moved2(circle(6), 5, 0)}, 15, n160 * frustum(10, 6, 15), 1e-6},
		{"adapter between tubes", Profile{circle(12), turnedBack(circle(10))}, Profile{circle(8), turnedBack(circle(7))}, 20,
			n160 * (frustum(12, 8, 20) - frustum(10, 7, 20)), 1e-6},
		{"square to circle", Profile{square(10)}, Profile{circle(9)}, 12,
			2 * (400 + 4*((400+math.Pi*81)/4+4*math.Sqrt2*90/math.Pi) + math.Pi*81), 1e-3},
	} {
		t.Run(c.name, func(t *testing.T) {
			near(t, "volume", alone(t, c.name, LoftAreas(fixed(c.a), fixed(c.b), 2, 2+c.h), 0.01), c.volume, c.within)
		})
	}
	for _, c := range []struct {
		name string
		a, b Profile
		want error
	}{
		{"a hole too many", Profile{square(10), turnedBack(circle(3))}, Profile{square(10)}, ErrUnlike},
		{"a hole that leaves", Profile{square(10), turnedBack(moved2(circle(3), -6, 0))}, Profile{square(10), turnedBack(moved2(circle(3), 16, 0))}, ErrFolds},
	} {
		if err := CheckLeaf(LoftAreas(fixed(c.a), fixed(c.b), 0, 10), 0.01); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
