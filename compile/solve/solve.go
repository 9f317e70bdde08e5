// Package solve finds numbers that satisfy equations, near given starts. It
// knows variables, expressions and residuals, and nothing of geometry.
//
// A System is filled with variables and equations and solved once. Variables
// that equations only tie or fix are merged first; the rest splits into
// connected components. One in which equations place unknowns group by group
// is solved through its block triangular form, every other by damped least
// squares on a sparse normal matrix, whose pattern then serves to tell what is
// still free, which equations add nothing, and where freedom is left, the
// solution nearest to the start.
//
// Everything is deterministic: the same system gives the same bits.
package solve

import "context"

// System is a set of variables and equations. It is not safe for concurrent
// use. The zero System is empty and ready.
type System struct {
	starts []float64
	eqs    []equation
}

// equation says that residual is zero.
type equation struct {
	residual *Expr
	origin   int
	scaled   bool // to be brought to mm by its gradient at the start
}

// Var adds a variable, in mm, that starts at start.
func (s *System) Var(start float64) *Expr {
	e := &Expr{op: opVar, v: int32(len(s.starts))}
	s.starts = append(s.starts, start)
	return e
}

// Vars returns the number of variables.
func (s *System) Vars() int { return len(s.starts) }

// SetStart changes where a variable starts.
func (s *System) SetStart(v *Expr, x float64) { s.starts[v.v] = x }

// Start returns the value of e when every variable stands at its start.
func (s *System) Start(e *Expr) float64 { return e.Eval(s.starts) }

// Require adds the equation residual = 0. The residual is in mm. Equations of
// one origin (any number that the caller chooses) are taken as one statement
// when conflicts and redundancy are explained; later origins are blamed first.
func (s *System) Require(residual *Expr, origin int) {
	s.eqs = append(s.eqs, equation{residual: residual, origin: origin})
}

// RequireScaled adds the equation residual = 0 for a residual of any
// dimension: it is divided by the length of its gradient at the start, which
// makes it the distance in mm to the nearest solution, to first order.
func (s *System) RequireScaled(residual *Expr, origin int) {
	s.eqs = append(s.eqs, equation{residual: residual, origin: origin, scaled: true})
}

// Residuals returns the residuals at the given values of the variables, as
// Require was given them.
func (s *System) Residuals(values []float64) []float64 {
	f := make([]float64, len(s.eqs))
	for i, e := range s.eqs {
		f[i] = e.residual.Eval(values)
	}
	return f
}

// Origins returns the origin of each equation.
func (s *System) Origins() []int {
	o := make([]int, len(s.eqs))
	for i, e := range s.eqs {
		o[i] = e.origin
	}
	return o
}

// Gradient returns the derivatives of residual i by all variables.
func (s *System) Gradient(i int, values []float64) []float64 {
	t := newTape(s.eqs[i].residual)
	g := make([]float64, len(t.vars))
	t.gradient(values, g)
	all := make([]float64, len(s.starts))
	for k, v := range t.vars {
		all[v] = g[k]
	}
	return all
}

// Accepted is the largest residual, in mm, of an equation that counts as
// satisfied, in drawings of up to 100 mm; it grows with larger ones.
const Accepted = 1e-9

// Result is what Solve found.
type Result struct {
	// Solved says that every equation holds.
	Solved bool
	// Values holds the value of each variable, solved or not.
	Values []float64
	// Freedoms are independent small motions that keep all equations. They
	// are as local as can be: each moves few variables. At most MaxFreedoms
	// are listed for one component.
	Freedoms []Motion
	// DOF counts the degrees of freedom; it is at least len(Freedoms).
	DOF int
	// Limits are motions that exist to first order only: the shape stands at
	// the limit of what is possible, such as a triangle lying flat.
	Limits []Motion
	// Weakest is about how little the equations resist the motion that they
	// resist least, in mm of miss for 1 mm: the least singular value of the
	// Jacobian, over the parts without freedom. 0 where there are none.
	Weakest float64
	// Redundant lists the origins that add nothing.
	Redundant []Dependency
	// Conflicts lists the smallest sets of origins that cannot hold together.
	Conflicts []Conflict
	// Iterations counts the steps taken.
	Iterations int
}

// Value returns the value of an expression at the result.
func (r *Result) Value(e *Expr) float64 { return e.Eval(r.Values) }

// Rate returns by how much an expression changes, to first order, when every
// variable changes by what moves lists.
func (r *Result) Rate(e *Expr, moves []float64) float64 {
	t := newTape(e)
	g := make([]float64, len(t.vars))
	t.gradient(r.Values, g)
	sum := 0.0
	for i, v := range t.vars {
		sum += float64(g[i] * moves[v])
	}
	return sum
}

// Motion is a direction in the space of the variables.
type Motion struct {
	Vars  []int     // ascending
	Moves []float64 // by how much each moves; the largest is 1 or -1
	Lead  int       // index into Vars of the variable that leads the motion
}

// Dependency is an origin that follows from others.
type Dependency struct {
	Origin int
	From   []int // ascending
}

// Conflict is a set of origins that cannot hold together while each smaller
// set can.
type Conflict struct {
	Origins []int // ascending
	// Latest is the member that is let go first, and Miss by how much its
	// equations are missed, in mm, when the others hold.
	Latest int
	Miss   float64
	// Undefined: an equation of Latest has no value, such as the root of a
	// negative number.
	Undefined bool
	// Unsure: the search ended at its limit; the set may be larger than
	// needed, or a solution may exist that was not found.
	Unsure bool
}

// MaxFreedoms bounds the motions listed for one component.
const MaxFreedoms = 24

// Solve solves the system. The error is that of ctx; everything about the
// equations is in the result.
func (s *System) Solve(ctx context.Context) (*Result, error) {
	r := &run{ctx: ctx, sys: s}
	return r.solve()
}

// Holds reports whether a short search finds a solution. Nothing is explained.
func (s *System) Holds(ctx context.Context) (bool, error) {
	u := &run{ctx: ctx, sys: s}
	u.prepare()
	for _, p := range u.parts() {
		m := newModel(p, p.eqs)
		ok := maxAbs(m.misses(p.x0)) <= Accepted
		if !ok && len(p.vars) > 0 {
			if _, ok = m.descend(ctx, p.x0); !ok {
				_, ok = m.grow(ctx, p.x0, fewThrows)
			}
		}
		if !ok || ctx.Err() != nil {
			return false, ctx.Err()
		}
	}
	return true, nil
}
