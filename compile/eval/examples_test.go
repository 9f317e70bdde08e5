package eval

import (
	"context"
	"math"
	"testing"

	"perch/compile/builtin"
	"perch/compile/solid"
	"perch/compile/value"
)

// Every entry of the table of builtins shows itself in an example; here each
// is run.

func TestExamplesOfFunctions(t *testing.T) {
	for _, f := range builtin.All.Functions {
		t.Run(f.Name, func(t *testing.T) {
			r := evaluated(t, exampleSketches+"let holds = "+f.Example+"\npart p { join if holds then box width 1mm, depth 1mm, height 1mm else refuse(\"the example does not hold\") }", Options{})
			if len(r.Diags) > 0 || len(r.Parts) != 1 {
				t.Errorf("%s: %s", f.Example, listed(r.Diags))
			}
		})
	}
}

// sketches used by the examples of bodies.
const exampleSketches = `
sketch plate { rectangle r width 20mm, height 10mm, centre (0, 0) }
sketch rim { rectangle r width 4mm, height 3mm, centre (10mm, 1.5mm) }
sketch hook {
    path way {
        from (0, 0)
        line right 30mm
        arc left, radius 30mm, through 90deg
    }
}
`

func TestExamplesOfBodies(t *testing.T) {
	type example struct {
		name, text string
		volume     float64
	}
	var all []example
	for _, h := range builtin.All.Heads {
		// By a name, since a tap that is joined gets a warning.
		all = append(all, example{h.Name, "let tool = " + h.Example + "\njoin tool", h.Volume})
	}
	for _, h := range builtin.All.Marks {
		all = append(all, example{h.Name, "join box width 40mm, depth 20mm, height 10mm\n" + h.Example, h.Volume})
	}
	for _, p := range builtin.All.Placements {
		all = append(all, example{p.Word, "join " + p.Example, p.Volume})
	}
	for _, x := range all {
		t.Run(x.name, func(t *testing.T) {
			r := evaluated(t, exampleSketches+"part p {\n"+x.text+"\n}", Options{})
			if len(r.Diags) > 0 || len(r.Parts) != 1 {
				t.Fatalf("%s: %s", x.text, listed(r.Diags))
			}
			got := volume(t, r.Parts[0], 0.001)
			// Chords within 0.001 mm of a radius of some millimetres.
			if math.Abs(got-x.volume) > 1e-3*x.volume {
				t.Errorf("%s: volume %.6f, want %.6f", x.text, got, x.volume)
			}
		})
	}
}

func volume(t *testing.T, p *Part, tolerance float64) float64 {
	t.Helper()
	m, err := solid.Build(context.Background(), p.Body, solid.Options{Tolerance: tolerance})
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	return m.Volume()
}

// Every parameter that names a kind names one of the table.
func TestKindsOfFunctions(t *testing.T) {
	for _, f := range builtin.All.Functions {
		for _, p := range f.Params {
			if _, ok := builtin.LookupKind(p.Kind); p.Kind != "" && !ok {
				t.Errorf("%s(%s: %s): no such kind", f.Name, p.Name, p.Kind)
			}
		}
	}
	k, _ := builtin.LookupKind("count")
	if _, f := k.Take("`teeth` is", value.Plain(2.5)); f == nil || f.Code != builtin.NotWhole {
		t.Errorf("2.5 teeth: %v", f)
	}
}
