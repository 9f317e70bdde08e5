package sketch

import (
	"fmt"

	"perch/compile/solve"
)

var concentric = &Relation{
	Word: "concentric",
	Doc:  "Circles and arcs have one centre.",
	Example: `point o at (3mm, 4mm)
point c near (2mm, 3mm)
circle k centre o, radius 5mm
circle l centre c, radius 8mm
k concentric l`,
	apply: func(s *Sketch, r *Sentence) error {
		es := r.all()
		if err := atLeast("concentric", 2, es); err != nil {
			return err
		}
		for _, e := range es {
			if centreOf(e) == nil {
				return fmt.Errorf("`concentric` is about circles and arcs, and %s is a %s", nameOf(e), e.Sort())
			}
		}
		for _, e := range es[1:] {
			s.unite(centreOf(es[0]), centreOf(e))
		}
		return nil
	},
}

// unite makes two points one.
func (s *Sketch) unite(a, b *Point) {
	s.equate(solve.Sub(b.X, a.X), 1)
	s.equate(solve.Sub(b.Y, a.Y), 1)
}
