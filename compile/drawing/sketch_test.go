package drawing

import (
	"context"
	"slices"
	"testing"

	"perch/compile"
)

// The sizes of a sketch stand on its sheet: 30 x 12 with a hole of 4.
func TestSketchSheet(t *testing.T) {
	s := compile.New()
	s.Set("plate.perch", `sketch face {
    rectangle rim centre (0, 0), width 30mm, height 12mm
    circle hole centre (0, 0), diameter 4mm
    area rim less hole
}
part plate { join extrude face by 3mm along z }
`)
	res, err := s.Build(context.Background(), "plate.perch", compile.Options{})
	if err != nil || res.Diags.HasErrors() || len(res.Sketches) != 1 {
		t.Fatal(err, res.Diags)
	}
	sheet := Sketch(res.Sketches[0].Figure, Block{Title: "plate", Document: "sketch"})
	got := texts(sheet)
	for _, want := range []string{"30", "12", "ø4", "sketch", "5:1"} {
		if !slices.Contains(got, want) {
			t.Errorf("%q is not on the sheet: %q", want, got)
		}
	}
	if len(sheet.Fills) < 5 {
		t.Errorf("%d arrow heads", len(sheet.Fills))
	}
	for _, k := range sheet.Strokes {
		for _, p := range k.Points {
			if p.X < border/2 || p.Y < border/2 || p.X > sheet.Width-border/2 || p.Y > sheet.Height-border/2 {
				t.Fatalf("a line at (%g, %g) runs over the rim of the sheet", p.X, p.Y)
			}
		}
	}
}
