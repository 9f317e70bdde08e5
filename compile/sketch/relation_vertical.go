package sketch

import "perch/compile/solve"

var vertical = &Relation{
	Word: "vertical",
	Doc:  "Lines run upright; points lie above each other.",
	Example: `point a at (0, 0)
point b near (1mm, 9mm)
line ab from a to b
ab vertical
distance(a, b) = 10mm`,
	apply: func(s *Sketch, r *Sentence) error {
		return level(s, "vertical", r.all(), func(p *Point) *solve.Expr { return p.X })
	},
}
