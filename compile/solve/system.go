package solve

import (
	"context"
	"math"
	"slices"

	"perch/compile/disjoint"
)

// run is one solution of a system.
type run struct {
	ctx context.Context
	sys *System
	eqs []runEquation

	laid    taper
	ties    []tie // by equation, where isTie
	isTie   []bool
	merging *merging
	full    []float64 // room for the values of all variables
}

type runEquation struct {
	tape   *tape
	scale  float64
	origin int
}

// Accuracies in mm.
const stepGoal = 1e-11 // iteration ends when the last step is shorter

// solve solves every independent part.
func (u *run) solve() (*Result, error) {
	s := u.sys
	r := &Result{Solved: true, Values: slices.Clone(s.starts)}
	u.prepare()
	for _, p := range u.parts() {
		if err := u.ctx.Err(); err != nil {
			return nil, err
		}
		p.solve(r)
	}
	slices.SortFunc(r.Redundant, func(a, b Dependency) int { return a.Origin - b.Origin })
	return r, u.ctx.Err()
}

// part is an independent part of a system: variables tied by equations.
type part struct {
	run  *run
	vars []int32
	eqs  []int
	x0   []float64 // start, by column
	size float64   // extent of the start values, mm
	at   []int32   // column by variable of the system

	// Where variables are merged: each is by·column + base, by variable of
	// the system. Else columns are the variables, as they stand in vars.
	by, base []float64

	refutations map[string]bool   // what refuted has found, by the equations
	cores       map[string]coreOf // what lean has found, likewise
	worked      int               // see leanWork
}

// prepare finds the equations that only tie or fix variables and lays out the
// tapes of the others.
func (u *run) prepare() {
	n := len(u.sys.eqs)
	u.eqs = make([]runEquation, n)
	u.ties, u.isTie = make([]tie, n), make([]bool, n)
	u.laid.room = min(4096, 16*n)
	u.merging = newMerging(len(u.sys.starts))
	u.full = slices.Clone(u.sys.starts)
	for i := range u.eqs {
		u.eqs[i].origin = u.sys.eqs[i].origin
		if u.ties[i], u.isTie[i] = tieOf(u.sys.eqs[i].residual); !u.isTie[i] {
			u.eq(i)
		}
	}
}

// eq returns an equation; the tapes of ties are seldom needed.
func (u *run) eq(i int) *runEquation {
	q := &u.eqs[i]
	if q.tape != nil {
		return q
	}
	e := &u.sys.eqs[i]
	*q = runEquation{u.laid.tape(e.residual), 1, e.origin}
	if e.scaled {
		g := make([]float64, len(q.tape.vars))
		q.tape.gradient(u.sys.starts, g)
		if n := norm(g); n > 1e-12 && finite(n) {
			q.scale = 1 / n
		}
	}
	return q
}

// tiedBy returns the variables of an equation.
func (u *run) tiedBy(i int) []int32 {
	if u.eqs[i].tape == nil {
		return u.ties[i].vars()
	}
	return u.eqs[i].tape.vars
}

// parts divides the system, in the order of the first variable of each part.
func (u *run) parts() []*part {
	starts := u.sys.starts
	tied := disjoint.New(len(starts))
	for i := range u.eqs {
		vars := u.tiedBy(i)
		for _, v := range vars[min(1, len(vars)):] {
			tied.Unite(vars[0], v)
		}
	}
	of := make([]*part, len(starts))
	var parts []*part
	at := make([]int32, len(starts))
	for v := range starts {
		r := tied.Of(int32(v))
		if of[r] == nil {
			of[r] = &part{run: u, at: at}
			parts = append(parts, of[r])
		}
		p := of[r]
		at[v] = int32(len(p.vars))
		p.vars = append(p.vars, int32(v))
		p.x0 = append(p.x0, starts[v])
	}
	constant := &part{run: u} // equations without variables
	for i := range u.eqs {
		p := constant
		if vars := u.tiedBy(i); len(vars) > 0 {
			p = of[tied.Of(vars[0])]
		}
		p.eqs = append(p.eqs, i)
	}
	if len(constant.eqs) > 0 {
		parts = append(parts, constant)
	}
	for _, p := range parts {
		p.size = extent(p.x0)
	}
	return parts
}

// extent returns the span of start values, at least 1 mm.
func extent(x []float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range x {
		lo, hi = min(lo, v), max(hi, v)
	}
	return max(1, hi-lo)
}

// solve solves one part and adds what it finds to r.
func (p *part) solve(r *Result) {
	ctx := p.run.ctx
	if len(p.vars) == 0 {
		for _, e := range p.eqs {
			q := p.run.eq(e)
			if f := q.tape.value(nil) * q.scale; !(math.Abs(f) <= Accepted) {
				r.Solved = false
				r.Conflicts = append(r.Conflicts, Conflict{Origins: []int{q.origin}, Latest: q.origin, Miss: math.Abs(f), Undefined: math.IsNaN(f)})
			}
		}
		return
	}
	d := p.merge()
	found, ok := d.settle(ctx, r)
	if ok && !d.spare {
		p.enter(ctx, r, found)
		return
	}
	m := newModel(p, p.eqs)
	x := p.x0
	if ok {
		x, ok = p.joined(m, found)
	}
	var plain *clash
	if !ok {
		x, ok = m.descend(ctx, p.x0)
		if !ok {
			plain = p.plainClash(ctx, m, x)
		}
		if !ok && plain == nil {
			x, ok = m.find(ctx, p.x0)
		}
		r.Iterations += m.iterations
	}
	if !ok {
		r.Solved = false
		r.Conflicts = append(r.Conflicts, p.conflicts(ctx, m, x, plain)...)
		p.keep(r, x)
		return
	}
	p.judge(ctx, r, m, x)
}

// joined returns the solution of all sub-parts, and whether all equations of
// m hold there.
func (p *part) joined(m *model, found []pinned) ([]float64, bool) {
	for i := range found {
		found[i].model.set(found[i].x)
	}
	x := make([]float64, len(p.vars))
	for i, v := range p.vars {
		x[i] = p.run.full[v]
	}
	return x, maxAbs(m.misses(x)) <= Accepted
}

// enter adds the solution of sub-parts without an equation too many.
func (p *part) enter(ctx context.Context, r *Result, found []pinned) {
	dof := 0
	var motions [][]float64
	for i := range found {
		s := &found[i]
		s.nearest(ctx)
		s.model.set(s.x)
		dof += s.rank.dof
		for _, z := range s.rank.motions {
			if len(motions) < MaxFreedoms {
				motions = append(motions, s.expanded(p, z))
			}
		}
	}
	x := make([]float64, len(p.vars))
	for i, v := range p.vars {
		x[i] = p.run.full[v]
	}
	p.keep(r, x)
	r.DOF += dof
	if dof == 0 {
		for i := range found {
			r.weigh(found[i].model.weakest(found[i].x))
		}
	}
	for _, z := range echelon(motions) {
		r.Freedoms = append(r.Freedoms, p.motion(z))
	}
}

// weigh keeps the least singular value.
func (r *Result) weigh(w float64) {
	if r.Weakest == 0 || w < r.Weakest {
		r.Weakest = w
	}
}

// judge adds the solution x of all equations, some of which may add nothing.
func (p *part) judge(ctx context.Context, r *Result, m *model, x []float64) {
	rank := m.analyse(x)
	if rank.dof > 0 {
		x = m.nearest(ctx, x, rank)
		rank = m.analyse(x)
	}
	kept, limits := m.confirm(ctx, x, rank)
	if len(limits) > 0 {
		x = m.sharpen(x, limits[0])
		rank.idle = m.needless(ctx, x, rank.idle, limits)
	}
	p.keep(r, x)
	if rank.dof == 0 && len(limits) == 0 {
		r.weigh(m.weakest(x))
	}
	r.DOF += rank.dof - len(limits)
	for _, z := range echelon(kept) {
		r.Freedoms = append(r.Freedoms, p.motion(z))
	}
	for _, z := range limits {
		r.Limits = append(r.Limits, p.motion(z))
	}
	r.Redundant = append(r.Redundant, m.redundant(ctx, rank)...)
}

// weakest returns the least singular value of J at x, where the search came to
// rest. The last factors of the search tell it well enough as long as it is
// not small.
func (m *model) weakest(x []float64) float64 {
	const plain, damping = 1e-4, 1e-15
	if m.placed {
		return m.blocks.weakest()
	}
	if m.factor().mu <= refineDamping {
		if w := m.factor().weakest(); w > plain {
			return w
		}
	}
	m.eval(x)
	m.factor().load(m.rows)
	m.factor().decompose(damping)
	return m.factor().weakest()
}

// weakest returns the root of the least eigenvalue of the matrix that was
// decomposed.
func (f *factor) weakest() float64 { return leastRoot(f.n, f.solve) }

// leastRoot returns the root of the least eigenvalue of a symmetric matrix of
// n rows, by inverse iteration; solve puts the solution in the place of the
// right side.
func leastRoot(n int, solve func(z []float64)) float64 {
	z := make([]float64, n)
	for i := range z {
		z[i] = hashed(7, i)
	}
	grown := 0.0
	for range 4 {
		l := norm(z)
		for i := range z {
			z[i] /= l
		}
		solve(z)
		grown = norm(z)
	}
	if !finite(grown) || grown == 0 {
		return 0
	}
	return 1 / math.Sqrt(grown)
}

// keep enters the values of the part in r.
func (p *part) keep(r *Result, x []float64) {
	for i, v := range p.vars {
		if r.Values[v] = x[i]; math.Abs(x[i]) < 1e-14*p.size {
			r.Values[v] = 0 // what rounding leaves of nothing
		}
	}
}

// motion lists what moves in a direction over the variables of the part.
func (p *part) motion(z []float64) Motion {
	var m Motion
	top := maxAbs(z)
	for i, x := range z {
		if math.Abs(x) <= 1e-6*top {
			continue
		}
		if m.Vars == nil || math.Abs(x) > math.Abs(m.Moves[m.Lead])*(1+1e-6) {
			m.Lead = len(m.Vars)
		}
		m.Vars = append(m.Vars, int(p.vars[i]))
		m.Moves = append(m.Moves, x)
	}
	if len(m.Moves) > 0 {
		k := math.Abs(m.Moves[m.Lead])
		for i := range m.Moves {
			m.Moves[i] /= k
		}
	}
	return m
}

// echelon returns a basis of the same span in which each motion has a
// variable of its own, the first that will do. So motions come out one by
// one, and what is drawn first leads what follows it.
func echelon(basis [][]float64) [][]float64 {
	m := make([][]float64, len(basis))
	for i, b := range basis {
		m[i] = slices.Clone(b)
	}
	r := 0
	// A pivot that is small beside its row would spoil the others; what is
	// passed over at first may be needed in the end.
	for _, least := range []float64{1e-2, 1e-6} {
		for c := 0; r < len(m) && c < len(m[0]); c++ {
			best := r
			for i := r; i < len(m); i++ {
				if math.Abs(m[i][c]) > math.Abs(m[best][c]) {
					best = i
				}
			}
			if math.Abs(m[best][c]) <= least*maxAbs(m[best]) {
				continue
			}
			m[r], m[best] = m[best], m[r]
			eliminate(m, r, c)
			r++
		}
	}
	return m[:r]
}

// eliminate makes row r one in column c and all other rows zero there.
func eliminate(m [][]float64, r, c int) {
	k := m[r][c]
	for j := range m[r] {
		m[r][j] /= k
	}
	for i := range m {
		if f := m[i][c]; i != r && f != 0 {
			for j := range m[i] {
				m[i][j] -= float64(f * m[r][j])
			}
		}
	}
}

// only returns the part without the variables that eqs do not use.
func (p *part) only(eqs []int) *part {
	used := map[int32]bool{}
	for _, e := range eqs {
		for _, v := range p.run.eq(e).tape.vars {
			used[v] = true
		}
	}
	q := &part{run: p.run, eqs: eqs, size: p.size, at: make([]int32, len(p.at))}
	for i, v := range p.vars {
		if used[v] {
			q.at[v] = int32(len(q.vars))
			q.vars, q.x0 = append(q.vars, v), append(q.x0, p.x0[i])
		}
	}
	return q
}

// origins returns the distinct origins of equations, ascending.
func (p *part) origins(eqs []int) []int {
	var out []int
	for _, e := range eqs {
		out = append(out, p.run.eqs[e].origin)
	}
	slices.Sort(out)
	return slices.Compact(out)
}
