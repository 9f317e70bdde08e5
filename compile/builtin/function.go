package builtin

import (
	"math"

	"perch/compile/solve"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/unit"
)

// Codes of faults in functions.
const (
	Domain  diag.Code = "domain" // an argument that a function has no value for
	Refused diag.Code = "refused"
)

func one(name, kind string) []Param { return []Param{{name, kind}} }

// numeric makes the function of a table entry out of one that takes and
// returns numbers.
func numeric(f func(a []value.Number) (value.Number, *value.Fault)) func([]value.Value) (value.Value, *value.Fault) {
	return func(args []value.Value) (value.Value, *value.Fault) {
		numbers := make([]value.Number, len(args))
		for i, a := range args {
			numbers[i] = a.(value.Number)
		}
		return f(numbers)
	}
}

func first(f func(a *solve.Expr) *solve.Expr) func([]*solve.Expr) *solve.Expr {
	return func(a []*solve.Expr) *solve.Expr { return f(a[0]) }
}

func both(f func(a, b *solve.Expr) *solve.Expr) func([]*solve.Expr) *solve.Expr {
	return func(a []*solve.Expr) *solve.Expr { return f(a[0], a[1]) }
}

func fold(f func(a, b *solve.Expr) *solve.Expr) func([]*solve.Expr) *solve.Expr {
	return func(a []*solve.Expr) *solve.Expr {
		e := a[0]
		for _, b := range a[1:] {
			e = f(e, b)
		}
		return e
	}
}

var refuseFunc = Function{
	Name: "refuse", Params: one("reason", "text"),
	Doc:     "stops with a message of one's own, where a formula or a table has no answer",
	Example: `(if 2mm < 3mm then 1 else refuse("too thin")) = 1`,
	Call: func(a []value.Value) (value.Value, *value.Fault) {
		return nil, value.Faultf(Refused, "%s", string(a[0].(value.Text)))
	},
}

var sinFunc = Function{
	Name: "sin", Params: one("angle", "angle"),
	Doc: "the sine of an angle", Example: "abs(sin(30deg) - 0.5) < 1e-15",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		s, c := math.Sincos(a[0].X)
		return a[0].Apply(s, c, unit.None), nil
	}),
	Solving: first(solve.Sin),
}

var cosFunc = Function{
	Name: "cos", Params: one("angle", "angle"),
	Doc: "the cosine of an angle", Example: "abs(cos(60deg) - 0.5) < 1e-15",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		s, c := math.Sincos(a[0].X)
		return a[0].Apply(c, -s, unit.None), nil
	}),
	Solving: first(solve.Cos),
}

var tanFunc = Function{
	Name: "tan", Params: one("angle", "angle"),
	Doc: "the tangent of an angle", Example: "abs(tan(45deg) - 1) < 1e-15",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		if math.Abs(math.Cos(a[0].X)) < 1e-15 {
			return value.Number{}, value.Faultf(Domain, "tan has no value at %s", a[0]).Do("keep the angle away from a right angle")
		}
		t := math.Tan(a[0].X)
		return a[0].Apply(t, 1+float64(t*t), unit.None), nil
	}),
	Solving: first(solve.Tan),
}

// slopeOf keeps a derivative that has no bound out of the uncertainty.
func slopeOf(s float64) float64 {
	if math.IsInf(s, 0) || math.IsNaN(s) {
		return 0
	}
	return s
}

func within1(name string, n value.Number) *value.Fault {
	if n.X >= -1 && n.X <= 1 {
		return nil
	}
	return value.Faultf(Domain, "%s takes a number from -1 to 1, this is %s", name, n).
		Why("no angle has such a %s", map[string]string{"asin": "sine", "acos": "cosine"}[name]).
		Do("check the lengths that this ratio is made of: the longest side must stand below the line")
}

var asinFunc = Function{
	Name: "asin", Params: one("ratio", "number"),
	Doc: "the angle whose sine is given, from -90deg to 90deg", Example: "abs(asin(0.5) - 30deg) < 1e-12deg",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		if f := within1("asin", a[0]); f != nil {
			return value.Number{}, f
		}
		return a[0].Apply(math.Asin(a[0].X), slopeOf(1/math.Sqrt(1-float64(a[0].X*a[0].X))), unit.Angle), nil
	}),
	Solving: first(solve.Asin),
}

var acosFunc = Function{
	Name: "acos", Params: one("ratio", "number"),
	Doc: "the angle whose cosine is given, from 0 to 180deg", Example: "abs(acos(0.5) - 60deg) < 1e-12deg",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		if f := within1("acos", a[0]); f != nil {
			return value.Number{}, f
		}
		return a[0].Apply(math.Acos(a[0].X), slopeOf(-1/math.Sqrt(1-float64(a[0].X*a[0].X))), unit.Angle), nil
	}),
	Solving: first(solve.Acos),
}

var atanFunc = Function{
	Name: "atan", Params: one("ratio", "number"),
	Doc: "the angle whose tangent is given, from -90deg to 90deg", Example: "atan(1) = 45deg",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		return a[0].Apply(math.Atan(a[0].X), 1/(1+float64(a[0].X*a[0].X)), unit.Angle), nil
	}),
	Solving: func(a []*solve.Expr) *solve.Expr { return solve.Atan2(a[0], solve.Const(1)) },
}

var atan2Func = Function{
	Name: "atan2", Params: []Param{{"y", ""}, {"x", ""}},
	Doc:     "the direction of the point (x, y), from -180deg to 180deg; y comes first",
	Example: "atan2(2mm, -2mm) = 135deg",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		y, x, f := sameDim("atan2", a[0], a[1])
		if f != nil {
			return value.Number{}, f
		}
		r2 := float64(x.X*x.X) + float64(y.X*y.X)
		if r2 == 0 {
			return value.Number{}, value.Faultf(Domain, "atan2(0, 0) has no direction").Do("check the two lengths: both are zero here")
		}
		return value.Apply2(y, x, math.Atan2(y.X, x.X), x.X/r2, -y.X/r2, unit.Angle), nil
	}),
	Solving: both(solve.Atan2),
}

// sameDim brings two arguments of one function to one dimension.
func sameDim(name string, a, b value.Number) (value.Number, value.Number, *value.Fault) {
	a, b = a.As(b.Dim), b.As(a.Dim)
	if a.Dim != b.Dim {
		f := value.Faultf(value.DimMismatch, "%s of %s and %s: %s, %s", name, value.A(a.Dim), value.A(b.Dim), a, b)
		return a, b, f.Why("%s takes quantities of one kind", name).Do("correct the unit of one of them")
	}
	return a, b, nil
}

var sqrtFunc = Function{
	Name: "sqrt", Params: one("value", ""),
	Doc: "the square root; the root of an area is a length", Example: "sqrt(9mm^2) = 3mm",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		if a[0].X < 0 {
			return value.Number{}, value.Faultf(Domain, "the square root of a negative number: sqrt(%s)", a[0]).
				Do("check the formula under the root: here it comes out below zero")
		}
		d, ok := halve(a[0].Dim)
		if !ok {
			return value.Number{}, value.Faultf(value.PowerBad, "the square root of %s has no unit: sqrt(%s)", value.A(a[0].Dim), a[0]).
				Do("take the root of a square, such as mm^2")
		}
		r := math.Sqrt(a[0].X)
		return a[0].Apply(r, slopeOf(1/(2*r)), d), nil
	}),
	Solving: first(solve.Sqrt),
}

func halve(d unit.Dim) (unit.Dim, bool) {
	if (d.Length|d.Angle|d.Mass|d.Time|d.Temp)&1 != 0 {
		return d, false
	}
	return unit.Dim{Length: d.Length / 2, Angle: d.Angle / 2, Mass: d.Mass / 2, Time: d.Time / 2, Temp: d.Temp / 2}, true
}

var absFunc = Function{
	Name: "abs", Params: one("value", ""),
	Doc: "the value without its sign", Example: "abs(-3mm) = 3mm",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		if a[0].X < 0 {
			return value.Neg(a[0]), nil
		}
		return a[0], nil
	}),
	Solving: first(solve.Abs),
}

var hypotFunc = Function{
	Name: "hypot", Params: []Param{{"a", ""}, {"b", ""}},
	Doc: "the long side of a right triangle: sqrt(a^2 + b^2)", Example: "hypot(3mm, 4mm) = 5mm",
	Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
		x, y, f := sameDim("hypot", a[0], a[1])
		if f != nil {
			return value.Number{}, f
		}
		h := math.Hypot(x.X, y.X)
		return value.Apply2(x, y, h, slopeOf(x.X/h), slopeOf(y.X/h), x.Dim), nil
	}),
	Solving: both(solve.Hypot),
}

var minFunc = Function{
	Name: "min", Params: one("value", ""), Variadic: true,
	Doc: "the least of its arguments", Example: "min(3mm, 2mm, 0.4cm) = 2mm",
	Call:    numeric(func(a []value.Number) (value.Number, *value.Fault) { return extreme("min", a, -1) }),
	Solving: fold(solve.Min),
}

var maxFunc = Function{
	Name: "max", Params: one("value", ""), Variadic: true,
	Doc: "the greatest of its arguments", Example: "max(3mm, 2mm, 0.4cm) = 4mm",
	Call:    numeric(func(a []value.Number) (value.Number, *value.Fault) { return extreme("max", a, 1) }),
	Solving: fold(solve.Max),
}

func extreme(name string, a []value.Number, sign float64) (value.Number, *value.Fault) {
	best := a[0]
	for _, n := range a[1:] {
		b, c, f := sameDim(name, best, n)
		if f != nil {
			return value.Number{}, f
		}
		if best = b; float64(sign*c.X) > float64(sign*b.X) {
			best = c
		}
	}
	return best, nil
}

// plainly makes a function that rounds a plain number.
func plainly(name, doc, example string, f func(float64) float64) Function {
	return Function{
		Name: name, Params: one("value", "number"), Doc: doc, Example: example,
		Call: numeric(func(a []value.Number) (value.Number, *value.Fault) {
			x := a[0].X
			if r := math.Round(x); math.Abs(x-r) <= 1e-9 {
				x = r // 30mm / 10mm is 3, whatever the last bit says
			}
			return value.Plain(f(x) + 0), nil
		}),
	}
}

var (
	floorFunc = plainly("floor", "the next whole number below", "floor(7mm / 2mm) = 3", math.Floor)
	ceilFunc  = plainly("ceil", "the next whole number above", "ceil(7mm / 2mm) = 4", math.Ceil)
	roundFunc = plainly("round", "the nearest whole number, halves away from zero", "round(2.5) = 3", math.Round)
)
