package builtin

import (
	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

var extrudeHead = Head{
	Name: "extrude",
	Area: true,
	Clauses: []Form{
		{"by", "by L", "how far; from the bed up along z, evenly to both sides along x and y"},
		{"from", "from z = A to z = B", fromDoc + ", in place of `by`"},
		{"along", "along y", "the direction, z when not told: along y the sketch is seen from the front, along x from the right"},
		{"taper", "taper A", "leans the walls inward by an angle, away from the bottom, the front or the left, where the area is as drawn; outward below 0"},
		{"bevel", "bevel bottom L", "bevels the rims of an end, those of holes too, at 45 degrees, as against a squashed first layer: bottom or top, along y front or back, along x left or right, or ends"},
		{"round", "round top L", "rounds them by a quarter circle"},
		{"hollow", "hollow L", "leaves a wall of that thickness and takes the inside out"},
		{"closed", "closed bottom L", "closes an end of a hollow body by a floor of that thickness"},
	},
	Doc:     "an area made thick",
	Example: "extrude plate by 4mm",
	Volume:  20 * 10 * 4, // plate is 20 by 10 mm in every example
	Build:   buildExtrude,
}

// quarter turns that stand a sketch up: its x and y become x and z of the
// front view (along y), or y and z of the view from the right (along x).
var upright = [3]geom.Transform{
	{R: [3]geom.Vec3{{Z: 1}, {X: 1}, {Y: 1}}},
	{R: [3]geom.Vec3{{X: 1}, {Z: -1}, {Y: 1}}},
	geom.Identity(),
}

// stretch reads how far a body reaches along an axis, from `by` or from
// `from … to …`; what names that extent in messages.
func (c *Call) stretch(axis int, what string) (lo, hi float64, ok bool) {
	by, from := c.take("by"), c.takeFrom("xyz"[axis:axis+1])
	switch {
	case by != nil && from != nil:
		c.both(by, from, "the "+what)
	case from != nil:
		return c.span(from)
	case by != nil:
		n, ok := c.size(by, 0)
		lo, hi = c.spread(axis, n.X, spot{})
		return lo, hi, ok
	case c.noOtherFrom(axisNamed(axis)):
		c.missing(what, "add `by` and a length")
	}
	return 0, 0, false
}

func buildExtrude(c *Call) (*value.Body, bool) {
	area, ok := c.area()
	axis, good := c.plainAxis("along")
	if !ok || !good {
		return nil, false
	}
	lo, hi, ok := c.stretch(axis, "thickness")
	if !ok {
		return nil, false
	}
	p, ok := c.rings(area)
	if !ok {
		return nil, false
	}
	if axis == 1 {
		lo, hi = -hi, -lo // the drawing is seen from the front, against y
	}
	e := &extrusion{Call: c, area: area, axis: axis, lo: lo, hi: hi}
	b, ok := e.shape(p)
	if !ok {
		return nil, false
	}
	b.Solid = b.Solid.Placed(upright[axis])
	b.Offset = extrusionOffset(e, p)
	return b, true
}

// plainExtrusion is one without shaping.
func plainExtrusion(e *extrusion, p solid.Profile) *value.Body {
	s := solid.ExtrudeShaped(e.area.Profile, e.lo, e.hi, solid.Shaping{DrawnAtEnd: e.axis == 1})
	return &value.Body{Solid: s.Placed(upright[e.axis]), Leaves: 1, Facets: corners(p) + 2, Offset: extrusionOffset(e, p)}
}

// area returns the subject as an area.
func (c *Call) area() (*value.Area, bool) {
	if value.IsBad(c.Subject.Value) {
		return nil, false
	}
	v, f := mustKind("area").Take(c.Head+" takes", c.Subject.Value)
	if f != nil {
		c.fault(c.Subject.At, f)
		return nil, false
	}
	a, ok := v.(*value.Area)
	return a, ok
}

// rings works an area out at the tolerance of the build; a fault in it is
// reported here once.
func (c *Call) rings(a *value.Area) (solid.Profile, bool) {
	p, err := a.Profile(c.Tolerance)
	if err != nil {
		c.fault(c.Subject.At, areaFault(a, err))
		return nil, false
	}
	if len(p) == 0 {
		c.fault(c.Subject.At, value.Faultf(AreaEmpty, "nothing is left of the area %s", a.Name).
			Do("check what is cut away from it"))
		return nil, false
	}
	return p, true
}

// Codes of faults in areas.
const (
	AreaEmpty diag.Code = "area-empty"
	AreaFault diag.Code = "area-fault"
)

func areaFault(a *value.Area, err error) *value.Fault {
	if f, ok := err.(*value.Fault); ok {
		return f
	}
	return value.Faultf(AreaFault, "the area %s cannot be used: %v", a.Name, err)
}

func corners(p solid.Profile) int {
	n := 0
	for _, ring := range p {
		n += len(ring)
	}
	return n
}
