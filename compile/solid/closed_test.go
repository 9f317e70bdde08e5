package solid

import (
	"context"
	"errors"
	"math"
	"testing"

	"perch/compile/geom"
)

// Solids with a volume in closed form. A curve is replaced by chords that
// leave it by at most the tolerance, so a volume may fall short by about
// surface times tolerance; every case is built at two tolerances and must
// come as close as that at both.
func TestClosedForms(t *testing.T) {
	full := 2 * math.Pi
	bore := func(r float64) *Body { return Cylinder(r, -200, 200) }
	cases := []struct {
		name         string
		body         *Body
		volume, area float64 // area 0: not known in closed form
		source       string
	}{
		{"bicylinder r 10", Trim(bore(10), bore(10).Placed(turnAbout(geom.Vec3{X: 1}, 90))), 16. / 3 * 1000, 1600,
			"MathWorld, Steinmetz Solid: V = 16/3 r^3, S = 16 r^2"},
		{"bicylinder 45 and 10", Trim(bore(45), bore(10).Placed(turnAbout(geom.Vec3{X: 1}, 90))), 28098.70659859, 0,
			"MathWorld, Cylinder-Cylinder Intersection (Hubbell 1965), complete elliptic integrals"},
		{"bicylinder 40 and 15", Trim(bore(40), bore(15).Placed(turnAbout(geom.Vec3{X: 1}, 90))), 55536.35631110, 0,
			"as before"},
		{"cap r 10 h 4", Trim(Ball(10), Box(geom.Vec3{X: -20, Y: -20, Z: 6}, geom.Vec3{X: 20, Y: 20, Z: 20})), 435.63418130, 0,
			"MathWorld, Spherical Cap: pi h^2 (3r - h)/3"},
		{"napkin ring h 10", Cut(Ball(math.Sqrt(25+36)), bore(6)), 523.59877560, 0,
			"MathWorld, Spherical Ring: pi h^3/6 whatever the ball"},
		{"torus 20, 5", Revolve(Profile{Circle(geom.Vec2{X: 20}, 5, geom.Sides(5, 0.001))}, full), 9869.60440109, 3947.84176044,
			"Pappus: 2 pi^2 R r^2, 4 pi^2 R r"},
		{"frustum 10, 6, 15", Cone(10, 6, 0, 15), 3078.76080052, 780.33013086 + math.Pi*(100+36),
			"MathWorld, Conical Frustum"},
		{"hexagonal prism s 10 h 8", Extrude(Profile{Circle(geom.Vec2{}, 10/math.Sqrt(3), 6)}, 0, 8), 692.82032303, 0,
			"(sqrt 3/2) s^2 h"},
		{"tube 20/16 x 50", Cut(Cylinder(10, 0, 50), bore(8)), 5654.86677646, 0,
			"pi (R^2 - r^2) h"},
		{"saddle R 57 w 40 L 30 t 4", saddle(57, 40, 30, 4), 6230.64074567, 0,
			"circular segment (handbook): w (t + sagitta) - segment, times length"},
		{"saddle R 45 w 30 L 20 t 3", saddle(45, 30, 20, 3), 2308.68310575, 0, "as before"},
		{"saddle R 50 w 60 L 25 t 5", saddle(50, 60, 25, 5), 12281.18070042, 0, "as before"},
		{"round post r 10 on tube R 45", Cut(Cylinder(10, 0, 45), EndlessCylinder(geom.Vec3{}, geom.Vec3{Y: 1}, 45)), 87.81364186, 0,
			"pi r^2 R - V/2 with V of the bicylinder"},
		{"quarter of a ring", Revolve(Profile{rect(20, 0, 25, 8)}, math.Pi/2), math.Pi * (625 - 400) * 8 / 4, 0,
			"a quarter of pi (R^2 - r^2) h"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for _, tol := range []float64{0.01, 0.001} {
				m, _ := build(t, c.body, tol)
				allow := 1.1*tol*m.Area() + 1e-9*c.volume
				if off := m.Volume() - c.volume; math.Abs(off) > allow {
					t.Errorf("tolerance %g: volume %.8f, want %.8f (%s), off by %.3g of %.3g", tol, m.Volume(), c.volume, c.source, off, allow)
				}
				if c.area > 0 && math.Abs(m.Area()-c.area) > 0.03*math.Sqrt(tol)*c.area {
					t.Errorf("tolerance %g: area %.6f, want %.6f (%s)", tol, m.Area(), c.area, c.source)
				}
			}
		})
	}
}

// saddle is a block of width w and length l whose underside follows a tube
// of radius r, t thick over the crown.
func saddle(r, w, l, t float64) *Body {
	sag := r - math.Sqrt(r*r-w*w/4)
	return Cut(Box(geom.Vec3{X: -w / 2, Z: r - sag}, geom.Vec3{X: w / 2, Y: l, Z: r + t}),
		EndlessCylinder(geom.Vec3{}, geom.Vec3{Y: 1}, r))
}

// TestSidesOfCircle checks the rule against worked values: n =
// ceil(pi/acos(1 - e/r)).
func TestSidesOfCircle(t *testing.T) {
	for _, c := range []struct {
		r, tol float64
		n      int
	}{{50, 0.01, 158}, {57, 0.02, 119}, {1.7, 0.01, 29}, {0.005, 0.01, 8}} {
		if n := geom.Sides(c.r, c.tol); n != c.n {
			t.Errorf("geom.Sides(%g, %g) = %d, want %d", c.r, c.tol, n, c.n)
		}
	}
}

// TestTouching builds contacts that are ordinary input: each has its volume,
// and is a closed 2-manifold.
func TestTouching(t *testing.T) {
	cube := Box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})
	for _, c := range []struct {
		name   string
		body   *Body
		volume float64
		pieces int
	}{
		{"face to face", Join(cube, cube.Placed(at(1, 0, 0))), 2, 1},
		{"edge to edge", Join(cube, cube.Placed(at(1, 1, 0))), 2, 2},
		{"corner to corner", Join(cube, cube.Placed(at(1, 1, 1))), 2, 2},
		{"the same twice", Join(cube, cube), 1, 1},
		{"cut flush", Cut(cube, cube.Placed(at(0.5, 0, 0))), 0.5, 1},
		{"ring of edges", Join(cube, cube.Placed(at(1, 1, 0)), Box(geom.Vec3{X: 0, Y: 0, Z: 1}, geom.Vec3{X: 2, Y: 2, Z: 2})), 6, 1},
		{"membrane", Join(Cut(cube, Box(geom.Vec3{X: 0.25, Y: -1, Z: 0.25}, geom.Vec3{X: 0.75, Y: 2, Z: 0.5}), Box(geom.Vec3{X: 0.25, Y: -1, Z: 0.5}, geom.Vec3{X: 0.75, Y: 2, Z: 0.75}))), 0.75, 1},
		{"void", Cut(Box(geom.Vec3{}, geom.Vec3{X: 3, Y: 3, Z: 3}), cube.Placed(at(1, 1, 1))), 26, 2}, // an outer and an inner shell
		{"tangent cylinders", Join(Cylinder(1, 0, 1), Cylinder(1, 0, 1).Placed(at(2, 0, 0))), 2 * regular(geom.FourFold(geom.Sides(1, 0.01))), 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, _ := build(t, c.body, 0.01)
			near(t, "volume", m.Volume(), c.volume, 2e-5)
			if m.Pieces() != c.pieces {
				t.Errorf("%d pieces, want %d", m.Pieces(), c.pieces)
			}
		})
	}
}

// regular is the area of a regular polygon of n corners on the unit circle.
func regular(n int) float64 { return float64(n) / 2 * math.Sin(2*math.Pi/float64(n)) }

func TestBuildErrors(t *testing.T) {
	cube := Box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})
	fault := errors.New("no area")
	ended, stop := context.WithCancel(context.Background())
	stop()
	for _, c := range []struct {
		name string
		ctx  context.Context
		body *Body
		want error
	}{
		{"nothing left", context.Background(), Cut(cube, cube), ErrEmpty},
		{"nothing at all", context.Background(), Join(), ErrEmpty},
		{"too large", context.Background(), Box(geom.Vec3{}, geom.Vec3{X: 2000, Y: 1, Z: 1}), ErrTooLarge},
		{"not a number", context.Background(), Box(geom.Vec3{}, geom.Vec3{X: math.NaN(), Y: 1, Z: 1}), ErrTooLarge},
		{"infinite", context.Background(), cube.Placed(at(math.Inf(1), 0, 0)), ErrTooLarge},
		{"thinner than the grid", context.Background(), Box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1e-6}), ErrEmpty},
		{"fault in an area", context.Background(), ExtrudeArea(func(float64) (Profile, error) { return nil, fault }, 0, 1), fault},
		{"crossing outline", context.Background(), Extrude(Profile{{{}, {X: 2, Y: 2}, {X: 2}, {Y: 2}}}, 0, 1), ErrCrossed},
		{"stopped", ended, casePlate(10, -1, 5), context.Canceled},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Build(c.ctx, c.body, Options{}); !errors.Is(err, c.want) {
				t.Errorf("got %v, want %v", err, c.want)
			}
		})
	}
}

// One outline of an area lies hidden in another body, the other stands alone:
// the ends of the extrusion bound the result in one place and not in the other.
func TestAreaInPieces(t *testing.T) {
	two := Extrude(Profile{rect(0, 0, 4, 4), rect(10, 0, 14, 4)}, 0, 10)
	m, _ := build(t, Join(two, Box(geom.Vec3{X: -5, Y: -5, Z: -5}, geom.Vec3{X: 6, Y: 6, Z: 20})), 0.01)
	near(t, "volume", m.Volume(), 11*11*25+4*4*10, 1e-12)
	if n := m.Pieces(); n != 2 {
		t.Errorf("%d pieces", n)
	}
}

// A wrapped triangle whose two ends meet in one edge, at the seam: a box across
// the seam is cut by it into what they share and the rest.
func TestLeafTouchesItself(t *testing.T) {
	ring := WrapArea(fixed(Profile{{{}, {X: 40 * math.Pi}, {X: 20 * math.Pi, Y: 60}}}), 20, 15, 30)
	for _, pose := range shapedPoses {
		box := Box(geom.Vec3{X: 10, Y: -10, Z: -5}, geom.Vec3{X: 40, Y: 10, Z: 5}).Placed(pose)
		both, _ := build(t, Trim(box, ring), 2)
		rest, _ := build(t, Cut(box, ring), 2)
		near(t, "both parts", both.Volume()+rest.Volume(), 30*20*10, 1e-6)
		if both.Volume() < 1 {
			t.Error("the box misses the ring")
		}
	}
}
