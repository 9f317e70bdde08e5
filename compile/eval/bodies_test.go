package eval

import (
	"math"
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
