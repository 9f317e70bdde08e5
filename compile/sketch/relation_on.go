package sketch

import (
	"fmt"

	"perch/compile/solve"
)

var on = &Relation{
	Word: "on",
	Doc:  "Points lie on a line (or its extension), a circle or an arc (or the rest of its circle).",
	Example: `point o at (0, 0)
point p near (6mm, 1mm)
circle k centre o, radius 5mm
p on k
p.y = 3mm`,
	apply: func(s *Sketch, r *Sentence) error {
		ps, err := pointsOf("on", r.Subjects)
		if err != nil {
			return err
		}
		if len(r.Objects) != 1 {
			return fmt.Errorf("`on` needs one line, circle or arc after it")
		}
		for _, p := range ps {
			if err := s.putOn(p, r.Objects[0]); err != nil {
				return err
			}
		}
		return nil
	},
}

func (s *Sketch) putOn(p *Point, e Entity) error {
	if l, ok := e.(*Line); ok {
		s.equate(l.offset(p), 1)
		return nil
	}
	r := radiusOf(e)
	if r == nil {
		return fmt.Errorf("a point can lie on a line, a circle or an arc, and %s is a %s", nameOf(e), e.Sort())
	}
	s.equate(solve.Sub(distance(p, centreOf(e)), r), 1)
	s.spans = append(s.spans, [2]*Point{p, centreOf(e)})
	return nil
}
