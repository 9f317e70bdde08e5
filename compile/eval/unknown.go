package eval

import (
	"strings"

	"perch/compile/solve"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
)

// This file calculates with quantities of a sketch that is still being
// solved. Dimensions are found out by calculating with numbers that stand in
// for them.

func isUnknown(vs ...value.Value) bool {
	for _, v := range vs {
		if v != nil && v.Kind() == value.UnknownKind {
			return true
		}
	}
	return false
}

// standIn returns a number of the dimension of v.
func standIn(v value.Value) (value.Number, bool) {
	switch v := v.(type) {
	case value.Unknown:
		return v.StandIn(), true
	case value.Number:
		return v, true
	}
	return value.Number{}, false
}

// dimsOnly takes the values out of a message about stand-ins.
func dimsOnly(f *value.Fault) *value.Fault {
	f.Message, _, _ = strings.Cut(f.Message, ": ")
	return f
}

// arithUnknown calculates a op b when one of them is unknown.
func (e *evaluator) arithUnknown(x *ast.Binary, a, b value.Value) value.Value {
	m, ok1 := standIn(a)
	n, ok2 := standIn(b)
	if !ok1 || !ok2 {
		wrong, at := a, x.X
		if ok1 {
			wrong, at = b, x.Y
		}
		return e.fault(at.Span(), value.Faultf(WrongOperand, "`%s` takes numbers, this is %s", x.Op, value.Describe(wrong)).
			Do("write a number or a measure of the sketch"))
	}
	if x.Op == "^" && isUnknown(b) {
		return e.fault(x.Y.Span(), value.Faultf(Unsettled, "an exponent must be known, this follows from the sketch").
			Do("write a number, such as 2"))
	}
	r, f := value.Arith(x.Op, m, n)
	if f != nil {
		var labels []diag.Label
		for i, y := range []ast.Expr{x.X, x.Y} {
			labels = append(labels, diag.Label{At: y.Span(), Text: value.Describe([]value.Value{a, b}[i])})
		}
		return e.fault(x.OpAt, dimsOnly(f), labels...)
	}
	p, _ := value.Lift(a, r.Dim)
	q, _ := value.Lift(b, r.Dim)
	return value.Unknown{E: arithExpr(x.Op, p.E, q.E, n.X), Dim: r.Dim}
}

func arithExpr(op string, a, b *solve.Expr, exponent float64) *solve.Expr {
	switch op {
	case "+":
		return solve.Add(a, b)
	case "-":
		return solve.Sub(a, b)
	case "*":
		return solve.Mul(a, b)
	case "/":
		return solve.Div(a, b)
	}
	return solve.Pow(a, exponent)
}

// callUnknown calls a builtin function when one of its arguments is unknown.
func (e *evaluator) callUnknown(x *ast.Call, f *builtinFunc, args []value.Value) value.Value {
	if f.Solving == nil {
		return e.fault(x.Span(), value.Faultf(Unsettled, "%s takes known values, this follows from the sketch", f.Name).
			Do("use it on measures and lets, or outside the sketch"))
	}
	numbers := make([]value.Value, len(args))
	for i, a := range args {
		n, _ := standIn(a)
		numbers[i] = n
	}
	v, fault := f.Call(numbers)
	if fault != nil {
		return e.fault(x.Span(), dimsOnly(fault))
	}
	dim := v.(value.Number).Dim
	exprs := make([]*solve.Expr, len(args))
	for i, a := range args {
		u, _ := value.Lift(a, dim)
		exprs[i] = u.E
	}
	return value.Unknown{E: f.Solving(exprs), Dim: dim}
}

// settled reports an unknown where a known value is needed.
func (e *evaluator) settled(x ast.Expr, v value.Value, what string) bool {
	if !isUnknown(v) {
		return true
	}
	e.fault(x.Span(), value.Faultf(Unsettled, "%s must be known, this follows from the sketch", what).
		Do("write it as an equation of the sketch, or use a measure or a let"))
	return false
}
