package compile

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

// The formulas of modules holds, heat and snap against worked examples. Each
// case holds within half a unit of its last printed digit.
func TestHolding(t *testing.T) {
	cases := []struct{ x, want, within, source string }{
		// Beer and Johnston, Vector Mechanics: Statics, 10th ed., 8.104: two turns
		// hold 5000 lbf with 80 lbf at mu 0.3290661; one turn at mu 0.5 is 23.14069.
		{"holds.strap_ratio(0.3290661, 720deg)", "62.5", "0.0001", "rope friction"},
		{"holds.strap_ratio(0.5, 360deg)", "23.14069", "0.00001", "rope friction"},
		{"holds.strap_ratio(0.2, 180deg)", "1.87446", "0.00001", "rope friction"},
		{"holds.strap_press(40N, 30deg)", "40N", "0.0001N", "2 T sin b"},
		{"holds.strap_press(40N, 45deg)", "56.569N", "0.0005N", "2 T sin b"},
		{"holds.strap_press(30N, 17.226deg)", "17.77N", "0.005N", "2 T sin b"},
		{"holds.strap_hold(30N, 17.226deg, 0.3)", "5.33N", "0.005N", "mu 2 T sin b"},
		{"holds.band_hold(200N, 0.3)", "376.991N", "0.0005N", "2 pi mu F"},
		{"holds.band_torque(200N, 0.3, 50mm)", "18849.6N*mm", "0.05N*mm", "2 pi mu F R"},
		{"holds.band_pressure(200N, 50mm, 20mm)", "0.2MPa", "1e-6MPa", "F/(R w)"},
		{"holds.band_hold(625N, 0.3)", "1178N", "0.5N", "2 pi mu F"},
		{"holds.pull_stress(625N, 12mm, 4mm)", "13.02MPa", "0.005MPa", "F/A"},
		{"holds.pull_stress(625N, 12mm, 4mm) * 3.61", "47MPa", "0.05MPa", "factor 3.61 along the layers of petg"},
		{"fastener.pull(50N*m, 10mm)", "25000N", "0.01N", "T = K F d, M10 worked example"},
		{"fastener.pull(2.5N*m, 6mm)", "2083.3N", "0.05N", "T = K F d"},
		{"holds.bearing(1000N, 10mm, 5.5mm)", "18.25MPa", "0.005MPa", "F/(pi/4 (D^2 - d^2))"},
		{"holds.bearing(1000N, 8.5mm, 5.5mm)", "30.32MPa", "0.005MPa", "F/(pi/4 (D^2 - d^2))"},
		{"holds.arm_sag(5N, 80mm, 15mm, 10mm, 2000MPa)", "0.341333mm", "1e-6mm", "F L^3/(3 E I)"},
		{"holds.arm_stress(5N, 80mm, 15mm, 10mm)", "1.6MPa", "1e-6MPa", "F L c/I"},
		{"holds.arm_sag(10N, 100mm, 20mm, 10mm, 1700MPa)", "1.176471mm", "1e-6mm", "F L^3/(3 E I)"},
		{"holds.arm_frequency(0.25kg, 50mm, 18mm, 6mm, 3100MPa)", "49.4207Hz", "0.00005Hz", "sqrt(3 E I/(m L^3))/(2 pi)"},
		{"holds.arm_frequency(180g, 60mm, 20mm, 8mm, 1700MPa)", "53.2Hz", "0.06Hz", "the same"},
		{"holds.arm_sag(holds.weight(180g), 60mm, 20mm, 8mm, 850MPa)", "0.175mm", "0.0005mm", "long-term: half the modulus"},
		{"holds.beam_sag(20N, 120mm, 25mm, 6mm, 2200MPa)", "0.727273mm", "1e-6mm", "F L^3/(48 E I)"},
		{"holds.beam_stress(20N, 120mm, 25mm, 6mm)", "4MPa", "1e-6MPa", "3 F L/(2 b h^2)"},
		// Snap-Fit Joints for Plastics, a design guide: hook of polycarbonate.
		{"holds.snap_force(3.279mm, 9.5mm, 19mm, 0.02, 1815MPa)", "32.5N", "0.05N", "guide prints 32.5"},
		{"holds.snap_push(1N, 30deg, 0.6)", "1.80136N", "0.000005N", "guide prints 1.8"},
		{"snap.arm_strain(2.5mm, 2.5mm, 15mm)", "0.0416667", "5e-8", "1.5 t y/L^2"},
		{"snap.arm_strain(2.5mm, 2.5mm, 18mm)", "0.0289352", "5e-8", "1.5 t y/L^2"},
		{"snap.ring_strain(20mm, 2mm, 45deg)", "0.0133032", "5e-8", "open ring by Castigliano's theorem"},
		{"snap.ring_strain(25mm, 2.4mm, 55deg)", "0.0090490", "5e-8", "the same"},
		{"snap.ring_strain(12mm, 1.6mm, 60deg)", "0.0093960", "5e-7", "the same, printed from a rounded travel"},
		{"snap.ring_mouth(25mm, 55deg)", "20.47880mm", "5e-6mm", "d sin g"},
		{"holds.moment(0.35kg, 260mm)", "892.405N*mm", "0.0005N*mm", "m g a"},
		{"holds.moment(1.2kg, 150mm)", "1765.197N*mm", "0.0005N*mm", "m g a"},
		{"0.35kg * 260mm / 180mm", "0.505556kg", "5e-7kg", "balance weight"},
		{"holds.counter_shift(0.62kg, 210mm, 5.1kg) - holds.counter_shift(0.18kg, 95mm, 5.1kg)", "22.176mm", "0.0005mm", "moments about the axis"},
		{"holds.tips_at(60mm, 150mm)", "21.801409deg", "5e-7deg", "atan(half base/height)"},
		{"holds.tips_at(50mm, 200mm)", "14.036243deg", "5e-7deg", "atan(half base/height)"},
		{"holds.tips_at(holds.tripod_edge(400mm), 900mm)", "12.528808deg", "5e-7deg", "three feet on a circle"},
		{"heat.wider(114.3mm, 68e-6 / 1K, heat.aluminium, -30K)", "-0.154305mm", "1e-9mm", "D (a1 - a2) dT"},
		{"heat.wider(100mm, 93.6e-6 / 1K, 23.6e-6 / 1K, -40K)", "-0.28mm", "1e-9mm", "D (a1 - a2) dT"},
		{"heat.wider(60mm, 41e-6 / 1K, heat.aluminium, 20K)", "0.0216mm", "1e-9mm", "D (a1 - a2) dT"},
		{"heat.clearance(95.5mm, 95.2mm, 68e-6 / 1K, heat.aluminium, -30K)", "0.1715mm", "0.00005mm", "a cap on a cold night"},
	}
	var text strings.Builder
	text.WriteString("use holds, heat, snap, fastener\npart p {\n    join ball radius 3mm\n")
	for _, c := range cases {
		fmt.Fprintf(&text, "    check abs(%s - (%s)) <= %s\n", c.x, c.want, c.within)
	}
	text.WriteString("}\n")
	s := New()
	s.Set("holds.perch", text.String())
	r, err := s.Build(context.Background(), "holds.perch", Options{})
	if err != nil || len(r.Parts) != 1 {
		t.Fatal(err, r.Diags)
	}
	for i, c := range r.Parts[0].Checks {
		if !c.Pass {
			t.Errorf("%s is off by %s, want %s (%s)", cases[i].x, c.Value, cases[i].want, cases[i].source)
		}
	}
	if n := len(r.Parts[0].Checks); n != len(cases) {
		t.Errorf("%d of %d cases judged: %v", n, len(cases), r.Diags)
	}
}
