package check

import (
	"context"
	"math"
	"testing"

	"perch/compile/builtin"
	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/unit"
)

func box(x, y, z, dx, dy, dz float64) *solid.Body {
	return solid.Box(geom.Vec3{X: x, Y: y, Z: z}, geom.Vec3{X: x + dx, Y: y + dy, Z: z + dz})
}

// A box of 20 x 10 x 5 mm with a closed hollow of 6 x 4 x 2 mm, and a loose
// box of 1 mm beside it: sums of products, worked by hand.
func TestMeasure(t *testing.T) {
	body := solid.Join(solid.Cut(box(0, 0, 0, 20, 10, 5), box(5, 3, 1, 6, 4, 2)), box(30, 0, 0, 1, 1, 1))
	m, err := solid.Build(context.Background(), body, solid.Options{})
	if err != nil {
		t.Fatal(err)
	}
	f := Measure(&Finished{Mesh: m, Material: builtin.Material{Density: builtin.Fact{X: 1.27e-3}}})
	want := map[string]float64{
		"volume":  1000 - 48 + 1,
		"surface": 2*(200+100+50) + 2*(24+12+8) + 6,
		"mass":    953 * 1.27e-3,
		"width":   31,
		"depth":   10,
		"height":  5,
		"pieces":  2,
	}
	for _, w := range Words {
		x, ok := want[w.Name]
		if !ok {
			t.Errorf("%s has no case", w.Name)
		}
		if got := w.Of(f); math.Abs(got-x) > 1e-9*x {
			t.Errorf("%s = %v, want %v", w.Name, got, x)
		}
		if l, ok := Lookup(w.Name); !ok || l.Dim != w.Dim {
			t.Errorf("%s is not found", w.Name)
		}
	}
}

func TestMargin(t *testing.T) {
	mm := value.Length
	for _, c := range []struct {
		op     string
		v, l   value.Number
		margin float64
		ok     bool
	}{
		{"<=", mm(3), mm(5), 2, true},
		{"<", mm(6), mm(5), -1, true},
		{">=", mm(3), mm(5), -2, true},
		{">", mm(7), mm(5), 2, true},
		{"=", mm(5), mm(5), 0, false},
		{"", mm(5), mm(5), 0, false},
		{"<=", mm(5), value.Of(1, unit.Mass), 0, false},
	} {
		m, ok := Outcome{Op: c.op, Value: c.v, Limit: c.l}.Margin()
		if ok != c.ok || ok && m.X != c.margin {
			t.Errorf("%v %s %v: margin %v %v, want %v %v", c.v, c.op, c.l, m, ok, c.margin, c.ok)
		}
	}
}

// Checks are judged in order; one that fails is an error too, one with faults
// has no result, a silent one only warns.
func TestRun(t *testing.T) {
	at := source.Span{File: source.New("part.perch", "check mass <= 1g"), End: 16}
	judged := func(o Outcome, l diag.List) Check {
		return Check{At: at, Text: "mass <= 1g", Judge: func(Facts) (Outcome, diag.List) { return o, l }}
	}
	g := func(x float64) value.Number { return value.Of(x, unit.Mass) }
	results, list := Run([]Check{
		judged(Outcome{Pass: true, Op: "<=", Value: g(0.5), Limit: g(1)}, nil),
		judged(Outcome{Op: "<=", Value: g(1.5), Limit: g(1)}, nil),
		judged(Outcome{}, diag.List{{Code: "div-zero", At: at}}),
		judged(Outcome{}, nil),
		OnePiece("peg", at),
	}, Facts{Pieces: 3}, nil)
	if len(results) != 3 || !results[0].Pass || results[1].Pass || results[2].Pass {
		t.Errorf("results %v", results)
	}
	var codes []diag.Code
	for _, d := range list {
		codes = append(codes, d.Code)
		if len(d.Notes) == 0 && d.Code != "div-zero" {
			t.Errorf("%s does not say what to do", d.Message)
		}
	}
	if len(codes) != 4 || codes[0] != Failed || codes[1] != "div-zero" || codes[2] != Failed || codes[3] != Loose {
		t.Errorf("codes %v", codes)
	}
	if list[3].Severity != diag.Warning {
		t.Errorf("a part in pieces is %v", list[3].Severity)
	}
	if _, list := Run([]Check{OnePiece("peg", at)}, Facts{Pieces: 1}, nil); len(list) != 0 {
		t.Errorf("one piece: %v", list)
	}
}
