package sketch

import (
	"context"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
	"perch/lang/source"
)

// This file keeps sides: the side of a line on which a circle touches it, the
// side of a mirror, the side on which a point lies of a line between two
// others. Each is as drawn; where it cannot be, or is not drawn, it is said.

// turnable is how a round thing touches, or on which side of a line a point
// keeps its distance, which can be changed if need be.
type turnable struct {
	statement int
	signs     []*solve.Expr
	drawn     []float64
	others    []touching
}

// touching is one way to touch: what signs makes it, and its words.
type touching struct {
	signs   []float64
	message string
}

// signed returns an offset with the sign it has at the start, and how that can
// be turned, if it can; message tells that it was.
func (s *Sketch) signed(offset *solve.Expr, message string) (*solve.Expr, *turnable) {
	if _, known := offset.Constant(); known {
		return s.positive(offset), nil
	}
	drawn := 1.0
	if s.start(offset) < 0 {
		drawn = -1
	}
	side := solve.Switch(drawn)
	return solve.Mul(side, offset), &turnable{
		signs: []*solve.Expr{side}, drawn: []float64{drawn},
		others: []touching{{[]float64{-drawn}, message}},
	}
}

// turns notes that an equation of a measure may turn a side.
func (s *Sketch) turns(measure *solve.Expr, t *turnable) {
	if t == nil {
		return
	}
	if s.sided == nil {
		s.sided = map[*solve.Expr]*turnable{}
	}
	s.sided[measure] = t
}

// mayTurn notes that the statement may turn a side, if t is one.
func (s *Sketch) mayTurn(t *turnable) {
	if t != nil {
		at := *t
		at.statement = s.current
		s.turnable = append(s.turnable, at)
	}
}

// reached returns how far apart the centres of a and b are where they touch as
// they are drawn: from outside, or one inside the other.
func (s *Sketch) reached(a, b Entity, far *solve.Expr) *solve.Expr {
	ra, rb := radiusOf(a), radiusOf(b)
	inside := func(in, round Entity) string {
		return fmt.Sprintf("%s touches %s from inside, not as drawn", known(in), known(round))
	}
	ways := []touching{
		{[]float64{1, 1}, fmt.Sprintf("%s touches %s from outside, not as drawn", known(a), known(b))},
		{[]float64{-1, 1}, inside(a, b)},
		{[]float64{1, -1}, inside(b, a)},
	}
	d, diff := s.start(far), s.start(solve.Sub(rb, ra))
	drawn := 0
	switch outer := math.Abs(d-math.Abs(diff)) >= math.Abs(d-s.start(solve.Add(ra, rb))); {
	case !outer && diff >= 0:
		drawn = 1
	case !outer:
		drawn = 2
	}
	t := turnable{drawn: ways[drawn].signs}
	for _, k := range t.drawn {
		t.signs = append(t.signs, solve.Switch(k))
	}
	t.others = slices.Delete(ways, drawn, drawn+1)
	s.mayTurn(&t)
	return solve.Add(solve.Mul(t.signs[0], ra), solve.Mul(t.signs[1], rb))
}

// turn gives the signs these values.
func (t *turnable) turn(to []float64) {
	for i, k := range to {
		t.signs[i].Set(k)
	}
}

// otherSide tries, one after the other, whether a conflict goes when something
// of it touches, or lies, otherwise than drawn. It returns the first result that
// does, with a warning, or the given one.
func (s *Sketch) otherSide(ctx context.Context, r *solve.Result, list *diag.List) (*solve.Result, error) {
	const most = 24 // ways that are tried
	tried := 0
	for i := range s.turnable {
		t := &s.turnable[i]
		if !clashing(r, t.statement) {
			continue
		}
		for _, w := range t.others {
			if tried++; tried > most {
				return r, nil
			}
			again, err := s.turned(ctx, t, w.signs)
			if err != nil {
				return nil, err
			}
			if again != nil {
				list.Add(diag.Diagnostic{Code: CodeSide, Severity: diag.Warning, At: s.statements[t.statement].at,
					Message: w.message,
					Notes: []string{
						diag.Why("as drawn the other lines leave no room for it"),
						diag.Do("draw it so: change the place where its centre starts, or correct a dimension"),
					}})
				return again, nil
			}
		}
	}
	return r, nil
}

// turned returns the solution with other signs, or nil where none is found.
func (s *Sketch) turned(ctx context.Context, t *turnable, signs []float64) (*solve.Result, error) {
	t.turn(signs)
	holds, err := s.sys.Holds(ctx)
	if err == nil && holds {
		var r *solve.Result
		if r, err = s.sys.Solve(ctx); err == nil && r.Solved {
			return r, nil
		}
	}
	t.turn(t.drawn)
	return nil, err
}

// clashing reports whether a statement is in a conflict.
func clashing(r *solve.Result, statement int) bool {
	return slices.ContainsFunc(r.Conflicts, func(c solve.Conflict) bool { return slices.Contains(c.Origins, statement) })
}

// bending is a place where an arc runs on into a line or another arc. Either
// way round is tangent; bend is positive or negative as it is drawn.
type bending struct {
	bend    *solve.Expr
	at      source.Span
	message string
}

// runOn notes that the sides of a smooth place are to stay.
func (s *Sketch) runOn(bend *solve.Expr, message string) {
	s.bendings = append(s.bendings, bending{bend, s.statements[s.current].at, message})
}

// mirrored is a pair of points with the side of the mirror of the first.
type mirrored struct {
	a, b *Point
	side *solve.Expr
	at   source.Span
}

// nested is a circle that touches another from inside.
type nested struct {
	in, round Entity
	at        source.Span
}

// coinciding finds circles that were to touch from inside and lie on each
// other instead: there is no point of contact and no direction to it.
func (v *Solved) coinciding(list *diag.List) (found bool) {
	for _, n := range v.sketch.nested {
		if v.Place(centreOf(n.in)).Sub(v.Place(centreOf(n.round))).Len() > 1e-7 {
			continue
		}
		found = true
		list.Add(diag.Diagnostic{Code: CodeFlat, Severity: diag.Error, At: n.at,
			Message: fmt.Sprintf("%s and %s lie on each other: circles of one size touch nowhere in particular", nameOf(n.in), nameOf(n.round)),
			Notes: []string{
				diag.Why("their centres coincide, so that no direction leads from one to the other"),
				diag.Do("give them different radii, or write `concentric`"),
			}})
	}
	return found
}

// astride lists the free points that start on the line between two fixed
// points to which they keep given distances, and moves each a little to the
// left of the way from the first to the second: the rule for a side that the
// drawing does not tell.
func (s *Sketch) astride() []astride {
	var out []astride
	to := map[*Point]*Point{} // looked up only
	for _, k := range s.spans {
		for _, p := range [][2]*Point{{k[0], k[1]}, {k[1], k[0]}} {
			free, held := p[0], p[1]
			if free.vx < 0 || held.vx >= 0 {
				continue
			}
			first := to[free]
			if first == nil {
				to[free] = held
				continue
			}
			a, b, c := s.StartOf(first), s.StartOf(held), s.StartOf(free)
			u := b.Sub(a)
			if u.Len() < 1e-9 || math.Abs(u.Cross(c.Sub(a))) > 1e-9*u.Dot(u) || s.told(free, a, u) {
				continue
			}
			out = append(out, astride{free, first, held})
			s.Near(free, c.Add(geom.Vec2{X: -u.Y, Y: u.X}.Scale(1e-3)))
		}
	}
	return out
}

// told reports whether the point keeps a distance to a fixed point beside the
// line through a along u, too: the third point of an arc, say. Mirrored in the
// line it would not.
func (s *Sketch) told(free *Point, a, u geom.Vec2) bool {
	for _, k := range s.spans {
		for _, p := range [][2]*Point{{k[0], k[1]}, {k[1], k[0]}} {
			if p[0] == free && p[1].vx < 0 && math.Abs(u.Cross(s.StartOf(p[1]).Sub(a))) > 1e-6*u.Dot(u) {
				return true
			}
		}
	}
	return false
}

type astride struct{ p, a, b *Point }

// sides warns of sides that are not as drawn or were not drawn.
func (v *Solved) sides(list []astride, faults *diag.List) {
	for _, k := range list {
		a, b, p := v.Place(k.a), v.Place(k.b), v.Place(k.p)
		u := b.Sub(a)
		if math.Abs(u.Cross(p.Sub(a))) < 1e-6*u.Dot(u) {
			continue
		}
		faults.Add(diag.Diagnostic{Code: CodeSide, Severity: diag.Warning, At: k.p.at,
			Message: fmt.Sprintf("%s could lie on either side of the line from %s to %s", nameOf(k.p), nameOf(k.a), nameOf(k.b)),
			Notes: []string{
				diag.Why("it starts on that line; the left side was taken"),
				diag.Do("let it start a little to the side where it belongs"),
			}})
	}
	for _, m := range v.sketch.mirrored {
		if !v.changed(m.side) {
			continue
		}
		faults.Add(diag.Diagnostic{Code: CodeSide, Severity: diag.Warning, At: m.at,
			Message: fmt.Sprintf("%s and %s have changed sides of the mirror", nameOf(m.a), nameOf(m.b)),
			Notes: []string{
				diag.Why("they were drawn the other way round, and the other lines put them so"),
				diag.Do("change the places where they start, or correct a dimension"),
			}})
	}
	for _, k := range v.sketch.bendings {
		if !v.changed(k.bend) {
			continue
		}
		faults.Add(diag.Diagnostic{Code: CodeSide, Severity: diag.Warning, At: k.at, Message: k.message,
			Notes: []string{
				diag.Why("the other lines put its centre there"),
				diag.Do("change the places where they start, or correct a dimension"),
			}})
	}
}

// changed reports whether a measure that tells sides by its sign has plainly
// changed it since the start.
func (v *Solved) changed(side *solve.Expr) bool {
	before, after := v.sketch.start(side), v.Value(side)
	far := 1e-6 * (1 + math.Abs(before))
	return before*after < 0 && math.Abs(before) >= far && math.Abs(after) >= far
}

// weak remarks on a drawing in which a small error of one dimension moves
// something far: 1e-5 mm of miss over 1 mm of motion, and less.
func (v *Solved) weak(list *diag.List) {
	const least = 1e-5
	w := v.Result.Weakest
	if w <= 0 || w >= least {
		return
	}
	list.Add(diag.Diagnostic{Code: CodeWeak, Severity: diag.Info, At: v.sketch.At,
		Message: fmt.Sprintf("the sketch `%s` is pinned, but only just", v.sketch.Name),
		Notes: []string{
			diag.Why(fmt.Sprintf("a dimension that is off by 0.001 mm can move something by %.2g mm", 0.001/w)),
			diag.Do("dimension from one place, or add a dimension across"),
		}})
}
