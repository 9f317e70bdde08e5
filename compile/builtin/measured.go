package builtin

import (
	"math"

	"perch/compile/value"
)

// This file holds the functions that ask how well something is known.

var uncertaintyFunc = Function{
	Name: "uncertainty", Params: one("value", ""),
	Doc:     "the standard uncertainty (k = 1) that a value has from the measurements it was made of",
	Example: "uncertainty(3mm) = 0mm",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		return value.Of(a[0].Uncertainty(), a[0].Dim), nil
	}),
}

var nominalFunc = Function{
	Name: "nominal", Params: one("value", ""),
	Doc:     "the value as if it were exact, without the uncertainty of the measurements it was made of",
	Example: "uncertainty(nominal(3mm)) = 0mm",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		a[0].U = nil
		return a[0], nil
	}),
}

var warnFunc = Function{
	Name: "warn", Params: []Param{{"value", ""}, {"when", "flag"}, {"text", "text"}},
	Doc:     "the value as it is, with a warning of one's own where the condition holds",
	Example: `warn(3mm, 3mm > 4mm, "too long") = 3mm`,
	Call: func(a []value.Value) (value.Value, *value.Fault) {
		return a[0], nil
	},
	Warning: func(a []value.Value) string {
		if a[1].(value.Flag) {
			return string(a[2].(value.Text))
		}
		return ""
	},
}

var lineFitFunc = Function{
	Name: "line_fit", Params: []Param{{"at", ""}, {"x", ""}, {"y", ""}}, Variadic: true,
	Doc: "what the straight line through measured pairs x, y, x, y, … (least squares) has at a place; " +
		"its uncertainty is that of the y and of their scatter about the line",
	Example: "abs(line_fit(5mm, 1mm, 2mm, 2mm, 4mm, 3mm, 6mm) - 10mm) < 1e-9mm",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		l, f := newLine(a)
		if f != nil {
			return value.Number{}, f
		}
		return l.At(a[0].As(l.x[0].Dim)), nil
	}),
	Scatter: func(a []value.Value) []float64 {
		numbers := make([]value.Number, len(a))
		for i, v := range a {
			numbers[i] = v.(value.Number)
		}
		l, f := newLine(numbers)
		if f != nil {
			return nil
		}
		return l.Scatter(numbers[0].X)
	},
}

// Line is a straight line through pairs, by least squares (Draper and Smith,
// Applied Regression Analysis, 3rd ed., 1.2 and 1.4).
type Line struct {
	x, y     []value.Number
	mean     float64 // of the x
	sxx      float64 // Σ (x - mean)²
	height   float64 // of the line at the mean
	gradient float64
}

// NewLine fits a line to pairs x, y, x, y, …; their x must not all be equal.
func NewLine(pairs []value.Number) (*Line, *value.Fault) {
	return newLine(append([]value.Number{pairs[0]}, pairs...))
}

// newLine takes the place to look at before the pairs.
func newLine(a []value.Number) (*Line, *value.Fault) {
	l := &Line{}
	if len(a) < 5 || len(a)%2 == 0 {
		return nil, value.Faultf(Domain, "line_fit takes a place and at least two pairs, these are %d numbers", len(a)).
			Do("write `line_fit(at, x1, y1, x2, y2, …)`")
	}
	_, x, f := sameDim("line_fit", a[0], a[1])
	if f != nil {
		return nil, f
	}
	y := a[2]
	for i := 1; i < len(a); i += 2 {
		p, _, f := sameDim("line_fit", a[i], x)
		if f != nil {
			return nil, f
		}
		q, _, f := sameDim("line_fit", a[i+1], y)
		if f != nil {
			return nil, f
		}
		l.x, l.y = append(l.x, p), append(l.y, q)
	}
	n := float64(len(l.x))
	for i := range l.x {
		l.mean += l.x[i].X / n
		l.height += l.y[i].X / n
	}
	sxy, top := 0.0, 0.0
	for i := range l.x {
		d := l.x[i].X - l.mean
		l.sxx += float64(d * d)
		sxy += float64(d * (l.y[i].X - l.height))
		top = max(top, math.Abs(l.x[i].X))
	}
	if l.sxx <= float64(1e-18*top*top) {
		return nil, value.Faultf(Domain, "line_fit has all its pairs at one place: %s", l.x[0]).
			Do("take readings at different sizes, or use their mean: `measure m = a, b, c`")
	}
	l.gradient = sxy / l.sxx
	return l, nil
}

// At returns the height of the line: Σ wᵢ yᵢ with wᵢ = 1/n + (at - x̄)(xᵢ - x̄)/Sxx,
// so that every y counts with the uncertainty it has.
func (l *Line) At(place value.Number) value.Number {
	d := place.X - l.mean
	sum := place.Apply(0, l.gradient, l.y[0].Dim)
	for i, y := range l.y {
		w := 1/float64(len(l.y)) + float64(d*(l.x[i].X-l.mean))/l.sxx
		sum = value.Apply2(sum, y, 0, 1, w, y.Dim)
	}
	sum.X = l.height + float64(l.gradient*d)
	return sum
}

// Scatter returns what the scatter about the line contributes at a place:
// s/√n for its height and s·(at - x̄)/√Sxx for its slope, which do not depend on
// each other; s² = Σ residual²/(n - 2).
func (l *Line) Scatter(place float64) []float64 {
	n := len(l.x)
	if n < 3 {
		return nil
	}
	var s2 float64
	for i := range l.x {
		r := l.y[i].X - l.height - float64(l.gradient*(l.x[i].X-l.mean))
		s2 += float64(r * r)
	}
	s := math.Sqrt(s2 / float64(n-2))
	return []float64{s / math.Sqrt(float64(n)), float64(s*(place-l.mean)) / math.Sqrt(l.sxx)}
}
