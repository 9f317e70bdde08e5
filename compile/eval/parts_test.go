package eval

import (
	"math"
	"os"
	"path/filepath"
	"testing"
)

// Every example evaluates in all its sizes without a word, its parts are one
// piece each, and all its checks hold.
func TestEveryExample(t *testing.T) {
	paths, err := filepath.Glob("../../examples/*.perch")
	if err != nil || len(paths) < 4 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			r := library(t, string(text), Options{AllSizes: true})
			for _, d := range r.Diags {
				if d.Code != "caution" {
					t.Fatal(listed(r.Diags))
				}
			}
			if len(r.Parts) < 2 {
				t.Errorf("%d parts, want two sizes", len(r.Parts))
			}
			if _, late := built(t, r); len(late) > 0 {
				t.Error(listed(late))
			}
			if len(r.Measures) == 0 {
				t.Error("nothing is measured")
			}
			for _, p := range r.Parts {
				if p.Assumed || len(p.Checks) < 4 {
					t.Errorf("%s %s: material assumed %v, %d checks", p.Name, p.Size, p.Assumed, len(p.Checks))
				}
			}
		})
	}
}

// The examples hold the figures of the jobs they are drawn from.
func TestFiguresOfExamples(t *testing.T) {
	for _, c := range []struct {
		file, x         string
		want, u, within float64
		source          string
	}{
		{"comb", "tube_r", 57.4049, 0, 5e-4, "R = C/(2 pi) - t/2 for C 361.0, t 0.10"},
		{"comb", "tube.sagitta(tube_r, 34mm)", 2.5750, 0, 5e-5, "R - sqrt(R^2 - w^2/4)"},
		{"comb", "tooth.throat.length / lead", 0.8, 0, 1e-9, "throat 80 % of the cable"},
		{"comb", "strap_width", 20.5, 0, 1e-9, "strap slot at least 20.5 x 3.0"},
		{"comb", "strap_thick", 3.0, 0, 1e-9, "strap slot at least 20.5 x 3.0"},
		{"ring", "body", 62.0, 0.00707, 5e-6, "mean and s/sqrt(n) of 62.02 61.98 62.01 61.99 62.00"},
		{"ring", "fastener.hole(screw)", 4.5, 0, 1e-9, "ISO 273 medium, M4"},
		{"ring", "fastener.corners(fastener.nut_flats(screw) + 0.2mm)", 8.314, 0, 5e-4, "2 s/sqrt(3) for s 7.2"},
		{"cradle", "tube_r", 85, 0.232863, 1e-6, "c^2/(8 s) + s/2 for c 80, s 10, u 0.03"},
		{"clip", "cable.bundle(leads, lead)", 3.8 * 2.414214, 0, 5e-6, "four equal circles: 1 + sqrt(2)"},
	} {
		text, err := os.ReadFile("../../examples/" + c.file + ".perch")
		if err != nil {
			t.Fatal(err)
		}
		v, u := quantity(t, string(text), c.x)
		if math.Abs(v-c.want) > c.within || c.u != 0 && math.Abs(u-c.u) > max(c.within, 5e-6) {
			t.Errorf("%s: %s = %.7f ± %.7f, want %.7f ± %.7f (%s)", c.file, c.x, v, u, c.want, c.u, c.source)
		}
	}
}
