package compile

import (
	"math"
	"os"
	"strings"
	"testing"
)

// formed is the volume of the one part of a text, in mm³.
func formed(t *testing.T, text string, tolerance float64, sizes ...string) float64 {
	t.Helper()
	r := build(t, text, Options{Tolerance: tolerance, Sizes: sizes})
	if r.Diags.HasErrors() || len(r.Parts) != 1 {
		t.Fatalf("%d parts: %v", len(r.Parts), r.Diags)
	}
	return r.Parts[0].Volume
}

// example is the volume of a file of the examples, with text replaced.
func example(t *testing.T, name string, tolerance float64, replaced ...string) float64 {
	t.Helper()
	text, err := os.ReadFile("../examples/" + name + ".perch")
	if err != nil {
		t.Fatal(err)
	}
	return formed(t, strings.NewReplacer(replaced...).Replace(string(text)), tolerance)
}

func nearVolume(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if math.Abs(got-want) > share*math.Abs(want) {
		t.Errorf("%s: %.3f mm³, want %.3f", what, got, want)
	}
}

// The mask: a plate and a ring, less 72 upright rectangles and 48 leaning
// parallelograms (level width times height), all clear of each other.
func TestMask(t *testing.T) {
	girth := (521.3 + 521.6 + 521.2) / 3
	r := girth/(2*math.Pi) - 0.1/2 + 0.3
	outer := r + 1.6
	slits := 72*0.8*42 + 48*0.8/math.Cos(20*math.Pi/180)*42
	want := math.Pi*outer*outer*1.6 + math.Pi*(outer*outer-r*r)*(14-1.6) - slits*1.6
	nearVolume(t, "mask", example(t, "mask", 0.001, "engrave text", "# engrave text"), want, 3e-4)
}

// The wire guide: the octagon of the bar (25 mm² less four corners of half a
// square millimetre) times the length of its path, by Pappus, and the foot
// less what both share and two M3 holes of the medium row (ISO 273: 3.4 mm).
func TestGuide(t *testing.T) {
	bend := 6.1/2 + 1 + 2.5
	bar := 23 * (38 + bend*math.Pi/2 + 6 + bend*math.Pi + 2)
	want := bar + 26*10*5 - 2*23 - 2*math.Pi*1.7*1.7*5
	nearVolume(t, "guide", example(t, "guide", 0.005), want, 1e-3)
}

// The band by rings; ticks, rib and lettering by A (r2² - r1²) / 2R.
func TestBand(t *testing.T) {
	inner := ((57.13+57.08+57.11)/3 + 0.3) / 2
	outer := inner + 3
	ring := math.Pi * (outer*outer - inner*inner) * 18
	ticks := 60 * 0.8 * 4 * (outer*outer - (outer-0.5)*(outer-0.5)) / (2 * outer)
	up := ((outer+0.6)*(outer+0.6) - outer*outer) / (2 * outer)
	rib := 2 * math.Pi * outer * up
	bare := example(t, "band", 0.005, "    emboss label", "    # emboss label")
	nearVolume(t, "band without lettering", bare, ring-ticks+rib, 1e-3)

	// The same lettering laid flat, 1 mm thick, has the volume of its area.
	flat := formed(t, `part p { join extrude lettering("IN  •  EXTRA FOCAL  •  OUT", 6mm) by 1mm }`, 0.005)
	with := example(t, "band", 0.005)
	nearVolume(t, "lettering", with-bare, flat*up, 1e-2)
}

// The knob: a bevelled disc less the knurl, a hole of 6.6 mm (ISO 273) and a
// nut pocket of 10 mm + 0.2 mm across flats (ISO 4032: 5.2 mm high + 0.4 mm).
// Both leans of grooves cover a quarter of the way round each; over whole
// crossings they share a sixteenth.
func TestKnob(t *testing.T) {
	const r, deep = 15.0, 0.8
	disc := math.Pi*r*r*12 + 2*math.Pi/3*(r*r+r*(r-1)+(r-1)*(r-1))
	knurl := math.Pi * (r*r - (r-deep)*(r-deep)) * 10 * (2./4 - 1./16)
	nut := math.Sqrt(3) / 2 * 10.2 * 10.2 * 5.6
	hole := math.Pi * 3.3 * 3.3 * (14 - 5.6)
	got := example(t, "knob", 0.005, "    engrave text", "    # engrave text")
	nearVolume(t, "knob", got, disc-knurl-nut-hole, 1e-3)
}

// Lettering sunk into a flat side takes its area times its depth away, on
// every side and turned; the name of the size goes into its text.
func TestMarkSides(t *testing.T) {
	const box = "part p { join box width 40mm, depth 30mm, height 20mm\n"
	want := 40*30*20 - 0.5*formed(t, `part p { join extrude lettering("R8", 6mm) by 1mm }`, 0.005)
	for _, side := range []string{"front", "back", "left", "right", "top", "bottom", "front, at (3mm, 2mm)", "top, turned 30deg", "front, at (0, -15mm, 8mm)"} {
		nearVolume(t, side, formed(t, box+`engrave "R8" on `+side+", size 6mm, depth 0.5mm }", 0.005), want, 1e-6)
	}
	named := formed(t, box+"emboss size_name on top, size 6mm, height 0.5mm }\nsizes p { R8: }", 0.005, "R8")
	nearVolume(t, "size name", named, 2*40*30*20-want, 1e-6)
}

// A mark round a tube stands in the middle of the body, wherever that lies
// along the tube and however the tube lies: it takes away what it takes of a
// body with room to spare, A (R² - (R-d)²) / 2R. One that has no room is told.
func TestMarkRound(t *testing.T) {
	const area = `lettering("GUIDE", 6mm)`
	flat := formed(t, `part p { join extrude `+area+` by 1mm }`, 0.001)
	for _, c := range []struct{ tube, body, at string }{
		{"along z", "radius 20mm, height 10mm", ""},
		{"along z", "radius 20mm, height 40mm", ", at (5mm, 3mm)"},
		{"along z, centre (0, 0, 99mm)", "radius 20mm, from z = 50mm to z = 60mm", ""},
		{"along -y", "radius 20mm, along y, from y = 3mm to y = 13mm", ""},
		{"along (0, 3, 4)", "radius 20mm, length 10mm, along (0, 3, 4), centre (0, 30mm, 40mm)", ""},
	} {
		const head = "part p { let face = cylinder radius 20mm, "
		plain := formed(t, head+c.tube+"\njoin cylinder "+c.body+" }", 0.001)
		r := build(t, head+c.tube+"\njoin cylinder "+c.body+`
engrave "GUIDE" around face at 270deg, size 6mm, depth 1mm`+c.at+" }", Options{Tolerance: 0.001})
		if len(r.Diags) > 0 || len(r.Parts) != 1 {
			t.Fatalf("%s: %v", c.body, r.Diags)
		}
		nearVolume(t, c.body, plain-r.Parts[0].Volume, flat*(20*20-19*19)/40, 2e-3)
	}
	r := build(t, `part p { join cylinder radius 20mm, height 10mm
engrave "GUIDE" around (cylinder radius 20mm, along z) at 0deg, size 6mm, at (0, 3mm) }`, Options{})
	if len(r.Diags) != 1 || r.Diags[0].Code != "mark-large" {
		t.Errorf("a mark beyond the rim: %v", r.Diags)
	}
}
