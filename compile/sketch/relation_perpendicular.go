package sketch

import "perch/compile/solve"

var perpendicular = &Relation{
	Word: "perpendicular",
	Doc:  "Lines stand at a right angle, on the side as drawn.",
	Example: `point a at (0, 0)
point b at (10mm, 5mm)
point c near (-2mm, 5mm)
line ab from a to b
line ac from a to c
ab perpendicular ac
distance(a, c) = 6mm`,
	apply: func(s *Sketch, r *Sentence) error {
		es := r.all()
		ls, err := linesOf("perpendicular", es)
		if err == nil {
			err = atLeast("perpendicular", 2, es)
		}
		if err != nil {
			return err
		}
		first, others := ls[:1], ls[1:]
		if len(r.Objects) > 0 {
			first, others = ls[:len(r.Subjects)], ls[len(r.Subjects):]
		}
		for _, l := range first {
			for _, m := range others {
				s.equateAngle(solve.Atan2(dotOf(l, m), s.positive(cross(l, m))), l, m)
			}
		}
		return nil
	},
}
