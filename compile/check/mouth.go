package check

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/lang/unit"
)

// Steps along the way through a mouth.
const (
	mouthStep  = 0.1 // mm
	mouthSteps = 500
)

var mouthOf = Query{
	Name:    "mouth",
	Links:   []Link{{Word: "of", Takes: Body}, {Word: "along", Takes: Place}},
	Dim:     unit.Length,
	Doc:     "the narrowest opening that a round body, such as a cable, passes on its way out of its place by a move of that length and direction",
	Formula: "from the axis of the body, every 0.1 mm of the move and at five places along it: the distance of the faces to both sides, square to the move and to the axis",
	Source:  "plane geometry; a throat of 0.8 of the cable holds and lets go by hand, common practice. How much the jaws stretch: module snap",
	Example: "mouth of lead along (0, 0, 8mm) <= 3.4mm",
	Change:  "narrow or widen the mouth of the profile",
	Find: func(p *Finished, g *Given) Finding {
		b := g.Get("of").Body
		if b.Tube == nil {
			return Finding{Unknown: "the body is no plain cylinder, so it has no axis"}
		}
		axis, along := b.Tube.Dir, g.Get("along").Point
		out := along.Sub(axis.Scale(along.Dot(axis)))
		if out.Len() < 1e-9 {
			return Finding{Unknown: "the move goes along the axis of the body, not out of its place"}
		}
		aside := axis.Cross(out).Unit()
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, v := range p.Mesh.Vertices {
			s := v.Sub(b.Tube.Point).Dot(axis)
			lo, hi = min(lo, s), max(hi, s)
		}
		f := Finding{Value: math.Inf(1)}
		steps := min(mouthSteps, int(math.Ceil(out.Len()/mouthStep)))
		for i := range 5 {
			from := b.Tube.Point.Add(axis.Scale(lo + float64((hi-lo)*(0.1+float64(0.2*float64(i))))))
			for k := 0; k <= steps; k++ {
				p.opening(&f, from.Add(out.Scale(float64(k)/float64(steps))), aside)
			}
		}
		if math.IsInf(f.Value, 1) {
			return Finding{Unknown: "nothing of the part stands on both sides of the way"}
		}
		if d := 2 * b.Tube.Radius.X; d > 0 && f.Value < d {
			f.Where += fmt.Sprintf("; each side gives way by %.2f mm for %.2f mm to pass", (d-f.Value)/2, d)
		}
		return f
	},
}

// opening keeps the width at c when it is the narrowest so far.
func (p *Finished) opening(f *Finding, c, aside geom.Vec3) {
	t := p.Tree()
	_, right, ok1 := t.Ray(c, aside, math.Inf(1), nil)
	_, left, ok2 := t.Ray(c, aside.Scale(-1), math.Inf(1), nil)
	if !ok1 || !ok2 || left+right >= f.Value {
		return
	}
	f.Value = left + right
	if t.Inside(c) {
		f.Value = 0 // the way is closed
	}
	f.Where, f.Places = spot(c.Add(aside.Scale(right)), c.Sub(aside.Scale(left)))
}
