package solid

import (
	"errors"
	"math"
	"math/rand/v2"
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

// Sweeps by Pappus: an area times the way of its centroid, which a bend of
// radius R shortens by its angle for every mm to the inside.
func TestSweepClosedForms(t *testing.T) {
	pipe := Profile{Circle(geom.Vec2{}, 4, 24), turnedBack(Circle(geom.Vec2{}, 3, 24))}
	bar := Profile{rect(-3, -2, 3, 2)}
	off := Profile{rect(1, -2, 5, 2)} // centroid 3 mm to the left of the path
	tube := regular(24) * 7
	for _, c := range []struct {
		name   string
		p      Profile
		path   Path
		volume float64
	}{
		{"straight", pipe, Path{[]geom.Vec3{{}, {X: 30}}, 10}, tube * 30},
		{"one bend", pipe, Path{[]geom.Vec3{{}, {X: 30}, {X: 30, Y: 40}}, 10}, tube * (20 + 30 + 5*math.Pi)},
		{"only a bend", bar, Path{[]geom.Vec3{{}, {X: 10}, {X: 10, Y: 10}}, 10}, 24 * 5 * math.Pi},
		{"three dimensions", bar, Path{[]geom.Vec3{{}, {X: 30}, {X: 30, Y: 40}, {X: 30, Y: 40, Z: 25}}, 8}, 24 * (22 + 24 + 17 + 8*math.Pi)},
		{"hairpin", bar, Path{[]geom.Vec3{{}, {X: 40}, {X: 40, Y: 16}, {X: 0, Y: 16}}, 8}, 24 * (64 + 8*math.Pi)},
		{"to the inside", off, Path{[]geom.Vec3{{}, {X: 30}, {X: 30, Y: 40}}, 10}, 16 * (20 + 30 + 7*math.Pi/2)},
		{"to the outside", off, Path{[]geom.Vec3{{}, {X: 30}, {X: 30, Y: -40}}, 10}, 16 * (20 + 30 + 13*math.Pi/2)},
		{"slanting", pipe, Path{[]geom.Vec3{{X: 1}, {X: 30, Y: 7, Z: 9}, {X: 44, Y: 50, Z: -3}}, 12}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := c.volume
			if want == 0 {
				l, err := c.path.Length()
				if err != nil {
					t.Fatal(err)
				}
				want = tube * l
			}
			near(t, "volume", alone(t, c.name, SweepArea(fixed(c.p), c.path), 0.01), want, 2e-3)
		})
	}
	for _, c := range []struct {
		name string
		path Path
		want error
	}{
		{"bend tighter than the bar", Path{[]geom.Vec3{{}, {X: 30}, {X: 30, Y: 40}}, 2.9}, ErrBendTight},
		{"short leg", Path{[]geom.Vec3{{}, {X: 30}, {X: 30, Y: 10}, {X: 60, Y: 10}}, 8}, ErrLegShort},
		{"straight back", Path{[]geom.Vec3{{}, {X: 30}, {X: 10}}, 8}, ErrTurnsBack},
		{"crosses itself", Path{[]geom.Vec3{{}, {X: 60}, {X: 60, Y: 40}, {X: 30, Y: 40}, {X: 30, Y: -40}}, 8}, ErrFolds},
	} {
		if err := CheckLeaf(SweepArea(fixed(bar), c.path), 0.01); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

// Random paths: every body that is not refused is closed, does not cross
// itself, and has the volume of Pappus.
func TestSweepRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(*treeSeed, 22))
	built := 0
	for n := range 40 {
		p := Path{Radius: 6 + 6*r.Float64()}
		at := geom.Vec3{}
		for range 2 + r.IntN(4) {
			p.Corners = append(p.Corners, at)
			at = at.Add(geom.Vec3{X: 60*r.Float64() - 20, Y: 60*r.Float64() - 30, Z: 60*r.Float64() - 30})
		}
		area := Profile{Circle(geom.Vec2{}, 1+4*r.Float64(), 3+r.IntN(12))}
		b := SweepArea(fixed(area), p)
		if CheckLeaf(b, 0.02) != nil {
			continue
		}
		built++
		l, err := p.Length()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "volume", alone(t, "path", b, 0.02), l*ringArea(area[0]), 5e-3)
		if t.Failed() {
			t.Fatalf("seed %d path %d: %+v", *treeSeed, n, p)
		}
	}
	if built < 10 {
		t.Errorf("only %d of the bodies can be", built)
	}
}
