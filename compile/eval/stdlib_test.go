package eval

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"testing"

	"perch/compile/solid"
	"perch/lang/ast"
	"perch/lang/parse"
	"perch/lang/source"
	"perch/stdlib"
)

// standard loads a module of the standard library and those it uses; nil when
// there is none.
func standard(t testing.TB, name string) *Module {
	t.Helper()
	text, err := fs.ReadFile(stdlib.Files, name+".perch")
	if err != nil {
		return nil
	}
	f, diags := parse.File(source.New("stdlib/"+name+".perch", string(text)))
	if len(diags) > 0 {
		t.Fatalf("%s: %s", name, listed(diags))
	}
	m := &Module{Name: name, Standard: true, File: f}
	m.Uses = uses(t, f)
	return m
}

func uses(t testing.TB, f *ast.File) map[string]*Module {
	t.Helper()
	used := map[string]*Module{}
	for _, d := range f.Decls {
		if u, ok := d.(*ast.Use); ok && u.Path == nil {
			for _, n := range u.Names {
				if m := standard(t, n.Name); m != nil {
					used[n.Name] = m
				}
			}
		}
	}
	return used
}

// library runs a text that may use the standard library.
func library(t *testing.T, text string, o Options) *Result {
	t.Helper()
	f, diags := parse.File(source.New("part.perch", text))
	if len(diags) > 0 {
		t.Fatalf("does not parse: %s", listed(diags))
	}
	r, err := Run(context.Background(), &Module{File: f, Uses: uses(t, f)}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestEveryModuleEvaluates(t *testing.T) {
	names, err := fs.Glob(stdlib.Files, "*.perch")
	if err != nil || len(names) < 4 {
		t.Fatal(names, err)
	}
	for _, n := range names {
		name := n[:len(n)-len(".perch")]
		r := library(t, "use "+name+"\npart p { join box width 1mm, depth 1mm, height 1mm }", Options{})
		if len(r.Diags) > 0 {
			t.Errorf("%s: %s", name, listed(r.Diags))
		}
	}
}

// quantity evaluates an expression by way of a measure.
func quantity(t *testing.T, text, x string) (v, u float64) {
	t.Helper()
	r := library(t, text+"\nmeasure it = 0 + ("+x+")\npart p { join box width 1mm, depth 1mm, height 1mm }", Options{})
	if r.Diags.HasErrors() {
		t.Fatalf("%s: %s", x, listed(r.Diags))
	}
	n := r.Measures[len(r.Measures)-1].Readings[0]
	return n.X, n.Uncertainty()
}

func TestTubeRadius(t *testing.T) {
	for _, c := range []struct {
		measures, x string
		want, u     float64
		within      float64
		source      string
	}{
		{"measure c = 358.1mm +- 0.5mm\nmeasure s = 0.12mm +- 0.02mm", "2 * tube.radius_from_girth(c, s)", 113.866770, 0.160407, 1e-6, "D = C/pi - t"},
		{"measure c = 628.3mm +- 0.5mm\nmeasure s = 0.10mm +- 0.02mm", "2 * tube.radius_from_girth(c, tape: s)", 199.894101, 0.160407, 1e-6, "D = C/pi - t"},
		{"measure c = 361.0mm +- 0.3mm\nmeasure s = 0.10mm +- 0.01mm", "2 * tube.radius_from_girth(c, s)", 114.80980, 0.096, 1e-3, "comb on a 114.8 mm tube: R = 57.4049, u(D) = 0.096"},
		{"measure c = 80mm +- 0.03mm\nmeasure s = 10mm +- 0.03mm", "tube.radius_from_chord(c, s)", 85, 0.232863, 1e-6, "R = c^2/(8 s) + s/2"},
		{"measure c = 50mm +- 0.02mm\nmeasure s = 2mm +- 0.02mm", "tube.radius_from_chord(chord: c, sagitta: s)", 157.25, 1.557524, 1e-6, "R = c^2/(8 s) + s/2"},
		{"", "tube.radius_from_diameter(113.8mm)", 56.9, 0, 1e-9, "half the diameter"},
		{"", "tube.sagitta(57mm, 40mm)", 3.62397542, 0, 1e-8, "R - sqrt(R^2 - w^2/4)"},
		{"", "tube.sagitta(45mm, 30mm)", 2.57359313, 0, 1e-8, "R - sqrt(R^2 - w^2/4)"},
	} {
		v, u := quantity(t, "use tube\n"+c.measures, c.x)
		if math.Abs(v-c.want) > c.within || math.Abs(u-c.u) > max(1e-6, c.within) {
			t.Errorf("%s = %.8f ± %.6f, want %.8f ± %.6f (%s)", c.x, v, u, c.want, c.u, c.source)
		}
	}
}

// saddleVolume is the closed form of a block of width w and length l on a tube
// of radius r, at least k thick: l·(w (k + s) - segment), where the segment is
// that of chord w and s its sagitta.
func saddleVolume(r, w, l, k float64) float64 {
	s := r - math.Sqrt(r*r-w*w/4)
	half := math.Asin(w / 2 / r)
	segment := r*r*half - w/2*(r-s)
	return l * (w*(k+s) - segment)
}

// The seats of a family of saddles and of a comb, on tubes that lie, stand and
// lean: the same volume every way. Volumes by the closed form of the circular
// segment (printed for R 57.4049, w 34, l 40, k 3: 5236.64).
func TestSaddleFollowsTube(t *testing.T) {
	for _, c := range []struct{ r, w, l, k, volume float64 }{
		{40, 36, 24, 3, 3796.68},
		{51, 36, 24, 3, 3524.73},
		{57.15, 36, 24, 3, 3420.98},
		{65, 36, 24, 3, 3318.28},
		{57.4049, 34, 40, 3, 5236.64},
	} {
		if v := saddleVolume(c.r, c.w, c.l, c.k); math.Abs(v-c.volume) > 0.006 {
			t.Errorf("closed form %.4f, printed %.2f", v, c.volume)
		}
		for _, way := range []string{"along y", "along x", "along z", "along -y, centre (7mm, 0, -60mm)", "along (1, 2, 0)", "along (1, 2, 3)"} {
			text := fmt.Sprintf("use tube\npart p { mating pipe = cylinder radius %gmm, %s\njoin tube.saddle(over: pipe, width: %gmm, length: %gmm, thick: %gmm, turn: 15deg) }",
				c.r, way, c.w, c.l, c.k)
			r := library(t, text, Options{})
			if len(r.Diags) > 0 {
				t.Fatal(listed(r.Diags))
			}
			// The seat is cut by the chords of the tube: up to 2/3 of the
			// tolerance of material stays over its whole area.
			const tol = 0.002
			if v := volume(t, r.Parts[0], tol); v < c.volume-0.01 || v > c.volume+c.w*c.l*tol {
				t.Errorf("R %g %s: volume %.4f, want %.2f", c.r, way, v, c.volume)
			}
		}
	}
}

// A strap slot is part of a ring about the axis of the tube: π ((r+d+t)² -
// (r+d)²) w, whatever way the tube lies.
func TestSlotIsConcentric(t *testing.T) {
	want := math.Pi * (62.5*62.5 - 60*60) * 20
	for _, way := range []string{"along y", "along x", "along z", "along (3, 1, 1), centre (0, 5mm, -58mm)"} {
		text := "use strap\npart p { mating pipe = cylinder radius 58mm, " + way + "\njoin strap.slot(over: pipe, width: 20mm, thick: 2.5mm, depth: 2mm) }"
		r := library(t, text, Options{})
		if len(r.Diags) > 0 {
			t.Fatal(listed(r.Diags))
		}
		m, err := solid.Build(context.Background(), r.Parts[0].Body, solid.Options{Tolerance: 0.002})
		if err != nil {
			t.Fatal(err)
		}
		if v := m.Volume(); math.Abs(v-want) > 1e-3*want {
			t.Errorf("%s: volume %.3f, want %.3f", way, v, want)
		}
		c := m.Centroid()
		axis := r.Parts[0].Mating[0].Body.Tube
		off := c.Sub(axis.Point)
		if d := off.Sub(axis.Dir.Scale(off.Dot(axis.Dir))).Len(); d > 1e-4 {
			t.Errorf("%s: the slot is %.6f mm off the axis", way, d)
		}
	}
}

// ISO 273, ISO 4032, ISO 4762 and ISO 7089, as printed in the standards.
func TestFasteners(t *testing.T) {
	for _, c := range []struct {
		x    string
		want float64
	}{
		{"hole(4mm)", 4.5}, {"hole(8mm)", 9}, {"hole_close(3mm)", 3.2}, {"hole_free(12mm)", 14.5}, {"hole(2.5mm)", 2.9},
		{"hole_close(10mm)", 10.5}, {"hole_free(5mm)", 5.8}, {"hole(12mm)", 13.5}, {"hole(6mm)", 6.6},
		{"nut_flats(4mm)", 7}, {"nut_flats(10mm)", 16}, {"nut_height(5mm)", 4.7}, {"nut_height(6mm)", 5.2}, {"nut_height(8mm)", 6.8},
		{"head_diameter(4mm)", 7.22}, {"head_diameter(6mm)", 10.22}, {"head_height(5mm)", 5},
		{"washer_diameter(5mm)", 10}, {"washer_thick(6mm)", 1.6},
		{"old_nut_height(5mm)", 4}, {"old_nut_height(8mm)", 6.5}, {"old_nut_flats(10mm)", 17}, {"old_nut_flats(12mm)", 19}, {"old_nut_flats(4mm)", 7}, // DIN 934
		{"countersunk_diameter(3mm)", 6.72}, {"countersunk_diameter(8mm)", 17.92}, // maker's tables
		{"insert_hole(3mm)", 4.0}, {"insert_hole(4mm)", 5.6}, {"insert_body(5mm)", 7.1}, {"insert_depth(5.7mm)", 6.7}, // trade charts
		{"tripod_small", 6.35}, {"tripod_small_pitch", 1.27}, {"tripod_large", 9.525}, {"tripod_large_pitch", 1.5875}, // UNC, ISO 1222
		{"corners(7.2mm)", 8.314}, {"corners(8.2mm)", 9.469}, // 2 s/√3
	} {
		if v, _ := quantity(t, "use fastener", "fastener."+c.x); math.Abs(v-c.want) > 5e-4 {
			t.Errorf("%s = %g, want %g", c.x, v, c.want)
		}
	}
}

// Smallest circles round equal circles: 2, 1+2/√3, 1+√2, 1+1/sin 36°, 3, 3
// diameters (closed forms), and 5 for the nineteen of two honeycomb rings.
func TestBundles(t *testing.T) {
	for n, want := range map[int]float64{1: 1, 2: 2, 3: 2.154701, 4: 2.414214, 5: 2.701302, 6: 3, 7: 3, 8: 5, 19: 5, 20: 7} {
		if v, _ := quantity(t, "use cable", fmt.Sprintf("cable.bundle(%d, 1mm)", n)); math.Abs(v-want) > 1e-6 {
			t.Errorf("%d cables: %g, want %g", n, v, want)
		}
	}
}

// Open rings of radial thickness t whose tips are spread by a force square to
// the axis of symmetry (Castigliano, checked by numeric integration): mouth,
// travel of a tip, strain at the back. And two arms by eps = 1.5 t y / L².
func TestSnaps(t *testing.T) {
	for _, c := range []struct {
		x      string
		want   float64
		within float64
	}{
		{"ring_mouth(20mm, 45deg)", 14.14214, 1e-5}, {"ring_travel(20mm, 45deg)", 2.92893, 1e-5}, {"ring_strain(20mm, 2mm, 45deg)", 0.0133032, 1e-7},
		{"ring_mouth(25mm, 55deg)", 20.47880, 1e-5}, {"ring_travel(25mm, 55deg)", 2.26060, 1e-5}, {"ring_strain(25mm, 2.4mm, 55deg)", 0.0090490, 1e-7},
		{"ring_mouth(12mm, 60deg)", 10.39230, 1e-5}, {"ring_travel(12mm, 60deg)", 0.80385, 1e-5}, {"ring_strain(12mm, 1.6mm, 60deg)", 0.009396, 5e-7},
		{"arm_strain(2.5mm, 2.5mm, 15mm)", 0.0416667, 1e-7}, {"arm_strain(1.6mm, 1.2mm, 14mm)", 0.0146939, 1e-7},
	} {
		if v, _ := quantity(t, "use snap", "snap."+c.x); math.Abs(v-c.want) > c.within {
			t.Errorf("%s = %.8f, want %.8f", c.x, v, c.want)
		}
	}
}

// T = K F d: M4 at 0.5 N m pulls with 625 N, M10 at 50 N m with 25 000 N
// (published worked examples, K = 0.2).
func TestPullOfScrews(t *testing.T) {
	for x, want := range map[string]float64{"pull(0.5N*m, 4mm)": 625, "pull(50N*m, 10mm)": 25000, "pull(30N*m, 10mm, factor: 0.15)": 20000} {
		if v, _ := quantity(t, "use fastener", "fastener."+x+" / 1N"); math.Abs(v-want) > 1e-6 {
			t.Errorf("%s = %g N, want %g", x, v, want)
		}
	}
}

// The room of a countersunk screw is a cone of 90 degrees on a cylinder: with
// the cone from radius r0 at the depth h to r1 = r0 + h at z = 0, the cylinder
// of radius c adds what lies below the place where the cone is as wide.
func TestCountersunk(t *testing.T) {
	r := library(t, "use fastener\npart p { join fastener.countersunk_screw(thread: 4mm, shank: 12mm) }", Options{})
	if len(r.Diags) > 0 {
		t.Fatal(listed(r.Diags))
	}
	const head, c = (8.96 + 0.4) / 2, 4.5 / 2
	deep := 8.96/2 + 0.1
	slope := (head - 0.1) / deep
	meet := -(head - c) / slope // z where the cone is as wide as the shank
	cone := math.Pi / 3 * (head*head + head*c + c*c) * -meet
	want := cone + math.Pi*c*c*(12+meet)
	if got := volume(t, r.Parts[0], 0.001); math.Abs(got-want) > 2e-3*want {
		t.Errorf("volume %.4f, want %.4f", got, want)
	}
}

// The coupon is a plate with six holes, six pegs and 21 half-sunk notches: its
// volume by closed forms. Readings that are all 0.14 small ask for 0.14 more.
func TestCoupon(t *testing.T) {
	r := library(t, "use coupon\npart p { join coupon.coupon }", Options{})
	if len(r.Diags) > 0 {
		t.Fatal(listed(r.Diags))
	}
	want := 86.0*34*4 - 21*1*1*4
	for _, d := range []float64{3, 4, 5, 6, 8, 10} {
		want += math.Pi / 4 * d * d * (8 - 4)
	}
	if got := volume(t, r.Parts[0], 0.001); math.Abs(got-want) > 1e-4*want {
		t.Errorf("volume %.3f, want %.3f", got, want)
	}
	v, u := quantity(t, "use coupon", "coupon.correction(7mm, 2.86mm, 3.86mm, 4.86mm, 5.86mm, 7.86mm, 9.86mm)")
	if math.Abs(v-0.14) > 1e-12 || u > 1e-12 {
		t.Errorf("correction %g ± %g, want 0.14", v, u)
	}
}
