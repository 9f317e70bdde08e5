package sketch

import (
	"fmt"

	"perch/compile/solve"
)

var mirrors = &Relation{
	Word: "mirrors",
	Doc:  "The subject is the mirror image of the object about an upright (`about x = 0`), a level (`about y = 0`) or any line.",
	Example: `point a at (-3mm, 4mm)
point b near (2mm, 3mm)
a mirrors b about x = 0`,
	apply: func(s *Sketch, r *Sentence) error {
		if len(r.Subjects) != len(r.Objects) {
			return fmt.Errorf("`mirrors` pairs what stands before it with what stands after it, one to one")
		}
		if r.About == nil && r.AboutLine == nil {
			return fmt.Errorf("`mirrors` needs a mirror: `about x = 0`, `about y = 0` or `about` a line")
		}
		for i := range r.Subjects {
			if err := s.mirror(r.Subjects[i], r.Objects[i], r); err != nil {
				return err
			}
		}
		return nil
	},
}

func (s *Sketch) mirror(a, b Entity, r *Sentence) error {
	if a.Sort() != b.Sort() {
		return fmt.Errorf("%s is a %s and %s a %s; only like things mirror each other", nameOf(a), a.Sort(), nameOf(b), b.Sort())
	}
	switch a := a.(type) {
	case *Point:
		s.mirrorPoints(a, b.(*Point), r)
	case *Line:
		s.mirrorPoints(a.A, b.(*Line).A, r)
		s.mirrorPoints(a.B, b.(*Line).B, r)
	case *Circle:
		s.mirrorPoints(a.Centre, b.(*Circle).Centre, r)
		s.equate(solve.Sub(a.R, b.(*Circle).R), 1)
	default:
		return fmt.Errorf("`mirrors` is about points, lines and circles, and %s is a %s; mirror its points", nameOf(a), a.Sort())
	}
	return nil
}

func (s *Sketch) mirrorPoints(a, b *Point, r *Sentence) {
	two := solve.Const(2)
	m := mirrored{a: a, b: b, at: r.At}
	switch {
	case r.AboutLine != nil:
		m.side = r.AboutLine.offset(a)
	case r.Axis == "x":
		m.side = solve.Sub(a.X, r.About)
	default:
		m.side = solve.Sub(a.Y, r.About)
	}
	s.mirrored = append(s.mirrored, m)
	switch {
	case r.AboutLine != nil:
		l := r.AboutLine
		s.equate(l.offset(middle(&Line{A: a, B: b})), 1)
		s.equate(solve.Div(dotOf(&Line{A: a, B: b}, l), distance(l.A, l.B)), 1)
	case r.Axis == "x":
		s.equate(solve.Sub(solve.Add(a.X, b.X), solve.Mul(two, r.About)), 1)
		s.equate(solve.Sub(a.Y, b.Y), 1)
	default:
		s.equate(solve.Sub(solve.Add(a.Y, b.Y), solve.Mul(two, r.About)), 1)
		s.equate(solve.Sub(a.X, b.X), 1)
	}
}
