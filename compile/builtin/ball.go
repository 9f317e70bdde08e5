package builtin

import (
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
)

var ballHead = Head{
	Name: "ball",
	Clauses: []Form{
		roundClauses[0], roundClauses[1],
		{"centre", "centre (X, Y, Z)", centreDoc},
	},
	Doc:     "a ball",
	Example: "ball diameter 10mm, centre (0, 0, 0)",
	Volume:  math.Pi * 1000 / 6, // π d³/6
	Build:   buildBall,
}

func buildBall(c *Call) (*value.Body, bool) {
	r, ok := c.radius()
	centre, good := c.centre()
	if !ok || !good {
		return nil, false
	}
	p := centre.vec()
	if !centre.set[2] {
		p.Z = r.X
	}
	return plainBall(r.X, p, c.Tolerance), true
}

func plainBall(r float64, at geom.Vec3, tolerance float64) *value.Body {
	n := geom.Sides(r, tolerance)
	return &value.Body{Solid: solid.Ball(r).Placed(geom.Move(at)), Leaves: 1, Facets: n * n / 2, Offset: ballOffset(r, at, tolerance)}
}
