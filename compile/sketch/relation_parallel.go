package sketch

import "perch/compile/solve"

var parallel = &Relation{
	Word: "parallel",
	Doc:  "Lines have one direction (or exactly the opposite one, as drawn).",
	Example: `point a at (0, 0)
point b at (10mm, 5mm)
point c at (0, 5mm)
point d near (9mm, 11mm)
line ab from a to b
line cd from c to d
ab parallel cd
distance(c, d) = 8mm`,
	apply: func(s *Sketch, r *Sentence) error {
		ls, err := linesOf("parallel", r.all())
		if err == nil {
			err = atLeast("parallel", 2, r.all())
		}
		if err != nil {
			return err
		}
		for _, m := range ls[1:] {
			c, d := cross(ls[0], m), dotOf(ls[0], m)
			if s.start(d) < 0 {
				c, d = solve.Neg(c), solve.Neg(d)
			}
			s.equateAngle(solve.Atan2(c, d), ls[0], m)
		}
		return nil
	},
}
