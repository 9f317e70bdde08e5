package check

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/value"
	"perch/lang/unit"
)

// seat is how much farther than the nearest place a face may be from the
// other body and still belong to the seat, mm.
const seat = 1.0

const seatRule = "along the outward direction of the faces that look at the body within 30 degrees and are at most 1 mm farther from it than the nearest place, every 2 mm"

// overSeat calls each with points of the seat, the gap there and the piece of
// area they stand for. none is why nothing could be measured, or "".
func (p *Finished) overSeat(b *value.Body, step float64, each func(q geom.Vec3, gap, area float64)) (none string) {
	t, err := p.mate(b)
	if err != nil {
		return err.Error()
	}
	own := p.Tree()
	near, ok := mesh.Between(own, t)
	if !ok {
		return noBody
	}
	box := t.Mesh.Bounds()
	reach := near.Length + seat
	box.Min, box.Max = box.Min.Sub(geom.Vec3{X: reach, Y: reach, Z: reach}), box.Max.Add(geom.Vec3{X: reach, Y: reach, Z: reach})
	for i := range p.Mesh.Triangles {
		n := own.Normals[i]
		p.Mesh.Patches(i, step, box, func(q geom.Vec3, area float64) {
			// From a little behind the face, so that one that touches counts.
			const back = 0.01
			j, at, ok := t.Ray(q.Sub(n.Scale(back)), n, near.Length+seat+back, nil)
			if ok && t.Normals[j].Dot(n) <= -math.Cos(mesh.Opposed) {
				if at -= back; at < 1e-6 { // rounding
					at = 0
				}
				each(q, at, area)
			}
		})
	}
	return ""
}

// seatExtreme answers with the gap over the seat that is farthest in a sense.
func seatExtreme(farther func(gap, best float64) bool) func(*Finished, *Given) Finding {
	return func(p *Finished, g *Given) Finding {
		f, found := Finding{}, false
		none := p.overSeat(g.Get("to").Body, 2, func(q geom.Vec3, gap, _ float64) {
			if !found || farther(gap, f.Value) {
				found, f.Value = true, gap
				f.Where, f.Places = spot(q)
			}
		})
		switch {
		case none != "":
			return Finding{Unknown: none}
		case !found:
			return Finding{Unknown: noSeat}
		}
		return f
	}
}

var gapTo = Query{
	Name: "gap", Links: toBody, Dim: unit.Length,
	Doc:     "the largest gap over the seat on a body",
	Formula: seatRule,
	Source:  "plane geometry", Example: "gap to pipe <= 0.15mm",
	Change: "let the seat follow the body: `cut` the part with it",
	Find:   seatExtreme(func(gap, best float64) bool { return gap > best }),
}

var leastGapTo = Query{
	Name: "least gap", Links: toBody, Dim: unit.Length,
	Doc:     "the smallest gap over the seat on a body, for a fit that must keep some play",
	Formula: seatRule,
	Source:  "plane geometry", Example: "least gap to pipe >= 0.1mm",
	Change: "cut the part with a little more play there",
	Find:   seatExtreme(func(gap, best float64) bool { return gap < best }),
}

// touching is how near two faces count as one pressed on the other, mm: what a
// coat of paint or a printed layer's roughness makes up.
const touching = 0.05

var contactTo = Query{
	Name: "contact", Links: toBody, Dim: unit.AreaDim,
	Doc:     "the area of the part that lies on a body, within 0.05 mm",
	Formula: seatRule + "; every piece of a face of at most 1 mm counts whole",
	Source:  "plane geometry", Example: "contact to pipe >= 200mm^2",
	Change: "let the seat follow the body, or make it larger",
	Find: func(p *Finished, g *Given) Finding {
		f, box := Finding{}, geom.EmptyBox()
		none := p.overSeat(g.Get("to").Body, 1, func(q geom.Vec3, gap, area float64) {
			if gap <= touching {
				f.Value += area
				box.Add(q)
			}
		})
		if none != "" {
			return Finding{Unknown: none}
		}
		if !box.Empty() {
			f.Where, f.Places = spot(box.Min, box.Max)
			f.Where = fmt.Sprintf("its middle is %s", f.Where)
		}
		return f
	},
}
