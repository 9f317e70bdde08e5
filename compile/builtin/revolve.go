package builtin

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
)

var revolveHead = Head{
	Name: "revolve",
	Area: true,
	Clauses: []Form{
		{"about", "about z", "the axis, z when not told: x of the sketch is the distance from it, y runs along it"},
		{"through", "through A", "how far it turns, a full turn when not told; it starts at x (about z), at y (about x), at z (about y)"},
	},
	Doc:     "an area turned about an axis",
	Example: "revolve rim about z",
	// The sketch rim of every example is the rectangle from x = 8 to 12 and
	// y = 0 to 3; Pappus: 2π · 10 · 12.
	Volume: 2 * math.Pi * 10 * 12,
	Build:  buildRevolve,
}

// aboutAxis turns z to the axis, and the start to the next axis in the order
// x, y, z.
var aboutAxis = [3]geom.Transform{
	{R: [3]geom.Vec3{{Z: 1}, {X: 1}, {Y: 1}}},
	{R: [3]geom.Vec3{{Y: 1}, {Z: 1}, {X: 1}}},
	geom.Identity(),
}

func buildRevolve(c *Call) (*value.Body, bool) {
	area, ok := c.area()
	axis, good := c.plainAxis("about")
	if !ok || !good {
		return nil, false
	}
	angle := 2 * math.Pi
	if cl := c.take("through"); cl != nil {
		n, ok := c.quantity(cl, 0, "angle")
		if !ok || !c.turnWithin(cl.Args[0].At, n) {
			return nil, false
		}
		angle = n.X
	}
	p, ok := c.rings(area)
	if !ok {
		return nil, false
	}
	far, ok := c.offAxis(area, p)
	if !ok {
		return nil, false
	}
	s := solid.RevolveArea(area.Profile, angle).Placed(aboutAxis[axis])
	return &value.Body{Solid: s, Leaves: 1, Facets: corners(p) * geom.Sides(far, c.Tolerance)}, true
}

func (c *Call) turnWithin(at source.Span, n value.Number) bool {
	if n.X > 0 && n.X <= 2*math.Pi+1e-12 {
		return true
	}
	c.Report(diag.Diagnostic{Code: SizeNotAbove0, At: at,
		Message: fmt.Sprintf("a body is revolved through more than 0 and up to 360 deg, this is %s", n)})
	return false
}

// offAxis checks that an area stays on one side of its axis and returns its
// farthest distance.
func (c *Call) offAxis(a *value.Area, p solid.Profile) (far float64, ok bool) {
	const touch = 1e-9 // mm, rounding of a sketch that touches its axis
	least := math.Inf(1)
	for _, ring := range p {
		for _, v := range ring {
			least, far = min(least, v.X), max(far, v.X)
		}
	}
	if least >= -touch {
		return far, true
	}
	c.Report(diag.Diagnostic{
		Code: AcrossAxis, At: c.Subject.At,
		Message: fmt.Sprintf("the area %s reaches across its axis, to x = %s", a.Name, value.Length(least)),
		Notes: []string{
			diag.Why("x of the sketch is the distance from the axis, which is never below 0"),
			diag.Do("draw the area to the right of x = 0"),
		},
	})
	return 0, false
}
