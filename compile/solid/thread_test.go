package solid

import (
	"math"
	"testing"

	"perch/compile/geom"
)

// Pitch and minor diameters as ISO 724 and ASME B1.1 print them, mm.
var printedThreads = []struct {
	name         string
	d, p, d2, d1 float64
	within       float64
}{
	{"M2", 2, 0.4, 1.740, 1.567, 5e-4},
	{"M2.5", 2.5, 0.45, 2.208, 2.013, 5e-4},
	{"M3", 3, 0.5, 2.675, 2.459, 5e-4},
	{"M4", 4, 0.7, 3.545, 3.242, 5e-4},
	{"M5", 5, 0.8, 4.480, 4.134, 5e-4},
	{"M6", 6, 1, 5.350, 4.917, 5.1e-4},
	{"M8", 8, 1.25, 7.188, 6.647, 5e-4},
	{"M10", 10, 1.5, 9.026, 8.376, 5e-4},
	{"M12", 12, 1.75, 10.863, 10.106, 6e-4},
	{"M42x0.75", 42, 0.75, 41.513, 41.188, 5e-4},
	{"M48x0.75", 48, 0.75, 47.513, 47.188, 5e-4},
	{"M54x0.75", 54, 0.75, 53.513, 53.188, 5e-4},
	{"1/4-20", 6.35, 1.27, 0.2175 * 25.4, 0.1959 * 25.4, 2e-3}, // printed in inches to 4 places
	{"3/8-16", 9.525, 1.5875, 0.3344 * 25.4, 0.3073 * 25.4, 2e-3},
}

func TestThreadDimensions(t *testing.T) {
	for _, c := range printedThreads {
		f := ThreadForm{c.d, c.p}
		if math.Abs(f.PitchDiameter()-c.d2) > c.within || math.Abs(f.MinorDiameter()-c.d1) > c.within {
			t.Errorf("%s: d2 %.4f D1 %.4f, printed %.4f %.4f", c.name, f.PitchDiameter(), f.MinorDiameter(), c.d2, c.d1)
		}
	}
}

// threadSection is the area of any section square to the axis, by Pappus: the
// core, and a ridge of trapezoid section P/8 and 3P/4 wide, 5H/8 high, led
// round once a pitch; its centroid lies h (2a + b)/(3(a + b)) from the base b.
func threadSection(f ThreadForm) float64 {
	core, h := f.MinorDiameter()/2, f.Depth()
	a, b := f.Pitch/8, f.Pitch*3/4
	ridge := (a + b) / 2 * h
	rc := core + h*(2*a+b)/(3*(a+b))
	return math.Pi*core*core + 2*math.Pi*rc*ridge/f.Pitch
}

func TestThreadVolume(t *testing.T) {
	for _, c := range printedThreads {
		t.Run(c.name, func(t *testing.T) {
			f := ThreadForm{c.d, c.p}
			l := 2.6 * c.p
			tol := 0.01
			got := alone(t, c.name, Thread(f, 0, 0, l, 0, 0), tol)
			n := geom.Sides(c.d/2, tol) // polygons of n sides for circles
			near(t, "volume", got, threadSection(f)*l*regular(n)/math.Pi, 1e-3)
		})
	}
}

// With lead-ins the crest is cut by a cone; what a bevel of the size of the
// profile takes away lies between nothing and the whole ring of the ridge.
func TestThreadLeadIns(t *testing.T) {
	f := ThreadForm{6, 1}
	h := f.Depth()
	plain, _ := build(t, Thread(f, 0.2, 0, 10, 0, 0), 0.01)
	m, _ := build(t, Thread(f, 0.2, 0, 10, h, h), 0.01)
	cut := plain.Volume() - m.Volume()
	g := ThreadForm{5.8, 1}
	ring := threadSection(g) - math.Pi*g.MinorDiameter()*g.MinorDiameter()/4
	if cut < 0.3*2*h*ring || cut > 0.8*2*h*ring {
		t.Errorf("lead-ins take %.3f mm³ of %.3f", cut, 2*h*ring)
	}
	if s := m.Bounds().Size(); math.Abs(s.Z-10) > 1e-9 || math.Abs(s.X-5.8) > 0.02 || m.Pieces() != 1 || m.Genus() != 0 {
		t.Errorf("size %v, %d pieces, genus %d", s, m.Pieces(), m.Genus())
	}
}

// A bolt in the hole its own tap cut leaves the allowances free, and no more:
// along the radius both together, measured by the volumes.
func TestThreadsFit(t *testing.T) {
	f := ThreadForm{8, 1.25}
	l, free := 6., 0.2
	bolt := Thread(f, free, 0, l, 0, 0)
	nut := Cut(Cylinder(8, 0, l), Tap(f, free, 0, l, 0, 0))
	v := func(b *Body) float64 { m, _ := build(t, b, 0.005); return m.Volume() }
	if m, err := Build(t.Context(), Trim(nut, bolt), Options{}); err != ErrEmpty {
		t.Errorf("bolt and nut share %v, %v", m, err)
	}
	gap := v(Cylinder(8, 0, l)) - v(nut) - v(bolt)
	near(t, "gap", gap, l*(threadSection(ThreadForm{8.2, 1.25})-threadSection(ThreadForm{7.8, 1.25})), 3e-3)
	// A countersunk tap on a plate cuts flush.
	plate := Cut(Box(geom.Vec3{X: -10, Y: -10}, geom.Vec3{X: 10, Y: 10, Z: 5}), Tap(f, free, 0, 5, f.Depth(), f.Depth()))
	if m, _ := build(t, plate, 0.01); m.Genus() != 1 || m.Pieces() != 1 {
		t.Errorf("genus %d, %d pieces", m.Genus(), m.Pieces())
	}
}
