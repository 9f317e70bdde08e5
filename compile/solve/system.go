package solve

import (
	"context"
	"math"
	"slices"
	"sort"
)

// System is a set of variables and equations.
type System struct {
	start  []float64
	weight []float64 // how dear a move of the variable is, 1 for a coordinate
	eqs    []equation
}

type equation struct {
	tape  *tape
	scale float64
}

// NewVar adds a variable with its start value.
func (s *System) NewVar(start float64) Var {
	s.start = append(s.start, start)
	s.weight = append(s.weight, 1)
	return Var(len(s.start) - 1)
}

// Vars returns the number of variables.
func (s *System) Vars() int { return len(s.start) }

// Start returns the start values.
func (s *System) Start() []float64 { return s.start }

// SetStart changes the start value of a variable.
func (s *System) SetStart(v Var, x float64) { s.start[v] = x }

// Equate demands that e be zero. scale turns e into a length in mm, so that
// misses can be compared: 1 for lengths, a typical length for angles in
// radians. It returns the number of the equation; numbers follow the order
// of writing, which the diagnosis uses.
func (s *System) Equate(e *Expr, scale float64) int {
	s.eqs = append(s.eqs, equation{newTape(e), scale})
	return len(s.eqs) - 1
}

// Equations returns the number of equations.
func (s *System) Equations() int { return len(s.eqs) }

// Accuracies in mm.
const (
	stepGoal   = 1e-11 // iteration ends when the last step is shorter
	residualOK = 1e-9  // a solution is accepted below this miss
)

// Result tells what Solve found.
type Result struct {
	X         []float64 // solved where Conflicts is empty; else the nearest miss
	Freedoms  []Freedom
	Redundant []Dependency
	Conflicts []Conflict
	// Smallest is the smallest singular value of the scaled equations that is
	// not zero: below about 1e-5 small errors in the dimensions move the
	// result a lot. 0 when it was not worked out.
	Smallest   float64
	Iterations int
}

// Solved reports whether every equation holds.
func (r *Result) Solved() bool { return len(r.Conflicts) == 0 }

// Freedom is one way in which the solution can still move: a direction over
// all variables, of length 1, zero outside one independent part.
type Freedom struct{ Move []float64 }

// Dependency says that equation Equation adds nothing: it follows from On.
type Dependency struct {
	Equation int
	On       []int
}

// Conflict is a set of equations that cannot all hold; no smaller set was
// found. Miss is by how much the last of them fails when the others hold, in
// mm.
type Conflict struct {
	Equations []int
	Miss      float64
}

// Solve finds the solution nearest the start. The error is that of ctx.
func (s *System) Solve(ctx context.Context) (*Result, error) {
	r := &Result{X: slices.Clone(s.start), Smallest: math.Inf(1)}
	for _, c := range s.parts() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c.solve(ctx, r)
	}
	if math.IsInf(r.Smallest, 1) {
		r.Smallest = 0
	}
	sort.Slice(r.Redundant, func(i, j int) bool { return r.Redundant[i].Equation < r.Redundant[j].Equation })
	return r, ctx.Err()
}

// part is an independent part of a system: variables tied by equations.
type part struct {
	sys  *System
	vars []Var
	eqs  []int
	x0   []float64 // start, by place in vars
	size float64   // extent of the start values, mm
	at   map[Var]int32
}

// parts divides the system, in the order of the first variable of each part.
func (s *System) parts() []*part {
	root := make([]int, len(s.start))
	for i := range root {
		root[i] = i
	}
	find := func(x int) int {
		for root[x] != x {
			root[x] = root[root[x]]
			x = root[x]
		}
		return x
	}
	for _, e := range s.eqs {
		for _, v := range e.tape.vars[min(1, len(e.tape.vars)):] {
			a, b := find(int(e.tape.vars[0])), find(int(v))
			root[max(a, b)] = min(a, b)
		}
	}
	by := make([]*part, len(s.start))
	var parts []*part
	for v := range s.start {
		r := find(v)
		if by[r] == nil {
			by[r] = &part{sys: s, at: map[Var]int32{}}
			parts = append(parts, by[r])
		}
		by[r].at[Var(v)] = int32(len(by[r].vars))
		by[r].vars = append(by[r].vars, Var(v))
		by[r].x0 = append(by[r].x0, s.start[v])
	}
	constant := &part{sys: s, at: map[Var]int32{}} // equations without variables
	for i, e := range s.eqs {
		if len(e.tape.vars) == 0 {
			constant.eqs = append(constant.eqs, i)
			continue
		}
		p := by[find(int(e.tape.vars[0]))]
		p.eqs = append(p.eqs, i)
	}
	if len(constant.eqs) > 0 {
		parts = append(parts, constant)
	}
	for _, p := range parts {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, x := range p.x0 {
			lo, hi = min(lo, x), max(hi, x)
		}
		p.size = max(1, hi-lo)
	}
	return parts
}

// solve solves one part and adds what it finds to r.
func (p *part) solve(ctx context.Context, r *Result) {
	if len(p.vars) == 0 {
		for _, e := range p.eqs {
			if f := p.sys.eqs[e].tape.value(nil) * p.sys.eqs[e].scale; !(math.Abs(f) <= residualOK) {
				r.Conflicts = append(r.Conflicts, Conflict{[]int{e}, math.Abs(f)})
			}
		}
		return
	}
	m := newModel(p, p.eqs)
	x, ok := m.find(ctx, p.x0)
	r.Iterations += m.iterations
	if !ok {
		r.Conflicts = append(r.Conflicts, p.conflicts(ctx, x)...)
	}
	rank := m.analyse(x, ok)
	if ok && len(rank.free) > 0 {
		x = m.nearest(ctx, x, rank)
		rank = m.analyse(x, ok)
	}
	for i, v := range p.vars {
		r.X[v] = x[i]
	}
	if !ok {
		return
	}
	if rank.smallest > 0 {
		r.Smallest = min(r.Smallest, rank.smallest)
	}
	for _, z := range m.confirm(ctx, x, rank) {
		f := Freedom{make([]float64, len(p.sys.start))}
		for i, v := range p.vars {
			f.Move[v] = z[i]
		}
		r.Freedoms = append(r.Freedoms, f)
	}
	r.Redundant = append(r.Redundant, m.redundant(x, rank)...)
}

func sortedSet(v []Var) []Var {
	slices.Sort(v)
	return slices.Compact(v)
}

func indexOf(v []Var, x Var) int {
	i, _ := slices.BinarySearch(v, x)
	return i
}
