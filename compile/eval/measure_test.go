package eval

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"perch/lang/diag"
)

// known evaluates an expression after some declarations; the warnings come
// with it.
func known(t *testing.T, text, x string) (v, u float64, warnings diag.List) {
	t.Helper()
	r := library(t, text+"\nmeasure it = 0 + ("+x+")\npart p { join box width 1mm, depth 1mm, height 1mm }", Options{})
	if r.Diags.HasErrors() {
		t.Fatalf("%s: %s", x, listed(r.Diags))
	}
	n := r.Measures[len(r.Measures)-1].Value
	return n.X, n.Uncertainty(), r.Diags
}

// Worked examples of JCGM 100:2008 (GUM) and of the workshop, through the
// language. The digits given are those printed.
func TestMeasurements(t *testing.T) {
	for _, c := range []struct {
		text, x  string
		v, u     float64
		dv, du   float64 // half a unit of the last printed digit
		theGuide string
	}{
		{"measure t = 96.90K, 98.18K, 98.25K, 98.61K, 99.03K, 99.49K, 99.56K, 99.74K, 99.89K, 100.07K, 100.33K, 100.42K, 100.68K, 100.95K, 101.11K, 101.20K, 101.57K, 101.84K, 102.36K, 102.72K",
			"t", 100.145, 0.333, 5e-4, 5e-4, "GUM 4.4.3: mean and s/√n of twenty readings"},
		{"measure a = 10K within 4K", "a", 10, 2.3094, 1e-9, 5e-5, "GUM 4.4.5: rectangular ±4, a/√3"},
		{"measure a = 16.52e-6 within 0.40e-6", "a", 16.52e-6, 0.23e-6, 1e-12, 0.005e-6, "GUM 4.3.7: copper, ±0.40e-6"},
		{"measure a = 1mm within 0.005mm", "a", 1, 0.0028868, 1e-9, 5e-8, "resolution 0.01: r/√12"},
		{"measure a = 62.02mm, 61.98mm, 62.01mm, 61.99mm, 62.00mm", "a", 62, 0.00707, 5e-4, 5e-6, "s/√n of five readings, s 0.01581"},
		{"measure a = 62.02mm, 61.98mm, 62.01mm, 61.99mm, 62.00mm within 0.02mm", "a", 62, 0.01354, 5e-4, 5e-6, "the same, with the limit of the caliper"},
		{"measure a = 62.02mm, 61.98mm, 62.01mm, 61.99mm, 62.00mm +- 0.0028868mm within 0.02mm", "a", 62, math.Sqrt(0.0070711*0.0070711 + 0.011902*0.011902), 5e-4, 5e-6, "and its resolution: ±0.02 and 0.01 give 0.011902"},
		// H.1: the end gauge. In mm and nm; the terms that are zero to first
		// order are left out, as the guide does in its table H.1.
		{"measure standard = 50.000623mm +- 25e-6mm\nmeasure difference = 215e-6mm +- 9.7e-6mm\nmeasure spread = 0mm +- 2.9e-6mm\nmeasure warmth = 0mm +- 16.6e-6mm",
			"standard + difference + spread + warmth", 50.000838, 31.67e-6, 5e-7, 0.05e-6, "GUM H.1: u_c = 32 nm"},
		{"measure rep = 0mm +- 5.8e-6mm\nmeasure sys = 0mm +- 3.9e-6mm\nmeasure ran = 0mm +- 6.7e-6mm", "rep + sys + ran", 0, 9.7e-6, 1e-12, 0.05e-6, "GUM H.1.6: u(d)"},
		// 5.2.2: fully correlated inputs add linearly, independent by squares.
		{"measure a = 1mm +- 1mm", "3 * a + 4 * a", 7, 7, 1e-12, 1e-12, "GUM 5.2.2: u 3 and 4, r = 1"},
		{"measure a = 1mm +- 3mm\nmeasure b = 1mm +- 4mm", "a + b", 2, 5, 1e-12, 1e-12, "GUM 5.1.2: u 3 and 4, r = 0"},
		{"measure a = 1mm +- 3mm\nlet b = 2 * a", "b - 2 * a", 0, 0, 1e-12, 1e-12, "one source, taken away from itself"},
		{"measure a = 5mm +- 3mm\nmeasure b = a + 1mm, a + 3mm", "b - a", 2, 1, 1e-12, 1e-12, "readings made from another measure share it; s/√2 = 1"},
		{"measure a = 40mm +- 0.05mm\nmeasure b = 25mm +- 0.03mm", "a * b / 1mm", 1000, 1.732772, 1e-9, 5e-7, "GUM 5.1.6: relative sum of squares"},
		{"use tube\nmeasure a = 70mm +- 0.02mm\nmeasure s = 9mm +- 0.02mm", "tube.radius_from_chord(a, s)", 72.555556, 0.146491, 5e-7, 5e-7, "R = c²/(8 s) + s/2"},
		{"use tube\nmeasure a = 100mm +- 0.05mm\nmeasure s = 20mm +- 0.05mm", "tube.radius_from_chord(a, s)", 72.5, 0.145371, 5e-7, 5e-7, "R = c²/(8 s) + s/2"},
		{"use tube", "tube.radius_from_gauge(50mm, 3mm, 2mm)", 103.666667, 0, 5e-7, 0, "R = a²/(2h) + h/2 - r"},
		{"use tube\nmeasure h = 6.7mm +- 0.02mm\n" + coordinates(-25, 0, 0, 6.7, 25, 0), threePoints, 49.991791, 0.166838, 5e-7, 5e-7, "three points, each coordinate 0.02"},
		{"use tube\n" + coordinates(0, 0, 30, 40, 70, 10), threePoints, 35.355339, 0.014142, 5e-7, 5e-7, "three points on a right angle: R = abc/(4K)"},
	} {
		v, u, warnings := known(t, c.text, c.x)
		if math.Abs(v-c.v) > c.dv*1.0001 || math.Abs(u-c.u) > max(1e-15, c.du*1.0001) {
			t.Errorf("%s: %s = %.10g ± %.6g, want %.10g ± %.6g", c.theGuide, c.x, v, u, c.v, c.u)
		}
		if len(warnings) > 0 {
			t.Errorf("%s: %s", c.x, listed(warnings))
		}
	}
}

// GUM H.1 with its whole formula: l = ls + d - ls (δα θ + αs δθ), θ the
// deviation from 20 degC. δα and δθ are 0 with limits of 1e-6/K and 0.05 degC;
// what θ and αs contribute is zero to first order.
func TestEndGauge(t *testing.T) {
	v, u, l := known(t, `
measure ls = 50.000623mm +- 25e-6mm
measure d  = 215e-6mm +- 9.7e-6mm
measure da = 0 / 1K within 1e-6 / 1K
measure th = -0.1K +- 0.41K
measure al = 11.5e-6 / 1K within 2e-6 / 1K
measure dt = 0K within 0.05K`, "ls + d - ls * (da * th + al * dt)")
	if math.Abs(v-50.000838) > 5e-10 || math.Abs(u-31.67e-6) > 0.05e-6 || len(l) > 0 {
		t.Errorf("%.9f ± %.4g, want 50.000838 ± 31.67e-6: %s", v, u, listed(l))
	}
}

// A reading that stands apart is told of once, at its place; readings that
// scatter, and readings that round to neighbours, are not.
func TestReadingsApart(t *testing.T) {
	for text, want := range map[string]string{
		"4.1mm, 4.2mm, 41mm":                                         "41 mm",
		"4.1mm, 42mm, 4.3mm":                                         "42 mm",
		"361.2mm, 36.12mm, 361.1mm, 361.0mm":                         "36.12 mm",
		"361mm, 361mm, 366mm":                                        "366 mm",
		"3.84mm, 3.87mm, 3.88mm, 3.85mm, 3.86mm, 3.2mm":              "3.2 mm",
		"4.2mm, 42mm":                                                "do not agree",
		"4.2mm, 4.2mm, 4.3mm":                                        "",
		"4.2mm, 4.3mm":                                               "",
		"32.2mm, 32.15mm, 32.2mm within 0.02mm":                      "",
		"32.20mm, 32.35mm, 32.20mm":                                  "",
		"32.20mm, 32.45mm, 32.20mm":                                  "32.45 mm",
		"3.84mm, 3.87mm, 3.88mm, 3.85mm, 3.2mm within 0.25mm":        "",
		"3.84mm, 3.87mm, 3.88mm, 3.85mm, 3.86mm":                     "",
		"574.6mm, 574.9mm, 574.4mm":                                  "",
		"62.02mm, 61.98mm, 62.01mm, 61.99mm, 62.00mm":                "",
		"114.32mm, 114.28mm, 114.35mm, 114.30mm, 114.25mm, 114.30mm": "",
		"0mm, 0mm, 0mm":                                              "",
		"2mm + 1mm, 3mm, 3.1mm":                                      "",
	} {
		_, _, l := known(t, "measure lead = "+text, "lead")
		switch {
		case want == "" && len(l) > 0:
			t.Errorf("%s: %s", text, listed(l))
		case want != "" && (len(l) != 1 || l[0].Code != Outlier || l[0].Severity != diag.Warning || !strings.Contains(l[0].Message, want)):
			t.Errorf("%s: %s", text, listed(l))
		}
	}
	_, _, l := known(t, "measure lead = 4.1mm, 4.2mm, 41mm", "lead")
	if len(l) != 1 || len(l[0].Fixes) != 1 || l[0].Fixes[0].Edits[0].New != "4.1mm" {
		t.Errorf("no fix: %+v", l)
	}
}

const threePoints = "tube.radius_from_points(x1, y1, x2, y2, x3, y3)"

func coordinates(c ...float64) string {
	var b strings.Builder
	for i := 0; i < len(c); i += 2 {
		fmt.Fprintf(&b, "measure x%d = %gmm +- 0.02mm\nmeasure y%d = %gmm +- 0.02mm\n", i/2+1, c[i], i/2+1, c[i+1])
	}
	return b.String()
}

// A shallow arc deserves a warning at the call, though the fault shows inside
// the library.
func TestShallowArcsWarn(t *testing.T) {
	for _, c := range []struct{ text, x, says string }{
		{"use tube\nmeasure c = 50mm +- 0.02mm\nmeasure s = 2mm +- 0.02mm", "tube.radius_from_chord(c, s)", "no better than 1 %"},
		{"use tube\nmeasure c = 40mm\nmeasure s = 1.9mm", "tube.radius_from_chord(c, s)", "nothing tells how well"},
		{"use tube\n" + coordinates(0, 0, 40, 5, 80, 0), threePoints, "nearly in a line"},
	} {
		_, _, l := known(t, c.text, c.x)
		if len(l) != 1 || l[0].Severity != diag.Warning || !strings.Contains(l[0].Message, c.says) || l[0].At.File.Path != "part.perch" {
			t.Errorf("%s: %s", c.x, listed(l))
		}
	}
	// u 0.779840 of three points near a line.
	if v, u, _ := known(t, "use tube\n"+coordinates(0, 0, 40, 5, 80, 0), threePoints); math.Abs(v-162.5) > 5e-7 || math.Abs(u-0.779840) > 5e-7 {
		t.Errorf("R %.7f ± %.7f, want 162.5 ± 0.779840", v, u)
	}
}

// Every function of the table passes uncertainty on with its derivative; here
// against differences: f(x+u) - f(x-u) over 2.
func TestFunctionsPropagate(t *testing.T) {
	const u = 1e-4
	for _, c := range []struct{ f, unit string }{
		{"sin(1rad * x)", ""}, {"cos(1rad * x)", ""}, {"tan(1rad * x)", ""}, {"asin(x) / 1rad", ""}, {"acos(x) / 1rad", ""},
		{"atan(x) / 1rad", ""}, {"atan2(x, 2) / 1rad", ""}, {"atan2(2, x) / 1rad", ""}, {"sqrt(x)", ""}, {"abs(-x)", ""},
		{"hypot(x, 3)", ""}, {"hypot(1, x)", ""}, {"min(x, 7)", ""}, {"max(x, -7, x / 2)", ""}, {"x^3", ""}, {"2^x", ""}, {"x^x", ""},
		{"1 / x", ""}, {"(x + 2) / (3 - x)", ""}, {"-x * x", ""}, {"if x > 0 then 3 * x else x", ""},
		{"line_fit(4 + x, 1, 2, 2, 4.1 + x, 3, 6.3)", ""},
	} {
		at := func(x float64) float64 {
			v, _, _ := known(t, fmt.Sprintf("let x = %.17g", x), c.f)
			return v
		}
		want := math.Abs(at(0.6+u)-at(0.6-u)) / 2
		var got float64
		if strings.Contains(c.f, "line_fit") {
			// The scatter about the line comes on top by squares; without it:
			_, all, _ := known(t, fmt.Sprintf("measure x = 0.6 +- %g", u), c.f)
			_, own, _ := known(t, "let x = 0.6", c.f)
			got = math.Sqrt(all*all - own*own)
			if math.Abs(got-want) > 1e-3*want {
				t.Errorf("%s: u = %.8g, want %.8g", c.f, got, want)
			}
			continue
		}
		_, got, _ = known(t, fmt.Sprintf("measure x = 0.6 +- %g", u), c.f)
		if math.Abs(got-want) > 1e-5*want {
			t.Errorf("%s: u = %.8g, want %.8g", c.f, got, want)
		}
	}
}

// The straight line and the uncertainty of what it tells, against gonum/stat
// and the textbook formula s² (1/n + (x - x̄)²/Sxx).
func TestLineFit(t *testing.T) {
	x := []float64{3, 4, 5, 6, 8, 10}
	y := []float64{0.22, 0.19, 0.20, 0.16, 0.17, 0.12}
	pairs := ""
	for i := range x {
		pairs += fmt.Sprintf(", %gmm, %gmm", x[i], y[i])
	}
	alpha, beta := stat.LinearRegression(x, y, nil, false)
	var s2 float64
	for i := range x {
		r := y[i] - alpha - beta*x[i]
		s2 += r * r
	}
	s2 /= float64(len(x) - 2)
	mean, sxx := stat.Mean(x, nil), stat.Variance(x, nil)*float64(len(x)-1)
	for _, at := range []float64{3, 4.4, 12} {
		v, u, _ := known(t, "", fmt.Sprintf("line_fit(%gmm%s)", at, pairs))
		wantU := math.Sqrt(s2 * (1/float64(len(x)) + (at-mean)*(at-mean)/sxx))
		if math.Abs(v-(alpha+beta*at)) > 1e-12 || math.Abs(u-wantU) > 1e-12 {
			t.Errorf("at %g: %.12f ± %.12f, want %.12f ± %.12f", at, v, u, alpha+beta*at, wantU)
		}
	}
	// Two places on one line share its scatter: their difference is the
	// slope's alone.
	_, u, _ := known(t, "", fmt.Sprintf("line_fit(9mm%s) - line_fit(5mm%s)", pairs, pairs))
	if want := 4 * math.Sqrt(s2/sxx); math.Abs(u-want) > 1e-12 {
		t.Errorf("difference: u %.12f, want %.12f", u, want)
	}
}

// Through a sketch: dx/dp by the implicit function theorem against closed
// forms and against the sketch solved again with the reading moved.
func TestUncertaintyThroughSketches(t *testing.T) {
	// A circle through three points, held by relations only: the same figures
	// as by the formula R = abc/(4K).
	const three = `
sketch arc {
    point p at (x1, y1)
    point q at (x2, y2)
    point r at (x3, y3)
    circle k centre o near (1mm, -20mm), radius near 30mm
    p, q, r on k
}`
	v, u, _ := known(t, coordinates(-25, 0, 0, 6.7, 25, 0)+three, "arc.k.radius")
	if math.Abs(v-49.991791) > 5e-7 || math.Abs(u-0.166838) > 5e-7 {
		t.Errorf("circle through three points: %.7f ± %.7f, want 49.991791 ± 0.166838", v, u)
	}

	// Every measure of a drawing with lines, arcs, angles and freedom enough to
	// go wrong, against differences.
	const drawing = `
sketch d {
    let wall = 2 * thick
    point o at (0, tall / 3)
    circle bore centre o, diameter lead + 0.3mm
    outline block {
        from a near (-6mm, -2mm)
        line floor to b near (6mm, -2mm)
        line to c near (4mm, 6mm)
        arc  crown to d near (-4mm, 6mm), centre o
        line side to a
    }
    floor horizontal
    a mirrors b about x = 0
    d mirrors c about x = 0
    a.y = -2mm
    c.y = o.y + thick / 5
    crown.radius = bore.radius + wall
    angle(floor, side) = lean
}`
	const declared = "measure lead = %s\nmeasure thick = %s\nmeasure tall = %s\nmeasure lean = %s\n"
	for _, x := range []string{"d.floor.length", "d.crown.radius", "d.bore.radius", "d.c.x", "d.a.x", "d.side.length", "d.o.y", "d.wall", "d.floor.length - 2 * d.b.x", "d.crown.length"} {
		var want float64
		values := []float64{4.2, 1, 15, -70}
		units := []string{"mm", "mm", "mm", "deg"}
		steps := []float64{0.02, 0.01, 0.05, 0.1}
		write := func(moved int, by float64, stated bool) string {
			var args []any
			for i, v := range values {
				if i == moved {
					v += by
				}
				s := fmt.Sprintf("%.12g%s", v, units[i])
				if stated {
					s += fmt.Sprintf(" +- %g%s", steps[i], units[i])
				}
				args = append(args, s)
			}
			return fmt.Sprintf(declared, args...) + drawing
		}
		for i, h := range steps {
			hi, _, _ := known(t, write(i, h/50, false), x)
			lo, _, _ := known(t, write(i, -h/50, false), x)
			want += math.Pow((hi-lo)*25, 2)
		}
		want = math.Sqrt(want)
		if _, got, _ := known(t, write(-1, 0, true), x); math.Abs(got-want) > 1e-5*max(want, 0.001) {
			t.Errorf("%s: u = %.8f, want %.8f", x, got, want)
		}
	}
}

// A size or a setting changes the reading; the instrument stays the same.
func TestSetMeasuresKeepTheirInstrument(t *testing.T) {
	r := library(t, `
measure lead = 4.2mm, 4.4mm +- 0.1mm
part p {
    join box width lead, depth 1mm, height 1mm
    check uncertainty(lead) = 0.1mm
    check lead = 3mm
}
sizes p { thin: lead = 3mm }`, Options{Sizes: []string{"thin"}})
	got, faults := built(t, r)
	if len(r.Diags)+len(faults) > 0 {
		t.Errorf("%s%s%s", got, listed(r.Diags), listed(faults))
	}
}
