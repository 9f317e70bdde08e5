package sketch

import (
	"fmt"

	"perch/compile/solve"
)

var tangent = &Relation{
	Word: "tangent",
	Doc:  "A line and a circle or arc, or two of these, touch without crossing, on the side as drawn; `inside` and `outside` say it in words. Where a line and an arc, or two arcs, share an end, they run on smoothly there.",
	Example: `point o at (0, 0)
point a at (-20mm, 0)
point b at (20mm, 0)
point c near (1mm, 6mm)
line ab from a to b
circle k centre c, radius 5mm
k tangent ab
c.x = 0`,
	apply: func(s *Sketch, r *Sentence) error {
		if len(r.Objects) == 0 {
			return fmt.Errorf("`tangent` needs what is touched after it: `k tangent ab`")
		}
		for _, a := range r.Subjects {
			for _, b := range r.Objects {
				if err := s.touch(a, b, r.Mode); err != nil {
					return err
				}
			}
		}
		return nil
	},
}

func (s *Sketch) touch(a, b Entity, mode string) error {
	la, aLine := a.(*Line)
	lb, bLine := b.(*Line)
	switch {
	case aLine && bLine:
		return fmt.Errorf("two lines cannot be tangent; say `parallel` or `collinear`")
	case aLine:
		return s.touchLine(b, la)
	case bLine:
		return s.touchLine(a, lb)
	}
	ra, rb := radiusOf(a), radiusOf(b)
	if ra == nil || rb == nil {
		return fmt.Errorf("`tangent` is about lines, circles and arcs, and %s is a %s", nameOf(a), a.Sort())
	}
	ca, cb := centreOf(a), centreOf(b)
	if p := sharedEnd(a, b); p != nil {
		// The centres and the common end lie on one line: a simple root
		// where the distance of the centres would have a double one.
		s.equate((&Line{A: ca, B: p}).offset(cb), 1)
		s.runOn(dotOf(&Line{A: p, B: ca}, &Line{A: p, B: cb}),
			fmt.Sprintf("%s bends the other way beside %s than drawn", known(a), known(b)))
		return nil
	}
	d := distance(ca, cb)
	if mode != "outside" {
		s.nested = append(s.nested, nested{a, b, s.statements[s.current].at})
	}
	var far *solve.Expr
	switch mode {
	case "inside": // a inside b, as written
		far = solve.Sub(rb, ra)
	case "outside":
		far = solve.Add(ra, rb)
	default:
		far = s.reached(a, b, d)
	}
	s.equate(solve.Sub(d, far), 1)
	return nil
}

func (s *Sketch) touchLine(round Entity, l *Line) error {
	r := radiusOf(round)
	if r == nil {
		return fmt.Errorf("`tangent` is about lines, circles and arcs, and %s is a %s", nameOf(round), round.Sort())
	}
	c := centreOf(round)
	if arc, ok := round.(*Arc); ok {
		for _, p := range []*Point{arc.A, arc.B} {
			if p == l.A || p == l.B {
				// The line stands square to the radius at the common end.
				t := solve.Add(solve.Mul(solve.Sub(c.X, p.X), l.dx()), solve.Mul(solve.Sub(c.Y, p.Y), l.dy()))
				s.equate(solve.Div(t, distance(l.A, l.B)), 1)
				s.runOn(l.offset(c), fmt.Sprintf("%s bends to the other side of %s than drawn", known(round), known(l)))
				return nil
			}
		}
	}
	off, t := s.signed(l.offset(c), fmt.Sprintf("%s touches %s on the other side than drawn", known(round), known(l)))
	s.mayTurn(t)
	s.equate(solve.Sub(off, r), 1)
	return nil
}

// sharedEnd returns the end that two arcs have in common.
func sharedEnd(a, b Entity) *Point {
	x, ok := a.(*Arc)
	y, ok2 := b.(*Arc)
	if !ok || !ok2 {
		return nil
	}
	for _, p := range []*Point{x.A, x.B} {
		if p == y.A || p == y.B {
			return p
		}
	}
	return nil
}
