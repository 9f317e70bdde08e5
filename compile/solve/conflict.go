package solve

import (
	"context"
	"math"
	"slices"
)

// maxConflicts bounds the conflicts that are told of one part.
const maxConflicts = 8

// clash is a smallest set of equations that cannot hold together.
type clash struct {
	set  []int
	sure bool    // to a long search
	rest attempt // what is left without one equation of it
}

// attempt is a model with where it was brought to.
type attempt struct {
	*model
	x     []float64
	holds bool
}

// conflicts names the sets of equations of m that cannot hold together. x is
// a point of least miss: there Jᵀf = 0, so the misses themselves are the
// weights of a dependency among the rows, and the equations that miss hold a
// conflict. One equation of it is let go and the search goes on. first is the
// clash that is known already, or nil.
func (p *part) conflicts(ctx context.Context, m *model, x []float64, first *clash) []Conflict {
	var out []Conflict
	for next := first; len(out) < maxConflicts && ctx.Err() == nil; next = nil {
		if next == nil {
			next = p.clash(ctx, m, x)
		}
		if next == nil {
			break
		}
		out = append(out, p.worded(ctx, next))
		if m, x = next.rest.model, next.rest.x; next.rest.holds {
			break
		}
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

// plainClash returns the clash of a set of equations of m, which is stuck at x,
// that is seen not to hold without the whole being searched: the dependency of
// the latest one that misses, where the others hold. It returns nil where there
// is none.
func (p *part) plainClash(ctx context.Context, m *model, x []float64) *clash {
	set := m.support(x)
	if len(set) == 0 {
		return nil
	}
	latest := set[len(set)-1]
	rest := attempt{model: m.without(latest)}
	if rest.x, rest.holds = rest.descend(ctx, p.x0); !rest.holds {
		return nil
	}
	core, sure := p.lean(ctx, m.dependency(rest.x, latest), rest.x)
	if !sure {
		return nil
	}
	return &clash{core, true, rest}
}

// clash finds one smallest set among the equations of m, stuck at x, or nil.
func (p *part) clash(ctx context.Context, m *model, x []float64) *clash {
	x, _ = m.descend(ctx, x) // a search may have given up early
	set := m.support(x)
	if len(set) == 0 {
		return nil
	}
	latest := set[len(set)-1]
	rest := attempt{model: m.without(latest)}
	if rest.x, rest.holds = rest.find(ctx, p.x0); rest.holds {
		if core, sure := p.lean(ctx, m.dependency(rest.x, latest), rest.x); sure {
			return &clash{core, true, rest}
		}
	}
	core, sure := p.lean(ctx, set, rest.x)
	if !sure && len(set) < len(m.eqs) && len(m.eqs) <= widest { // stuck for another reason than what misses
		core, sure = p.lean(ctx, m.eqs, rest.x)
	}
	if !rest.holds {
		rest = p.relieved(ctx, m, core, latest, rest)
	}
	return &clash{core, sure, rest}
}

// widest is the number of equations up to which searches spare no effort, and
// up to which all are looked at where those that miss can hold by themselves.
const widest = 24

// relieved takes from m the latest equation of a conflict without which the
// rest holds, or just the latest one where none is found. It is known that
// without the equation tried there remains known, which does not hold.
func (p *part) relieved(ctx context.Context, m *model, set []int, tried int, known attempt) attempt {
	few := min(8, max(1, 2400/len(p.x0))) // large drawings are searched less
	var others []attempt
	for i := len(set) - 1; i >= max(0, len(set)-few); i-- {
		a := known
		if set[i] != tried {
			a.model = m.without(set[i])
			a.x, a.holds = a.descend(ctx, p.x0)
		}
		if a.holds {
			return a
		}
		others = append(others, a)
	}
	for i := range others {
		a := &others[i]
		if a.model != known.model {
			a.x, a.holds = a.find(ctx, p.x0)
		}
		if a.holds {
			return *a
		}
	}
	return others[0]
}

// without returns the model of all equations but e.
func (m *model) without(e int) *model {
	return newModel(m.part, slices.DeleteFunc(slices.Clone(m.eqs), func(f int) bool { return e == f }))
}

// worded returns a clash as a conflict of the origins of its equations.
func (p *part) worded(ctx context.Context, c *clash) Conflict {
	o := p.origins(c.set)
	miss := p.leastMiss(ctx, c.set)
	return Conflict{Origins: o, Latest: o[len(o)-1], Miss: miss, Undefined: !finite(miss), Unsure: !c.sure || !p.affords(c.set)}
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
