package eval

import (
	"context"
	"math"
	"testing"

	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/parse"
	"perch/lang/source"
)

// inShop inspects a text under a workshop.
func inShop(t *testing.T, shop, text string) (map[string]value.Number, *Inspection) {
	t.Helper()
	var mods [2]*Module
	for i, s := range []string{shop, text} {
		f, diags := parse.File(source.New([]string{"workshop.perch", "part.perch"}[i], s))
		if len(diags) > 0 {
			t.Fatalf("does not parse: %s", listed(diags))
		}
		mods[i] = &Module{File: f}
	}
	mods[0].Name = "workshop.perch"
	in, err := Inspect(context.Background(), mods[1], Options{Workshop: mods[0]})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]value.Number{}
	for _, q := range in.Quantities {
		out[q.Name], _ = q.Value.(value.Number)
	}
	return out, in
}

func nearly(t *testing.T, what string, n value.Number, x, u, digits float64) {
	t.Helper()
	if !(math.Abs(n.X-x) <= digits) || !(math.Abs(n.Uncertainty()-u) <= digits) {
		t.Errorf("%s is %.6f ± %.6f, want %.6f ± %.6f", what, n.X, n.Uncertainty(), x, u)
	}
}

// Five holes drawn 4.00 read 3.84 3.87 3.88 3.85 3.86: mean 3.860, s 0.01581,
// u 0.00707, correction +0.140; for a hole of 4.05 draw 4.19. Worked by hand.
func TestCorrectionAtOneSize(t *testing.T) {
	got, in := inShop(t, "workshop {\n hole 4mm = 3.84mm, 3.87mm, 3.88mm, 3.85mm, 3.86mm\n}", `
let drawn = fit.exact.hole(4.05mm)
let wide  = fit.exact.hole(90mm)
`)
	if len(in.Diags) > 0 {
		t.Fatal(listed(in.Diags))
	}
	nearly(t, "drawn", got["drawn"], 4.19, 0.01581/math.Sqrt(5), 5e-6)
	// One size tells little of another: ±0.05 mm, rectangular (GUM 4.3.7).
	nearly(t, "wide", got["wide"], 90.14, math.Hypot(0.01581/math.Sqrt(5), 0.05/math.Sqrt(3)), 5e-6)
}

// A straight line through four holes, against Draper and Smith's formulas worked
// by hand: x 3 4 6 10, y = drawn - read 0.20 0.18 0.19 0.11; mean x 5.75, Sxx
// 28.75, Sxy -0.35, slope -0.0121739, height 0.17 at the mean; residuals
// -0.0034783 -0.0113043 0.0230435 -0.0082609, s² = 3.69565e-4, s 0.0192241. At 5:
// 0.1791304 ± s sqrt(1/4 + 0.75²/28.75) = 0.0099811. Beyond the ends the ends
// hold: at 30 that of 10, 0.1182609.
func TestCorrectionLine(t *testing.T) {
	got, in := inShop(t, "workshop {\n hole 3mm = 2.80mm\n hole 10mm = 9.89mm\n hole 4mm = 3.82mm\n hole 6mm = 5.81mm\n peg 5mm = 5.05mm +- 0.01mm\n}", `
let five = fit.exact.hole(5mm) - 5mm
let far  = fit.exact.hole(30mm) - 30mm
let near = fit.exact.hole(19mm) - 19mm
let same = fit.exact.hole(5mm) - fit.exact.hole(5mm)
let peg  = fit.exact.peg(5mm)
`)
	if len(in.Diags) > 0 {
		t.Fatal(listed(in.Diags))
	}
	nearly(t, "five", got["five"], 0.1791304, 0.0099811, 2e-6)
	// More than twice the largest size: the scatter of the line at 10, s
	// sqrt(1/4 + 4.25²/28.75) = 0.0180158, and ±0.05 mm. Up to twice it the first alone.
	nearly(t, "far", got["far"], 0.1182609, math.Hypot(0.0180158, 0.05/math.Sqrt(3)), 2e-6)
	nearly(t, "near", got["near"], 0.1182609, 0.0180158, 2e-6)
	nearly(t, "same", got["same"], 0, 0, 1e-12)
	nearly(t, "peg", got["peg"], 4.95, 0.01, 1e-12)
}

// On diameter and per side are told apart both where a fit is stated and where
// it is used; what is assumed carries its doubt and is named.
func TestFits(t *testing.T) {
	got, in := inShop(t, "workshop {\n fit.snug.per_side = 0.06mm +- 0.01mm\n fit.sliding.on_diameter = 0.3mm\n hole 5mm = 5mm\n}", `
let snug  = fit.snug.on_diameter
let side  = fit.snug.per_side
let slide = fit.sliding.per_side
let hole  = fit.snug.hole(5mm)
let peg   = fit.snug.peg(5mm)
let loose = fit.free.on_diameter
`)
	if len(in.Diags) > 0 {
		t.Fatal(listed(in.Diags))
	}
	nearly(t, "snug", got["snug"], 0.12, 0.02, 1e-12)
	nearly(t, "side", got["side"], 0.06, 0.01, 1e-12)
	nearly(t, "slide", got["slide"], 0.15, 0, 1e-12)
	nearly(t, "hole", got["hole"], 5.12, 0.02, 1e-12)
	nearly(t, "peg", got["peg"], 4.88, 0.02, 1e-12)
	nearly(t, "loose", got["loose"], 0.5, 0.1/math.Sqrt(3), 1e-12)
	if a := in.Workshop.Assumptions(); len(a) != 2 || a[0] != "fit.free 0.5 mm on diameter" || a[1] != "pegs come out as drawn" {
		t.Errorf("assumed %q", a)
	}
}

// A part is printed in the workshop's own materials.
func TestOwnMaterials(t *testing.T) {
	_, in := inShop(t, "workshop {\n material = \"green\"\n green.density = 1.3g/cm^3 +- 0.01g/cm^3\n green.like = \"petg\"\n petg.price = 24 / 1kg\n mine.density = 1.1g/cm^3\n}", "let a = 1mm")
	if len(in.Diags) > 0 {
		t.Fatal(listed(in.Diags))
	}
	green, _ := in.Workshop.Material("green")
	petg, _ := in.Workshop.Material("petg")
	mine, _ := in.Workshop.Material("mine")
	if math.Abs(green.Density.X-1.3e-3) > 1e-15 || math.Abs(green.Density.U-1e-5) > 1e-12 || !green.Softens.Known() || green.Softens.Stated {
		t.Errorf("green %+v", *green)
	}
	if petg.Price.X != 24e-3 || !petg.Price.Stated || petg.Density.X != 1.27e-3 {
		t.Errorf("petg %+v", *petg)
	}
	if mine.Softens.Known() || mine.Density.X != 1.1e-3 {
		t.Errorf("mine %+v", *mine)
	}
}

// Each slip in a workshop is one message at its place.
func TestWorkshopFaults(t *testing.T) {
	for shop, code := range map[string]string{
		"workshop { nozle = 0.4mm }":                                            "workshop-entry",
		"workshop { nozzle = 0.4g }":                                            "workshop-value",
		"workshop { nozzle = 4mm }":                                             "workshop-value",
		"workshop { nozzle = 0mm }":                                             "workshop-value",
		"workshop { bed = (220mm, 220mm) }":                                     "workshop-value",
		"workshop { bed = 220mm }":                                              "workshop-value",
		"workshop { name = 3mm }":                                               "workshop-value",
		"workshop { fit.snug = 0.1mm }":                                         "fit-unclear",
		"workshop { fit.snag.per_side = 0.1mm }":                                "workshop-entry",
		"workshop { fit.exact.per_side = 0.1mm }":                               "workshop-entry",
		"workshop { fit.snug.per_side = 10mm }":                                 "workshop-value",
		"workshop { fit.snug.per_side = 0.1mm\n fit.snug.on_diameter = 0.2mm }": "arg-twice",
		"workshop { nozzle = 0.4mm\n nozzle = 0.5mm }":                          "arg-twice",
		"workshop { hole = 3mm }":                                               "workshop-value",
		"workshop { hole 3g = 3mm }":                                            "workshop-value",
		"workshop { hole 30mm = 3mm }":                                          "workshop-value",
		"workshop { nozzle 3mm = 3mm }":                                         "workshop-value",
		"workshop { pteg.price = 24 / 1kg }":                                    "material-unknown",
		"workshop { petg.prize = 24 / 1kg }":                                    "workshop-entry",
		"workshop { petg.price = 24 }":                                          "workshop-value",
		"workshop { green.like = \"pteg\" }":                                    "material-unknown",
		"workshop { material = \"pteg\" }":                                      "material-unknown",
		"workshop { layer = workshop.nozzle }":                                  "workshop-value",
		"workshop { a.b.c = 3mm }":                                              "workshop-entry",
		"workshop { nozzle = 0.4mm }\nworkshop { line = 0.4mm }":                "workshop-only",
		"workshop { nozzle = 0.4mm }\nsketch s { point o at (0, 0) }":           "workshop-only",
		"let a = 3mm": "workshop-missing",
	} {
		_, in := inShop(t, shop, "let a = 1mm")
		if len(in.Diags) != 1 || string(in.Diags[0].Code) != code || len(in.Diags[0].Notes) == 0 || !in.Diags[0].At.Valid() {
			t.Errorf("%s: %s", shop, listed(in.Diags))
		}
	}
	for text, code := range map[string]string{
		"let a = 3mm + fit.snug":       "fit-unclear",
		"let a = fit.snug.hole(3g)":    "kind-mismatch",
		"let a = workshop.nozle":       "member-unknown",
		"let a = fit.snag.per_side":    "member-unknown",
		"let a = fit.snug.per_sid":     "member-unknown",
		"workshop { nozzle = 0.5mm }":  "workshop-misplaced",
		"let a = fit.snug.peg(0.05mm)": "domain",
	} {
		_, in := inShop(t, "workshop { nozzle = 0.6mm }", text)
		if len(in.Diags) != 1 || string(in.Diags[0].Code) != code {
			t.Errorf("%s: %s", text, listed(in.Diags))
		}
	}
}

// Every entry and every fit has a value or says that it has none, and what it
// derives from a stated one.
func TestEntries(t *testing.T) {
	got, _ := inShop(t, "workshop { nozzle = 0.6mm }", "let line = workshop.line\nlet layer = workshop.layer\nlet first = workshop.first_layer")
	nearly(t, "line", got["line"], 0.675, 0, 1e-12)
	nearly(t, "layer", got["layer"], 0.3, 0, 1e-12)
	nearly(t, "first", got["first"], 0.45, 0, 1e-12)
	p := workshop.New("")
	for _, e := range workshop.Entries {
		if s := p.Look(e.Name); s.Value != nil && (s.Source == "" || s.Value.Kind() != e.Kind) {
			t.Errorf("%s: %+v", e.Name, s)
		}
	}
}

// A body with a fit has every face moved by the clearance per side: closed
// forms, for 0.1 mm per side and holes and pegs that come out as drawn.
func TestFittedBodies(t *testing.T) {
	const shop = "workshop {\n fit.snug.per_side = 0.1mm\n hole 4mm = 4mm\n peg 4mm = 4mm\n}"
	f, _ := parse.File(source.New("workshop.perch", shop))
	for text, want := range map[string]float64{
		"box width 10mm, depth 6mm, height 3mm with fit.snug":                                                     10.2 * 6.2 * 3.2,
		"box width 10mm, depth 6mm, height 3mm less fit.snug":                                                     9.8 * 5.8 * 2.8,
		"cylinder radius 3mm, length 4mm, along y with fit.snug":                                                  math.Pi * 3.1 * 3.1 * 4.2,
		"cylinder radius 3mm, height 4mm less fit.snug":                                                           math.Pi * 2.9 * 2.9 * 3.8,
		"ball radius 3mm with fit.snug":                                                                           math.Pi * 4 / 3 * 3.1 * 3.1 * 3.1,
		"extrude plate by 4mm, along y with fit.snug":                                                             20.2 * 10.2 * 4.2,
		"extrude plate by 4mm less fit.snug":                                                                      19.8 * 9.8 * 3.8,
		"box width 2mm, depth 2mm, height 2mm turned 30deg about x in a row of 3 every 5mm along x with fit.snug": 3 * 2.2 * 2.2 * 2.2,
		"(box width 10mm, depth 10mm, height 3mm with box width 3mm, depth 3mm, height 10mm) with fit.snug":       10.2*10.2*3.2 + 3.2*3.2*7,
	} {
		part, diags := parse.File(source.New("part.perch", exampleSketches+"part p { join "+text+" }"))
		if len(diags) > 0 {
			t.Fatal(listed(diags))
		}
		r, err := Run(context.Background(), &Module{File: part}, Options{Workshop: &Module{Name: "workshop.perch", File: f}, Tolerance: 0.001})
		if err != nil || len(r.Diags) > 0 || len(r.Parts) != 1 {
			t.Errorf("%s: %v %s", text, err, listed(r.Diags))
			continue
		}
		if got := volume(t, r.Parts[0], 0.001); math.Abs(got-want) > 2e-3*want {
			t.Errorf("%s: volume %.4f, want %.4f", text, got, want)
		}
	}
	// Holes are corrected, too: 0.14 mm on diameter is 0.07 mm per side.
	f, _ = parse.File(source.New("workshop.perch", "workshop {\n fit.snug.per_side = 0.1mm\n hole 4mm = 3.86mm\n}"))
	part, _ := parse.File(source.New("part.perch", "part p { join box width 10mm, depth 6mm, height 3mm with fit.snug }"))
	r, _ := Run(context.Background(), &Module{File: part}, Options{Workshop: &Module{File: f}})
	if got, want := volume(t, r.Parts[0], 0.001), 10.34*6.34*3.34; math.Abs(got-want) > 1e-6*want {
		t.Errorf("corrected: volume %.4f, want %.4f", got, want)
	}
	for _, text := range []string{
		"cone radius 3mm to 2mm, height 4mm with fit.snug", "ball radius 0.05mm less fit.snug", "box width 3mm, depth 3mm, height 0.1mm less fit.snug",
		"(box width 3mm, depth 3mm, height 3mm less ball radius 1mm) with fit.snug", "extrude plate by 4mm, bevel bottom 0.4mm with fit.snug",
		"(box width 3mm, depth 3mm, height 3mm with box width 1mm, depth 1mm, height 9mm) less fit.snug", "cylinder radius 0.04mm, height 3mm less fit.snug",
	} {
		r := evaluated(t, exampleSketches+"part p { join "+text+" }", Options{})
		if len(r.Diags) != 1 || r.Diags[0].Code != "no-allowance" || len(r.Diags[0].Notes) == 0 {
			t.Errorf("%s: %s", text, listed(r.Diags))
		}
	}
}
