package check

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/lang/unit"
)

var tipAngle = Query{
	Name: "tip angle", Dim: unit.Angle, Doc: "the slope at which the part tips over in the worst direction, standing as it is drawn, on its lowest faces",
	Formula: "atan(distance from the centre of mass to the nearest edge of the foot / its height)",
	Source:  "statics", Example: "tip angle >= 15deg",
	Change: "widen the foot, or lower the mass",
	Find: func(p *Finished, _ *Given) Finding {
		_, _, hull := p.Tree().Foot(flat)
		c := p.Mesh.Centroid()
		f := Finding{Where: "the centre of mass is at " + coordinates(c)}
		if len(hull) < 3 {
			f.Unknown = "the part stands on a line or a point"
			return f
		}
		least := math.Inf(1)
		for i, a := range hull {
			side := hull[(i+1)%len(hull)].Sub(a)
			least = min(least, side.Cross(geom.Vec2{X: c.X, Y: c.Y}.Sub(a))/side.Len())
		}
		f.Value = math.Atan2(least, c.Z-p.Mesh.Bounds().Min.Z)
		return f
	},
}

// gravity is the standard acceleration of free fall, mm/s² (ISO 80000-3).
const gravity = 9806.65

var momentAbout = Query{
	Name: "moment", Links: []Link{{Word: "about", Takes: Place}}, Dim: unit.Moment,
	Doc:     "the moment that the part's weight adds about a point of the mount, in the worst pose",
	Formula: "m g a, a the distance from the point to the centre of mass",
	Source:  "statics", Example: "moment about (0, 0, -150mm) <= 0.9N*m",
	Change: "bring the part closer to the axis, make it lighter, or shift the counterweight by moment / (its weight)",
	Find: func(p *Finished, g *Given) Finding {
		c, m := p.Mesh.Centroid(), p.Mesh.Volume()*p.Material.Density.X
		a := c.Sub(g.Get("about").Point).Len()
		return Finding{
			Value: float64(float64(m*gravity) * a),
			Where: fmt.Sprintf("%.3g g at %.1f mm; the centre of mass is at %s", m, a, coordinates(c)),
		}
	},
}
