package builtin

import (
	"errors"
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/unit"
)

// wrapLap is how far a wrapped area reaches into the tube it is raised on, or
// out of the one it is sunk in, mm: the chords of the two do not coincide.
const wrapLap = 0.1

var wrapHead = Head{
	Name: "wrap",
	Area: true,
	Clauses: []Form{
		{"around", "around TUBE at A", "the tube it lies on, and where its x = 0 comes: the angle counts from the top of the tube, or from x when it is upright; y runs along the tube"},
		{"height", "height L", "how high it stands on the tube, to be joined; it reaches 0.1 mm into the tube"},
		{"depth", "depth L", "how deep it goes into the tube, to be cut; it reaches 0.1 mm out of the tube"},
	},
	Doc:     "an area bent round a tube without being stretched: lettering, ribs and slots that follow the tube, once round at most",
	Example: "wrap plate around (cylinder radius 30mm, along z) at 20deg, height 1mm",
	Volume:  200 * (31*31 - 29.9*29.9) / 60, // A (r2² - r1²) / 2R
	Build:   buildWrap,
}

func buildWrap(c *Call) (*value.Body, bool) {
	area, ok := c.area()
	if !ok {
		return nil, false
	}
	cl := c.take("around")
	if cl == nil {
		c.missing("tube", "add `around`, a cylinder and `at` with an angle")
		return nil, false
	}
	tube, angle, ok := c.tubeAt(cl)
	if !ok {
		return nil, false
	}
	height, depth := c.take("height"), c.take("depth")
	switch {
	case height != nil && depth != nil:
		c.both(height, depth, "how thick it is")
		return nil, false
	case height != nil:
		n, ok := c.size(height, 0)
		return c.wrapped(area, tube, angle, 0, n.X, ok)
	case depth != nil:
		n, ok := c.size(depth, 0)
		return c.wrapped(area, tube, angle, n.X, 0, ok)
	}
	c.missing("thickness", "add `height` to raise it, to be joined, or `depth` to sink it, to be cut")
	return nil, false
}

// wrapped lays an area on a tube and makes it thick from depth below to height
// above its surface, with a lap on the side where that is 0.
func (c *Call) wrapped(area *value.Area, tube *value.Tube, angle, depth, height float64, ok bool) (*value.Body, bool) {
	if !ok {
		return nil, false
	}
	p, ok := c.rings(area)
	if !ok {
		return nil, false
	}
	r := tube.Radius.As(unit.Length).X
	if depth >= r-MinSize {
		c.fault(c.At, value.Faultf(ShapeTight, "a depth of %s reaches the middle of a tube of radius %s", value.Length(depth), value.Length(r)).
			Do("make it less deep"))
		return nil, false
	}
	lap := max(wrapLap, 2*c.Tolerance)
	if depth == 0 {
		depth = min(lap, r/2)
	} else {
		height = lap
	}
	at := OnTube(tube, angle)
	x, y, out := column(at, 0), column(at, 1), column(at, 2)
	frame := geom.Transform{
		R: [3]geom.Vec3{{X: out.X, Y: x.X, Z: y.X}, {X: out.Y, Y: x.Y, Z: y.Y}, {X: out.Z, Y: x.Z, Z: y.Z}},
		T: tube.Point,
	}
	s := solid.WrapArea(area.Profile, r, r-depth, r+height)
	if err := solid.CheckLeaf(s, c.Tolerance); err != nil {
		f := value.Faultf(ShapeTight, "the area %s cannot be wrapped round a radius of %s: %v", area.Name, value.Length(r), err)
		if errors.Is(err, solid.ErrWrapLong) {
			f.Do("make it smaller, or the tube larger")
		} else {
			f.Do("make its details coarser")
		}
		c.fault(c.Subject.At, f)
		return nil, false
	}
	columns := geom.Sides(r+height, c.Tolerance)
	return &value.Body{Solid: s.Placed(frame), Leaves: 1, Facets: 4 * (corners(p) + columns)}, true
}

// column returns where a motion takes an axis.
func column(t geom.Transform, i int) geom.Vec3 {
	at := func(v geom.Vec3) float64 { return [3]float64{v.X, v.Y, v.Z}[i] }
	return geom.Vec3{X: at(t.R[0]), Y: at(t.R[1]), Z: at(t.R[2])}
}

// tubeAt reads `around TUBE at A`.
func (c *Call) tubeAt(cl *Clause) (*value.Tube, float64, bool) {
	if value.IsBad(cl.Args[0].Value) {
		return nil, 0, false
	}
	tube, ok := cl.Args[0].Value.(*value.Body)
	if !ok || tube.Tube == nil {
		what := "a body that is no plain cylinder"
		if !ok {
			what = withValue(cl.Args[0].Value)
		}
		c.Report(diag.Diagnostic{Code: NoTube, At: cl.Args[0].At,
			Message: fmt.Sprintf("`around` takes a tube, this is %s", what),
			Notes:   []string{diag.Do("give a cylinder, such as `mating pipe = cylinder radius 60mm, along y`")}})
		return nil, 0, false
	}
	a, ok := c.quantity(cl, 1, "angle")
	return tube.Tube, math.Remainder(a.X, 2*math.Pi), ok
}
