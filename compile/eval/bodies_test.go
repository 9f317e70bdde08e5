package eval

import (
	"math"
	"os"
	"testing"
)

// Bodies with what can be said of them, against closed forms. The plate is 20
// by 10 mm, the sketch rim the rectangle from x = 8 to 12, y = 0 to 3.
func TestShapedBodies(t *testing.T) {
	slope := math.Tan(5 * math.Pi / 180)
	// The plate drawn in by up to x over a height: the mean surface is
	// 200 - 30 x + 4/3 x² for x growing evenly from 0.
	drawn := func(x float64) float64 { return 200 - 30*x + 4./3*x*x }
	q1, q2 := 1-math.Pi/4, 5./3-math.Pi/2 // of a quarter circle: ∫x/r², ∫x²/r³
	for _, c := range []struct {
		text   string
		volume float64
		source string
	}{
		{"extrude plate by 10mm taper 5deg", 10 * drawn(10*slope), "prismatoid"},
		{"extrude plate by 10mm along y, taper 5deg", 10 * drawn(10*slope), "prismatoid"},
		{"extrude plate by 10mm, taper -5deg", 10 * drawn(-10*slope), "prismatoid"},
		{"extrude plate by 4mm, bevel bottom 0.4mm", 200*3.6 + 0.4*drawn(0.4), "prismatoid"},
		{"extrude plate by 4mm along x, bevel left 0.4mm, bevel right 0.4mm", 200*3.2 + 0.8*drawn(0.4), "prismatoid"},
		{"extrude plate by 4mm, bevel bottom 0.4mm, round top 1mm", 200*2.6 + 0.4*drawn(0.4) + 200 - 60*q1 + 4*q2, "integral over a quarter circle"},
		{"extrude plate by 4mm, hollow 1mm", 4 * (200 - 18*8), "difference"},
		{"extrude plate by 4mm, hollow 1mm, closed bottom 1mm", 4*200 - 3*18*8, "difference"},
		{"extrude plate by 10mm, hollow 1mm, taper 5deg", 10 * (56 - 2*2*10*slope), "wall of even thickness: 2·1·(20+10-2-4x) mean"},
		{"extrude grown(plate, 1mm) by 2mm", 2 * (22*12 - (4 - math.Pi)), "Steiner: A + U d + pi d^2"},
		{"extrude grown_sharp(plate, 1mm) by 2mm", 2 * 22 * 12, "rectangle"},
		{"extrude shrunk(plate, 1mm) by 2mm", 2 * 18 * 8, "rectangle"},
	} {
		t.Run(c.text, func(t *testing.T) {
			r := evaluated(t, exampleSketches+"part p { join "+c.text+" }", Options{})
			if len(r.Diags) > 0 || len(r.Parts) != 1 {
				t.Fatal(listed(r.Diags))
			}
			if got := volume(t, r.Parts[0], 0.001); math.Abs(got-c.volume) > 5e-4*c.volume {
				t.Errorf("volume %.5f, want %.5f (%s)", got, c.volume, c.source)
			}
		})
	}
}

// The threaded spacer by rings and Pappus: a wall of 54/44 mm, 12.93 mm high,
// 4 mm of M48x0.75 less 0.3 mm on top of it, 5 mm of the same plus 0.3 mm taken
// out; bevels and lead-ins by their rings, to a quarter of a percent in all.
func TestVolumeOfSpacer(t *testing.T) {
	section := func(d float64) float64 { // core and ridge of a thread of pitch 0.75
		h := 0.625 * math.Sqrt(3) / 2 * 0.75
		core := d/2 - h
		return math.Pi*core*core + 2*math.Pi*(core+h*(2./8+3./4)/(3*7./8))*h*7/16
	}
	bore := math.Pi * 22 * 22
	want := (math.Pi*27*27-bore)*12.93 + 4*(section(47.7)-bore) - 5*(section(48.3)-bore) -
		2*math.Pi*27*0.08 - 2*math.Pi*23.7*0.06 - 2*math.Pi*24*0.06
	text, err := os.ReadFile("../../examples/spacer.perch")
	if err != nil {
		t.Fatal(err)
	}
	r := library(t, string(text), Options{})
	if len(r.Diags) > 0 || len(r.Parts) != 1 {
		t.Fatal(listed(r.Diags))
	}
	if got := volume(t, r.Parts[0], 0.01); math.Abs(got-want) > 2.5e-3*want {
		t.Errorf("volume %.1f, want %.1f", got, want)
	}
}

// The adapter by rings and frusta, π h/3 (R² + R r + r²), bevels by Pappus.
func TestVolumeOfAdapter(t *testing.T) {
	const outer, thin, w = 40.1 + 0.3 + 4, 24.9 - 0.3, 2.
	ring := func(d float64) float64 { return math.Pi * w * (d - w) }
	frustum := func(a, b float64) float64 { return math.Pi * 20 / 12 * (a*a + a*b + b*b) }
	bevels := math.Pi * (outer + thin - 4*w) * 0.08 // inner rims of the bores
	bevels += math.Pi * (outer + thin) * 0.08
	want := 15*(ring(outer)+ring(thin)) + frustum(outer, thin) - frustum(outer-2*w, thin-2*w) - bevels
	text, err := os.ReadFile("../../examples/adapter.perch")
	if err != nil {
		t.Fatal(err)
	}
	r := library(t, string(text), Options{})
	if len(r.Diags) > 0 || len(r.Parts) != 1 {
		t.Fatal(listed(r.Diags))
	}
	if got := volume(t, r.Parts[0], 0.001); math.Abs(got-want) > 5e-4*want {
		t.Errorf("volume %.2f, want %.2f", got, want)
	}
}
