package builtin

import (
	"errors"
	"fmt"

	"perch/compile/geom"
	"perch/compile/sketch"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

// PathBad is the code of faults in what an area is led along.
const PathBad diag.Code = "path-bad"

var sweepHead = Head{
	Name: "sweep", Area: true, Along: true,
	Clauses: []Form{
		{"along", "along PATH", "a path of a sketch, or a sketch with one path: lines and arcs, in x and y of the part; two lines that meet at an angle are mitred, arcs must run on smoothly"},
	},
	Doc:     "an area led along a path, square to it and upright: y of the area is z, x points to the left of the way, and its origin stays on the path",
	Example: "sweep plate along hook",
	Volume:  200 * (30 + 15*3.141592653589793), // Pappus: 200 mm² over 30 mm and a quarter of 30 mm
	Build:   buildSweep,
}

// courser is a value that an area can be led along.
type courser interface {
	Course() (way []sketch.Curve, closed bool, fault *value.Fault)
}

func buildSweep(c *Call) (*value.Body, bool) {
	area, ok := c.area()
	if !ok {
		return nil, false
	}
	cl := c.take("along")
	if cl == nil {
		c.missing("path", "add `along` and the path of a sketch")
		return nil, false
	}
	if len(cl.Args) == 0 {
		c.Report(diag.Diagnostic{Code: PathBad, At: cl.At, Message: "an area is swept along a path, this is an axis",
			Notes: []string{diag.Do("`extrude` it along an axis, or draw a path in a sketch: `path way { from (0, 0) … }`")}})
		return nil, false
	}
	at := cl.Args[0]
	if value.IsBad(at.Value) {
		return nil, false
	}
	var way []sketch.Curve
	var closed bool
	var f *value.Fault
	if p, ok := at.Value.(courser); ok {
		way, closed, f = p.Course()
	}
	switch {
	case f != nil:
		c.fault(at.At, f)
		return nil, false
	case len(way) == 0:
		c.Report(diag.Diagnostic{Code: PathBad, At: at.At, Message: fmt.Sprintf("an area is swept along a path, this is %s", withValue(at.Value)),
			Notes: []string{diag.Do("draw one in a sketch: `path way { from (0, 0) line up 20mm … }`, and name it as `hook.way`")}})
		return nil, false
	}
	p, ok := c.rings(area)
	if !ok {
		return nil, false
	}
	s := solid.CourseArea(area.Profile, course(way, closed))
	if err := solid.CheckLeaf(s, c.Tolerance); err != nil {
		c.fault(at.At, sweepFault(area, err))
		return nil, false
	}
	steps := len(way)
	for _, k := range way {
		if k.Round {
			steps += geom.Sides(k.Radius+10, c.Tolerance)
		}
	}
	return &value.Body{Solid: s, Leaves: 1, Facets: 2 * corners(p) * steps}, true
}

func course(way []sketch.Curve, closed bool) solid.Course {
	out := solid.Course{Closed: closed}
	for i := range way {
		k := &way[i]
		piece := solid.Piece{A: k.A, B: k.B}
		if k.Round {
			piece.Centre, piece.Turn = k.Centre, k.Sweep()
		}
		out.Pieces = append(out.Pieces, piece)
	}
	return out
}

func sweepFault(a *value.Area, err error) *value.Fault {
	f := value.Faultf(ShapeTight, "the area %s cannot be led along this path: %v", a.Name, err)
	switch {
	case errors.Is(err, solid.ErrBendTight):
		return f.Do("make the radius of the arc larger, or the area narrower to that side")
	case errors.Is(err, solid.ErrKink):
		return f.Do("let the arc run on smoothly (`tangent`, or `arc left` in a walk), or round the corner: `round b by 6mm`")
	case errors.Is(err, solid.ErrFolds):
		return f.Why("the body would run through itself").Do("lead the path farther apart, or make the area smaller")
	}
	return f.Do("look at the path and the area")
}
