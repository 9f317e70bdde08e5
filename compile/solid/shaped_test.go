package solid

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
	planar "perch/compile/region"
)

// shapedPoses are an upright pose, an odd one and a mirrored odd one.
var shapedPoses = []geom.Transform{
	geom.Identity(),
	turnZ(37).Then(turnAbout(geom.Vec3{X: 1, Y: 2, Z: 3}, 50)).Then(at(3, -7, 11)),
	geom.MirrorPlane(geom.Vec3{X: 1}, geom.Vec3{X: 1, Y: 1}).Then(turnAbout(geom.Vec3{X: 1}, 20)),
}

// alone builds one leaf in all poses, beside a box that keeps the frame of
// the build upright, and returns the mean volume.
func alone(t *testing.T, what string, b *Body, tol float64) float64 {
	t.Helper()
	far := Box(geom.Vec3{X: 400, Y: 400, Z: 400}, geom.Vec3{X: 401, Y: 401, Z: 401})
	v0 := 0.0
	for i, pose := range shapedPoses {
		m, _ := build(t, Join(far, far.Placed(at(0, 0, 2)), b.Placed(pose)), tol) // which looks for crossings
		v := m.Volume() - 2
		if i > 0 && math.Abs(v-v0) > 1e-5*v0 {
			t.Errorf("%s in pose %d: volume %.8f, upright %.8f", what, i, v, v0)
		}
		if i == 0 {
			v0 = v
		}
	}
	return v0
}

// Volumes of tapered extrusions by the prismatoid formula h/3 (A + B + √AB)
// of similar ends, and of broken rims by integration: a rim of size b draws
// in by x(h); with ∫x = b²/2, ∫x² = b³/3 for a bevel, and ∫x = b²(1 - π/4),
// ∫x² = b³(5/3 - π/2) for a quarter circle, a square of side s has
// ∫(s - 2x)², a disc of radius R ∫π(R - x)².
func TestShapedClosedForms(t *testing.T) {
	square := Profile{rect(-10, -10, 10, 10)}
	frame := Profile{rect(-10, -10, 10, 10), {{X: -5, Y: -5}, {X: -5, Y: 5}, {X: 5, Y: 5}, {X: 5, Y: -5}}}
	disc := Profile{Circle(geom.Vec2{}, 10, geom.Sides(10, 5e-4))}
	angle := Profile{{{}, {X: 20}, {X: 20, Y: 8}, {X: 8, Y: 8}, {X: 8, Y: 20}, {Y: 20}}}
	frustum := func(a, b, h float64) float64 { return h / 3 * (a + b + math.Sqrt(a*b)) }
	squareRim := func(s, b, ix, ixx float64) float64 { return s*s*b - 4*s*ix + 4*ixx }
	discRim := func(r, b, ix, ixx float64) float64 { return math.Pi * (r*r*b - 2*r*ix + ixx) }
	q1, q2 := 1-math.Pi/4, 5./3-math.Pi/2
	slope := math.Tan(5 * deg)
	for _, c := range []struct {
		name   string
		p      Profile
		h      float64
		s      Shaping
		volume float64
	}{
		{"taper shrinks", square, 12, Shaping{Taper: 5 * deg}, frustum(400, math.Pow(20-24*slope, 2), 12)},
		{"taper grows", square, 12, Shaping{Taper: -5 * deg}, frustum(400, math.Pow(20+24*slope, 2), 12)},
		{"drawn at the end", square, 12, Shaping{Taper: 5 * deg, DrawnAtEnd: true}, frustum(400, math.Pow(20-24*slope, 2), 12)},
		{"the hole of a frame grows", frame, 12, Shaping{Taper: 5 * deg},
			frustum(400, math.Pow(20-24*slope, 2), 12) - frustum(100, math.Pow(10+24*slope, 2), 12)},
		{"cone", disc, 12, Shaping{Taper: 5 * deg}, frustum(math.Pi*100, math.Pi*math.Pow(10-12*slope, 2), 12)},
		{"angle section", angle, 10, Shaping{Taper: math.Atan(0.1)},
			// 20·8 + 8·12 = 256; inset x: (20-2x)(8-2x) + (8-2x)·12
			256*10 - (56+24)*0.1*50 + 4*0.01*1000./3},
		{"bevel below", square, 5, Shaping{Start: Rim{Size: 0.4}}, 400*4.6 + squareRim(20, 0.4, 0.08, 0.064/3)},
		{"round above", square, 5, Shaping{End: Rim{Size: 2, Round: true}}, 400*3 + squareRim(20, 2, 4*q1, 8*q2)},
		{"both, a disc", disc, 5, Shaping{Start: Rim{Size: 0.4}, End: Rim{Size: 2, Round: true}},
			math.Pi*100*2.6 + discRim(10, 0.4, 0.08, 0.064/3) + discRim(10, 2, 4*q1, 8*q2)},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := alone(t, c.name, ExtrudeShaped(fixed(c.p), 1, 1+c.h, c.s), 1e-3)
			near(t, "volume", v, c.volume, 2e-4)
		})
	}
}

// A corner rounding smaller than the rim goes to nothing on the way: the
// rounded square of side 20 and radius 1, drawn in by more than 1, is the
// square of side 20 - 2x. Without corners it has (20-2x)² - (4-π)(1-x)².
func TestShapedLosesCorners(t *testing.T) {
	var p []geom.Vec2
	for i, c := range []geom.Vec2{{X: 9, Y: 9}, {X: -9, Y: 9}, {X: -9, Y: -9}, {X: 9, Y: -9}} {
		p = append(p, arcPoints(c, 1, float64(i)*90*deg, float64(i+1)*90*deg, 40)...)
	}
	b := ExtrudeShaped(fixed(Profile{p}), 0, 6, Shaping{End: Rim{Size: 3}})
	want := 3*(400-(4-math.Pi)) + (20*20*3 - 4*20*4.5 + 4*9.) - (4-math.Pi)/3
	near(t, "volume", alone(t, "rounded square", b, 1e-3), want, 1e-4)
}

func TestShapedRefusals(t *testing.T) {
	square := Profile{rect(-10, -10, 10, 10)}
	bone := Profile{{{X: -10, Y: -5}, {X: -4, Y: -5}, {X: -4, Y: -1}, {X: 4, Y: -1}, {X: 4, Y: -5}, {X: 10, Y: -5},
		{X: 10, Y: 5}, {X: 4, Y: 5}, {X: 4, Y: 1}, {X: -4, Y: 1}, {X: -4, Y: 5}, {X: -10, Y: 5}}}
	notch := Profile{{{X: -10}, {X: 10}, {X: 10, Y: 10}, {X: 1, Y: 10}, {X: 0, Y: 3}, {X: -1, Y: 10}, {X: -10, Y: 10}}}
	frame := Profile{rect(-10, -10, 10, 10), {{X: -8, Y: -8}, {X: -8, Y: 8}, {X: 8, Y: 8}, {X: 8, Y: -8}}}
	for _, c := range []struct {
		name string
		p    Profile
		s    Shaping
		want error
	}{
		{"comes to a point", square, Shaping{Taper: 50 * deg}, ErrCloses},
		{"neck parts", bone, Shaping{Taper: 10 * deg}, ErrMeets},
		{"notch comes through", notch, Shaping{Taper: 25 * deg}, ErrMeets},
		{"thin frame", frame, Shaping{Taper: 10 * deg}, ErrCloses},
		{"rims too high", square, Shaping{Start: Rim{Size: 6}, End: Rim{Size: 6}}, ErrRims},
		{"rims meet in the middle", frame, Shaping{End: Rim{Size: 2, Round: true}}, ErrCloses},
	} {
		if err := CheckShaped(c.p, 0, 10, c.s, 0.01); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
		if _, err := Build(t.Context(), ExtrudeShaped(fixed(c.p), 0, 10, c.s), Options{}); !errors.Is(err, c.want) {
			t.Errorf("%s built: %v, want %v", c.name, err, c.want)
		}
	}
}

// Random stars with a hole, tapered and with rims: closed, without crossings,
// and with the volume of the integral (Simpson) of the surface of the same
// area shrunk by an independent method, a boolean of strips along the sides.
func TestShapedRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(*treeSeed, 21))
	built := 0
	for n := 0; n < 60; n++ {
		var star []geom.Vec2
		m := 5 + r.IntN(9)
		for i := range m {
			s, c := math.Sincos(2*math.Pi*float64(i)/float64(m) + 0.3)
			l := 11 + 5*r.Float64()
			star = append(star, geom.Vec2{X: l * c, Y: l * s})
		}
		hole := Circle(geom.Vec2{X: 0.3}, 4, 3+r.IntN(6))
		reverse(hole)
		p := Profile{star, hole}
		s := Shaping{Taper: (r.Float64() - 0.3) * 0.3, DrawnAtEnd: r.IntN(2) == 0}
		if r.IntN(2) == 0 {
			s.Start.Size = 0.1 + r.Float64()
		}
		if CheckShaped(p, 0, 6, s, 0.01) != nil {
			continue
		}
		built++
		e := &shaped{fixed(p), 0, 6, s}
		levels, err := e.levels(0.01)
		if err != nil {
			t.Fatal(err)
		}
		want := 0.0
		for i := 1; i < len(levels); i++ {
			a, b := levels[i-1], levels[i]
			const steps = 8
			for j := 0; j <= steps; j++ {
				w := []float64{1, 4, 2, 4, 2, 4, 2, 4, 1}[j] / 3 / steps
				rings, err := planar.Offset(p, -(a.depth + (b.depth-a.depth)*float64(j)/steps), planar.Sharp, 0.001)
				if err != nil {
					t.Fatal(err)
				}
				for _, r := range rings {
					want += w * (b.z - a.z) * ringArea(r)
				}
			}
		}
		v := alone(t, "star", ExtrudeShaped(fixed(p), 0, 6, s), 0.01)
		near(t, "volume", v, want, 2e-4)
		if t.Failed() {
			t.Fatalf("seed %d star %d: %+v %v", *treeSeed, n, s, p)
		}
	}
	if built < 25 {
		t.Errorf("only %d of the bodies can be", built)
	}
}
