package solve

import (
	"context"
	"fmt"
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

// clashes reports whether a set of equations of m, which is stuck at x, is
// seen not to hold without the whole being searched: the dependency of the
// latest one that misses, where the others hold.
func (p *part) clashes(ctx context.Context, m *model, x []float64) bool {
	set := m.support(x)
	if len(set) == 0 {
		return false
	}
	latest := set[len(set)-1]
	y, ok := m.without(latest).descend(ctx, p.x0)
	if !ok {
		return false
	}
	d := m.dependency(y, latest)
	return len(d) > 0 && p.refuted(ctx, d, y)
}

// conflict finds one smallest set among the equations of m, stuck at x. It
// returns it with the model of all equations but its latest, and the point
// that solves or nearly solves that.
func (p *part) conflict(ctx context.Context, m *model, x []float64) (set []int, rest *model, y []float64, ok bool) {
	x, _ = m.descend(ctx, x) // a search may have given up early
	set = m.support(x)
	if len(set) == 0 {
		return nil, nil, nil, false
	}
	latest := set[len(set)-1]
	rest = m.without(latest)
	if y, ok = rest.find(ctx, p.x0); ok {
		if d := m.dependency(y, latest); len(d) > 0 && p.refuted(ctx, d, y) {
			set = d
		}
	}
	if len(set) < len(m.eqs) && len(m.eqs) <= leanest && !p.refuted(ctx, set, nil) {
		set = slices.Clone(m.eqs) // stuck for another reason than what misses
	}
	set = p.lean(ctx, set, y)
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

// leanest is the number of equations up to which each is left out in turn.
const leanest = 24

// lean drops from a conflict what it does without, latest first. y is where
// most of it holds.
func (p *part) lean(ctx context.Context, set []int, y []float64) []int {
	if len(set) <= leanest {
		set = p.shortest(ctx, set, y)
		for i := len(set) - 1; i >= 0 && len(set) > 1; i-- {
			less := slices.Delete(slices.Clone(set), i, i+1)
			if p.refuted(ctx, less, y) {
				set = less
			}
		}
	}
	return set
}

// shortest returns the beginning of a conflict with which it is there: often
// lines that come later have no part in it. It is looked for by halves.
func (p *part) shortest(ctx context.Context, set []int, y []float64) []int {
	n := len(set)
	if n < 2 || !p.refuted(ctx, set[:n-1], y) {
		return set
	}
	holds, clash := 0, n-1 // lengths
	for clash-holds > 1 {
		if k := (holds + clash) / 2; p.refuted(ctx, set[:k], y) {
			clash = k
		} else {
			holds = k
		}
	}
	return slices.Clone(set[:clash])
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
	m.factor().prepare()
	t := newTriangle(m.factor())
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
// the drawing away, and by moving what all but one of the equations leave
// free: a conflict that is none would mislead. Where y is given, a place that
// most of them agree on, it is looked at first.
func (p *part) refuted(ctx context.Context, eqs []int, y []float64) bool {
	if len(eqs) == 0 {
		return false
	}
	key := fmt.Sprint(eqs)
	known, ok := p.refutations[key]
	if !ok {
		known = !p.holds(ctx, eqs, y)
		if p.refutations == nil {
			p.refutations = map[string]bool{}
		}
		p.refutations[key] = known
	}
	return known
}

// holds is the search of refuted.
func (p *part) holds(ctx context.Context, eqs []int, y []float64) bool {
	const small, starts = 60, 30
	q := p.only(eqs)
	m := newModel(q, eqs)
	m.rough = true
	if y != nil {
		x := slices.Clone(q.x0)
		for i, v := range q.vars {
			x[i] = y[p.at[v]]
		}
		if _, ok := m.descend(ctx, x); ok {
			return true
		}
	}
	if _, ok := m.find(ctx, q.x0); ok {
		return true
	}
	if len(q.x0) > small {
		return false
	}
	if m.swept(ctx) {
		return true
	}
	m.rough = true
	for try := range starts {
		if ctx.Err() != nil {
			break
		}
		x := slices.Clone(q.x0)
		for i := range x {
			x[i] += float64(float64(try+1) / starts * p.size * hashed(100+try, i))
		}
		if _, ok := m.descend(ctx, x); ok {
			return true
		}
	}
	return false
}

// swept moves a drawing that all equations but the last allow, as a linkage,
// both ways from where it is found, and reports whether the last one holds
// somewhere. The way is as straight as the equations let it be, and leads at
// first where the last miss changes most.
func (m *model) swept(ctx context.Context) bool {
	last := len(m.eqs) - 1
	if last < 1 {
		return false
	}
	rest := newModel(m.part, m.eqs[:last])
	begin, ok := rest.find(ctx, m.part.x0)
	if !ok {
		return false
	}
	m.eval(begin)
	ahead := make([]float64, len(begin))
	for j, v := range m.cols[last] {
		ahead[v] += m.rows[last][j]
	}
	for _, sign := range []float64{1, -1} {
		if m.sweep(ctx, rest, begin, ahead, sign) {
			return true
		}
	}
	return false
}

// sweep follows one way of swept.
func (m *model) sweep(ctx context.Context, rest *model, begin, ahead []float64, sign float64) bool {
	const steps, share = 120, 0.03 // of the size of the drawing
	last := len(m.eqs) - 1
	x, way := slices.Clone(begin), slices.Clone(ahead)
	for i := range way {
		way[i] *= sign
	}
	miss := m.misses(x)[last]
	falling := false
	for range steps {
		if ctx.Err() != nil || !rest.project(x, way) {
			return false
		}
		y := slices.Clone(x)
		for i := range y {
			y[i] += float64(share * m.part.size * way[i])
		}
		y, ok := rest.refine(y)
		if !ok {
			return false
		}
		next := m.misses(y)[last]
		passed := (next < 0) != (miss < 0)
		turned := falling && math.Abs(next) > math.Abs(miss)
		if passed || turned {
			if _, ok := m.descend(ctx, x); ok {
				return true
			}
			if _, ok := m.descend(ctx, y); ok {
				return true
			}
		}
		falling = math.Abs(next) < math.Abs(miss)
		for i := range way { // straight on
			way[i] = y[i] - x[i]
		}
		x, miss = y, next
	}
	return false
}

// project takes from a direction what the equations resist at x and gives it
// the length 1. It reports false where nothing is left.
func (m *model) project(x, way []float64) bool {
	m.eval(x)
	m.factor().load(m.rows)
	m.factor().decompose(1e-9)
	before := norm(way)
	y := make([]float64, len(way))
	for range 3 {
		m.normal(way, y)
		m.factor().solve(y)
		for i := range way {
			way[i] -= y[i]
		}
	}
	l := norm(way)
	if !(l > 1e-6*before) {
		return false
	}
	for i := range way {
		way[i] /= l
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
		m.weight[last], m.at = w, nil
		x, _ = m.descend(ctx, x)
	}
	return math.Abs(m.misses(x)[last])
}
