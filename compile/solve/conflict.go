package solve

import (
	"context"
	"math"
	"slices"
)

// maxConflicts bounds the conflicts that are told of one part.
const maxConflicts = 8

// conflicts names the sets of equations of m that cannot hold together. x is
// a point of least miss: there Jᵀf = 0, so the misses themselves are the
// weights of a dependency among the rows, and the equations that miss hold a
// conflict. One equation of it is let go and the search goes on.
func (p *part) conflicts(ctx context.Context, m *model, x []float64) []Conflict {
	var out []Conflict
	for ok := false; !ok && len(out) < maxConflicts && ctx.Err() == nil; {
		set, rest, y, solved := p.conflict(ctx, m, x)
		if len(set) == 0 {
			break
		}
		out = append(out, p.worded(ctx, set))
		m, x, ok = rest, y, solved
	}
	if len(out) == 0 { // the search itself failed: name what misses most
		f := m.misses(x)
		worst := 0
		for i := range f {
			if !(math.Abs(f[i]) <= math.Abs(f[worst])) {
				worst = i
			}
		}
		o := p.run.eqs[m.eqs[worst]].origin
		out = append(out, Conflict{Origins: []int{o}, Latest: o, Miss: math.Abs(f[worst]), Undefined: !finite(f[worst]), Unsure: true})
	}
	return out
}

// conflict finds one smallest set among the equations of m, stuck at x. It
// returns it with the model of all equations but its latest, and the point
// that solves or nearly solves that.
func (p *part) conflict(ctx context.Context, m *model, x []float64) (set []int, rest *model, y []float64, ok bool) {
	set = m.support(x)
	if len(set) == 0 {
		return nil, nil, nil, false
	}
	latest := set[len(set)-1]
	rest = m.without(latest)
	if y, ok = rest.find(ctx, p.x0); ok {
		if d := m.dependency(y, latest); len(d) > 0 && p.refuted(ctx, d) {
			set = d
		}
	}
	set = p.lean(ctx, set)
	// Let that one go without which the rest holds, the latest such.
	few := min(8, max(1, 2400/len(p.x0))) // large drawings are searched less
	for i := len(set) - 1; i >= max(0, len(set)-few) && !ok; i-- {
		if other := m.without(set[i]); set[i] != latest {
			z, holds := other.find(ctx, p.x0)
			if holds || i == len(set)-1 {
				rest, y, ok = other, z, holds
			}
		}
	}
	return set, rest, y, ok
}

// without returns the model of all equations but e.
func (m *model) without(e int) *model {
	return newModel(m.part, slices.DeleteFunc(slices.Clone(m.eqs), func(f int) bool { return e == f }))
}

// lean drops from a conflict what it does without, latest first.
func (p *part) lean(ctx context.Context, set []int) []int {
	const most = 24 // equations; the search grows with their square
	if len(set) <= most {
		for i := len(set) - 1; i >= 0 && len(set) > 1; i-- {
			less := slices.Delete(slices.Clone(set), i, i+1)
			if p.refuted(ctx, less) {
				set = less
			}
		}
	}
	return set
}

// worded returns a set of equations as a conflict of their origins.
func (p *part) worded(ctx context.Context, set []int) Conflict {
	o := p.origins(set)
	miss := p.leastMiss(ctx, set)
	return Conflict{Origins: o, Latest: o[len(o)-1], Miss: miss, Undefined: !finite(miss)}
}

// support returns the equations that miss at x, ascending.
func (m *model) support(x []float64) []int {
	f := m.misses(x)
	top := maxAbs(f)
	var set []int
	for i, v := range f {
		if !(math.Abs(v) <= 1e-4*top) {
			set = append(set, m.eqs[i])
		}
	}
	return set
}

// dependency returns equation e of m with those that its row depends on at a
// solution y of all others, or nothing when it is independent there.
func (m *model) dependency(y []float64, e int) []int {
	m.eval(y)
	m.fac.load(m.rows)
	m.fac.decompose(1)
	t := newTriangle(m.fac)
	var last rowRef
	for i, id := range m.eqs {
		if id == e {
			last = m.unitRow(i)
		} else {
			t.add(m.unitRow(i))
		}
	}
	if t.add(last) {
		return nil
	}
	on, _ := t.combination(last)
	if len(on) == 0 {
		return nil
	}
	on = append(on, e)
	slices.Sort(on)
	return on
}

// refuted reports whether no solution of the equations is found. A small set
// is looked at from many more starts than find does, up to the whole size of
// the drawing away: a conflict that is none would mislead.
func (p *part) refuted(ctx context.Context, eqs []int) bool {
	const small, starts = 60, 30
	if len(eqs) == 0 {
		return false
	}
	q := p.only(eqs)
	m := newModel(q, eqs)
	if _, ok := m.find(ctx, q.x0); ok {
		return false
	}
	for try := range starts {
		if len(q.x0) > small || ctx.Err() != nil {
			break
		}
		x := slices.Clone(q.x0)
		for i := range x {
			x[i] += float64(try+1) / starts * p.size * hashed(100+try, i)
		}
		if _, ok := m.descend(ctx, x); ok {
			return false
		}
	}
	return true
}

// leastMiss returns how close the last equation of a conflict comes while
// the others hold. Where they settle it, that is plain. Where they leave it
// room it is weighed down and the best is looked for.
func (p *part) leastMiss(ctx context.Context, set []int) float64 {
	last := len(set) - 1
	q := p.only(set)
	x, ok := newModel(q, set[:last]).find(ctx, q.x0)
	m := newModel(q, set)
	if ok && m.dependency(x, set[last]) != nil {
		return math.Abs(m.misses(x)[last])
	}
	for _, w := range []float64{0.03, 1e-3} {
		m.weight[last] = w
		x, _ = m.descend(ctx, x)
	}
	return math.Abs(m.misses(x)[last])
}
