package compile

import (
	"context"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"perch/compile/check"
)

// The step that a check suggests, written into the part, lays it as promised: a
// bar of 10 x 40 x 10 that is drawn askew comes to lie on one of its faces of
// 400 mm², and one with a shelf of 30 x 40 on the shelf.
func TestSuggestedPrint(t *testing.T) {
	for _, c := range []struct {
		body         string
		foot, height float64
	}{
		{"join box width 10mm, depth 40mm, height 10mm turned 20deg about (1, 2, 0.3)", 400, 10},
		{"join box width 10mm, depth 40mm, height 10mm\n    join box width 30mm, depth 40mm, height 4mm at (0, 0, 10mm)", 1200, 14},
		{"join (box width 10mm, depth 40mm, height 10mm with box width 30mm, depth 40mm, height 4mm at (0, 0, 10mm)) turned -71deg about (3, -1, 2) at (400mm, 20mm, 7mm)", 1200, 14},
	} {
		step := regexp.MustCompile("`(print .*)`").FindStringSubmatch(lying(t, c.body).About)
		if step == nil {
			t.Errorf("nothing is suggested for %s", c.body)
			continue
		}
		body := c.body + "\n    " + step[1]
		if r := lying(t, body); !strings.HasPrefix(r.About, "as it is printed: 0 mm2 lean") {
			t.Errorf("with %s: %s", step[1], r.About)
		}
		p := printed(t, body)
		b := p.Printed.Bounds()
		if err := p.Printed.Check(); err != nil {
			t.Errorf("with %s: %v", step[1], err)
		}
		if mid := b.Min.Add(b.Max); b.Min.Z != 0 || math.Abs(b.Max.Z-c.height) > 1e-4 || math.Abs(mid.X)+math.Abs(mid.Y) > 1e-9 {
			t.Errorf("with %s: it lies from %v to %v", step[1], b.Min, b.Max)
		}
		for _, r := range p.Standing {
			if r.Asked != nil && r.Asked.Name == "first layer" && math.Abs(r.Found.Value-c.foot) > 1e-3 {
				t.Errorf("with %s: a first layer of %v, want %v", step[1], r.Found.Value, c.foot)
			}
		}
	}
}

// The drawn part stays: its size, its places and what is checked against bodies
// beside it. A place on the bed is told as one of the drawn part.
func TestPrintKeepsDrawn(t *testing.T) {
	const body = "join box width 10mm, depth 10mm, height 30mm\n    join box width 30mm, depth 10mm, height 4mm at (10mm, 0, 13mm)\n    print turned 90deg about x"
	p := printed(t, body)
	if s := p.Bounds.Size(); p.Bounds.Min.Z != 0 || s.Z != 30 {
		t.Errorf("drawn %v", p.Bounds)
	}
	if s := p.Printed.Bounds().Size(); s.Y != 30 || s.Z != 10 {
		t.Errorf("printed %v", s)
	}
	over := printed(t, strings.Replace(body, "90deg about x", "180deg about y", 1))
	for _, r := range over.Standing {
		if r.Asked == nil || r.Asked.Name != "overhang" {
			continue
		}
		// Upside down, the top of the arm at z = 17 hangs over.
		if len(r.Found.Places) != 1 || math.Abs(r.Found.Places[0][2]-17) > 1e-9 || r.Pass {
			t.Errorf("overhang: %+v", r.Found)
		}
	}
}

func printed(t *testing.T, body string) Part {
	t.Helper()
	s := New()
	s.Set("p.perch", fmt.Sprintf("part p {\n    %s\n}\n", body))
	res, err := s.Build(context.Background(), "p.perch", Options{Standard: true})
	if err != nil || res.Diags.HasErrors() {
		t.Fatal(err, res.Diags)
	}
	return res.Parts[0]
}

func lying(t *testing.T, body string) check.Result {
	t.Helper()
	for _, r := range printed(t, body).Standing {
		if r.Text == "lies best" {
			return r
		}
	}
	t.Fatal("how it lies best is not told")
	return check.Result{}
}
