package solve

import (
	"context"
	"math"
	"slices"
)

// Tie says how far a value follows a source from outside, such as a
// measurement: by Slope for one unit of the source.
type Tie struct {
	Source int
	Slope  float64
}

// Tied returns a constant that depends on sources, listed ascending. As far as
// solving goes it is a constant; Ties tells how a solution follows it.
func Tied(c float64, ties []Tie) *Expr {
	if len(ties) == 0 {
		return Const(c)
	}
	return &Expr{op: opConst, c: c, tied: ties}
}

// Ties returns what the value of a constant depends on.
func (e *Expr) Ties() []Tie { return e.tied }

func tieUnary(r *Expr, o op, a *Expr, v, c float64) *Expr {
	if len(a.tied) == 0 {
		return r
	}
	da, _ := slopes(o, a.c, 0, v, c)
	return Tied(r.c, sumTies(da, a.tied, 0, nil))
}

func tieBinary(r *Expr, o op, a, b *Expr, v float64) *Expr {
	if len(a.tied) == 0 && len(b.tied) == 0 {
		return r
	}
	da, db := slopes(o, a.c, b.c, v, 0)
	return Tied(r.c, sumTies(da, a.tied, db, b.tied))
}

// sumTies returns p·a + q·b.
func sumTies(p float64, a []Tie, q float64, b []Tie) []Tie {
	var out []Tie
	add := func(t Tie, k float64) {
		if x := float64(k * t.Slope); finite(x) {
			out = append(out, Tie{t.Source, x})
		}
	}
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].Source < b[0].Source:
			add(a[0], p)
			a = a[1:]
		case len(a) == 0 || b[0].Source < a[0].Source:
			add(b[0], q)
			b = b[1:]
		default:
			add(Tie{a[0].Source, float64(p*a[0].Slope) + float64(q*b[0].Slope)}, 1)
			a, b = a[1:], b[1:]
		}
	}
	return out
}

// Following tells how a solution follows the sources of its constants, to
// first order.
type Following struct {
	result  *Result
	sources []int       // ascending
	moves   [][]float64 // of every variable, by source
}

// Follow differentiates a solution of s. Where F(x, p) = 0 are the equations,
// the implicit function theorem gives dx/dp = -J⁻¹ ∂F/∂p. Where freedom is
// left, the shortest such motion is taken; equations that depend on each other
// count by least squares. It returns nil when no equation has a tied constant.
func (s *System) Follow(ctx context.Context, r *Result) *Following {
	f := &Following{result: r}
	u := &run{ctx: ctx, sys: s}
	pushes := make([][]Tie, len(s.eqs)) // ∂F/∂p of every equation
	for i, e := range s.eqs {
		u.eqs = append(u.eqs, runEquation{newTape(e.residual), 1, e.origin})
		pushes[i] = u.eqs[i].tape.ties(r.Values)
		for _, t := range pushes[i] {
			f.sources = append(f.sources, t.Source)
		}
	}
	slices.Sort(f.sources)
	f.sources = slices.Compact(f.sources)
	if len(f.sources) == 0 {
		return nil
	}
	f.moves = make([][]float64, len(f.sources))
	for i := range f.moves {
		f.moves[i] = make([]float64, len(s.starts))
	}
	for _, p := range u.parts() {
		if len(p.vars) > 0 && ctx.Err() == nil {
			p.follow(f, pushes)
		}
	}
	return f
}

// follow solves J·m = -∂F/∂p for the variables of one part.
func (p *part) follow(f *Following, pushes [][]Tie) {
	n := len(p.vars)
	rows := make([][]int32, len(p.eqs))
	vals := make([][]float64, len(p.eqs))
	x := f.result.Values
	top := 0.0
	for i, e := range p.eqs {
		t := p.run.eqs[e].tape
		g := make([]float64, len(t.vars))
		t.gradient(x, g)
		for j, v := range t.vars {
			rows[i] = append(rows[i], p.at[v])
			if !finite(g[j]) {
				g[j] = 0
			}
		}
		vals[i] = g
		top = max(top, maxAbs(g))
	}
	var fac *factor
	for k, source := range f.sources {
		b := make([]float64, len(p.eqs))
		pushed := false
		for i, e := range p.eqs {
			for _, t := range pushes[e] {
				if t.Source == source {
					b[i], pushed = -t.Slope, true
				}
			}
		}
		if !pushed {
			continue
		}
		if fac == nil {
			fac = newFactor(n, rows)
			fac.load(vals)
			fac.decompose(float64(followDamping * top * top))
		}
		m := refined(fac, n, rows, vals, b)
		for i, v := range p.vars {
			f.moves[k][v] = m[i]
		}
	}
}

const (
	// followDamping keeps the normal matrix of a drawing with freedoms
	// regular; what it takes away comes back by repeated correction.
	followDamping = 1e-9
	followRounds  = 12
)

// refined solves J·m = b by least squares, shortest m first: each round
// corrects m by (JᵀJ + μI)⁻¹ Jᵀ(b - J·m).
func refined(fac *factor, n int, rows [][]int32, vals [][]float64, b []float64) []float64 {
	m := make([]float64, n)
	g := make([]float64, n)
	for range followRounds {
		clear(g)
		for i, row := range rows {
			miss := b[i]
			for j, v := range row {
				miss -= float64(vals[i][j] * m[v])
			}
			for j, v := range row {
				g[v] += float64(vals[i][j] * miss)
			}
		}
		fac.solve(g)
		for i := range m {
			m[i] += g[i]
		}
		if maxAbs(g) <= 1e-13*maxAbs(m) {
			break
		}
	}
	return m
}

// Ties returns how the value of e at the solution follows the sources: through
// the variables and through its own constants. A nil Following has no
// variables that move.
func (f *Following) Ties(r *Result, e *Expr) []Tie {
	if e.op == opConst {
		return e.tied
	}
	t := newTape(e)
	own := t.ties(r.Values)
	if f == nil {
		return own
	}
	g := make([]float64, len(t.vars))
	t.gradient(r.Values, g)
	var moved []Tie
	for k, source := range f.sources {
		x := 0.0
		for i, v := range t.vars {
			x += float64(g[i] * f.moves[k][v])
		}
		if x != 0 {
			moved = append(moved, Tie{source, x})
		}
	}
	return sumTies(1, own, 1, moved)
}

// ties returns the derivatives of a tape by the sources of its constants.
func (t *tape) ties(x []float64) []Tie {
	if len(t.tied) == 0 {
		return nil
	}
	g := make([]float64, len(t.vars))
	t.gradient(x, g)
	var out []Tie
	for _, k := range t.tied {
		if w := t.adj[k.step]; w != 0 && !math.IsInf(w, 0) {
			out = sumTies(1, out, w, k.ties)
		}
	}
	return out
}
