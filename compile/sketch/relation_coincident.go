package sketch

var coincident = &Relation{
	Word: "coincident",
	Doc:  "Points lie at one place.",
	Example: `point a at (3mm, 4mm)
point b near (2mm, 3mm)
a coincident b`,
	apply: func(s *Sketch, r *Sentence) error {
		ps, err := pointsOf("coincident", r.all())
		if err == nil {
			err = atLeast("coincident", 2, r.all())
		}
		if err != nil {
			return err
		}
		for _, p := range ps[1:] {
			s.unite(ps[0], p)
		}
		return nil
	},
}
