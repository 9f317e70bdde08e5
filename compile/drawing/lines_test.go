package drawing

import (
	"context"
	"math"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/picture"
	"perch/compile/solid"
)

func built(t testing.TB, b *solid.Body) *mesh.Tree {
	t.Helper()
	m, err := solid.Build(context.Background(), b, solid.Options{Tolerance: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	return mesh.NewTree(m)
}

func lengths(ls []Line) (seen, hidden float64) {
	for _, l := range ls {
		for i := 1; i < len(l.Points); i++ {
			d := l.Points[i].Sub(l.Points[i-1]).Len()
			if l.Hidden {
				hidden += d
			} else {
				seen += d
			}
		}
	}
	return seen, hidden
}

func slab(x0, y0, z0, x1, y1, z1 float64) *solid.Body {
	return solid.Box(geom.Vec3{X: x0, Y: y0, Z: z0}, geom.Vec3{X: x1, Y: y1, Z: z1})
}

// What must be drawn of bodies whose drawings everyone knows; lengths in mm by
// hand. The drawing rule (lines in sight cover hidden ones) is ISO 128.
func TestLines(t *testing.T) {
	hole := solid.Cylinder(3, -1, 9)
	along := solid.Cylinder(3, -50, 50).Placed(solid.FrameAt(geom.Vec3{Z: 4}, geom.Vec3{Y: 1}))
	plate := slab(-10, -6, 0, 10, 6, 8)
	for _, c := range []struct {
		name, view   string
		body         *solid.Body
		seen, hidden float64
	}{
		{"block", "front", plate, 2 * (20 + 8), 0},
		{"block", "top", plate, 2 * (20 + 12), 0},
		{"upright hole", "top", solid.Cut(plate, hole), 64 + 2*math.Pi*3, 0},
		{"upright hole", "front", solid.Cut(plate, hole), 56, 2 * 8},
		{"hole along y", "front", solid.Cut(plate, along), 56 + 2*math.Pi*3, 0},
		{"hole along y", "top", solid.Cut(plate, along), 64, 2 * 12},
		{"hole along y", "right", solid.Cut(plate, along), 2 * (12 + 8), 2 * 12},
		{"cylinder", "front", solid.Cylinder(5, 0, 7), 2 * (10 + 7), 0},
		{"cylinder", "top", solid.Cylinder(5, 0, 7), 2 * math.Pi * 5, 0},
		// A block behind a smaller one: what shows beside it is in sight.
		{"two", "front", solid.Join(slab(-10, 0, 0, 10, 5, 10), slab(-4, -20, 0, 4, -10, 6)), 60 + 6 + 8 + 6, 0},
		{"two", "back", solid.Join(slab(-10, 0, 0, 10, 5, 10), slab(-4, -20, 0, 4, -10, 6)), 60, 6 + 8 + 6},
		// A step: its edge shows from the front and hides from the back.
		{"step", "front", solid.Join(slab(0, 0, 0, 10, 10, 10), slab(0, -5, 0, 10, 0, 4)), 40 + 10, 0},
		{"step", "back", solid.Join(slab(0, 0, 0, 10, 10, 10), slab(0, -5, 0, 10, 0, 4)), 40, 10},
	} {
		v, ok := picture.Named(c.view)
		if !ok {
			t.Fatal(c.view)
		}
		seen, hidden := lengths(Lines(built(t, c.body), v))
		if math.Abs(seen-c.seen) > 0.05 || math.Abs(hidden-c.hidden) > 0.05 {
			t.Errorf("%s from the %s: %.3f in sight, %.3f hidden, want %.3f and %.3f", c.name, c.view, seen, hidden, c.seen, c.hidden)
		}
	}
}

// Of the twelve edges of a block seen from a corner nine are in sight. In a
// view along (a, b, c) an edge of length l along axis k shows as
// l*sqrt(1 - n_k^2).
func TestLinesCorner(t *testing.T) {
	n := geom.Vec3{X: -0.55, Y: 0.75, Z: -0.5}.Unit()
	x, y, z := 23*math.Sqrt(1-n.X*n.X), 11*math.Sqrt(1-n.Y*n.Y), 9.3*math.Sqrt(1-n.Z*n.Z)
	v, _ := picture.Named("corner")
	seen, hidden := lengths(Lines(built(t, slab(-10, -5, 0, 13, 6, 9.3)), v))
	if math.Abs(seen-3*(x+y+z)) > 0.01 || math.Abs(hidden-(x+y+z)) > 0.01 {
		t.Errorf("%g in sight, %g hidden, want %g and %g", seen, hidden, 3*(x+y+z), x+y+z)
	}
}

func TestChainsRunRound(t *testing.T) {
	v, _ := picture.Named("top")
	ls := Lines(built(t, solid.Cylinder(5, 0, 7)), v)
	if len(ls) != 1 {
		t.Errorf("the rim of a cylinder is %d chains", len(ls))
	}
}
