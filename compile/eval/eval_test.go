package eval

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"perch/compile/check"
	"perch/compile/solid"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
)

// evaluated parses and runs a text.
func evaluated(t *testing.T, text string, o Options) *Result {
	t.Helper()
	f, diags := parse.File(source.New("part.perch", text))
	if len(diags) > 0 {
		t.Fatalf("does not parse: %s", listed(diags))
	}
	r, err := Run(context.Background(), &Module{File: f}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// listed writes diagnostics one a line: place, code, message, notes.
func listed(l diag.List) string {
	var b strings.Builder
	for _, d := range l {
		fmt.Fprintf(&b, "%s %s [%s] %s\n", place(d.At), d.Severity, d.Code, d.Message)
		for _, x := range d.Labels {
			fmt.Fprintf(&b, "    %s %s\n", place(x.At), x.Text)
		}
		for _, n := range d.Notes {
			fmt.Fprintf(&b, "    %s\n", n)
		}
	}
	return b.String()
}

func place(s source.Span) string {
	if !s.Valid() {
		return "-"
	}
	p := s.File.Position(s.Start)
	return fmt.Sprintf("%s:%d:%d %q", s.File.Path, p.Line, p.Column, s.Text())
}

func TestScratch(t *testing.T) {
	r := evaluated(t, `
measure girth = 574.6mm, 574.9mm, 574.4mm
measure lead = 4.2mm +- 0.1mm
let r = girth / (2*pi)
let press(d: length) = d + 0.2mm
part plate(n: count = 3, pitch: length = 9mm) {
    mating pipe = cylinder radius r, along y, centre (0, 0, -r - 2mm)
    join box width n * pitch, depth 20mm, height 8mm
    cut cylinder diameter press(lead) in a row of n every pitch along x
    cut pipe at (0, 0, 4mm)
    join box width 4mm, depth 6mm, height 5mm around pipe at 20deg
    check volume <= 5cm^3
    check mass > 5g and width = n * pitch
}
sizes plate { two: n = 2
  big: lead = 6mm, pitch = 12mm }
`, Options{AllSizes: true})
	t.Log(listed(r.Diags))
	for _, p := range r.Parts {
		m, err := solid.Build(context.Background(), p.Body, solid.Options{})
		if err != nil {
			t.Fatal(err)
		}
		f := check.Measure(m, p.Material.Density)
		res, l := check.Run(p.Checks, f)
		t.Log(p.Name, p.Size, f, len(m.Triangles), m.Check())
		for _, c := range res {
			mg, ok := c.Margin()
			t.Log(c.Text, c.Pass, c.Value, c.Limit, mg, ok)
		}
		t.Log(listed(l))
	}
	t.Log(r.Measures[0].Value, r.Measures[0].Value.Uncertainty())
}
