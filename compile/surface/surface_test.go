package surface_test

import (
	"context"
	"math"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/surface"
)

func build(t testing.TB, b *solid.Body) *mesh.Mesh {
	t.Helper()
	m, err := solid.Build(context.Background(), b, solid.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func count(s *surface.Surface, k surface.Kind, hollow bool, radius float64) int {
	n := 0
	for _, f := range s.Faces {
		if f.Kind == k && f.Hollow == hollow && math.Abs(f.Radius-radius) < 1e-3 {
			n++
		}
	}
	return n
}

func circles(s *surface.Surface, radius float64) int {
	n := 0
	for _, c := range s.Curves {
		if c.Closed && math.Abs(c.Radius-radius) < 1e-3 {
			n++
		}
	}
	return n
}

// The bodies are made of known faces; the kernel turns them by an odd angle
// and cuts them into chords.
func TestFaces(t *testing.T) {
	odd := geom.Turn(geom.Vec3{}, geom.Vec3{X: 1, Y: 2, Z: 3}.Unit(), 0.7)
	plate := solid.Cut(solid.Box(geom.Vec3{}, geom.Vec3{X: 40, Y: 20, Z: 5}),
		solid.Cylinder(3, -1, 6).Placed(geom.Move(geom.Vec3{X: 10, Y: 10})),
		solid.Cylinder(0.4, -1, 6).Placed(geom.Move(geom.Vec3{X: 30, Y: 10})))
	for _, turn := range []geom.Transform{geom.Identity(), odd} {
		s := surface.Of(build(t, plate.Placed(turn)), solid.DefaultTolerance)
		if got := count(s, surface.Flat, false, 0); got != 6 || len(s.Faces) != 8 {
			t.Errorf("plate with two holes: %d flat of %d faces, want 6 of 8", got, len(s.Faces))
		}
		for _, r := range []float64{3, 0.4} {
			if count(s, surface.Cylinder, true, r) != 1 || circles(s, r) != 2 {
				t.Errorf("hole of radius %g: %d faces, %d rims, want 1 and 2", r, count(s, surface.Cylinder, true, r), circles(s, r))
			}
		}
		straight := 0
		for _, c := range s.Curves {
			if c.Straight {
				straight++
			}
		}
		if straight != 12 {
			t.Errorf("%d straight edges, want the 12 of a box", straight)
		}
	}
}

func TestSeat(t *testing.T) {
	// A box on a pipe of radius 91 mm: one of its six faces is the seat.
	b := solid.Cut(solid.Box(geom.Vec3{X: -20, Y: -8, Z: -4}, geom.Vec3{X: 20, Y: 8, Z: 6}),
		solid.EndlessCylinder(geom.Vec3{Z: -91}, geom.Vec3{Y: 1}, 91))
	s := surface.Of(build(t, b), solid.DefaultTolerance)
	if count(s, surface.Cylinder, true, 91) != 1 || len(s.Faces) != 6 {
		t.Errorf("%+v", s.Faces)
	}
}

func TestBall(t *testing.T) {
	s := surface.Of(build(t, solid.Ball(7)), solid.DefaultTolerance)
	if len(s.Faces) != 1 || count(s, surface.Ball, false, 7) != 1 {
		t.Errorf("a ball has %d faces, the first %+v", len(s.Faces), s.Faces[0])
	}
	if area := s.Faces[0].Area; math.Abs(area-4*math.Pi*49) > 2 {
		t.Errorf("area %g, want about 4πr²", area)
	}
	for _, e := range s.Edges {
		if e.Crisp {
			t.Fatal("a ball has a crisp edge")
		}
	}
}

// A slot has flats that run smoothly into its ends: two flats, two
// half-cylinders.
func TestSlot(t *testing.T) {
	ends := func(x float64) *solid.Body { return solid.Cylinder(4, 0, 5).Placed(geom.Move(geom.Vec3{X: x})) }
	b := solid.Join(ends(-6), ends(6), solid.Box(geom.Vec3{X: -6, Y: -4}, geom.Vec3{X: 6, Y: 4, Z: 5}))
	s := surface.Of(build(t, b), solid.DefaultTolerance)
	if len(s.Faces) != 6 || count(s, surface.Cylinder, false, 4) != 2 {
		t.Errorf("%d faces: %+v", len(s.Faces), s.Faces)
	}
}

func BenchmarkOf(b *testing.B) {
	m := build(b, solid.Ball(50))
	b.ReportMetric(float64(len(m.Triangles)), "triangles")
	for b.Loop() {
		surface.Of(m, solid.DefaultTolerance)
	}
}

// A bore that two bodies make together: a turned ring, and a cylinder of the
// same diameter cut from it whose chords lie elsewhere.
func TestBoreOfTwo(t *testing.T) {
	profile := solid.Profile{{{X: 31.1, Y: 0}, {X: 35.1, Y: 0}, {X: 35.1, Y: 12}, {X: 31.1, Y: 12}}}
	body := solid.Cut(solid.Revolve(profile, 2*math.Pi), solid.Cylinder(31.1, -1, 13), solid.Box(geom.Vec3{X: -2, Y: 0, Z: -1}, geom.Vec3{X: 2, Y: 40, Z: 13}))
	s := surface.Of(build(t, body), solid.DefaultTolerance)
	if n := count(s, surface.Cylinder, true, 31.1); n != 1 {
		t.Errorf("%d bores of 31.1 mm", n)
		for _, f := range s.Faces {
			t.Logf("%+v", f)
		}
	}
}

// A seat whose ends cut a chord anywhere, and meet a flat face at less than a
// crease: the radius is that of the tube all the same.
func TestSeatWithCutChords(t *testing.T) {
	const r = 50.961
	tube := solid.Cylinder(r, -50, 50).Placed(solid.FrameAt(geom.Vec3{Z: -r}, geom.Vec3{Y: 1}))
	for _, low := range []float64{-1, -2, -3.2, -5} {
		body := solid.Cut(solid.Box(geom.Vec3{X: -17, Y: -7, Z: low}, geom.Vec3{X: 17, Y: 7, Z: 6}), tube)
		if n := count(surface.Of(build(t, body), solid.DefaultTolerance), surface.Cylinder, true, r); n != 1 {
			t.Errorf("block down to %g: %d seats of radius %g", low, n, r)
		}
	}
}
