package mesh_test

import (
	"context"
	"math"
	"strconv"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
)

func v(x, y, z float64) geom.Vec3 { return geom.Vec3{X: x, Y: y, Z: z} }

func built(t testing.TB, b *solid.Body) *mesh.Tree {
	t.Helper()
	m, err := solid.Build(context.Background(), b, solid.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return mesh.NewTree(m)
}

func block(x, y, z, dx, dy, dz float64) *solid.Body {
	return solid.Box(v(x, y, z), v(x+dx, y+dy, z+dz))
}

func hole(x, r float64) *solid.Body {
	return solid.Cylinder(r, -1, 20).Placed(geom.Move(v(x, 0, 0)))
}

// Plane geometry gives every one of these thicknesses. What is within to of it
// passes: what rounding of floats leaves for flat faces; for round ones the chord
// tolerance, and half a percent where a chord may stand askew between facets.
func TestThinnest(t *testing.T) {
	tray := solid.Cut(block(0, 0, 0, 40, 30, 10), block(1.3, 2, 0.9, 36.7, 26, 20))
	slotted := solid.Cut(block(-10, -10, 0, 20, 20, 8), block(-0.35, -20, 3, 0.7, 40, 20))
	// A wall of 1 mm at its foot and 3 mm at its top: a frustum's profile.
	draft := solid.Extrude(solid.Profile{{v2(0, 0), v2(1, 0), v2(3, 20), v2(0, 20)}}, 0, 30)
	web := solid.Cut(block(-20, -10, 0, 40, 20, 12), hole(-5, 1.7), hole(5, 2.1))
	pipe := solid.Cut(solid.Cylinder(10, 0, 50), solid.Cylinder(8, -1, 51))
	// Two pockets, one from either side, that pass each other by 0.05 mm.
	passing := solid.Cut(block(0, 0, 0, 20, 10, 10), block(2, 2, 4, 6, 6, 20), block(7.95, 2, -1, 6, 6, 4.2))
	// A groove of 90 degrees in the middle of a plate of 6 mm: its sides stand
	// before the top but are no side of a wall with it, and its edge is 2 mm deep.
	grooved := solid.Cut(block(0, 0, 0, 20, 10, 6), solid.Extrude(solid.Profile{{v2(8, -1), v2(12, -1), v2(12, 0), v2(10, 2), v2(8, 0)}}, -20, 20).Placed(geom.Turn(v(0, 0, 0), v(1, 0, 0), math.Pi/2)))
	wedge := solid.Extrude(solid.Profile{{v2(0, 0), v2(30, 0), v2(30, 5)}}, 0, 40)
	for _, c := range []struct {
		name     string
		body     *solid.Body
		side     mesh.Side
		want, to float64
	}{
		{"floor of a tray", tray, mesh.Walls, 0.9, 1e-6},
		{"inside of a tray", tray, mesh.Gaps, 26, 1e-6},
		{"slot", slotted, mesh.Gaps, 0.7, 1e-6},
		{"wall that widens", draft, mesh.Walls, 1, 0.01},
		{"pockets that pass", passing, mesh.Walls, 0.8, 1e-6},
		{"beside a groove", grooved, mesh.Walls, 6, 1e-6},
		{"web between holes", web, mesh.Walls, 10 - 1.7 - 2.1, 1e-5},
		{"pipe 20/16", pipe, mesh.Walls, 2, 0.01},
		{"across the bore", pipe, mesh.Gaps, 16, 0.1},
		{"wedge of 9.5 degrees, whose edge is no wall", wedge, mesh.Walls, 30, 30},
		{"ball", solid.Ball(10), mesh.Walls, 20, 0.1},
		{"the same turned", tray.Placed(geom.Turn(v(1, 2, 3), v(1, 1, 0.3), 0.7)), mesh.Walls, 0.9, 1e-4},
	} {
		s, feather, ok := built(t, c.body).Thinnest(c.side)
		if strings.HasPrefix(c.name, "wedge") {
			if feather == nil {
				t.Errorf("%s: the feather is not noticed", c.name)
			}
			if ok && s.Length < 4 {
				t.Errorf("%s: %v", c.name, s)
			}
			continue
		}
		if !ok || math.Abs(s.Length-c.want) > c.to {
			t.Errorf("%s: %v %v, want %v", c.name, s, ok, c.want)
		}
	}
	if _, _, ok := built(t, block(0, 0, 0, 5, 5, 5)).Thinnest(mesh.Gaps); ok {
		t.Error("a block has a gap")
	}
}

func v2(x, y float64) geom.Vec2 { return geom.Vec2{X: x, Y: y} }

// No way from anywhere on the surface straight to the other side is shorter
// than the thinnest wall: a ray every 0.6 mm tells.
func TestThinnestLeavesNothingOut(t *testing.T) {
	turn := geom.Turn(v(0, 0, 0), v(1, 1, 1), 0.9) // no face within 30 degrees of one of the block
	for _, b := range []*solid.Body{
		solid.Cut(block(-10, -8, 0, 20, 16, 6), hole(-5, 1.7), hole(5.03, 2.1), block(-4, -3, 1.3, 8, 6.01, 20).Placed(turn)),
		solid.Join(block(0, 0, 0, 6, 5, 4), block(5.5, 1, 3.1, 6, 5, 4).Placed(turn), solid.Cylinder(2, -3, 9)),
		solid.Cut(solid.Ball(8), solid.Ball(6.5).Placed(geom.Move(v(0.4, 0.3, 0))), block(-1, -1, -20, 2.2, 2, 40)),
	} {
		tree := built(t, b)
		for side, sign := range map[mesh.Side]float64{mesh.Walls: -1, mesh.Gaps: 1} {
			s, _, ok := tree.Thinnest(side)
			look := func(i int, p geom.Vec3) {
				n := tree.Normals[i]
				j, at, hit := tree.Ray(p, n.Scale(sign), 100, func(j int, at float64) bool {
					return j != i && at > 1e-6 && tree.Normals[j].Dot(n) < -1e-9
				})
				if !hit || tree.Normals[j].Dot(n) > -math.Cos(mesh.Opposed) || ok && at >= s.Length-1e-9 {
					return
				}
				t.Errorf("side %d: %v at %v, thinnest %v", side, at, p, s)
			}
			for i := range tree.Mesh.Triangles {
				tree.Mesh.Patches(i, 0.6, tree.Mesh.Bounds(), func(p geom.Vec3, _ float64) { look(i, p) })
			}
		}
	}
}

// Distances between boxes and balls in closed form, and by all pairs of
// corners and faces of a turned box.
func TestBetween(t *testing.T) {
	a := built(t, block(0, 0, 0, 10, 10, 10))
	for _, c := range []struct {
		name     string
		other    *solid.Body
		want, to float64
	}{
		{"face to face", block(12.5, 2, 3, 4, 4, 4), 2.5, 1e-6},
		{"edge to edge", block(13, 14, 0, 4, 4, 4), 5, 1e-6},
		{"corner to corner", block(12, 13, 16, 4, 4, 4), 7, 1e-6},
		{"touching", block(10, 0, 0, 4, 4, 4), 0, 0},
		{"through", block(5, 5, 5, 20, 20, 20), 0, 0},
		{"within", block(4, 4, 4, 2, 2, 2), 4, 1e-6},
		{"ball over a face", solid.Ball(5).Placed(geom.Move(v(5, 5, 18))), 3, 1e-6},
	} {
		b := built(t, c.other)
		s, ok := mesh.Between(a, b)
		if !ok || math.Abs(s.Length-c.want) > c.to {
			t.Errorf("%s: %v, want %v", c.name, s.Length, c.want)
		}
		if r, _ := mesh.Between(b, a); math.Abs(r.Length-s.Length) > 1e-12 {
			t.Errorf("%s: %v the other way round", c.name, r.Length)
		}
		if d := s.B.Sub(s.A).Len(); math.Abs(d-s.Length) > 1e-12 {
			t.Errorf("%s: the ends are %v apart, not %v", c.name, d, s.Length)
		}
	}
}

func TestInsideAndNearest(t *testing.T) {
	b := built(t, solid.Cut(solid.Ball(10), solid.Ball(6)))
	for _, p := range []geom.Vec3{{}, v(3, 2, 1), v(0, 0, 8), v(-8, 0, 0), v(5, 5, 5), v(9, 9, 9), v(0, 0, 12), v(0.1, 5.7, 0)} {
		r := p.Len()
		if got := b.Inside(p); got != (r > 6 && r < 10) {
			t.Errorf("%v at %v from the centre is inside: %v", p, r, got)
		}
		_, q, ok := b.Nearest(p, 50)
		want := min(math.Abs(r-6), math.Abs(r-10))
		if d := q.Sub(p).Len(); !ok || math.Abs(d-want) > 0.02 {
			t.Errorf("%v is %v from the surface, want %v", p, d, want)
		}
	}
	if _, _, ok := b.Nearest(v(0, 0, 13), 2.9); ok {
		t.Error("a limit is not kept")
	}
}

// Pieces that begin in the air: a table stands on its legs, a lamp does not.
func TestIslands(t *testing.T) {
	legs := solid.Join(block(0, 0, 0, 3, 3, 20), block(30, 0, 0, 3, 3, 20), block(0, 0, 20, 33, 3, 3))
	lamp := solid.Join(legs, block(15, 0, 12, 3, 3, 8))
	hollow := solid.Cut(block(0, 0, 0, 20, 20, 20), block(5, 5, 5, 10, 10, 10))
	for _, c := range []struct {
		name string
		body *solid.Body
		free []float64
	}{
		{"table", legs, nil},
		{"legs that differ by less than a layer", solid.Cut(legs, block(0, 0, -1, 3, 3, 1.1)), nil},
		{"lamp", lamp, []float64{8}},
		{"hollow", hollow, nil},
		{"stalactite in a hollow", solid.Join(hollow, block(9, 9, 8, 2, 2, 8)), []float64{7}},
		{"ball on its pole", solid.Ball(5), nil},
		{"two balls", solid.Join(solid.Ball(5), solid.Ball(3).Placed(geom.Move(v(20, 0, 5)))), []float64{math.Inf(1)}},
		{"flat ring in the air", solid.Join(legs, solid.Cut(solid.Cylinder(5, 15, 17), solid.Cylinder(3, 14, 18)).Placed(geom.Move(v(0, 30, 0)))), []float64{math.Inf(1)}},
	} {
		got := built(t, c.body).Mesh.Islands(0.2)
		if len(got) != len(c.free) {
			t.Errorf("%s: %v", c.name, got)
			continue
		}
		for i, s := range got {
			if s.Free != c.free[i] && math.Abs(s.Free-c.free[i]) > 1e-6 {
				t.Errorf("%s: alone for %v, want %v", c.name, s.Free, c.free[i])
			}
		}
	}
}

// Ceilings between two walls, on one wall, and leaning faces, all by
// trigonometry.
func TestOverhangs(t *testing.T) {
	gate := solid.Cut(block(0, 0, 0, 20, 30, 10), block(4, -1, -1, 8, 40, 6))   // 8 mm from wall to wall
	ledge := solid.Join(block(0, 0, 0, 10, 30, 10), block(10, 0, 6, 7, 30, 4))  // 7 mm into the air
	pocket := solid.Cut(block(0, 0, 0, 30, 30, 10), block(5, 5, -1, 12, 16, 6)) // 12 mm the short way
	// A wall that leans by 60 degrees: 10 mm up, 17.32 mm out.
	lean := solid.Extrude(solid.Profile{{v2(0, 0), v2(5, 0), v2(5+10*math.Sqrt(3), 10), v2(0, 10)}}, 0, 20).
		Placed(geom.Turn(geom.Vec3{}, v(1, 0, 0), math.Pi/2))
	bore := solid.Cut(block(-10, 0, 0, 20, 30, 20), solid.Cylinder(4, -1, 40).Placed(geom.Turn(geom.Vec3{}, v(1, 0, 0), -math.Pi/2)).Placed(geom.Move(v(0, 0, 10))))
	inf := math.Inf(1)
	for _, c := range []struct {
		name                string
		body                *solid.Body
		angle, area, bridge float64
		to                  float64
	}{
		{"gate", gate, 90, 240, 8, 1e-6},
		{"ledge", ledge, 90, 210, inf, 1e-6},
		{"pocket", pocket, 90, 192, 12, 1e-6},
		{"lean", lean, 60, 400, inf, 1e-5},
		{"bore of 8 mm", bore, 88, 2 * math.Pi * 4 / 4 * 30, 8 / math.Sqrt2, 0.06}, // reaches from 45 to 45 degrees
	} {
		o := built(t, c.body).Overhangs(math.Pi/4, 0.05, mesh.Chords{})
		if len(o) != 1 {
			t.Errorf("%s: %v", c.name, o)
			continue
		}
		if d := math.Abs(o[0].Area - c.area); d > c.to*c.area {
			t.Errorf("%s: area %v, want %v", c.name, o[0].Area, c.area)
		}
		if d := math.Abs(o[0].Angle*180/math.Pi - c.angle); d > max(1e-4, 40*c.to) {
			t.Errorf("%s: angle %v, want %v", c.name, o[0].Angle*180/math.Pi, c.angle)
		}
		if o[0].Bridge != c.bridge && math.Abs(o[0].Bridge-c.bridge) > max(1e-6, c.to*c.bridge) {
			t.Errorf("%s: bridge %v, want %v", c.name, o[0].Bridge, c.bridge)
		}
	}
	if o := built(t, solid.Cone(10, 2, 0, 10)).Overhangs(math.Pi/4, 0.05, mesh.Chords{}); len(o) != 0 {
		t.Errorf("a cone on its base hangs over: %v", o)
	}
	// A narrow bevel on a round may lean a hair more than 45 degrees, a wide one
	// as much less as it spans more, and a flat face none: atan(0.4/0.398) is
	// 45.14 degrees, atan(8/7.9) 45.36 by hand.
	chords := mesh.Chords{Off: 0.01, Least: 0.4}
	for _, c := range []struct {
		name string
		body *solid.Body
		over int
	}{
		{"narrow bevel", solid.Cone(9.6, 10, 0, 0.398), 0},
		{"narrow bevel, much steeper", solid.Cone(9.6, 10, 0, 0.38), 1}, // 46.5 degrees
		{"wide bevel", solid.Cone(2, 10, 0, 7.9), 1},
		{"flat", lean, 1},
	} {
		limit := math.Pi / 4
		if c.body == lean {
			limit = 59.99 * math.Pi / 180
		}
		if o := built(t, c.body).Overhangs(limit, 0.05, chords); len(o) != c.over {
			t.Errorf("%s: %d overhangs, want %d", c.name, len(o), c.over)
		}
	}
}

func TestFoot(t *testing.T) {
	area, box, hull := built(t, solid.Join(block(0, 0, 0, 10, 10, 5), block(30, 0, 0, 10, 10, 5), block(0, 0, 4, 40, 10, 5))).Foot(0.05)
	if math.Abs(area-200) > 1e-6 || box.Size() != v(40, 10, 0) || len(hull) != 4 {
		t.Errorf("foot of a bench: %v %v %v", area, box, hull)
	}
}

// BenchmarkQueries shows the growth with the number of triangles.
func BenchmarkQueries(b *testing.B) {
	for _, n := range []int{1, 4, 16} {
		t := built(b, solid.Ball(float64(5*n)))
		o := built(b, solid.Ball(float64(4*n)).Placed(geom.Move(v(float64(10*n), 3, 2))))
		name := func(what string) string { return what + "/" + strconv.Itoa(len(t.Mesh.Triangles)) }
		b.Run(name("tree"), func(b *testing.B) {
			for b.Loop() {
				mesh.NewTree(t.Mesh)
			}
		})
		b.Run(name("between"), func(b *testing.B) {
			for b.Loop() {
				mesh.Between(t, o)
			}
		})
		b.Run(name("walls"), func(b *testing.B) {
			for b.Loop() {
				t.Thinnest(mesh.Walls)
			}
		})
	}
}
