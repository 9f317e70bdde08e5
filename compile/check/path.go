package check

import (
	"fmt"
	"strings"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/lang/unit"
)

var freePath = Query{
	Name:    "free path",
	Links:   []Link{{Word: "from", Takes: Place}, {Word: "over", Takes: Place, Many: true}, {Word: "to", Takes: Place}},
	Dim:     unit.Length,
	Doc:     "the diameter of the thickest cable or screwdriver that passes through the finished part along straight lines between points; 0 when the way is closed",
	Formula: "twice the exact distance from the line to the mesh, with round ends",
	Source:  "plane geometry", Example: "free path from (0, 0, 30mm) to (0, 0, -30mm) >= 4mm",
	Change: "widen the way there, or lead it elsewhere",
	Find: func(p *Finished, g *Given) Finding {
		t, f := p.Tree(), Finding{}
		way := &mesh.Mesh{}
		for i, b := range g.Values {
			if i > 0 && b.Point != way.Vertices[i-1] {
				way.Triangles = append(way.Triangles, [3]int32{int32(i - 1), int32(i), int32(i)})
			}
			way.Vertices = append(way.Vertices, b.Point)
		}
		if len(way.Triangles) == 0 {
			return Finding{Unknown: "the way begins and ends at one point"}
		}
		for _, v := range way.Vertices {
			if t.Inside(v) {
				f.Where, f.Places = spot(v)
				return f
			}
		}
		s, ok := mesh.Between(t, mesh.NewTree(way))
		if !ok {
			return Finding{Unknown: noBody}
		}
		f.Value = float64(2 * s.Length)
		f.Where, f.Places = spot(s.A)
		return f
	},
}

// graze is how deep a body may rub on its way and still count as free, mm: what
// chords leave of faces that slide on each other.
const graze = 0.02

var freeInsertion = Query{
	Name:    "free insertion",
	Links:   []Link{{Word: "of", Takes: Body}, {Word: "along", Takes: Place}},
	Flag:    true,
	Doc:     "whether a body reaches its place in the finished part by a straight move of that length and direction, without rubbing deeper than 0.02 mm",
	Formula: "exact: the body, taken in by 0.02 mm all round, sweeps a space bounded by its two ends and by the strips along its outline seen from the direction; nothing of the part's surface may lie in it",
	Source:  "plane geometry", Example: "free insertion of camera along (0, 0, -40mm)",
	Change: "take away what is in the way, or bring the body in from another side",
	Find: func(p *Finished, g *Given) Finding {
		along := g.Get("along").Point
		if along == (geom.Vec3{}) {
			return Finding{Unknown: "a move of no length has no direction"}
		}
		t, err := p.mate(g.Get("of").Body)
		if err != nil {
			return Finding{Unknown: err.Error()}
		}
		at, meets := mesh.Sweeps(t, along.Scale(-1), graze, p.Tree())
		if !meets {
			return Finding{Value: 1, Where: fmt.Sprintf("along all of the %.1f mm", along.Len())}
		}
		f := Finding{}
		f.Where, f.Places = spot(at)
		f.Where = "on its way in it meets the part " + f.Where
		if _, meets := mesh.Sweeps(t, along, graze, p.Tree()); !meets {
			f.Where += fmt.Sprintf("; from the other side, `along (%s)`, it goes in freely", lengths(along.Scale(-1)))
		}
		return f
	},
}

// lengths writes a place or a way as a part file does.
func lengths(v geom.Vec3) string {
	var words []string
	for _, x := range []float64{v.X, v.Y, v.Z} {
		switch {
		case x == 0:
			words = append(words, "0")
		default:
			words = append(words, digits(x, 3)+"mm")
		}
	}
	return strings.Join(words, ", ")
}
