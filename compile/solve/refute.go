package solve

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// This file asks whether some equations can hold together.

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
	const small, starts = 60, 30 // variables; tries
	m := p.sketched(eqs)
	q := m.part
	if y != nil {
		if _, ok := m.descend(ctx, m.placedAs(p, y)); ok {
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
		if _, ok := m.descend(ctx, m.shaken(q.x0, float64(try+1)/starts, 100+try)); ok {
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
	m.release(way)
	l := norm(way)
	if !(l > 1e-6*before) {
		return false
	}
	for i := range way {
		way[i] /= l
	}
	return true
}

// hold is a short search of the same kind, which finds most solutions; what it
// places may be thrown about so many times.
func (p *part) hold(ctx context.Context, eqs []int, y []float64, throws int) bool {
	m := p.sketched(eqs)
	defer func() { p.worked += m.iterations * len(eqs) }()
	if y != nil {
		if _, ok := m.descend(ctx, m.placedAs(p, y)); ok || len(eqs) > widest {
			return ok
		}
	}
	if _, ok := m.descend(ctx, m.part.x0); ok || len(eqs) > widest {
		return ok
	}
	_, ok := m.grow(ctx, m.part.x0, throws)
	return ok
}

// sketched returns a rough model of some equations over what they use.
func (p *part) sketched(eqs []int) *model {
	m := newModel(p.only(eqs), eqs)
	m.rough = true
	return m
}

// placedAs returns the values at y, of p, of what m uses.
func (m *model) placedAs(p *part, y []float64) []float64 {
	x := slices.Clone(m.part.x0)
	for i, v := range m.part.vars {
		x[i] = y[p.at[v]]
	}
	return x
}
