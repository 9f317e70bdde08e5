package solve

import (
	"context"
	"math"
	"slices"
)

// conflicts names the sets of equations that cannot hold together. stuck is
// a point of least miss: there Jᵀf = 0, so the misses themselves are the
// weights of a dependency among the rows, and the equations that miss hold a
// conflict.
func (p *part) conflicts(ctx context.Context, stuck []float64) []Conflict {
	var out []Conflict
	active := slices.Clone(p.eqs)
	for len(out) < 8 && ctx.Err() == nil {
		m := newModel(p, active)
		x, ok := m.find(ctx, p.x0)
		if ok {
			break
		}
		set := p.conflict(ctx, m, x)
		if len(set) == 0 {
			break
		}
		out = append(out, p.worded(ctx, set))
		last := set[len(set)-1]
		active = slices.DeleteFunc(active, func(e int) bool { return e == last })
	}
	if len(out) == 0 { // the search itself failed: name what misses most
		m := newModel(p, p.eqs)
		f := m.misses(stuck)
		worst := 0
		for i := range f {
			if math.Abs(f[i]) > math.Abs(f[worst]) {
				worst = i
			}
		}
		o := p.run.eqs[p.eqs[worst]].origin
		out = append(out, Conflict{Origins: []int{o}, Latest: o, Miss: math.Abs(f[worst]), Undefined: !finite(f[worst]), Unsure: true})
	}
	return out
}

// conflict finds one smallest set among the equations of m, stuck at x.
func (p *part) conflict(ctx context.Context, m *model, x []float64) []int {
	set := m.support(x)
	if len(set) == 0 {
		return nil
	}
	latest := set[len(set)-1]
	rest := slices.DeleteFunc(slices.Clone(m.eqs), func(e int) bool { return e == latest })
	mr := newModel(p, rest)
	if y, ok := mr.find(ctx, p.x0); ok {
		if d := p.dependency(mr, y, latest); len(d) > 0 && p.refuted(ctx, d) {
			set = d
		}
	}
	// Drop what the conflict does without.
	if len(set) <= 24 {
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

// dependency returns equation e with those of mr that its row depends on at
// a solution y of mr, or nothing when it is independent there.
func (p *part) dependency(mr *model, y []float64, e int) []int {
	mr.eval(y)
	var s rowSpace
	for i, id := range mr.eqs {
		s.add(mr.denseRow(i), id)
	}
	one := newModel(p, []int{e})
	one.eval(y)
	on, depends := s.add(one.denseRow(0), e)
	if !depends || len(on) == 0 {
		return nil
	}
	on = append(on, e)
	slices.Sort(on)
	return on
}

// refuted reports whether no solution of the equations is found.
func (p *part) refuted(ctx context.Context, eqs []int) bool {
	if len(eqs) == 0 {
		return false
	}
	_, ok := newModel(p, eqs).find(ctx, p.x0)
	return !ok
}

// leastMiss returns how close the last equation of a conflict comes while
// the others hold.
func (p *part) leastMiss(ctx context.Context, set []int) float64 {
	m := newModel(p, set)
	last := len(set) - 1
	m.weight[last] = 0.03
	x, _ := m.descend(ctx, p.x0)
	return math.Abs(m.misses(x)[last])
}
