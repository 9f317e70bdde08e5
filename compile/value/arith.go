package value

import (
	"math"

	"perch/lang/diag"
	"perch/lang/unit"
)

// verbs name an operation in a message: "a length plus an angle".
var verbs = map[string]string{
	"+": "plus", "-": "minus", "*": "times", "/": "divided by", "^": "to the power of",
	"<": "compared with", "<=": "compared with", ">": "compared with", ">=": "compared with",
	"=": "compared with", "!=": "compared with",
}

// Codes of the faults of this package.
const (
	DimMismatch diag.Code = "dim-mismatch"
	DivZero     diag.Code = "div-zero"
	NotFinite   diag.Code = "not-finite"
	PowerBad    diag.Code = "power"
)

// Mismatch is the fault of joining two numbers whose dimensions differ.
func Mismatch(op string, a, b Number) *Fault {
	f := Faultf(DimMismatch, "%s %s %s: %s %s %s", A(a.Dim), verbs[op], A(b.Dim), a, op, b)
	switch {
	case a.Dim == unit.None || b.Dim == unit.None:
		d := a.Dim
		if d == unit.None {
			d = b.Dim
		}
		f.Why("only 0 goes without a unit")
		f.Do("give the plain number a unit%s", sampleUnit(d))
	default:
		f.Why("only quantities of one kind can be added, taken away or compared")
		f.Do("bring both sides to one kind, or correct the unit of one")
	}
	return f
}

// sampleUnit proposes a unit for a dimension: ", such as mm".
func sampleUnit(d unit.Dim) string {
	for _, w := range unit.Words() {
		if u, err := unit.Parse(w); err == nil && u.Dim == d {
			return ", such as " + w
		}
	}
	for _, w := range []string{"mm^2", "mm^3", "g/cm^3", "N*mm", "mm^4", "mm^3/s", "1/K"} {
		if u, err := unit.Parse(w); err == nil && u.Dim == d {
			return ", such as " + w
		}
	}
	return ""
}

// same brings two numbers to one dimension.
func same(op string, a, b Number) (Number, Number, *Fault) {
	switch {
	case a.Any && !b.Any:
		a = a.As(b.Dim)
	case b.Any && !a.Any:
		b = b.As(a.Dim)
	case a.Dim != b.Dim:
		return a, b, Mismatch(op, a, b)
	}
	return a, b, nil
}

// Add returns a + b.
func Add(a, b Number) (Number, *Fault) {
	a, b, f := same("+", a, b)
	if f != nil {
		return Number{}, f
	}
	r := Apply2(a, b, a.X+b.X, 1, 1, a.Dim)
	r.Any = a.Any && b.Any
	return finite(r, "+", a, b)
}

// Sub returns a - b.
func Sub(a, b Number) (Number, *Fault) {
	a, b, f := same("-", a, b)
	if f != nil {
		return Number{}, f
	}
	r := Apply2(a, b, a.X-b.X, 1, -1, a.Dim)
	r.Any = a.Any && b.Any
	return finite(r, "-", a, b)
}

// Neg returns -a.
func Neg(a Number) Number {
	r := a.Apply(-a.X, -1, a.Dim)
	r.Any = a.Any
	if r.X == 0 {
		r.X = 0 // never -0, which would print and print again
	}
	return r
}

// maxExponent bounds the exponents of a dimension; mm^4 is the highest that a
// workshop formula has.
const maxExponent = 12

func small(d unit.Dim) bool {
	for _, e := range []int8{d.Length, d.Angle, d.Mass, d.Time, d.Temp} {
		if e > maxExponent || e < -maxExponent {
			return false
		}
	}
	return true
}

// Mul returns a · b.
func Mul(a, b Number) (Number, *Fault) {
	d := a.Dim.Mul(b.Dim)
	if !small(d) {
		return Number{}, tooHigh()
	}
	return finite(Apply2(a, b, float64(a.X*b.X), b.X, a.X, d), "*", a, b)
}

func tooHigh() *Fault {
	return Faultf(PowerBad, "the powers of the units grow beyond %d", maxExponent).
		Do("check the formula: workshop formulas stop at mm^4")
}

// Div returns a / b.
func Div(a, b Number) (Number, *Fault) {
	if b.X == 0 {
		return Number{}, Faultf(DivZero, "division by zero: %s / %s", a, b).
			Do("check what stands below the line, or decide with `if … then … else …`")
	}
	d := a.Dim.Div(b.Dim)
	if !small(d) {
		return Number{}, tooHigh()
	}
	return finite(Apply2(a, b, a.X/b.X, 1/b.X, -float64(a.X/b.X)/b.X, d), "/", a, b)
}

// Pow returns a ^ b for a plain number b. A base with a dimension takes whole
// exponents, or such that its own exponents stay whole.
func Pow(a, b Number) (Number, *Fault) {
	if b.Dim != unit.None {
		return Number{}, Faultf(DimMismatch, "an exponent must be a plain number, this is %s: %s", A(b.Dim), b).
			Do("write a number without a unit, such as 2")
	}
	d, ok := raise(a.Dim, b.X)
	if !ok {
		return Number{}, Faultf(PowerBad, "%s to the power of %s has no unit: %s ^ %s", A(a.Dim), b, a, b).
			Do("use a whole exponent, or sqrt(…) where the units are squares")
	}
	if a.X == 0 && b.X < 0 {
		return Number{}, Faultf(DivZero, "zero to a negative power: %s ^ %s", a, b).
			Do("check the base: it is zero here")
	}
	if _, whole := b.Whole(); a.X < 0 && !whole {
		return Number{}, Faultf(PowerBad, "a negative number to the power of %s: %s ^ %s", b, a, b).
			Do("check the base: it comes out below zero here")
	}
	x := math.Pow(a.X, b.X)
	da, db := 0.0, 0.0
	if len(a.U) > 0 {
		da = float64(b.X * math.Pow(a.X, b.X-1))
	}
	if len(b.U) > 0 && a.X > 0 {
		db = float64(x * math.Log(a.X))
	}
	return finite(Apply2(a, b, x, da, db, d), "^", a, b)
}

// raise multiplies the exponents of d by e.
func raise(d unit.Dim, e float64) (unit.Dim, bool) {
	if d == unit.None {
		return d, true
	}
	var out [5]int8
	for i, k := range []int8{d.Length, d.Angle, d.Mass, d.Time, d.Temp} {
		p := float64(float64(k) * e)
		r := math.Round(p)
		if !(math.Abs(p-r) < 1e-9) || math.Abs(r) > maxExponent {
			return d, false
		}
		out[i] = int8(r)
	}
	return unit.Dim{Length: out[0], Angle: out[1], Mass: out[2], Time: out[3], Temp: out[4]}, true
}

func finite(r Number, op string, a, b Number) (Number, *Fault) {
	if r.Finite() {
		return r, nil
	}
	return Number{}, Faultf(NotFinite, "the result is too large to hold: %s %s %s", a, op, b).
		Do("check the units and the exponents of this formula")
}

// equalWithin is the relative difference below which two numbers count as
// equal: a few thousand roundings of a float64.
const equalWithin = 1e-12

// Compare returns a op b for <, <=, >, >=, = and !=. Numbers that differ by
// rounding only are equal.
func Compare(op string, a, b Number) (bool, *Fault) {
	a, b, f := same(op, a, b)
	if f != nil {
		return false, f
	}
	equal := math.Abs(a.X-b.X) <= float64(equalWithin*max(math.Abs(a.X), math.Abs(b.X)))
	switch op {
	case "<":
		return a.X < b.X && !equal, nil
	case "<=":
		return a.X < b.X || equal, nil
	case ">":
		return a.X > b.X && !equal, nil
	case ">=":
		return a.X > b.X || equal, nil
	case "=":
		return equal, nil
	}
	return !equal, nil
}

// Arith returns a op b for + - * / ^.
func Arith(op string, a, b Number) (Number, *Fault) {
	switch op {
	case "+":
		return Add(a, b)
	case "-":
		return Sub(a, b)
	case "*":
		return Mul(a, b)
	case "/":
		return Div(a, b)
	}
	return Pow(a, b)
}
