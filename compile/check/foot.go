package check

import (
	"perch/compile/mesh"
	"perch/lang/diag"
	"perch/lang/unit"
)

var firstLayer = Query{
	Name: "first layer", Dim: unit.AreaDim, Doc: "the area that lies flat on the bed",
	Formula: "the sum of the downward triangles within 0.02 mm of the lowest point",
	Source:  "plane geometry", Example: "first layer >= 40mm^2",
	Change: "give the part a flat face to stand on",
	Find: func(p *Finished, _ *Given) Finding {
		area, box, _ := p.laid().Foot(flat)
		f := Finding{Value: area}
		if !box.Empty() {
			f.Places = []diag.Place{placeOf(p.drawnBox(box))}
		}
		return f
	},
}

// thinnest answers with the shortest way across a wall or a gap.
func thinnest(side mesh.Side, none string) func(*Finished, *Given) Finding {
	return func(p *Finished, _ *Given) Finding {
		s, _, ok := p.Tree().Thinnest(side)
		if !ok {
			return Finding{Unknown: none}
		}
		f := Finding{Value: s.Length}
		f.Where, f.Places = spot(s.A, s.B)
		return f
	}
}
