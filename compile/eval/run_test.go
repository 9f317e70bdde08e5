package eval

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
)

const plate = `
measure lead = 4mm, 4.2mm
let wall = 2mm
let twice = 2 * wall
part plate(n: count = 3, tall: length) { join box width n * lead, depth twice, height tall }
part knob(tall: length = 5mm) { join box width wall, depth wall, height tall }
sizes plate {
    thin: lead = lead - 1mm, tall = 2mm
    thick: wall = 3mm, tall = 4mm, n = 2
}
`

// setting makes a setting as the command line does.
func setting(t *testing.T, name, text string) ast.Setting {
	t.Helper()
	f, diags := parse.File(source.New("--set "+name, "let "+name+" = "+text))
	if len(diags) > 0 {
		t.Fatal(listed(diags))
	}
	let := f.Decls[0].(*ast.Let)
	return ast.Setting{At: let.At, Name: let.Name, Value: let.Value}
}

// sizesOf lists the parts of a result with their extents, x by y by z.
func sizesOf(t *testing.T, r *Result) string {
	t.Helper()
	text, _ := built(t, r)
	var out []string
	for _, line := range strings.Split(text, "\n") {
		if name, rest, ok := strings.Cut(line, ": petg, "); ok {
			size, _, _ := strings.Cut(rest, " mm,")
			out = append(out, name+" "+strings.ReplaceAll(size, ".000", ""))
		}
	}
	return strings.Join(out, "; ")
}

func TestSettingsAndSizes(t *testing.T) {
	for _, c := range []struct {
		name   string
		o      Options
		want   string
		faults []diag.Code
	}{
		{"as written", Options{}, "knob 2 x 2 x 5", nil},
		{"all sizes", Options{AllSizes: true}, "plate thin 9.300 x 4 x 2; plate thick 8.200 x 6 x 4; knob 2 x 2 x 5", nil},
		{"one size", Options{Sizes: []string{"thick"}}, "plate thick 8.200 x 6 x 4", nil},
		{"a setting gives the missing value", Options{Settings: []ast.Setting{setting(t, "tall", "7mm")}}, "plate 12.300 x 4 x 7; knob 2 x 2 x 7", nil},
		{"a setting goes before a size", Options{Sizes: []string{"thick"}, Settings: []ast.Setting{setting(t, "wall", "1mm")}}, "plate thick 8.200 x 2 x 4", []diag.Code{"setting-over-size"}},
		{"a setting may use names of the file", Options{Parts: []string{"knob"}, Settings: []ast.Setting{setting(t, "tall", "lead * 2")}}, "knob 2 x 2 x 8.200", nil},
		{"a zero fits every kind", Options{Settings: []ast.Setting{setting(t, "wall", "0")}}, "", []diag.Code{"size-not-above-0", "size-not-above-0"}},
		{"one part", Options{Parts: []string{"knob"}}, "knob 2 x 2 x 5", nil},
		{"unknown size", Options{Sizes: []string{"thikc"}}, "", []diag.Code{"size-unknown"}},
		{"unknown part", Options{Parts: []string{"knop"}}, "", []diag.Code{"part-unknown"}},
		{"unknown setting", Options{Settings: []ast.Setting{setting(t, "wal", "1mm")}}, "knob 2 x 2 x 5", []diag.Code{"setting-unknown"}},
		{"setting of another kind", Options{Settings: []ast.Setting{setting(t, "wall", "1deg")}}, "", []diag.Code{"setting-kind"}},
		{"parameter of another kind", Options{Settings: []ast.Setting{setting(t, "n", "1.5")}, Sizes: []string{"thin"}}, "", []diag.Code{"not-whole"}},
		{"setting without a unit", Options{Settings: []ast.Setting{setting(t, "lead", "4")}}, "knob 2 x 2 x 5", []diag.Code{"setting-kind"}},
		{"setting with a fault", Options{Settings: []ast.Setting{setting(t, "wall", "1mm + 1deg")}}, "knob 2 x 2 x 5", []diag.Code{"dim-mismatch"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := evaluated(t, plate, c.o)
			var codes []diag.Code
			for _, d := range r.Diags {
				codes = append(codes, d.Code)
			}
			if !slices.Equal(codes, c.faults) {
				t.Errorf("faults %v, want %v\n%s", codes, c.faults, listed(r.Diags))
			}
			if got := sizesOf(t, r); got != c.want {
				t.Errorf("parts %q, want %q", got, c.want)
			}
		})
	}
}

func TestNothingToBuild(t *testing.T) {
	for text, code := range map[string]diag.Code{
		"let a = 1mm": NoPart,
		"part p(d: length) { join box width d, depth d, height d }": NoPart,
	} {
		r := evaluated(t, text, Options{})
		if len(r.Diags) != 1 || r.Diags[0].Code != code || r.Diags[0].Severity != diag.Warning {
			t.Errorf("%s: %s", text, listed(r.Diags))
		}
	}
}

// A check of the finished part; a name of the file goes before the words of a
// check, and a warning says so.
func TestCheckWordHidden(t *testing.T) {
	r := evaluated(t, "part p(depth: length = 3mm) { join box width 5mm, depth depth + 1mm, height 2mm\n check depth <= 3mm }", Options{})
	if len(r.Diags) != 1 || r.Diags[0].Code != CheckHidden || r.Diags[0].Severity != diag.Warning {
		t.Errorf("%s", listed(r.Diags))
	}
	if _, late := built(t, r); len(late) > 0 {
		t.Errorf("3 mm <= 3 mm failed: %s", listed(late))
	}
}

// Work is bounded: functions that call each other ever more often, and chains
// of calls, end in a message.
func TestWorkIsBounded(t *testing.T) {
	var double, chain strings.Builder
	double.WriteString("let f0(x: number) = x + 1\n")
	chain.WriteString("let f0(x: number) = x + 1\n")
	for i := 1; i <= 150; i++ {
		fmt.Fprintf(&chain, "let f%d(x: number) = f%d(x) + 1\n", i, i-1)
	}
	for i := 1; i <= 40; i++ {
		fmt.Fprintf(&double, "let f%d(x: number) = f%d(x) + f%d(x)\n", i, i-1, i-1)
	}
	for name, c := range map[string]struct {
		text string
		code diag.Code
	}{
		"doubling": {double.String() + "let a = f40(1)\nlet b = a + 1mm", TooMuchWork},
		"chain":    {chain.String() + "let a = f150(1)\nlet b = a + 1mm", TooDeep},
	} {
		r := evaluated(t, c.text, Options{})
		if len(r.Diags) != 1 || r.Diags[0].Code != c.code {
			t.Errorf("%s: %s", name, listed(r.Diags))
		}
	}
}

// What a file says is the same however often it is read.
func TestRunsAlike(t *testing.T) {
	text := plate + "part bad { join box width 1, depth 2deg, height lead\n check volum > 1 }\n"
	first := evaluated(t, text, Options{AllSizes: true})
	for range 5 {
		r := evaluated(t, text, Options{AllSizes: true})
		if listed(r.Diags) != listed(first.Diags) || sizesOf(t, r) != sizesOf(t, first) {
			t.Fatalf("%s\n%s", listed(r.Diags), listed(first.Diags))
		}
	}
}

func TestCancelledRun(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	f, _ := parse.File(source.New("part.perch", plate))
	if r, err := Run(ctx, &Module{File: f}, Options{}); err != context.Canceled || r != nil {
		t.Errorf("%v %v", r, err)
	}
}

// Measurements keep their readings, and their uncertainty follows them.
func TestMeasures(t *testing.T) {
	r := evaluated(t, "measure body = 62.02mm, 61.98mm, 62.01mm, 61.99mm, 62.00mm\nmeasure lead = 4.2mm +- 0.1mm\n"+
		"let sum = body + 2 * lead\nmeasure total = 0mm + sum\npart p { join box width sum, depth sum, height sum }", Options{})
	if len(r.Diags) > 0 || len(r.Measures) != 3 {
		t.Fatal(listed(r.Diags), r.Measures)
	}
	// s/√n of the five readings is 0.00707, as in the standard worked cases of
	// GUM 4.2.3; with 2 · 0.1 by squares 0.200125.
	if u := r.Measures[0].Value.Uncertainty(); math.Abs(u-0.0070711) > 1e-7 {
		t.Errorf("u(body) = %v", u)
	}
	if u := r.Measures[2].Readings[0].Uncertainty(); math.Abs(u-math.Hypot(0.00707107, 0.2)) > 1e-7 {
		t.Errorf("u(sum) = %v", u)
	}
	for text, code := range map[string]diag.Code{
		"measure a = 3mm, 4deg":     "dim-mismatch",
		"measure a = 3mm +- 4deg":   "dim-mismatch",
		"measure a = 3mm +- -0.1mm": "measure-negative",
		"measure a = \"3\"":         "wrong-operand",
	} {
		r := evaluated(t, text+"\nlet b = a + 1kg\npart p { join box width 1mm, depth 1mm, height 1mm }", Options{})
		if len(r.Diags) != 1 || r.Diags[0].Code != code {
			t.Errorf("%s: %s", text, listed(r.Diags))
		}
	}
}

// A size may build on one above it: it takes its values, and its own go first.
func TestSizesBuildOnSizes(t *testing.T) {
	r := evaluated(t, `
let tall = 5mm
part p(wide: length = 10mm, deep: length = 20mm) { join box width wide, depth deep, height tall }
sizes p {
    thin:  wide = 4mm, tall = 3mm
    long:  thin with deep = 50mm
    stout: long with wide = 8mm, tall = 9mm
}`, Options{AllSizes: true})
	if len(r.Diags) > 0 {
		t.Fatal(listed(r.Diags))
	}
	want := map[string]float64{"thin": 4 * 20 * 3, "long": 4 * 50 * 3, "stout": 8 * 50 * 9}
	if len(r.Parts) != len(want) {
		t.Fatalf("%d parts, want %d", len(r.Parts), len(want))
	}
	for _, p := range r.Parts {
		if v := volume(t, p, 0.01); math.Abs(v-want[p.Size]) > 1e-6 {
			t.Errorf("size %q: volume %g, want %g", p.Size, v, want[p.Size])
		}
	}
}
