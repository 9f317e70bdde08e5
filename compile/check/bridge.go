package check

import (
	"math"

	"perch/lang/diag"
	"perch/lang/unit"
)

var bridge = Query{
	Name: "bridge", Dim: unit.Length, Doc: "the longest bridge: a ceiling that is held on both sides, measured across in the direction in which it is shortest",
	Formula: "the longest way from support to support in the best direction; a ceiling that ends in the air in every direction is an overhang",
	Source:  "10 mm, cautious 5 mm: design tables of filament printing", Example: "bridge <= 10mm",
	Change: "arch the ceiling, put a wall under it, or turn the part",
	Find: func(p *Finished, _ *Given) Finding {
		f := Finding{}
		for _, o := range p.overhangs(p.Shop.Overhang()) {
			if !math.IsInf(o.Bridge, 1) && o.Bridge > f.Value && o.Area >= p.Shop.Line()*p.Shop.Line() {
				f.Value = o.Bridge
				f.Where, f.Places = "at "+coordinates(p.drawn(o.Box.Min.Add(o.Box.Max).Scale(0.5))), []diag.Place{placeOf(p.drawnBox(o.Box))}
			}
		}
		return f
	},
}
