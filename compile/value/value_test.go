package value

import (
	"math"
	"testing"

	"perch/lang/unit"
)

// measured returns a single reading with a standard uncertainty.
func measured(x, u float64, d unit.Dim, source int) Number {
	return Measured([]Number{Of(x, d)}, u, source)
}

// all gives readings their dimension.
func all(xs []float64, d unit.Dim) []Number {
	out := make([]Number, len(xs))
	for i, x := range xs {
		out[i] = Of(x, d)
	}
	return out
}

func must(t *testing.T) func(Number, *Fault) Number {
	return func(n Number, f *Fault) Number {
		t.Helper()
		if f != nil {
			t.Fatal(f)
		}
		return n
	}
}

func near(t *testing.T, what string, got, want, digits float64) {
	t.Helper()
	if !(math.Abs(got-want) <= digits/2*1.0001) {
		t.Errorf("%s = %.12g, want %.12g", what, got, want)
	}
}

// JCGM 100:2008 (GUM) 4.4.3: twenty temperatures, mean 100.145 (printed
// 100.14), s 1.489, s/√n 0.333.
func TestMeanOfReadings(t *testing.T) {
	temps := []float64{
		96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
		100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
	}
	n := Measured(all(temps, unit.Temperature), 0, 0)
	near(t, "mean", n.X, 100.145, 1e-3)
	near(t, "u", n.Uncertainty(), 0.333, 1e-3)

	// The same rules on six readings of a ring body, worked by hand: mean
	// 114.30000, s 0.03406, u 0.01390.
	n = Measured(all([]float64{114.32, 114.28, 114.35, 114.30, 114.25, 114.30}, unit.Length), 0, 0)
	near(t, "mean", n.X, 114.3, 1e-5)
	near(t, "u", n.Uncertainty(), 0.01390, 1e-5)

	// Five readings, s 0.01581, u(mean) 0.00707; with a caliper's limits of
	// ±0.02 taken as rectangular (GUM 4.3.7: /√3) 0.01354.
	five := []float64{62.02, 61.98, 62.01, 61.99, 62.00}
	n = Measured(all(five, unit.Length), 0, 0)
	near(t, "mean", n.X, 62, 1e-6)
	near(t, "u", n.Uncertainty(), 0.00707, 1e-5)
	n = Measured(all(five, unit.Length), Rectangular(0.02), 0)
	near(t, "u with limits", n.Uncertainty(), 0.01354, 1e-5)
}

// Law of propagation, GUM 5.1.2, on formulas of the workshop. The figures
// were worked out by hand from the partial derivatives.
func TestUncertaintyPropagates(t *testing.T) {
	ok := must(t)
	pi := Plain(math.Pi)

	// A tape of thickness t reads the girth C: D = C/π - t.
	c, tape := measured(358.1, 0.5, unit.Length, 0), measured(0.12, 0.02, unit.Length, 1)
	d := ok(Sub(ok(Div(c, pi)), tape))
	near(t, "D", d.X, 113.866770, 1e-6)
	near(t, "u(D)", d.Uncertainty(), 0.160407, 1e-6)

	// Radius from chord and sagitta: c²/(8 s) + s/2; s stands in it twice.
	for _, k := range []struct{ c, s, u, r, ur float64 }{
		{40, 4, 0.02, 52, 0.245153},
		{80, 10, 0.03, 85, 0.232863},
		{70, 9, 0.02, 72.555556, 0.146491},
		{100, 20, 0.05, 72.5, 0.145371},
		{50, 2, 0.02, 157.25, 1.557524},
	} {
		c, s := measured(k.c, k.u, unit.Length, 0), measured(k.s, k.u, unit.Length, 1)
		r := ok(Add(ok(Div(ok(Pow(c, Plain(2))), ok(Mul(Plain(8), s)))), ok(Div(s, Plain(2)))))
		near(t, "R", r.X, k.r, 1e-6)
		near(t, "u(R)", r.Uncertainty(), k.ur, 1e-6)
		if r.Dim != unit.Length {
			t.Errorf("R is %s", A(r.Dim))
		}
	}

	// 40.0 (0.05) × 25.0 (0.03): u 1.732772.
	p := ok(Mul(measured(40, 0.05, unit.Length, 0), measured(25, 0.03, unit.Length, 1)))
	near(t, "product", p.X, 1000, 1e-9)
	near(t, "u(product)", p.Uncertainty(), 1.732772, 1e-6)

	// One source used twice is one source: x - x is exact.
	x := measured(3, 0.1, unit.Length, 7)
	if z := ok(Sub(x, x)); z.X != 0 || z.Uncertainty() != 0 {
		t.Errorf("x - x = %v ± %v", z.X, z.Uncertainty())
	}
	if w := ok(Add(x, x)); math.Abs(w.Uncertainty()-0.2) > 1e-15 {
		t.Errorf("x + x ± %v, want 0.2", w.Uncertainty())
	}
}

func TestArithmeticDimensions(t *testing.T) {
	mm, deg, one, zero := Length(12), Angle(math.Pi/6), Plain(5), Number{Any: true}
	for _, c := range []struct {
		op      string
		a, b    Number
		dim     unit.Dim
		x       float64
		message string
	}{
		{"+", mm, Length(3), unit.Length, 15, ""},
		{"+", mm, zero, unit.Length, 12, ""},
		{"-", zero, mm, unit.Length, -12, ""},
		{"+", mm, deg, unit.Dim{}, 0, "a length plus an angle: 12 mm + 30 deg"},
		{"-", mm, one, unit.Dim{}, 0, "a length minus a plain number: 12 mm - 5"},
		{"*", mm, mm, unit.AreaDim, 144, ""},
		{"*", zero, mm, unit.Length, 0, ""},
		{"/", mm, Length(3), unit.None, 4, ""},
		{"/", mm, Length(0), unit.Dim{}, 0, "division by zero: 12 mm / 0 mm"},
		{"/", mm, zero, unit.Dim{}, 0, "division by zero: 12 mm / 0"},
		{"^", mm, Plain(2), unit.AreaDim, 144, ""},
		{"^", Of(144, unit.AreaDim), Plain(0.5), unit.Length, 12, ""},
		{"^", mm, Plain(0.5), unit.Dim{}, 0, "a length to the power of 0.5 has no unit: 12 mm ^ 0.5"},
		{"^", one, mm, unit.Dim{}, 0, "an exponent must be a plain number, this is a length: 12 mm"},
		{"^", Plain(-8), Plain(0.5), unit.Dim{}, 0, "a negative number to the power of 0.5: -8 ^ 0.5"},
		{"^", Plain(0), Plain(-1), unit.Dim{}, 0, "zero to a negative power: 0 ^ -1"},
		{"^", mm, Plain(13), unit.Dim{}, 0, "a length to the power of 13 has no unit: 12 mm ^ 13"},
		{"*", Plain(1e300), Plain(1e300), unit.Dim{}, 0, "the result is too large to hold: 1e+300 * 1e+300"},
	} {
		r, f := Arith(c.op, c.a, c.b)
		switch {
		case f != nil && f.Message != c.message:
			t.Errorf("%s %s %s: %q, want %q", c.a, c.op, c.b, f.Message, c.message)
		case f == nil && (c.message != "" || r.X != c.x || r.Dim != c.dim):
			t.Errorf("%s %s %s = %s (%s), want %g %s%s", c.a, c.op, c.b, r, A(r.Dim), c.x, c.dim, c.message)
		}
	}
}

func TestCompareForgivesRounding(t *testing.T) {
	tenth := Length(0.1 + 0.2)
	for _, c := range []struct {
		op   string
		a, b Number
		want bool
	}{
		{"=", tenth, Length(0.3), true},
		{"<=", tenth, Length(0.3), true},
		{">", tenth, Length(0.3), false},
		{"!=", tenth, Length(0.3), false},
		{"<", Length(0.3), Length(0.300001), true},
		{"=", Length(0), Number{Any: true}, true},
		{">", Length(1), Number{Any: true}, true},
	} {
		got, f := Compare(c.op, c.a, c.b)
		if f != nil || got != c.want {
			t.Errorf("%v %s %v = %v %v, want %v", c.a.X, c.op, c.b.X, got, f, c.want)
		}
	}
	if _, f := Compare("<", Length(1), Angle(1)); f == nil || f.Code != DimMismatch {
		t.Errorf("a length compared with an angle: %v", f)
	}
}

func TestWhole(t *testing.T) {
	for _, c := range []struct {
		n  Number
		k  int
		ok bool
	}{
		{Plain(3), 3, true}, {Plain(0.1 + 0.2 + 2.7), 3, true}, {Plain(2.5), 0, false},
		{Length(3), 0, false}, {Plain(math.NaN()), 0, false}, {Plain(math.Inf(1)), 0, false}, {Plain(1e300), 0, false},
	} {
		if k, ok := c.n.Whole(); ok != c.ok || ok && k != c.k {
			t.Errorf("%v is whole: %d %v, want %d %v", c.n, k, ok, c.k, c.ok)
		}
	}
}
