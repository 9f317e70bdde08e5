package builtin

import (
	"math"
	"testing"

	"perch/compile/value"
)

// Worked fits of published tables (the 50 H8/f7 and 25 H7/h6 examples of
// teaching pages, the others from the tables of ISO 286): limits in mm. 30 and
// 50 are ends of ranges and belong to the lower ones.
func TestLimitsOfSize(t *testing.T) {
	for _, c := range []struct {
		size     float64
		class    string
		min, max float64
	}{
		{30, "H7", 30.000, 30.021}, {30, "g6", 29.980, 29.993},
		{50, "H7", 50.000, 50.025}, {50, "p6", 50.026, 50.042},
		{50, "H8", 50.000, 50.039}, {50, "f7", 49.950, 49.975},
		{25, "H7", 25.000, 25.021}, {25, "h6", 24.987, 25.000},
		{31.75, "H9", 31.750, 31.812}, {31.75, "d9", 31.608, 31.670},
		{114.3, "H11", 114.300, 114.520}, {114.3, "d11", 113.960, 114.180},
	} {
		lo, hi, f := isoLimits(value.Length(c.size), c.class)
		if f != nil || math.Abs(c.size+lo-c.min) > 1e-9 || math.Abs(c.size+hi-c.max) > 1e-9 {
			t.Errorf("%g %s: %.3f to %.3f, want %.3f to %.3f (%v)", c.size, c.class, c.size+lo, c.size+hi, c.min, c.max, f)
		}
	}
	// IT7 = 16 i with i = 0.45 D^(1/3) + 0.001 D, D the geometric mean of the
	// range, up to the rounding of the standard.
	for row := 1; row < len(isoTop); row++ {
		d := math.Sqrt(isoTop[row-1] * isoTop[row])
		i := 0.45*math.Cbrt(d) + 0.001*d
		for k, factor := range []float64{7, 10, 16, 25, 40, 64, 100, 160, 250, 400} {
			if got := isoGrades[row][k]; math.Abs(got-factor*i) > max(1, 0.05*got) {
				t.Errorf("IT%d to %g: %g, the rule gives %.1f", k+5, isoTop[row], got, factor*i)
			}
		}
	}
	for _, class := range []string{"", "H", "7", "H4", "H15", "k6", "g", "7H", "H7g6", "h99999999999999999999"} {
		if _, _, f := isoLimits(value.Length(30), class); f == nil || len(f.Notes) == 0 {
			t.Errorf("%q was taken", class)
		}
	}
	for _, size := range []float64{0.5, 0, -3, 250.1} {
		if _, _, f := isoLimits(value.Length(size), "H7"); f == nil {
			t.Errorf("%g was taken", size)
		}
	}
}
