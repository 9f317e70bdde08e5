package solid

import (
	"context"
	"math"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// The reference cases. Volumes and areas of A, A2, B and C come from an
// independent general-purpose boolean library (npm manifold-3d 3.5.4) on the
// same tessellation; D is a count of whole boxes and square faces, exact; E is
// the closed form of two overlapping balls.

func at(x, y, z float64) geom.Transform { return geom.Move(geom.Vec3{X: x, Y: y, Z: z}) }

func turnZ(deg float64) geom.Transform {
	return geom.Turn(geom.Vec3{}, geom.Vec3{Z: 1}, deg*math.Pi/180)
}

func turnAbout(axis geom.Vec3, deg float64) geom.Transform {
	return geom.Turn(geom.Vec3{}, axis, deg*math.Pi/180)
}

func rect(x0, y0, x1, y1 float64) []geom.Vec2 {
	return []geom.Vec2{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

func arcPoints(c geom.Vec2, r, a0, a1 float64, n int) []geom.Vec2 {
	var p []geom.Vec2
	for i := 0; i <= n; i++ {
		a := a0 + (a1-a0)*float64(i)/float64(n)
		p = append(p, geom.Vec2{X: c.X + r*math.Cos(a), Y: c.Y + r*math.Sin(a)})
	}
	return p
}

const (
	combBore = 2.2
	combNeck = 1.5
	combY    = 10.2
	deg      = math.Pi / 180
)

func combX(i int) float64 { return -22.5 + 9*float64(i) }

// keyhole is the boundary of one keyhole from the right edge of the neck at
// the top to the left one.
func keyholeArc(x float64) []geom.Vec2 {
	a := math.Asin(combNeck / combBore) // from +y
	span := 2*math.Pi - 2*a
	n := int(math.Ceil(float64(geom.Sides(combBore, 0.01)) * span / (2 * math.Pi)))
	// from the right corner of the neck clockwise round the bore to the left one
	return arcPoints(geom.Vec2{X: x, Y: combY}, combBore, math.Pi/2-a, math.Pi/2-a-span, n)
}

func seatAndSlot(b *Body, z0, z1 float64) *Body {
	c := geom.Vec2{Y: -112}
	seat := Extrude(Profile{Circle(c, 116, geom.Sides(116, 0.01))}, z0, z1)
	n := int(math.Ceil(float64(geom.Sides(119, 0.01)) * 40 / 360))
	m := int(math.Ceil(float64(geom.Sides(117, 0.01)) * 40 / 360))
	ring := append(arcPoints(c, 119, 70*deg, 110*deg, n), arcPoints(c, 117, 110*deg, 70*deg, m)...)
	slot := Extrude(Profile{ring}, 3, 9)
	return Cut(b, seat, slot)
}

func caseA() *Body {
	p := []geom.Vec2{{X: -30}, {X: 30}, {X: 30, Y: 14}}
	for i := 5; i >= 0; i-- {
		x := combX(i)
		p = append(p, geom.Vec2{X: x + combNeck, Y: 14})
		p = append(p, keyholeArc(x)...)
		p = append(p, geom.Vec2{X: x - combNeck, Y: 14})
	}
	p = append(p, geom.Vec2{X: -30, Y: 14})
	return seatAndSlot(Extrude(Profile{p}, 0, 12), -1, 13)
}

func caseA2() *Body {
	b := Extrude(Profile{rect(-30, 0, 30, 14)}, 0, 12)
	var tools []*Body
	for i := range 6 {
		x := combX(i)
		tools = append(tools,
			Extrude(Profile{Circle(geom.Vec2{X: x, Y: combY}, combBore, geom.Sides(combBore, 0.01))}, 0, 12),
			Extrude(Profile{rect(x-combNeck, combY, x+combNeck, 14)}, 0, 12))
	}
	return seatAndSlot(Cut(b, tools...), 0, 12)
}

// letter returns the outline of sign k: a C of 15 + 15 points, or a P of 22
// points with a hole of 8, standing upright about the origin.
func letter(k int) Profile {
	if k%2 == 0 {
		var p []geom.Vec2
		for _, v := range arcPoints(geom.Vec2{}, 1, 40*deg, 320*deg, 14) {
			p = append(p, geom.Vec2{X: 2.4 * v.X, Y: 3.2 * v.Y})
		}
		for _, v := range arcPoints(geom.Vec2{}, 1, 320*deg, 40*deg, 14) {
			p = append(p, geom.Vec2{X: 1.5 * v.X, Y: 2.3 * v.Y})
		}
		return Profile{p}
	}
	out := []geom.Vec2{{X: -2, Y: -3.2}, {X: -1.1, Y: -3.2}, {X: -1.1, Y: -0.4}}
	out = append(out, arcPoints(geom.Vec2{X: 0.2, Y: 1.4}, 1.8, -90*deg, 90*deg, 17)...)
	out = append(out, geom.Vec2{X: -2, Y: 3.2})
	hole := Circle(geom.Vec2{X: 0.2, Y: 1.4}, 0.9, 8)
	reverse(hole)
	return Profile{out, hole}
}

func caseB() *Body {
	ring := Join(Cylinder(47, 0, 10),
		Box(geom.Vec3{X: 45, Y: 1.5}, geom.Vec3{X: 68, Y: 7.5, Z: 10}),
		Box(geom.Vec3{X: 45, Y: -7.5}, geom.Vec3{X: 68, Y: -1.5, Z: 10}))
	upright := turnAbout(geom.Vec3{X: 1}, 90) // z goes to -y
	var cut []*Body
	cut = append(cut, Cylinder(42, -1, 11), Box(geom.Vec3{X: 30, Y: -1.5, Z: -1}, geom.Vec3{X: 70, Y: 1.5, Z: 11}))
	for _, x := range []float64{53, 63} {
		hole := Cylinder(2.15, -20, 20).Placed(upright).Placed(at(x, 0, 5))
		hex := Extrude(Profile{Circle(geom.Vec2{}, 7/math.Sqrt(3), 6)}, 4.5, 7.5).Placed(upright).Placed(at(x, 0, 5))
		cut = append(cut, hole, hex)
	}
	for k := range 12 {
		a := 70 + 20*float64(k)
		// Drawn in x, y, standing outward: x round the ring, y up.
		l := Extrude(letter(k), 46.2, 48).Placed(turnAbout(geom.Vec3{X: 1}, 90)).Placed(turnZ(a + 90)).Placed(at(0, 0, 5))
		cut = append(cut, l)
	}
	return Cut(ring, cut...)
}

func casePlate(n int, z0, z1 float64) *Body {
	var tools []*Body
	size := 6 * float64(n)
	for i := range n {
		for j := range n {
			x, y := 3+6*float64(i), 3+6*float64(j)
			tools = append(tools, Extrude(Profile{Circle(geom.Vec2{X: x, Y: y}, 2, 64)}, z0, z1))
		}
	}
	return Cut(Box(geom.Vec3{}, geom.Vec3{X: size, Y: size, Z: 4}), tools...)
}

func caseD() *Body {
	var boxes []*Body
	for k := range 3 {
		for i := range 5 {
			for j := range 4 {
				depth := 10.0
				if (i+j+k)%3 == 0 {
					depth = 8
				}
				x, y, z := 10*float64(i)+5*float64(k%2), 10*float64(j), 10*float64(k)
				boxes = append(boxes, Box(geom.Vec3{X: x, Y: y, Z: z}, geom.Vec3{X: x + 10, Y: y + depth, Z: z + 10}))
			}
		}
	}
	return Join(boxes...)
}

const ballRadius = 50

func caseE() *Body {
	n := 318 // sides of the equator: 2·n·(n/2 - 1) triangles, about 100,000
	var p []geom.Vec2
	for i := 0; i <= n/2; i++ {
		s, c := geom.SinCos(math.Pi * float64(i) / float64(n/2))
		p = append(p, geom.Vec2{X: ballRadius * s, Y: -ballRadius * c})
	}
	p[0].X, p[n/2].X = 0, 0
	ball := leafBody(&turned{area: fixed(Profile{p}), angle: 2 * math.Pi, sides: n})
	return Join(ball, ball.Placed(turnAbout(geom.Vec3{X: 1, Y: 2, Z: 3}, 50)).Placed(at(30, 5, 3)))
}

func build(t testing.TB, b *Body, tol float64) (*mesh.Mesh, Stats) {
	t.Helper()
	m, st, err := BuildStats(context.Background(), b, Options{Tolerance: tol})
	if err != nil {
		t.Fatal(err)
	}
	r := m.Inspect()
	if err := r.Err(); err != nil {
		t.Fatal(err)
	}
	// What cannot be drawn together without turning a triangle over stays.
	for _, f := range r.Faults {
		if f.Count > 2+len(m.Triangles)/1000 {
			t.Error(r)
		}
	}
	if st.Forced != 0 {
		t.Errorf("%d ears cut without proof", st.Forced)
	}
	return m, st
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.10g, want %.10g (off by %.2g)", what, got, want, got-want)
	}
}

func TestCases(t *testing.T) {
	whole := geom.Transform(turnZ(37))
	cases := []struct {
		name      string
		body      *Body
		vol, area float64
		rel       float64
		genus     int
	}{
		{"A", caseA(), 5941.8276, 4696.4459, 1e-4, 1},
		{"A2", caseA2(), 5942.1609, 4696.8836, 1e-4, 1},
		{"B", caseB(), 15756.1603, 10258.5108, 2e-3, 4},
		{"C", casePlate(20, -1, 5), 37526.0984, 40781.1642, 1e-8, 400},
		{"C2", casePlate(20, 0, 4), 37526.0984, 40781.1642, 1e-8, 400},
		{"D", caseD(), 56000, 13720, 1e-15, -1},
		{"D2", caseD().Placed(whole), 56000, 13720, 1e-12, -1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m, st := build(t, c.body, 0.01)
			near(t, "volume", m.Volume(), c.vol, c.rel)
			near(t, "area", m.Area(), c.area, c.rel)
			if m.Pieces() != 1 {
				t.Errorf("%d pieces", m.Pieces())
			}
			if c.genus >= 0 && m.Genus() != c.genus {
				t.Errorf("genus %d, want %d", m.Genus(), c.genus)
			}
			t.Logf("%d triangles, %+v", len(m.Triangles), st)
		})
	}
}
