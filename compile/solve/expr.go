package solve

import (
	"fmt"
	"math"
	"strings"
)

type op uint8

const (
	opConst op = iota
	opVar
	opAdd
	opSub
	opMul
	opDiv
	opNeg
	opPow
	opSqrt
	opSin
	opCos
	opTan
	opAsin
	opAcos
	opAtan2
	opHypot
	opAbs
	opMin
	opMax
	opWrap
	opSwitch

	// In tapes only.
	opDiff // a variable less another
	opLess // an operand less a constant
)

var opNames = [...]string{
	opConst: "const", opVar: "var", opAdd: "+", opSub: "-", opMul: "*", opDiv: "/", opNeg: "neg", opPow: "pow",
	opSqrt: "sqrt", opSin: "sin", opCos: "cos", opTan: "tan", opAsin: "asin", opAcos: "acos", opAtan2: "atan2",
	opHypot: "hypot", opAbs: "abs", opMin: "min", opMax: "max", opWrap: "wrap", opSwitch: "switch",
}

// binary reports whether the operation has two operands.
func (o op) binary() bool {
	switch o {
	case opAdd, opSub, opMul, opDiv, opAtan2, opHypot, opMin, opMax:
		return true
	}
	return false
}

// Expr is an expression over the variables of one System. Expressions are
// immutable and may share parts. Constants are folded as they are built.
type Expr struct {
	op   op
	v    int32   // of opVar: its index
	c    float64 // of opConst: the value; of opPow: the exponent
	a, b *Expr
	tied []Tie // of opConst: what its value depends on
}

var zero, one = &Expr{op: opConst}, &Expr{op: opConst, c: 1}

// Const returns a constant.
func Const(c float64) *Expr {
	switch c {
	case 0:
		return zero // also for -0
	case 1:
		return one
	}
	return &Expr{op: opConst, c: c}
}

// Switch returns a constant that Set can change between two solutions, as the
// side of a line on which something lies. It is never folded into others.
func Switch(c float64) *Expr { return &Expr{op: opSwitch, c: c} }

// Set changes a Switch.
func (e *Expr) Set(c float64) { e.c = c }

// Constant returns the value of an expression without variables.
func (e *Expr) Constant() (float64, bool) { return e.c, e.op == opConst }

// Index returns the number of the variable that e is, or -1.
func (e *Expr) Index() int {
	if e.op == opVar {
		return int(e.v)
	}
	return -1
}

// Difference returns a and b of an expression a - b.
func (e *Expr) Difference() (a, b *Expr, ok bool) {
	if e.op != opSub {
		return nil, nil, false
	}
	return e.a, e.b, true
}

func unary(o op, a *Expr) *Expr {
	if a.op == opConst {
		v := apply(o, a.c, 0, 0)
		return tieUnary(Const(v), o, a, v, 0)
	}
	return &Expr{op: o, a: a}
}

func binary(o op, a, b *Expr) *Expr {
	if a.op == opConst && b.op == opConst {
		v := apply(o, a.c, b.c, 0)
		return tieBinary(Const(v), o, a, b, v)
	}
	return &Expr{op: o, a: a, b: b}
}

// Add returns a + b.
func Add(a, b *Expr) *Expr {
	switch {
	case a == zero:
		return b
	case b == zero:
		return a
	}
	return binary(opAdd, a, b)
}

// Sub returns a - b.
func Sub(a, b *Expr) *Expr {
	switch {
	case b == zero:
		return a
	case a == b:
		return zero
	case a == zero:
		return Neg(b)
	}
	return binary(opSub, a, b)
}

// Mul returns a · b.
func Mul(a, b *Expr) *Expr {
	switch {
	case a == zero || b == zero:
		return zero
	case a == one:
		return b
	case b == one:
		return a
	}
	return binary(opMul, a, b)
}

// Div returns a / b.
func Div(a, b *Expr) *Expr {
	if b == one {
		return a
	}
	return binary(opDiv, a, b)
}

// Neg returns -a.
func Neg(a *Expr) *Expr {
	if a.op == opNeg {
		return a.a
	}
	return unary(opNeg, a)
}

// Scale returns k·a.
func Scale(k float64, a *Expr) *Expr { return Mul(Const(k), a) }

// Pow returns a to the power of the plain number k.
func Pow(a *Expr, k float64) *Expr {
	if a.op == opConst {
		v := math.Pow(a.c, k)
		return tieUnary(Const(v), opPow, a, v, k)
	}
	if k == 1 {
		return a
	}
	return &Expr{op: opPow, a: a, c: k}
}

// Sqrt returns the square root of a.
func Sqrt(a *Expr) *Expr { return unary(opSqrt, a) }

// Sin returns the sine of a radians.
func Sin(a *Expr) *Expr { return unary(opSin, a) }

// Cos returns the cosine of a radians.
func Cos(a *Expr) *Expr { return unary(opCos, a) }

// Tan returns the tangent of a radians.
func Tan(a *Expr) *Expr { return unary(opTan, a) }

// Asin returns the angle in -π/2..π/2 whose sine is a.
func Asin(a *Expr) *Expr { return unary(opAsin, a) }

// Acos returns the angle in 0..π whose cosine is a.
func Acos(a *Expr) *Expr { return unary(opAcos, a) }

// Atan2 returns the angle of the direction (x, y) in -π..π.
func Atan2(y, x *Expr) *Expr { return binary(opAtan2, y, x) }

// Hypot returns the length of (a, b). Where both are zero it is taken to
// grow with a, so that a solver can leave the point: a line of no length
// stretches along x.
func Hypot(a, b *Expr) *Expr { return binary(opHypot, a, b) }

// Abs returns |a|.
func Abs(a *Expr) *Expr { return unary(opAbs, a) }

// Min returns the smaller of a and b.
func Min(a, b *Expr) *Expr { return binary(opMin, a, b) }

// Max returns the larger of a and b.
func Max(a, b *Expr) *Expr { return binary(opMax, a, b) }

// Wrap returns a less the whole turns in it: the angle in -π..π of the same
// direction.
func Wrap(a *Expr) *Expr { return unary(opWrap, a) }

// apply computes one operation; c is the exponent of opPow.
func apply(o op, a, b, c float64) float64 {
	switch o {
	case opAdd:
		return a + b
	case opSub:
		return a - b
	case opMul:
		return a * b
	case opDiv:
		return a / b
	case opNeg:
		return -a
	case opPow:
		return math.Pow(a, c)
	case opSqrt:
		return math.Sqrt(a)
	case opSin:
		return math.Sin(a)
	case opCos:
		return math.Cos(a)
	case opTan:
		return math.Tan(a)
	case opAsin:
		return math.Asin(a)
	case opAcos:
		return math.Acos(a)
	case opAtan2:
		return math.Atan2(a, b)
	case opHypot:
		return math.Sqrt(float64(a*a) + float64(b*b))
	case opAbs:
		return math.Abs(a)
	case opMin:
		return math.Min(a, b)
	case opMax:
		return math.Max(a, b)
	case opWrap:
		return math.Remainder(a, 2*math.Pi)
	}
	panic("solve: operation without a value")
}

// Eval returns the value of e for the given values of the variables. Shared
// parts are worked out once.
func (e *Expr) Eval(values []float64) float64 {
	switch e.op {
	case opConst, opSwitch:
		return e.c
	case opVar:
		return values[e.v]
	}
	v := evaluation{values: values}
	return v.of(e)
}

// evaluation walks an expression with a memory of the parts it has met.
type evaluation struct {
	values []float64
	known  memo[float64]
}

func (v *evaluation) of(e *Expr) float64 {
	switch e.op {
	case opConst, opSwitch:
		return e.c
	case opVar:
		return v.values[e.v]
	}
	if x, ok := v.known.get(e); ok {
		return x
	}
	a, b := v.of(e.a), 0.0
	if e.op.binary() {
		b = v.of(e.b)
	}
	x := apply(e.op, a, b, e.c)
	v.known.put(e, x)
	return x
}

// memo remembers something for each part of an expression. Most expressions
// are small, where a list is faster than a map.
type memo[T any] struct {
	keys []*Expr
	vals []T
	big  map[*Expr]T
}

const memoList = 40

// reset forgets everything and keeps the room.
func (m *memo[T]) reset() { m.keys, m.vals, m.big = m.keys[:0], m.vals[:0], nil }

func (m *memo[T]) get(e *Expr) (v T, ok bool) {
	if m.big != nil {
		v, ok = m.big[e]
		return v, ok
	}
	for i, k := range m.keys {
		if k == e {
			return m.vals[i], true
		}
	}
	return v, false
}

func (m *memo[T]) put(e *Expr, v T) {
	if m.big != nil {
		m.big[e] = v
		return
	}
	m.keys, m.vals = append(m.keys, e), append(m.vals, v)
	if len(m.keys) > memoList {
		m.big = make(map[*Expr]T, 2*memoList)
		for i, k := range m.keys {
			m.big[k] = m.vals[i]
		}
	}
}

// String writes the expression for debugging, in prefix form; long ones are
// cut off.
func (e *Expr) String() string {
	var b strings.Builder
	e.write(&b)
	return b.String()
}

func (e *Expr) write(b *strings.Builder) {
	switch {
	case b.Len() > 400:
		b.WriteString("…")
	case e.op == opConst, e.op == opSwitch:
		fmt.Fprintf(b, "%g", e.c)
	case e.op == opVar:
		fmt.Fprintf(b, "v%d", e.v)
	default:
		fmt.Fprintf(b, "(%s ", opNames[e.op])
		e.a.write(b)
		if e.b != nil {
			b.WriteByte(' ')
			e.b.write(b)
		}
		if e.op == opPow {
			fmt.Fprintf(b, " %g", e.c)
		}
		b.WriteByte(')')
	}
}
