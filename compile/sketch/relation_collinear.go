package sketch

import "fmt"

var collinear = &Relation{
	Word: "collinear",
	Doc:  "Lines lie on one straight line; so do three or more points.",
	Example: `point a at (0, 0)
point b at (10mm, 5mm)
point c near (15mm, 8mm)
point d near (21mm, 10mm)
line ab from a to b
line cd from c to d
ab collinear cd
distance(b, c) = 5mm
distance(c, d) = 5mm`,
	apply: func(s *Sketch, r *Sentence) error {
		es := r.all()
		if _, ok := es[0].(*Point); ok {
			ps, err := pointsOf("collinear", es)
			if err != nil {
				return err
			}
			if len(ps) < 3 {
				return fmt.Errorf("two points always lie on one line; `collinear` needs a third")
			}
			l := &Line{A: ps[0], B: ps[1]}
			for _, p := range ps[2:] {
				s.equate(l.offset(p), 1)
			}
			return nil
		}
		ls, err := linesOf("collinear", es)
		if err == nil {
			err = atLeast("collinear", 2, es)
		}
		if err != nil {
			return err
		}
		for _, m := range ls[1:] {
			for _, p := range []*Point{m.A, m.B} {
				if p != ls[0].A && p != ls[0].B { // a common end is on both anyway
					s.equate(ls[0].offset(p), 1)
				}
			}
		}
		return nil
	},
}
