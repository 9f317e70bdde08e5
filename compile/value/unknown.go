package value

import (
	"perch/compile/solve"
	"perch/lang/unit"
)

// Unknown is a quantity of a sketch that is still being solved: an expression
// in its variables, in base units.
type Unknown struct {
	E   *solve.Expr
	Dim unit.Dim
}

// Kind implements Value.
func (Unknown) Kind() Kind { return UnknownKind }

// StandIn returns a number of the same dimension, to find out what the
// dimension of a formula is. Any value will do that all functions take.
func (u Unknown) StandIn() Number { return Number{X: 0.5, Dim: u.Dim} }

// Lift returns a number or an unknown as an expression with its dimension; a
// bare 0 takes the dimension d.
func Lift(v Value, d unit.Dim) (Unknown, bool) {
	switch v := v.(type) {
	case Unknown:
		return v, true
	case Number:
		n := v.As(d)
		return Unknown{solve.Const(n.X), n.Dim}, true
	}
	return Unknown{}, false
}
