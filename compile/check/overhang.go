package check

import (
	"cmp"
	"fmt"
	"math"

	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/lang/unit"
)

// chords says how far facets of curved faces lie off them, and that what is
// narrower than a line of the nozzle is not laid.
func (p *Finished) chords() mesh.Chords {
	return mesh.Chords{Off: cmp.Or(p.Tolerance, solid.DefaultTolerance), Least: p.Shop.Line()}
}

var overhang = Query{
	Name: "overhang", Dim: unit.Angle, Doc: "the steepest lean from upright outside of bridges",
	Formula: "asin of the downward part of the outward direction; ceilings that a bridge of the workshop spans are left out; a facet of a curved face may lean more by sin(2 limit)/2 * chord tolerance / its span in plan, and by no more than one that spans a line of the nozzle",
	Source:  "45 degrees from upright without support: design tables of filament printing, common practice", Example: "overhang <= 45deg",
	Change: "bevel below what hangs over, turn the part, or support it",
	Find: func(p *Finished, g *Given) Finding {
		t, limit := p.laid(), g.Limit
		if math.IsNaN(limit) {
			limit = p.Shop.Overhang()
		}
		f := Finding{}
		area, bridges, low := 0.0, 0, 0.0
		for _, o := range p.overhangs(limit) {
			switch {
			case o.Bridge <= p.Shop.Bridge():
				bridges++
			case o.Area >= p.Shop.Line()*p.Shop.Line(): // less is finer than the nozzle lays
				f.Value = max(f.Value, o.Angle)
				area += o.Area
				if len(f.Places) == 0 {
					low = o.Box.Min.Z
				}
				f.Places = append(f.Places, placeOf(p.drawnBox(o.Box)))
			}
		}
		if n := len(f.Places); n > 0 {
			f.Where = fmt.Sprintf("%.1f mm2 lean more, in %s, the first from z %.1f mm up%s", area, places(n), low, p.asPrinted())
		}
		if bridges > 0 {
			b := fmt.Sprintf("%d bridges of at most %g mm are left out", bridges, p.Shop.Bridge())
			if bridges == 1 {
				b = fmt.Sprintf("one bridge of at most %g mm is left out", p.Shop.Bridge())
			}
			if f.Where != "" {
				f.Where += "; "
			}
			f.Where += b
		}
		if f.Value == 0 {
			var at int
			f.Value, at = steepest(t, limit+p.chords().Most(limit))
			f.Value = min(limit, f.Value)
			if at >= 0 {
				f.Step = t.LeanStep(at)
			}
		}
		return f
	},
}

func places(n int) string {
	if n == 1 {
		return "one place"
	}
	return fmt.Sprintf("%d places", n)
}

// steepest returns the greatest lean that is within the limit and off the bed,
// and the triangle that has it, -1 for none.
func steepest(t *mesh.Tree, limit float64) (most float64, at int) {
	m := t.Mesh
	at = -1
	bed := m.Bounds().Min.Z + flat
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if l := t.Lean(i); l <= limit && max(a.Z, b.Z, c.Z) > bed {
			if l > most {
				most, at = l, i
			}
		}
	}
	return most, at
}
