package solve

import (
	"context"
	"fmt"
	"slices"
)

// This file finds the smallest part of a set of equations that cannot hold. To
// be sure that a set cannot takes a long search; that it can, mostly a short
// one. So equations are left out on the word of a short search, and only what
// is left in the end is searched at length. Where that holds after all, the
// step that went too far is looked for by halves.

const (
	// fewThrows is what a short search may throw about, mostThrows what it may
	// once one has been mistaken.
	fewThrows, mostThrows = 15, 60

	// leanWork is what the short searches in large sets may take together, in
	// steps times equations. What is not looked at then stays in the set.
	leanWork = 100_000
)

// lean returns a smallest part of a conflict, later equations left out first,
// and whether it is sure, to a long search, that it cannot hold. y is where
// most of the set holds.
func (p *part) lean(ctx context.Context, set []int, y []float64) (core []int, sure bool) {
	if len(set) == 0 {
		return nil, false
	}
	key := fmt.Sprint(set)
	if c, ok := p.cores[key]; ok {
		return c.set, c.sure
	}
	core, sure = p.shrink(ctx, set, y)
	if p.cores == nil {
		p.cores = map[string]coreOf{}
	}
	p.cores[key] = coreOf{core, sure}
	return core, sure
}

// coreOf is what lean found.
type coreOf struct {
	set  []int
	sure bool
}

// leaving is a set on the way to a smaller one: what stands from needed on
// cannot be left out. Where the set holds after all, what stands from back on
// in the set before cannot.
type leaving struct {
	set          []int
	needed, back int
}

// shrink is the work of lean.
func (p *part) shrink(ctx context.Context, set []int, y []float64) (core []int, sure bool) {
	steps := p.shorten(ctx, set, y)
	for throws := fewThrows; ctx.Err() == nil; throws = mostThrows {
		steps = p.leave(ctx, steps, y, throws)
		last := len(steps) - 1
		if p.refuted(ctx, steps[last].set, y) {
			return steps[last].set, true
		}
		clash, holds := 0, last
		for holds-clash > 1 {
			if k := (holds + clash) / 2; p.refuted(ctx, steps[k].set, y) {
				clash = k
			} else {
				holds = k
			}
		}
		if clash == 0 && !p.refuted(ctx, steps[0].set, y) {
			return steps[0].set, false
		}
		steps[clash].needed = steps[holds].back
		steps = steps[clash : clash+1]
	}
	return steps[0].set, false
}

// shorten looks by halves for the beginning of a conflict with which it is
// there: often equations that come later have no part in it.
func (p *part) shorten(ctx context.Context, set []int, y []float64) []leaving {
	n := len(set)
	steps := []leaving{{set: set, needed: n}}
	if n < 2 || p.hold(ctx, set[:n-1], y, fewThrows) {
		steps[0].needed = n - 1
		return steps
	}
	holds, clash := 0, n-1 // lengths
	for clash-holds > 1 && p.affords(set[:clash]) {
		if k := (holds + clash) / 2; p.hold(ctx, set[:k], y, fewThrows) {
			holds = k
		} else {
			clash = k
		}
	}
	back := n
	if clash == n-1 {
		back = n - 1
	}
	return append(steps, leaving{slices.Clone(set[:clash]), clash - 1, back})
}

// leave leaves equations out of the last of steps: one, then two at once, then
// four, until those are needed, and one again. For what a short search finds is
// found at once, and what it does not find takes the whole of it.
func (p *part) leave(ctx context.Context, steps []leaving, y []float64, throws int) []leaving {
	at := steps[len(steps)-1]
	many := 1
	for hi := at.needed; hi > 0 && ctx.Err() == nil && p.affords(at.set); {
		lo := max(0, hi-many)
		less := slices.Delete(slices.Clone(at.set), lo, hi)
		switch {
		case len(less) > 0 && !p.hold(ctx, less, y, throws):
			at = leaving{less, lo, hi}
			if many == 1 {
				at.back = lo
			}
			steps = append(steps, at)
			hi, many = lo, 2*many
		case many > 1:
			many = 1
		default:
			hi = lo
		}
	}
	return steps
}

// affords reports whether shorter beginnings or parts of a set may be searched.
func (p *part) affords(set []int) bool { return len(set) <= widest || p.worked < leanWork }
