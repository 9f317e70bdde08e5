package sketch

import (
	"fmt"

	"perch/compile/solve"
)

var equal = &Relation{
	Word: "equal",
	Doc:  "Lines have one length; circles and arcs have one radius.",
	Example: `point a at (0, 0)
point b at (10mm, 0)
point c near (0, 8mm)
line ab from a to b
line ac from a to c
ac vertical
ab equal ac`,
	apply: func(s *Sketch, r *Sentence) error {
		es := r.all()
		if err := atLeast("equal", 2, es); err != nil {
			return err
		}
		size := func(e Entity) (*solve.Expr, error) {
			if _, isLine := es[0].(*Line); isLine {
				if l, ok := e.(*Line); ok {
					return distance(l.A, l.B), nil
				}
				return nil, fmt.Errorf("`equal` compares lines by length, and %s is a %s", nameOf(e), e.Sort())
			}
			if r := radiusOf(e); r != nil {
				return r, nil
			}
			return nil, fmt.Errorf("`equal` compares circles and arcs by radius, and %s is a %s", nameOf(e), e.Sort())
		}
		first, err := size(es[0])
		if err != nil {
			return err
		}
		for _, e := range es[1:] {
			other, err := size(e)
			if err != nil {
				return err
			}
			s.equate(solve.Sub(other, first), 1)
		}
		return nil
	},
}
