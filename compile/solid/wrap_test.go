package solid

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
	"perch/compile/lettering"
	areas "perch/compile/region"
)

func oblong(x0, y0, x1, y1 float64) []geom.Vec2 {
	return []geom.Vec2{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

func hole(r []geom.Vec2) []geom.Vec2 {
	reverse(r)
	return r
}

// A wrapped area of size A keeps its angle and its height at every radius:
// V = A (out² - in²) / (2 R), Pappus with the shift of the middle.
func TestWrapVolume(t *testing.T) {
	const radius = 30.0
	round := 2 * math.Pi * radius
	cases := []struct {
		name    string
		area    Profile
		surface float64
	}{
		{"rectangle", Profile{oblong(-5, -2, 7, 4)}, 72},
		{"over half", Profile{oblong(-60, 0, 60, 3)}, 360},
		{"nearly round", Profile{oblong(0, 0, round-0.5, 3)}, 3 * (round - 0.5)},
		{"once round", Profile{oblong(-round/2, 0, round/2, 3)}, 3 * round},
		{"once round from anywhere", Profile{oblong(1.2345, 0, 1.2345+round, 3)}, 3 * round},
		{"a slanted ring", Profile{{{X: 0, Y: 0}, {X: round, Y: 0}, {X: round, Y: 3}, {X: round / 2, Y: 7}, {X: 0, Y: 3}}}, 3*round + 2*round},
		{"a step at the seam", Profile{{{X: 0, Y: 0}, {X: round, Y: 2}, {X: round, Y: 5}, {X: 0, Y: 3}}}, 3 * round},
		{"holes", Profile{oblong(-20, -5, 20, 5), hole(oblong(-15, -3, -1, 3)), hole(oblong(1.3, -2, 9.7, 4))}, 400 - 84 - 8.4*6},
		{"two", Profile{oblong(-20, -5, -10, 5), oblong(0, 1, 0.001, 2)}, 100.001},
		{"round", Profile{Circle(geom.Vec2{X: 3, Y: 2}, 8, 64)}, 32 * 64 * math.Sin(2*math.Pi/64)},
		{"touching corners", Profile{oblong(-4, -4, 0, 0), oblong(0, 0, 4, 4)}, 32},
	}
	for _, c := range cases {
		for _, tilt := range []geom.Transform{geom.Identity(), geom.Turn(geom.Vec3{}, geom.Vec3{X: 1, Y: 2, Z: 3}.Unit(), 0.7)} {
			b := WrapArea(fixed(c.area), radius, 29, 32).Placed(tilt)
			m, err := Build(context.Background(), b, Options{Tolerance: 0.001})
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			if err := m.Check(); err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			want := c.surface * (32*32 - 29*29) / (2 * radius)
			if got := m.Volume(); math.Abs(got-want) > 2e-4*want {
				t.Errorf("%s: volume %.4f, want %.4f", c.name, got, want)
			}
		}
	}
}

// Lettering round a bar, raised and sunk: what is added and taken away is the
// wrapped volume, and nothing else.
func TestWrapLettering(t *testing.T) {
	const radius = 12.0
	for _, text := range []string{"183", "M48x0.75", "ÄÖ %&@ §8B0", "Φ 57.4"} {
		line, err := lettering.Set(text, 4)
		if err != nil {
			t.Fatal(err)
		}
		area := func(tol float64) (Profile, error) {
			return areas.Combine([][][]geom.Vec2{line.Rings(tol, geom.Vec2{X: -line.Width() / 2, Y: -2})}, func(in []bool) bool { return in[0] })
		}
		p, err := area(0.002)
		if err != nil {
			t.Fatal(err)
		}
		surface := 0.0
		for _, r := range p {
			surface += ringArea(r)
		}
		bar := Cylinder(radius, -6, 6)
		base := volumeOf(t, bar)
		for _, c := range []struct {
			name    string
			b       *Body
			in, out float64
			sign    float64
		}{
			{"raised", Join(bar, WrapArea(area, radius, radius-0.3, radius+0.6)), radius, radius + 0.6, 1},
			{"sunk", Cut(bar, WrapArea(area, radius, radius-0.5, radius+0.3)), radius - 0.5, radius, -1},
		} {
			got := c.sign * (volumeOf(t, c.b) - base)
			want := surface * (c.out*c.out - c.in*c.in) / (2 * radius)
			if math.Abs(got-want) > 0.01*want {
				t.Errorf("%s %s: %.4f mm³, want %.4f", text, c.name, got, want)
			}
		}
	}
}

func volumeOf(t *testing.T, b *Body) float64 {
	t.Helper()
	m, err := Build(context.Background(), b, Options{Tolerance: 0.002})
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	return m.Volume()
}

// A window whose corner lies in the middle of a diagonal of a facet: the facet
// must not be cut along that diagonal, which the corner misses by half a grid
// step. Sectors of a ring by plane geometry: half of one, less the window, and
// inclusion and exclusion with the box.
func TestWrapWindowOnDiagonal(t *testing.T) {
	const q = 10 * math.Pi // an eighth of the way round
	w := WrapArea(fixed(Profile{oblong(0, 0, 4*q, 40), hole(oblong(q, 10, 2*q, 20))}), 40, 35, 50)
	box := Box(geom.Vec3{X: -20, Y: 0, Z: 20}, geom.Vec3{X: 40, Y: 60, Z: 40})
	vol := func(b *Body) float64 {
		v, _, err := measure(b)
		if err != nil {
			t.Error(err)
		}
		return v
	}
	a, b := vol(w), vol(box)
	join, trim, cut := vol(Join(w, box)), vol(Trim(w, box)), vol(Cut(w, box))
	if math.Abs(a+b-join-trim) > 0.1 || math.Abs(a-trim-cut) > 0.1 || b != 72000 {
		t.Errorf("ring %g, box %g, joined %g, trimmed %g, cut %g", a, b, join, trim, cut)
	}
	// The chords of a 12-gon inscribed in the outer circle: area ratio to the
	// circle sin(30°)/30°.
	want := 0.5 * (50*50 - 35*35) * math.Sin(math.Pi/6) / (math.Pi / 6) * (math.Pi*40 - math.Pi/4*10)
	if math.Abs(a-want) > 1e-4*want {
		t.Errorf("ring %g, want %g", a, want)
	}
}

func TestWrapTooLong(t *testing.T) {
	b := WrapArea(fixed(Profile{oblong(0, 0, 63, 2)}), 10, 9, 11)
	if _, err := Build(context.Background(), b, Options{}); !errors.Is(err, ErrWrapLong) {
		t.Error(fmt.Sprint(err))
	}
}

// Random lettering on random bars, upright and turned, alone, raised and sunk.
func TestWrapRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	signs := []rune("ABCdefg0123456789&%@§ÄöM.x-+•ΦЖ")
	for n := range 30 {
		radius, size := 4+60*r.Float64(), 2+8*r.Float64()
		var text []rune
		for range 1 + r.IntN(6) {
			text = append(text, signs[r.IntN(len(signs))])
		}
		line, err := lettering.Set(string(text), size)
		if err != nil {
			t.Fatal(err)
		}
		if line.Width() > 2*math.Pi*radius {
			continue
		}
		p, err := areas.Combine([][][]geom.Vec2{line.Rings(0.01, geom.Vec2{X: -line.Width() * r.Float64(), Y: -2})}, func(in []bool) bool { return in[0] })
		if err != nil {
			t.Fatal(err)
		}
		to := geom.Identity()
		if n%2 == 1 {
			to = geom.Turn(geom.Vec3{X: 9 * r.Float64()}, geom.Vec3{X: r.Float64(), Y: r.Float64(), Z: r.Float64()}.Unit(), 6*r.Float64())
		}
		bar, w := Cylinder(radius, -15, 15), WrapArea(fixed(p), radius, radius-0.5, radius+0.6)
		for k, b := range []*Body{w, Join(bar, w), Cut(bar, w)} {
			m, st, err := BuildStats(context.Background(), b.Placed(to), Options{})
			if err == nil {
				err = m.Check()
			}
			if err != nil || st.Forced > 0 {
				t.Errorf("%d, %q on radius %g, form %d: %v, forced %d", n, string(text), radius, k, err, st.Forced)
			}
		}
	}
}
