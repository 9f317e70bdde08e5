package sketch

import "fmt"

var midpoint = &Relation{
	Word: "midpoint",
	Doc:  "A point halves a line, or the way between two points.",
	Example: `point a at (0, 0)
point b at (10mm, 4mm)
point m near (4mm, 3mm)
line ab from a to b
m midpoint of ab`,
	apply: func(s *Sketch, r *Sentence) error {
		ps, err := pointsOf("midpoint", r.Subjects)
		if err != nil {
			return err
		}
		var l *Line
		switch len(r.Objects) {
		case 1:
			l, _ = r.Objects[0].(*Line)
		case 2:
			ends, err := pointsOf("midpoint", r.Objects)
			if err != nil {
				return err
			}
			l = &Line{A: ends[0], B: ends[1]}
		}
		if l == nil {
			return fmt.Errorf("`midpoint of` needs a line or two points")
		}
		for _, p := range ps {
			s.unite(middle(l), p)
		}
		return nil
	},
}
