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

// judged builds a file with uncertainties carried in and returns its checks.
func judged(t *testing.T, text string) ([]check.Result, diag.List) {
	t.Helper()
	s := compile.New()
	s.Set("case.perch", text)
	r, err := s.Build(context.Background(), "case.perch", compile.Options{Uncertainty: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Parts) != 1 {
		t.Fatal(r.Diags)
	}
	return r.Parts[0].Checks, r.Diags
}

// A product of 40.0 (0.05) and 25.0 (0.03) is 1000 with u = 1.732772, relative
// uncertainties adding by squares (GUM 5.1.6): as a volume of 1 mm height,
// found by rebuilding the box. At worst both are off by 2 u at once.
func TestRebuilding(t *testing.T) {
	results, list := judged(t, `measure a = 40mm +- 0.05mm
measure b = 25mm +- 0.03mm
part p {
    join box width a, depth b, height 1mm
    check volume <= 1003.4mm^3
    check volume <= 1003.5mm^3
    check volume >= 1003.4mm^3
    check volume >= 1003.5mm^3
    check volume = 1000mm^3
}
`)
	r := results[0]
	if u := r.Uncertainty(); math.Abs(u-1.732772) > 1e-6 {
		t.Errorf("u %v", u)
	}
	if w := r.Worst(); math.Abs(w-2*(0.05*25+0.03*40)) > 1e-6 {
		t.Errorf("worst case %v", w)
	}
	if len(r.Causes) != 2 || r.Causes[0].Name != "a" || math.Abs(r.Share(r.Causes[0])-1.25*1.25/(1.732772*1.732772)) > 1e-6 {
		t.Errorf("causes %v", r.Causes)
	}
	want := []check.Status{check.Open, check.Holds, check.Open, check.Fails, check.Holds}
	for i, r := range results {
		if r.Status() != want[i] {
			t.Errorf("%s: %s, want %s", r.Text, r.Status(), want[i])
		}
	}
	if !strings.Contains(r.Advice(), "measure `a` 1.1 times as well") {
		t.Errorf("advice %q", r.Advice())
	}
	open := 0
	for _, d := range list {
		if d.Code == check.CannotTell && d.Severity == diag.Warning {
			open++
		}
	}
	if open != 2 {
		t.Errorf("%d warnings, want 2: %v", open, list)
	}
}

// The part is printed as drawn; it is the tube that may be larger or smaller
// than read. A flat box stands 0.5 mm over a tube of radius 50 with u 0.05, so
// that its clearance has just that uncertainty.
func TestNeighbourIsUnsure(t *testing.T) {
	results, _ := judged(t, `measure r = 50mm +- 0.05mm
part p {
    mating pipe = cylinder radius r, along y, centre (0, 0, -50.5mm)
    join box width 10mm, depth 10mm, height r / 10
    check clearance to pipe >= 0.35mm
    check clearance to pipe >= 0.45mm
}
`)
	for i, want := range []check.Status{check.Holds, check.Open} {
		if r := results[i]; r.Status() != want || math.Abs(r.Uncertainty()-0.05) > 0.005 || math.Abs(r.Value.X-0.5) > 0.01 {
			t.Errorf("%s: %s, %v, u %v", r.Text, r.Status(), r.Value, r.Uncertainty())
		}
	}
}

// A measure that the part cannot be rebuilt with on either side is named, and
// one that works on one side counts by that side.
func TestShiftsThatFail(t *testing.T) {
	results, _ := judged(t, `measure a = 10mm +- 0.1mm
measure b = 1mm +- 0.01mm
part p {
    join box width if a > 9.95mm then a else refuse("too small"), depth 10mm,
        height if b = 1mm then b else refuse("off")
    check volume <= 200mm^3
}
`)
	r := results[0]
	if r.Status() != check.Holds || len(r.Unshifted) != 1 || r.Unshifted[0] != "b" || math.Abs(r.Uncertainty()-1) > 1e-6 {
		t.Errorf("%s, without %v, u %v", r.Status(), r.Unshifted, r.Uncertainty())
	}
}

// Nothing is asked, and still bed, overhang, walls and overlaps are looked at;
// what the file asks is not asked again. An overlap is told of at its line,
// once.
func TestStandard(t *testing.T) {
	s := compile.New()
	s.Set("case.perch", `part p {
    mating rod = cylinder radius 3mm, along z, centre (20mm, 0, 0)
    join box width 34mm, depth 30mm, height 5mm
    join box width 60mm, depth 30mm, from z = 5mm to z = 5.5mm
    check bridge <= 10mm
}
`)
	r, err := s.Build(context.Background(), "case.perch", compile.Options{Standard: true})
	if err != nil || len(r.Parts) != 1 {
		t.Fatal(err, r.Diags)
	}
	want := map[string]check.Status{
		"fits bed": check.Holds, "first layer": check.Holds, "overhang": check.Look, "wall": check.Look, "gap": check.Remark,
		"loose islands": check.Holds, "least time": check.Remark, "filament": check.Remark,
	}
	for _, got := range r.Parts[0].Standing {
		if got.Asked == nil { // how it lies best
			continue
		}
		if w := want[got.Asked.Name]; got.Status() != w {
			t.Errorf("%s: %s, want %q", got.Text, got.Status(), w)
		}
		delete(want, got.Asked.Name)
	}
	if len(want) > 0 {
		t.Errorf("not looked at: %v", want)
	}
	if len(r.Diags) != 1 || r.Diags[0].Code != compile.MatingOverlap {
		t.Errorf("messages %v", r.Diags)
	}
}

// The facets of a bore lie otherwise when its radius is read otherwise: that is
// no uncertainty of its lean. At the edge of a throat of 0.8 of a lead of 3.9 in
// a bore of 4.1 the wall leans by acos(1.56/2.05) = 40.45 deg, and by 0.17 deg
// more or less with 2 u of the lead; facets of 11.3 deg tell it to half of that.
// The lean of a cone, atan(5/10), is unsure by
// what its radius is: cos^2 (0.1/10) = 0.458 deg.
func TestFacetsAreNotUnsure(t *testing.T) {
	results, _ := judged(t, `measure lead = 3.9mm +- 0.1mm
sketch clip {
    circle bore centre (0, 6mm), diameter lead + 0.2mm
    rectangle block from (-6mm, 0) to (6mm, 12mm)
    slot mouth from (0, 6mm) to (0, 20mm), width 0.8 * lead
    area block less bore, mouth
}
part p {
    join extrude clip by 10mm along y
    check overhang <= 45deg
}
`)
	if r := results[0]; r.Status() != check.Holds || len(r.Causes) > 0 || math.Abs(r.Value.X*180/math.Pi-40.45) > 5.7 {
		t.Errorf("%s: %s, %v, %v", r.Text, r.Status(), r.Value, r.Causes)
	}
	results, _ = judged(t, `measure top = 10mm +- 0.1mm
part p {
    join cone radius 5mm to top, height 10mm
    check overhang <= 45deg
}
`)
	if u := results[0].Uncertainty() * 180 / math.Pi; math.Abs(u-0.458) > 0.01 {
		t.Errorf("u of a cone %v deg", u)
	}
}
