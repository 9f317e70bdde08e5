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

// The rule of place: what is not told where it is stands on the bed, centred.
// Along z a body runs from 0 up, along x and y it lies evenly about 0.

const (
	centreDoc = "the middle of the body; (x, y) leaves it standing on the bed"
	fromDoc   = "both ends along one axis"
)

var boxHead = Head{
	Name: "box",
	Clauses: []Form{
		{"width", "width L", "the extent along x"},
		{"depth", "depth L", "the extent along y"},
		{"height", "height L", "the extent along z"},
		{"from", "from z = A to z = B", fromDoc + ", in place of its size"},
		{"centre", "centre (X, Y, Z)", centreDoc},
	},
	Doc:     "a box with its sides along x, y and z",
	Example: "box width 3mm, depth 4mm, from z = -1mm to z = 4mm",
	Volume:  3 * 4 * 5,
	Build:   buildBox,
}

func buildBox(c *Call) (*value.Body, bool) {
	centre, ok := c.centre()
	var lo, hi [3]float64
	for i, word := range []string{"width", "depth", "height"} {
		a, b, good := c.extent(i, word, centre)
		lo[i], hi[i], ok = a, b, ok && good
	}
	if !ok {
		return nil, false
	}
	s := solid.Box(geom.Vec3{X: lo[0], Y: lo[1], Z: lo[2]}, geom.Vec3{X: hi[0], Y: hi[1], Z: hi[2]})
	return &value.Body{Solid: s, Leaves: 1, Facets: 6}, true
}

// centre reads the clause centre, or returns an empty spot.
func (c *Call) centre() (spot, bool) {
	if cl := c.take("centre"); cl != nil {
		return c.spot(cl, 0)
	}
	return spot{}, true
}

// extent settles one axis of a box.
func (c *Call) extent(axis int, word string, centre spot) (lo, hi float64, ok bool) {
	size, from := c.take(word), c.takeFrom("xyz"[axis:axis+1])
	switch {
	case size != nil && from != nil:
		c.both(size, from, "the "+word)
		return 0, 0, false
	case from != nil:
		lo, hi, ok = c.span(from)
		return lo, hi, ok && c.centreAgrees(centre, axis, lo, hi)
	case size == nil:
		c.missing(word, fmt.Sprintf("add `%s` and a length, or `from %c = … to %c = …`", word, "xyz"[axis], "xyz"[axis]))
		return 0, 0, false
	}
	n, ok := c.size(size, 0)
	lo, hi = c.spread(axis, n.X, centre)
	return lo, hi, ok
}

// spread places a size by the rule of place or about a centre.
func (c *Call) spread(axis int, size float64, centre spot) (lo, hi float64) {
	switch {
	case centre.set[axis]:
		return centre.p[axis] - size/2, centre.p[axis] + size/2
	case axis == 2:
		return 0, size
	}
	return -size / 2, size / 2
}

// centreAgrees reports a centre that contradicts `from` on the same axis; a
// bare 0 says nothing.
func (c *Call) centreAgrees(s spot, axis int, lo, hi float64) bool {
	if !s.set[axis] || s.any[axis] || math.Abs(s.p[axis]-(lo+hi)/2) <= 1e-9 {
		return true
	}
	c.Report(diag.Diagnostic{
		Code: ClauseTwice, At: s.at, Message: fmt.Sprintf("the place along %c is told twice: by `from` and by `centre`", "xyz"[axis]),
		Notes: []string{diag.Do(fmt.Sprintf("write 0 for %c in the centre, or a size in place of `from`", "xyz"[axis]))},
	})
	return false
}

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
	n := solid.Sides(r.X, c.Tolerance)
	b := &value.Body{Leaves: 1, Facets: n + 2, Tube: &value.Tube{Point: ax.point, Dir: ax.dir, Radius: r}}
	if ax.endless {
		b.Solid, b.Endless = solid.EndlessCylinder(ax.point, ax.dir, r.X), true
	} else {
		b.Solid = solid.Cylinder(r.X, ax.t0, ax.t1).Placed(solid.FrameAt(ax.point, ax.dir))
	}
	return b, true
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
	return &value.Body{Solid: s, Leaves: 1, Facets: solid.Sides(max(r0, r1), c.Tolerance) + 2}, true
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
	n := solid.Sides(r.X, c.Tolerance)
	return &value.Body{Solid: solid.Ball(r.X).Placed(geom.Move(p)), Leaves: 1, Facets: n * n / 2}, true
}

var extrudeHead = Head{
	Name: "extrude",
	Area: true,
	Clauses: []Form{
		{"by", "by L", "how far; from the bed up along z, evenly to both sides along x and y"},
		{"from", "from z = A to z = B", fromDoc + ", in place of `by`"},
		{"along", "along y", "the direction, z when not told: along y the sketch is seen from the front, along x from the right"},
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

func buildExtrude(c *Call) (*value.Body, bool) {
	area, ok := c.area()
	axis, good := c.plainAxis("along")
	if !ok || !good {
		return nil, false
	}
	by, from := c.take("by"), c.takeFrom("xyz"[axis:axis+1])
	var lo, hi float64
	switch {
	case by != nil && from != nil:
		c.both(by, from, "the thickness")
		return nil, false
	case from != nil:
		lo, hi, ok = c.span(from)
	case by != nil:
		var n value.Number
		n, ok = c.size(by, 0)
		lo, hi = c.spread(axis, n.X, spot{})
	case !c.noOtherFrom(axisNamed(axis)):
		return nil, false
	default:
		c.missing("thickness", "add `by` and a length")
		return nil, false
	}
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
	s := solid.ExtrudeArea(area.Profile, lo, hi).Placed(upright[axis])
	return &value.Body{Solid: s, Leaves: 1, Facets: corners(p) + 2}, true
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

// around turns z to the axis, and the start to the next axis in the order
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
	return &value.Body{Solid: s, Leaves: 1, Facets: corners(p) * solid.Sides(far, c.Tolerance)}, true
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
