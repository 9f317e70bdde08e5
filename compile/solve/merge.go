package solve

import (
	"context"
	"math"

	"perch/compile/disjoint"
)

// This file merges variables that equations tie to each other before anything
// is solved: x = y, x = y + 3, x = -y and x = 3, which is what horizontal,
// vertical and coincident, equal radii and fixed places come to. Of each class
// one number is left, scaled so that lengths in the space of these numbers are
// lengths in that of the variables; so least steps, nearest solutions and
// singular values stay what they are. Only what has no equation too many is
// settled so. Everything else is judged with all equations as they are
// written, from the solution that was found.

// affine is an expression k₀·v₀ + k₁·v₁ + c.
type affine struct {
	vars [2]int32
	by   [2]float64
	n    int
	c    float64
	left int // parts of the expression that may still be looked at
}

// add adds k·e and reports whether the sum is still of that form.
func (a *affine) add(e *Expr, k float64) bool {
	if a.left--; a.left < 0 {
		return false
	}
	switch e.op {
	case opConst:
		a.c += float64(k * e.c)
		return finite(a.c)
	case opVar:
		return a.addVar(e.v, k)
	case opAdd:
		return a.add(e.a, k) && a.add(e.b, k)
	case opSub:
		return a.add(e.a, k) && a.add(e.b, -k)
	case opNeg:
		return a.add(e.a, -k)
	case opMul:
		if e.a.op == opConst {
			return a.add(e.b, float64(k*e.a.c))
		}
		return e.b.op == opConst && a.add(e.a, float64(k*e.b.c))
	}
	return false
}

func (a *affine) addVar(v int32, k float64) bool {
	for i := range a.n {
		if a.vars[i] == v {
			a.by[i] += k
			return true
		}
	}
	if a.n == len(a.vars) {
		return false
	}
	a.vars[a.n], a.by[a.n] = v, k
	a.n++
	return true
}

// tie says that variable v[0] is sign·v[1] + off, or off where sign is 0.
type tie struct {
	v         [2]int32
	sign, off float64
}

// vars returns the variables of a tie, the second only where there are two.
func (t *tie) vars() []int32 {
	if t.sign == 0 {
		return t.v[:1]
	}
	return t.v[:]
}

// tieOf returns the tie that an expression makes when it is to be zero. Terms
// that nearly cancel are none.
func tieOf(e *Expr) (tie, bool) {
	if e.op != opSub && e.op != opAdd && e.op != opVar && e.op != opNeg && e.op != opMul {
		return tie{}, false
	}
	const least = 1e-6
	a := affine{left: 16}
	if !a.add(e, 1) || a.n == 0 || !(math.Abs(a.by[0]) > least) {
		return tie{}, false
	}
	t := tie{v: a.vars, off: 0 - a.c/a.by[0]}
	if a.n == 2 {
		switch a.by[1] {
		case a.by[0]:
			t.sign = -1
		case -a.by[0]:
			t.sign = 1
		default:
			return tie{}, false
		}
	}
	return t, finite(t.off)
}

// classes are variables merged by ties: variable v is sign[v]·root[v] + off[v],
// and a root that is fixed has the value at[root].
type classes struct {
	root      []int32
	sign, off []float64
	fixed     []bool
	at        []float64
}

func newClasses(n int) *classes {
	room := make([]float64, 3*n)
	c := &classes{root: make([]int32, n), sign: room[:n], off: room[n : 2*n], at: room[2*n:], fixed: make([]bool, n)}
	for i := range n {
		c.root[i], c.sign[i] = int32(i), 1
	}
	return c
}

// find returns the root of v, which v afterwards refers to at once.
func (c *classes) find(v int32) int32 {
	p := c.root[v]
	if c.root[p] == p {
		return p
	}
	r := c.find(p)
	c.off[v] += float64(c.sign[v] * c.off[p])
	c.sign[v] *= c.sign[p]
	c.root[v] = r
	return r
}

// merge enters a tie. New: it said something. Otherwise holds tells whether it
// follows from those before, or cannot hold with them.
func (c *classes) merge(t tie) (fresh, holds bool) {
	v, w := t.v[0], t.v[1]
	a := c.find(v)
	if t.sign == 0 {
		return c.fix(a, float64(c.sign[v]*(t.off-c.off[v])))
	}
	b := c.find(w)
	// sign[v]·a + off[v] = t.sign·(sign[w]·b + off[w]) + t.off
	sign := c.sign[v] * t.sign * c.sign[w]
	off := float64(c.sign[v] * (float64(t.sign*c.off[w]) + t.off - c.off[v])) // a = sign·b + off
	switch {
	case a == b && sign > 0:
		return false, math.Abs(off) <= Accepted
	case a == b:
		return c.fix(a, float64(off/2))
	case c.fixed[a] && c.fixed[b]:
		return false, math.Abs(c.at[a]-float64(sign*c.at[b])-off) <= Accepted
	case a < b: // b = sign·(a - off)
		a, b, off = b, a, 0-float64(sign*off)
	}
	c.root[a], c.sign[a], c.off[a] = b, sign, off
	if c.fixed[a] {
		return c.fix(b, float64(sign*(c.at[a]-off)))
	}
	return true, true
}

// fix gives a root its value.
func (c *classes) fix(root int32, at float64) (fresh, holds bool) {
	if c.fixed[root] {
		return false, math.Abs(c.at[root]-at) <= Accepted
	}
	c.fixed[root], c.at[root] = true, at
	return true, true
}

// merging is what the parts of a run share while they are merged, by variable.
type merging struct {
	*classes
	col      []int32 // column of the variable in its sub-part, -1 for a fixed one
	by, base []float64
	sub      disjoint.Sets // of roots: union of those that equations tie
	of       []*part
}

func newMerging(n int) *merging {
	room := make([]float64, 2*n)
	m := &merging{classes: newClasses(n), by: room[:n], base: room[n:], of: make([]*part, n)}
	m.col, m.sub = make([]int32, n), disjoint.New(n)
	return m
}

// merged is the state of a part whose tied variables are merged.
type merged struct {
	part *part
	subs []*part
	// spare: some equation adds nothing or cannot hold; clash: two ties cannot.
	spare, clash bool
	eqs          []int // the equations that are no ties
}

// merge divides the part by what is left of its equations without the ties.
func (p *part) merge() *merged {
	u := p.run
	g := u.merging
	d := &merged{part: p}
	for _, e := range p.eqs {
		if !u.isTie[e] {
			d.eqs = append(d.eqs, e)
			continue
		}
		if fresh, holds := g.classes.merge(u.ties[e]); !fresh {
			d.spare, d.clash = true, d.clash || !holds
		}
	}
	if d.clash {
		return d
	}
	for _, e := range d.eqs {
		first := int32(-1)
		for _, v := range u.eqs[e].tape.vars {
			r := g.find(v)
			if g.fixed[r] {
				continue
			}
			r = g.sub.Of(r)
			if first >= 0 {
				r, _ = g.sub.Unite(first, r)
			}
			first = r
		}
	}
	d.divide()
	return d
}

// divide lists the sub-parts with their columns and equations, and puts every
// variable that is fixed in its place.
func (d *merged) divide() {
	p := d.part
	u, g := p.run, p.run.merging
	for _, v := range p.vars {
		r := g.find(v)
		if g.fixed[r] {
			g.col[v] = -1
			u.full[v] = float64(g.sign[v]*g.at[r]) + g.off[v]
			continue
		}
		s := g.sub.Of(r)
		q := g.of[s]
		if q == nil {
			q = &part{run: u, size: p.size, at: g.col, by: g.by, base: g.base}
			g.of[s] = q
			d.subs = append(d.subs, q)
		}
		if v == r { // roots come first
			g.col[r] = int32(len(q.x0))
			q.x0 = append(q.x0, 0)
		}
		g.col[v] = g.col[r]
		q.vars = append(q.vars, v)
	}
	for _, q := range d.subs {
		q.scale()
	}
	for _, e := range d.eqs {
		q := (*part)(nil)
		for _, v := range u.eqs[e].tape.vars {
			if g.col[v] >= 0 {
				q = g.of[g.sub.Of(g.find(v))]
				break
			}
		}
		if q == nil { // between fixed variables: it adds nothing, or clashes
			d.spare = true
			continue
		}
		q.eqs = append(q.eqs, e)
	}
}

// scale sets what turns columns into variables: a column is 0 where the
// members of its class start in the mean, and grows as the length of their
// move.
func (p *part) scale() {
	g := p.run.merging
	n := make([]float64, len(p.x0))
	mean := make([]float64, len(p.x0))
	for _, v := range p.vars {
		c := p.at[v]
		n[c]++
		mean[c] += float64(g.sign[v] * (p.run.sys.starts[v] - g.off[v]))
	}
	for i := range mean {
		mean[i] /= n[i]
	}
	for _, v := range p.vars {
		c := p.at[v]
		p.by[v] = g.sign[v] / math.Sqrt(n[c])
		p.base[v] = float64(g.sign[v]*mean[c]) + g.off[v]
	}
}

// settle solves the sub-parts from the start. It reports whether they all hold
// and leaves the values in run.full, with the models and rankings.
func (d *merged) settle(ctx context.Context, r *Result) (found []pinned, ok bool) {
	if d.clash {
		return nil, false
	}
	for _, q := range d.subs {
		s := pinned{model: newModel(q, q.eqs), x: q.x0}
		if len(q.eqs) > 0 {
			if s.x, ok = s.model.construct(ctx, q.x0); !ok {
				s.x, ok = s.model.descend(ctx, q.x0)
			}
			r.Iterations += s.model.iterations
			if !ok {
				return nil, false
			}
		}
		if s.rank = new(ranking); !s.model.placed {
			s.rank = s.model.analyse(s.x)
		}
		d.spare = d.spare || len(s.rank.idle) > 0
		found = append(found, s)
	}
	return found, true
}

// pinned is a sub-part with its solution.
type pinned struct {
	model *model
	x     []float64
	rank  *ranking
}

// nearest moves what is free in each sub-part nearest to the start.
func (s *pinned) nearest(ctx context.Context) {
	if s.rank.dof > 0 && len(s.model.eqs) > 0 {
		s.x = s.model.nearest(ctx, s.x, s.rank)
		s.rank = s.model.analyse(s.x)
	}
}

// expanded returns a motion of the columns as one of the variables of p, which
// are looked up by their places there.
func (s *pinned) expanded(p *part, z []float64) []float64 {
	q := s.model.part
	out := make([]float64, len(p.vars))
	for _, v := range q.vars {
		out[p.at[v]] = float64(q.by[v] * z[q.at[v]])
	}
	return out
}
