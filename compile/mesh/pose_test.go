package mesh_test

import (
	"math"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
)

// A table of 40 x 30 x 3 on a post of 10 x 10 x 20: as it stands the plate's
// underside leans over, 1200 - 100; upside down nothing does, on a foot of 1200.
func TestPoses(t *testing.T) {
	table := solid.Join(block(-5, -5, 0, 10, 10, 20), block(-20, -15, 20, 40, 30, 3))
	poses := built(t, table).Poses(v(0, 0, -1), math.Pi/4, 0.02)
	own, best := poses[0], poses[1]
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-3 }
	if !near(own.Foot, 100) || !near(own.Over, 1100) || !near(own.Height, 23) {
		t.Errorf("as it stands: %+v", own)
	}
	if best.Down != v(0, 0, 1) || !near(best.Foot, 1200) || !near(best.Over, 0) {
		t.Errorf("upside down: %+v", best)
	}
	for _, p := range poses {
		axis, angle := p.Turn()
		if d := geom.Turn(geom.Vec3{}, axis, angle).Dir(p.Down); d.Sub(v(0, 0, -1)).Len() > 1e-9 {
			t.Errorf("%v is turned to %v", p.Down, d)
		}
	}
}

// A peg of radius 4.2 in a hole of 4 in a plate: 0.2 deep all round; a body
// apart, or one that just touches, is not in the other at all.
func TestDeepest(t *testing.T) {
	plate := built(t, solid.Cut(block(-20, -20, 0, 40, 40, 5), solid.Cylinder(4, -1, 6)))
	for _, c := range []struct {
		name     string
		body     *solid.Body
		want, to float64
	}{
		{"peg too thick", solid.Cylinder(4.2, 0, 5), 0.2, 0.011},
		{"box 1.5 deep", block(0, 10, 3.5, 4, 4, 10), 1.5, 1e-6},
		{"apart", block(0, 10, 6, 4, 4, 4), 0, 0},
		{"touching", block(0, 10, 5, 4, 4, 4), 0, 1e-9},
		{"swallowed", block(10, 10, 2, 1, 1, 1), 2.5, 0.26}, // between the points
	} {
		b := built(t, c.body)
		if s := mesh.Deepest(plate, b); math.Abs(s.Length-c.want) > c.to {
			t.Errorf("%s: %v, want %v", c.name, s.Length, c.want)
		}
		if s := mesh.Deepest(b, plate); math.Abs(s.Length-c.want) > c.to {
			t.Errorf("%s the other way round: %v, want %v", c.name, s.Length, c.want)
		}
	}
}

// A body slides along a groove that it fits, and not through a lip.
func TestSweeps(t *testing.T) {
	groove := solid.Cut(block(-10, 0, 0, 20, 40, 10), block(-4, -1, 4, 8, 42, 20))
	lip := solid.Join(groove, block(-10, 38, 0, 20, 2, 6))
	slider := built(t, block(-4, 60, 4, 8, 10, 4))
	for _, c := range []struct {
		name  string
		other *solid.Body
		along geom.Vec3
		meets bool
	}{
		{"into the groove", groove, v(0, -55, 0), false},
		{"over the lip", lip, v(0, -55, 0), true},
		{"short of the lip", lip, v(0, -19, 0), false},
		{"askew", groove, v(2, -55, 0), true},
		{"swallows a pin on its way", block(-1, 30, 5, 2, 2, 2), v(0, -55, 0), true},
	} {
		if _, meets := mesh.Sweeps(slider, c.along, 0.02, built(t, c.other)); meets != c.meets {
			t.Errorf("%s: meets %v", c.name, meets)
		}
	}
}
