package builtin

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

var coneHead = Head{
	Name: "cone",
	Clauses: append([]Form{
		{"radius", "radius A to B", "the radii at the start and at the end of its axis; one may be 0"},
		{"diameter", "diameter A to B", "the same as diameters"},
	}, roundClauses[2:]...),
	Doc:     "a cone, or a round bar that tapers",
	Example: "cone radius 10mm to 6mm, height 15mm",
	Volume:  math.Pi * 15 / 3 * (100 + 60 + 36), // π h/3 (R² + R r + r²)
	Build:   buildCone,
}

func buildCone(c *Call) (*value.Body, bool) {
	r0, r1, ok := c.radii()
	ax, good := c.axis()
	if !ok || !good {
		return nil, false
	}
	if ax.endless {
		c.missing("height", "add `height` or `length`, or both ends with `from … to …`")
		return nil, false
	}
	s := solid.Cone(r0, r1, ax.t0, ax.t1).Placed(solid.FrameAt(ax.point, ax.dir))
	return &value.Body{Solid: s, Leaves: 1, Facets: geom.Sides(max(r0, r1), c.Tolerance) + 2}, true
}

// radii reads `radius A to B` or `diameter A to B`.
func (c *Call) radii() (r0, r1 float64, ok bool) {
	r, d := c.take("radius"), c.take("diameter")
	cl, half := r, 1.0
	switch {
	case r != nil && d != nil:
		c.both(r, d, "the size")
		return 0, 0, false
	case r == nil && d == nil:
		c.missing("radius", "add `radius A to B`, such as `radius 6mm to 4mm`")
		return 0, 0, false
	case r == nil:
		cl, half = d, 0.5
	}
	if len(cl.Args) < 2 {
		c.Report(diag.Diagnostic{Code: ClauseMissing, At: cl.At, Message: fmt.Sprintf("a cone has two of them: `%s A to B`", cl.Word),
			Notes: []string{diag.Do("use a cylinder where both ends are alike")}})
		return 0, 0, false
	}
	a, ok1 := c.quantity(cl, 0, "length")
	b, ok2 := c.quantity(cl, 1, "length")
	if !ok1 || !ok2 {
		return 0, 0, false
	}
	for i, n := range []value.Number{a, b} {
		if n.X == 0 && float64(a.X+b.X) > 0 {
			continue // the tip
		}
		if !c.sizeWithin(cl.Args[i].At, "`"+cl.Word+"`", n.X) {
			return 0, 0, false
		}
	}
	return a.X * half, b.X * half, true
}
