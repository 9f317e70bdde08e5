package builtin

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

var roundClauses = []Form{
	{"radius", "radius R", "half the diameter"},
	{"diameter", "diameter D", "twice the radius"},
	{"height", "height L", "the length of an upright one"},
	{"length", "length L", "the length along its axis"},
	{"from", "from z = A to z = B", fromDoc + ", in place of its length"},
	{"along", "along y", "the direction of its axis, z when not told"},
	{"centre", "centre (X, Y, Z)", "the middle of its axis; any point of the axis when it is endless or `from` tells its ends"},
}

var cylinderHead = Head{
	Name:    "cylinder",
	Clauses: roundClauses,
	Doc:     "a round bar or bore; without a length it is endless, as a tube or a through hole needs",
	Example: "cylinder radius 5mm, height 4mm",
	Volume:  math.Pi * 25 * 4, // π r² h
	Build:   buildCylinder,
}

func buildCylinder(c *Call) (*value.Body, bool) {
	r, ok := c.radius()
	ax, good := c.axis()
	if !ok || !good {
		return nil, false
	}
	return plainCylinder(r, ax, c.Tolerance), true
}

func plainCylinder(r value.Number, ax axisSpan, tolerance float64) *value.Body {
	n := geom.Sides(r.X, tolerance)
	b := &value.Body{Leaves: 1, Facets: n + 2, Tube: &value.Tube{Point: ax.point, Dir: ax.dir, Radius: r}, Offset: barOffset(r, ax, tolerance)}
	if ax.endless {
		b.Solid, b.Endless = solid.EndlessCylinder(ax.point, ax.dir, r.X), true
	} else {
		b.Solid = solid.Cylinder(r.X, ax.t0, ax.t1).Placed(solid.FrameAt(ax.point, ax.dir))
	}
	return b
}

// radius reads radius or diameter.
func (c *Call) radius() (value.Number, bool) {
	r, d := c.take("radius"), c.take("diameter")
	switch {
	case r != nil && d != nil:
		c.both(r, d, "the size")
		return value.Number{}, false
	case r != nil:
		if !c.noSecond(r) {
			return value.Number{}, false
		}
		return c.size(r, 0)
	case d != nil:
		if !c.noSecond(d) {
			return value.Number{}, false
		}
		n, ok := c.size(d, 0)
		return n.Apply(n.X/2, 0.5, n.Dim), ok
	}
	c.missing("radius", "add `radius` or `diameter` and a length")
	return value.Number{}, false
}

func (c *Call) noSecond(cl *Clause) bool {
	if len(cl.Args) < 2 {
		return true
	}
	c.Report(diag.Diagnostic{
		Code: ClauseUnknown, At: cl.Args[1].At, Message: fmt.Sprintf("a %s has one %s", c.Head, cl.Word),
		Notes: []string{diag.Do("use a cone where the ends differ")},
	})
	return false
}

// axisSpan is an axis through point along dir, from t0 to t1 mm from point.
type axisSpan struct {
	point, dir geom.Vec3
	t0, t1     float64
	endless    bool
}

// axis reads along, height or length or from, and centre.
func (c *Call) axis() (a axisSpan, ok bool) {
	ax, ok := c.direction("along")
	if !ok {
		return a, false
	}
	a.dir = ax.Dir
	size, ok := c.lengthwise(ax)
	if !ok {
		return a, false
	}
	centre, ok := c.centre()
	if !ok {
		return a, false
	}
	i := ax.index()
	if i >= 0 {
		if from := c.takeFrom(ax.Name); from != nil {
			return c.axisFrom(a, ax, from, size, centre)
		}
	}
	if !c.noOtherFrom(ax) {
		return a, false
	}
	a.point = centre.vec()
	if size == nil {
		a.endless = true
		return a, true
	}
	n, ok := c.size(size, 0)
	a.t0, a.t1 = -n.X/2, n.X/2
	if i == 2 && !centre.set[2] {
		a.point.Z = n.X / 2
	}
	return a, ok
}

func (c *Call) axisFrom(a axisSpan, ax *Axis, from, size *Clause, centre spot) (axisSpan, bool) {
	if size != nil {
		c.both(size, from, "the "+size.Word)
		return a, false
	}
	lo, hi, ok := c.span(from)
	p := centre.p
	p[ax.index()] = 0
	a.point = geom.Vec3{X: p[0], Y: p[1], Z: p[2]}
	if ax.Negative {
		lo, hi = -hi, -lo
	}
	a.t0, a.t1 = lo, hi
	return a, ok
}

// noOtherFrom reports `from x` on a body that runs along z.
func (c *Call) noOtherFrom(ax *Axis) bool {
	cl := c.take("from")
	if cl == nil {
		return true
	}
	name := ax.Name
	if name == "" {
		name = "a written direction"
	}
	c.Report(diag.Diagnostic{
		Code: AxisBad, At: cl.At, Message: fmt.Sprintf("this %s runs along %s", c.Head, name),
		Notes: []string{diag.Do("tell its ends along that axis, or its `length`")},
	})
	return false
}

// lengthwise returns the clause that tells the length, or nil.
func (c *Call) lengthwise(ax *Axis) (*Clause, bool) {
	h, l := c.take("height"), c.take("length")
	switch {
	case h != nil && l != nil:
		c.both(h, l, "the length")
		return nil, false
	case h == nil:
		return l, true
	case ax.index() != 2:
		c.Report(diag.Diagnostic{
			Code: AxisBad, At: h.WordAt, Message: fmt.Sprintf("this %s lies down: it has a length, not a height", c.Head),
			Notes: []string{diag.Do("write `length`")},
		})
		return nil, false
	}
	return h, true
}

// direction reads a clause `along AXIS` or `about AXIS`; z when not told.
func (c *Call) direction(word string) (*Axis, bool) {
	cl := c.take(word)
	if cl == nil {
		return axisNamed(2), true
	}
	return c.axisOf(cl)
}

func (c *Call) axisOf(cl *Clause) (*Axis, bool) {
	if cl.Axis == nil {
		c.Report(diag.Diagnostic{Code: AxisBad, At: cl.At, Message: fmt.Sprintf("`%s` lacks an axis", cl.Word),
			Notes: []string{diag.Do("write x, y or z")}})
		return nil, false
	}
	return cl.Axis, cl.Axis.Dir != geom.Vec3{}
}

// plainAxis is direction for bodies that know x, y and z only.
func (c *Call) plainAxis(word string) (int, bool) {
	cl := c.take(word)
	if cl == nil {
		return 2, true
	}
	ax, ok := c.axisOf(cl)
	if !ok {
		return 0, false
	}
	if ax.index() < 0 || ax.Negative {
		c.Report(diag.Diagnostic{Code: AxisBad, At: cl.At, Message: fmt.Sprintf("%s goes %s x, y or z", c.Head, word),
			Notes: []string{diag.Do("turn the body afterwards: `turned 90deg about x`")}})
		return 0, false
	}
	return ax.index(), true
}
