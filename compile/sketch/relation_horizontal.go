package sketch

import "perch/compile/solve"

var horizontal = &Relation{
	Word: "horizontal",
	Doc:  "Lines run level; points lie at one height.",
	Example: `point a at (0, 0)
point b near (9mm, 1mm)
line ab from a to b
ab horizontal
distance(a, b) = 10mm`,
	apply: func(s *Sketch, r *Sentence) error {
		return level(s, "horizontal", r.all(), func(p *Point) *solve.Expr { return p.Y })
	},
}

// level makes the ends of lines, or several points, share a coordinate.
func level(s *Sketch, word string, es []Entity, coordinate func(*Point) *solve.Expr) error {
	if _, ok := es[0].(*Point); ok {
		ps, err := pointsOf(word, es)
		if err != nil {
			return err
		}
		if err := atLeast(word, 2, es); err != nil {
			return err
		}
		for _, p := range ps[1:] {
			s.equate(solve.Sub(coordinate(p), coordinate(ps[0])), 1)
		}
		return nil
	}
	ls, err := linesOf(word, es)
	if err != nil {
		return err
	}
	for _, l := range ls {
		s.equate(solve.Sub(coordinate(l.B), coordinate(l.A)), 1)
	}
	return nil
}
