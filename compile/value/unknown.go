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
		return Unknown{solve.Tied(n.X, ties(n.U)), n.Dim}, true
	}
	return Unknown{}, false
}

// ties hands the contributions of a number to the solver, one unit of a source
// being its standard uncertainty.
func ties(u []Contribution) []solve.Tie {
	out := make([]solve.Tie, len(u))
	for i, c := range u {
		out[i] = solve.Tie{Source: c.Source, Slope: c.C}
	}
	return out
}

// Tied returns x base units of dimension d with the contributions that a
// solution hands back.
func Tied(x float64, d unit.Dim, t []solve.Tie) Number {
	n := Of(x, d)
	for _, c := range t {
		if c.Slope != 0 {
			n.U = append(n.U, Contribution{c.Source, c.Slope})
		}
	}
	return n
}
