package check

import (
	"perch/compile/mesh"
	"perch/lang/unit"
)

var toBody = []Link{{Word: "to", Takes: Body}}

const (
	noBody = "there is nothing to measure to"
	noSeat = "no face of the part looks at this body"
)

var clearanceTo = Query{
	Name: "clearance", Links: toBody, Dim: unit.Length, Doc: "the least distance between the part and a body; 0 when they touch or overlap",
	Formula: "the exact distance of the two meshes",
	Source:  "plane geometry", Example: "clearance to pipe >= 0.2mm",
	Change: "cut the part further away there",
	Find: func(p *Finished, g *Given) Finding {
		t, err := p.mate(g.Get("to").Body)
		if err != nil {
			return Finding{Unknown: err.Error()}
		}
		s, ok := mesh.Between(p.Tree(), t)
		if !ok {
			return Finding{Unknown: noBody}
		}
		f := Finding{Value: s.Length}
		f.Where, f.Places = spot(s.A, s.B)
		return f
	},
}

var interferenceTo = Query{
	Name: "interference", Links: toBody, Dim: unit.Length, Doc: "how deep the part and a body lie within each other; 0 when they are apart or just touch",
	Formula: "of the points of either surface, every 0.5 mm and at the corners, that lie within the other: the greatest distance to the other's surface",
	Source:  "plane geometry; interference as in ISO 286-1, on one side and not on diameter", Example: "interference to pipe <= 0.1mm",
	Change: "cut the part with the body there, or allow for the fit",
	Find: func(p *Finished, g *Given) Finding {
		t, err := p.mate(g.Get("to").Body)
		if err != nil {
			return Finding{Unknown: err.Error()}
		}
		s := mesh.Deepest(p.Tree(), t)
		f := Finding{Value: s.Length}
		if s.Length > 0 {
			f.Where, f.Places = spot(s.A, s.B)
		}
		return f
	},
}
