package check_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"perch/compile"
	"perch/compile/check"
	"perch/lang/diag"
)

// cases: a part for each query, with the value that plane geometry or statics
// gives. The tip angle 21.801409 degrees is atan(60/150), a worked example of
// statics; the others are sums and products.
var cases = map[string]struct {
	steps string
	value float64
	to    float64
	fails string // steps with which the example fails
}{
	"fits bed":      {"join box width 200mm, depth 220mm, height 5mm", 1, 0, "join box width 200mm, depth 221mm, height 5mm"},
	"first layer":   {"join box width 10mm, depth 12mm, height 5mm", 120, 1e-6, "join ball radius 5mm"},
	"overhang":      {"join cone radius 10mm to 2mm, height 10mm", 0, 1e-6, "join cone radius 2mm to 20mm, height 10mm"},
	"wall":          {"join box width 30mm, depth 30mm, height 8mm\ncut box width 27mm, depth 20mm, from z = 2mm to z = 9mm", 1.5, 1e-6, "join box width 30mm, depth 30mm, height 8mm\ncut box width 28mm, depth 20mm, from z = 2mm to z = 9mm"},
	"gap":           {"join box width 30mm, depth 30mm, height 8mm\ncut box width 0.5mm, depth 20mm, from z = 2mm to z = 9mm", 0.5, 1e-6, "join box width 30mm, depth 30mm, height 8mm\ncut box width 0.3mm, depth 20mm, from z = 2mm to z = 9mm"},
	"loose islands": {"join box width 30mm, depth 30mm, height 8mm", 0, 0, "join box width 30mm, depth 30mm, height 8mm\njoin ball radius 3mm, centre (40mm, 0, 20mm)"},
	"least time":    {"join box width 20mm, depth 20mm, height 20mm", 1000, 1e-6, "join box width 200mm, depth 200mm, height 20mm"},
	"tip angle":     {"join box width 120mm, depth 300mm, height 300mm", math.Atan(60.0 / 150), 1e-9, "join box width 20mm, depth 30mm, height 300mm"},
	"bridge":        {"join box width 30mm, depth 12mm, height 8mm\ncut box width 9mm, depth 12mm, from z = 0 to z = 4mm", 9, 1e-6, "join box width 30mm, depth 12mm, height 8mm\ncut box width 14mm, depth 12mm, from z = 0 to z = 4mm"},
	// 1 m of filament of 1.75 mm has 2405.282 mm3.
	"filament": {"join box width 10mm, depth 10mm, height 10mm", 1000 / 2.405281875, 1e-5, "join box width 100mm, depth 100mm, height 10mm"},
	// 10.16 g, the centre of mass 160 mm from the point: m g a.
	"moment about": {"join box width 20mm, depth 20mm, height 20mm", 8 * 1.27 * 9806.65 * 160, 1, "join box width 200mm, depth 100mm, height 40mm"},
	"least gap to": {"mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = -0.25mm\njoin box width 34mm, depth 30mm, height 5mm", 0.25, 1e-6, "mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = -0.05mm\njoin box width 34mm, depth 30mm, height 5mm"},
	"contact to":   {"mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = 0\njoin box width 20mm, depth 12mm, height 5mm", 240, 1e-6, "mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = 0\njoin box width 10mm, depth 12mm, height 5mm"},
	// A peg of 4.09 mm radius in a hole of 4 mm, but for chords of 0.01 mm.
	"interference to":         {"mating pipe = cylinder radius 4.09mm, height 5mm\njoin box width 34mm, depth 30mm, height 5mm\ncut cylinder radius 4mm, height 5mm", 0.09, 0.011, "mating pipe = cylinder radius 4.2mm, height 5mm\njoin box width 34mm, depth 30mm, height 5mm\ncut cylinder radius 4mm, height 5mm"},
	"free path from over to":  {"join box width 34mm, depth 30mm, height 5mm\ncut box width 5mm, depth 6mm, height 5mm", 5, 1e-6, "join box width 34mm, depth 30mm, height 5mm\ncut box width 3mm, depth 6mm, height 5mm"},
	"free insertion of along": {"mating camera = cylinder radius 4mm, from z = 2mm to z = 30mm\njoin box width 34mm, depth 30mm, height 25mm\ncut cylinder radius 4mm, from z = 2mm to z = 25mm", 1, 0, "mating camera = cylinder radius 4mm, from z = 2mm to z = 30mm\njoin box width 34mm, depth 30mm, height 25mm\ncut cylinder radius 4mm, from z = 2mm to z = 20mm\ncut cylinder radius 3.9mm, from z = 2mm to z = 25mm"},
	// An arm 20 x 8 x 60 in petg, flexural modulus 1700, with 180 g: F L³/(3 E I),
	// F L c/I upright and h/b of that sideways at once, sqrt(3 E I/(m L³))/(2 pi): a worked example.
	"sag of at from":             {"join box width 20mm, from y = 0 to y = 60mm, from z = 0 to z = 8mm", 0.0876, 1e-4, "join box width 20mm, from y = 0 to y = 60mm, from z = 1mm to z = 7mm"},
	"bending stress of at from":  {"join box width 20mm, from y = 0 to y = 60mm, from z = 0 to z = 8mm", 0.4965e6 * math.Hypot(1, 0.4), 300, "join box width 20mm, from y = 0 to y = 60mm, from z = 3mm to z = 5mm"},
	"first frequency of at from": {"join box width 20mm, from y = 0 to y = 60mm, from z = 0 to z = 8mm", 53.2, 0.06, "join box width 20mm, from y = 0 to y = 60mm, from z = 2mm to z = 6mm"},
	// Softening of petg at 73 degC, of pla at 55 degC.
	"softening margin at": {"join ball radius 3mm\nmaterial petg", 23, 1e-9, "join ball radius 3mm\nmaterial pla"},
	"mouth of along":      {"mating lead = cylinder diameter 4mm, along y, centre (0, 0, 5mm)\njoin box width 12mm, depth 9mm, height 11mm\ncut cylinder diameter 5mm, along y, centre (0, 0, 5mm)\ncut box width 3mm, depth 9mm, from z = 5mm to z = 11mm", 3, 1e-6, "mating lead = cylinder diameter 4mm, along y, centre (0, 0, 5mm)\njoin box width 12mm, depth 9mm, height 11mm\ncut cylinder diameter 5mm, along y, centre (0, 0, 5mm)\ncut box width 3.6mm, depth 9mm, from z = 5mm to z = 11mm"},
	"gap to":              {"mating pipe = cylinder radius 57.4mm, along y, centre (0, 0, -57.4mm)\njoin box width 34mm, depth 30mm, from z = -3mm to z = 5mm\ncut pipe", 0, 1e-3, "mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = -0.2mm\njoin box width 34mm, depth 30mm, height 5mm"},
	"clearance to":        {"mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = -0.25mm\njoin box width 34mm, depth 30mm, height 5mm", 0.25, 1e-6, "mating pipe = box width 40mm, depth 40mm, from z = -5mm to z = -0.1mm\njoin box width 34mm, depth 30mm, height 5mm"},
}

func run(t *testing.T, steps, example string) (*check.Result, diag.List) {
	t.Helper()
	s := compile.New()
	s.Set("case.perch", "part p {\n"+steps+"\ncheck pieces > 0\ncheck "+example+"\n}\n")
	r, err := s.Build(context.Background(), "case.perch", compile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Parts) != 1 || len(r.Parts[0].Checks) != 2 {
		return nil, r.Diags
	}
	return &r.Parts[0].Checks[1], r.Diags
}

// Every query has a case: its example holds with the value expected, and fails
// for another part with a word on what to change.
func TestQueries(t *testing.T) {
	for _, q := range check.Queries {
		name := q.Name
		for _, l := range q.Links {
			name += " " + l.Word
		}
		c, ok := cases[name]
		if !ok || q.Doc == "" || q.Formula == "" || q.Source == "" || q.Change == "" {
			t.Errorf("%s has no case, or says too little of itself", name)
			continue
		}
		r, list := run(t, c.steps, q.Example)
		if r == nil || !r.Pass || math.Abs(r.Found.Value-c.value) > c.to {
			t.Errorf("%s: %+v %v, want %v", name, r, list, c.value)
		}
		r, list = run(t, c.fails, q.Example)
		if r == nil || r.Pass || !list.HasErrors() {
			t.Errorf("%s does not fail: %+v %v", name, r, list)
		}
	}
	if _, list := run(t, "join ball radius 3mm", "tip speed >= 3mm"); len(list) == 0 || list[0].Code != "ask-unknown" {
		t.Errorf("an unknown question: %v", list)
	}
	if r, list := run(t, "join ball radius 3mm", "gap >= 0.4mm"); r == nil || r.Unknown == "" || list.HasErrors() || len(list) == 0 {
		t.Errorf("what cannot be told: %+v %v", r, list)
	}
}

// Where a part is used, its cautions are shown.
func TestCautions(t *testing.T) {
	const held = "let retainers = 3\njoin ball radius retainers * 1mm\ncaution "
	for _, c := range check.Cautions {
		_, list := run(t, held+c.Word, "mass < 1kg")
		if len(list) != 1 || list[0].Severity != diag.Info || list[0].Message != c.Text {
			t.Errorf("%s: %v", c.Word, list)
		}
	}
	if _, list := run(t, "join ball radius 3mm\ncaution optcs", "mass < 1kg"); !list.HasErrors() {
		t.Errorf("an unknown caution: %v", list)
	}
}

// A cell for a solar filter that friction alone holds is refused, and so is one
// with a single retainer.
func TestFilterIsHeld(t *testing.T) {
	for steps, held := range map[string]bool{
		"join cylinder diameter 110mm, height 40mm\ncaution filter":                                false,
		"let retainers = 1\njoin cylinder diameter 110mm, height retainers * 40mm\ncaution filter": false,
		"let retainers = 3\njoin cylinder diameter 110mm, height retainers * 10mm\ncaution filter": true,
	} {
		r, list := run(t, steps, "mass < 10kg")
		if held != (r != nil && r.Pass) || list.HasErrors() == held {
			t.Errorf("%s: %v", steps, list)
		}
		if !held && (len(list) == 0 || list[0].Code != "filter-unheld") {
			t.Errorf("%s: %v", steps, list)
		}
	}
}

// Cautions appear by themselves where the part, its plastic or its checks call
// for them, and none of them claims that a part keeps a standard.
func TestCautionsAppear(t *testing.T) {
	s := compile.New()
	s.Set("dust_cap.perch", `part lid {
    mating battery = cylinder radius 5mm, height 30mm, centre (60mm, 0, 0)
    join cylinder diameter 99mm, height 20mm
    check clearance to battery >= 1mm
    check sag of 10g at (40mm, 0, 10mm) from (-40mm, 0, 10mm) <= 3mm
    material asa
    caution moving
}
part slab {
    join box width 9mm, depth 9mm, height 9mm
    material asa
}
`)
	r, err := s.Build(context.Background(), "dust_cap.perch", compile.Options{Standard: true})
	if err != nil || len(r.Parts) != 2 {
		t.Fatal(err, r.Diags)
	}
	for i, want := range []string{"optics load power fumes", "optics fumes"} {
		var got []string
		for _, c := range r.Parts[i].Cautions {
			got = append(got, c.Word)
			if text := strings.ToLower(c.Text); strings.Contains(text, "complies") || strings.Contains(text, "conforms") {
				t.Errorf("%s claims a standard", c.Word)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", r.Parts[i].Name, got, want)
		}
	}
}
