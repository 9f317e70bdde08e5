package builtin

import (
	"errors"
	"fmt"
	"math"

	"perch/compile/sketch"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
)

// Codes of faults in shaped extrusions.
const (
	EndUnknown  diag.Code = "end-unknown"
	ShapeTight  diag.Code = "shape-tight"
	TaperTooFar diag.Code = "taper-too-far"
)

// endNames are the lower and the upper end along x, y and z.
var endNames = [3][2]string{{"left", "right"}, {"front", "back"}, {"bottom", "top"}}

// extrusion is an extrude phrase whose area and ends are known; lo and hi are
// the ends in the frame of the drawing.
type extrusion struct {
	*Call
	area   *value.Area
	axis   int
	lo, hi float64
}

// ends is what is told of the lower and the upper end, in the frame of the
// drawing.
type ends [2]struct {
	by float64
	cl *Clause
}

// shape makes the body, shaped as the clauses taper, bevel, round, hollow and
// closed tell.
func (e *extrusion) shape(p solid.Profile) (*value.Body, bool) {
	s := solid.Shaping{DrawnAtEnd: e.axis == 1}
	at := e.At
	if cl := e.take("taper"); cl != nil {
		a, ok := e.quantity(cl, 0, "angle")
		if !ok || !e.taperWithin(cl.Args[0].At, a) {
			return nil, false
		}
		s.Taper, at = a.X, cl.At
	}
	for _, round := range []bool{false, true} {
		word := map[bool]string{false: "bevel", true: "round"}[round]
		rims, ok := e.ends(word)
		if !ok {
			return nil, false
		}
		for i, to := range []*solid.Rim{&s.Start, &s.End} {
			if rims[i].cl == nil {
				continue
			}
			if to.Size != 0 {
				e.Report(diag.Diagnostic{Code: ClauseTwice, At: rims[i].cl.At, Message: "this rim is bevelled and rounded",
					Notes: []string{diag.Do("keep one of the two")}})
				return nil, false
			}
			*to, at = solid.Rim{Size: rims[i].by, Round: round}, rims[i].cl.At
		}
	}
	if err := solid.CheckShaped(p, e.lo, e.hi, s, e.Tolerance); err != nil {
		e.fault(at, e.tight(err, s))
		return nil, false
	}
	b := &value.Body{Solid: solid.ExtrudeShaped(e.area.Profile, e.lo, e.hi, s), Leaves: 1, Facets: corners(p) + 2}
	if (s != solid.Shaping{}) {
		b.Facets *= 8
	}
	return e.hollowed(b, s)
}

func (e *extrusion) taperWithin(at source.Span, a value.Number) bool {
	const most = 80 * math.Pi / 180
	if math.Abs(a.X) <= most {
		return true
	}
	e.Report(diag.Diagnostic{Code: TaperTooFar, At: at, Message: fmt.Sprintf("walls lean by 80 deg at most, this is %s", a),
		Notes: []string{diag.Do("make the body flatter instead, or use a cone")}})
	return false
}

// ends reads all clauses of a word that are said of an end. An extrusion
// along y runs backward in the frame of its drawing.
func (e *extrusion) ends(word string) (ends, bool) { return e.Call.ends(word, e.axis, e.axis == 1) }

// ends reads all clauses of a word that are said of an end of a body along an
// axis; backward tells that the body itself runs against it.
func (c *Call) ends(word string, axis int, backward bool) (ends, bool) {
	var out ends
	lower, upper := 0, 1
	if backward {
		lower, upper = 1, 0
	}
	for cl := c.take(word); cl != nil; cl = c.take(word) {
		n, ok := c.size(cl, 0)
		if !ok {
			return out, false
		}
		var which []int
		switch cl.Second {
		case endNames[axis][0]:
			which = []int{lower}
		case endNames[axis][1]:
			which = []int{upper}
		case "ends":
			which = []int{0, 1}
		default:
			c.Report(diag.Diagnostic{Code: EndUnknown, At: cl.At,
				Message: fmt.Sprintf("this %s runs along %s: it has no %s end", c.Head, "xyz"[axis:axis+1], cl.Second),
				Notes:   []string{diag.Do(fmt.Sprintf("write %s, %s or ends", endNames[axis][0], endNames[axis][1]))}})
			return out, false
		}
		for _, i := range which {
			if out[i].cl != nil {
				c.both(out[i].cl, cl, "the same end")
				return out, false
			}
			out[i].by, out[i].cl = n.X, cl
		}
	}
	return out, true
}

// noWall says that the rims take up the whole height of the body.
func (e *extrusion) noWall(s solid.Shaping) *value.Fault {
	rims := fmt.Sprintf("the rims of %s and %s together", value.Length(s.Start.Size), value.Length(s.End.Size))
	if s.Start.Size == 0 || s.End.Size == 0 {
		rims = fmt.Sprintf("a rim of %s", value.Length(s.Start.Size+s.End.Size))
	}
	return value.Faultf(ShapeTight, "%s would leave no upright wall of the body, which is %s high", rims, value.Length(e.hi-e.lo)).
		Do("make the rims smaller, or the body higher")
}

// tight says in the words of the workshop why a shaped body cannot be.
func (e *extrusion) tight(err error, s solid.Shaping) *value.Fault {
	var moved *solid.MovedError
	if !errors.As(err, &moved) {
		if errors.Is(err, solid.ErrRims) {
			return e.noWall(s)
		}
		return value.Faultf(ShapeTight, "this body cannot be: %v", err)
	}
	what := "after the walls have come in by %s"
	if s.Taper < 0 {
		what = "after the walls have moved by %s"
	}
	where := fmt.Sprintf(what, value.Length(moved.Way))
	if s.Start.Size == 0 && s.End.Size == 0 && s.Taper != 0 {
		where += fmt.Sprintf(", %s along the body", value.Length(moved.Way/math.Abs(math.Tan(s.Taper))))
	}
	f := value.Faultf(ShapeTight, "the area %s is too narrow: %s, %v", e.area.Name, where, moved.Cause)
	return f.Do("lean the walls less, make the rim smaller, or the area wider there")
}

// hollowed takes the inside out where `hollow` asks for it.
func (e *extrusion) hollowed(b *value.Body, s solid.Shaping) (*value.Body, bool) {
	cl := e.take("hollow")
	closed, ok := e.ends("closed")
	if !ok {
		return nil, false
	}
	if cl == nil {
		for _, c := range closed {
			if c.cl != nil {
				e.Report(diag.Diagnostic{Code: ClauseMissing, At: c.cl.At, Message: "only a hollow body has an end to close",
					Notes: []string{diag.Do("add `hollow` and the thickness of its wall")}})
				return nil, false
			}
		}
		return b, true
	}
	wall, ok := e.size(cl, 0)
	if !ok {
		return nil, false
	}
	lo, hi := e.lo+closed[0].by, e.hi-closed[1].by
	if hi-lo < MinSize {
		e.Report(diag.Diagnostic{Code: ShapeTight, At: cl.At, Message: "the closed ends leave no room between them",
			Notes: []string{diag.Do("make them thinner, or the body longer")}})
		return nil, false
	}
	// The walls lean from the end where the area is as drawn.
	in := wall.X + float64(closed[0].by*math.Tan(s.Taper))
	if s.DrawnAtEnd {
		in = wall.X + float64(closed[1].by*math.Tan(s.Taper))
	}
	inner := &value.Area{Name: e.area.Name, Area: sketch.Grown(e.area.Area, -in, true)}
	p, err := inner.Profile(e.Tolerance)
	if err == nil && len(p) == 0 {
		e.fault(cl.At, value.Faultf(ShapeTight, "walls of %s leave no room inside", wall).Do("make them thinner; the area %s is too narrow for them", e.area.Name))
		return nil, false
	}
	bare := solid.Shaping{Taper: s.Taper, DrawnAtEnd: s.DrawnAtEnd}
	if err == nil {
		err = solid.CheckShaped(p, lo, hi, bare, e.Tolerance)
	}
	if err != nil {
		e.fault(cl.At, e.tight(err, bare))
		return nil, false
	}
	b.Solid = solid.Cut(b.Solid, solid.ExtrudeShaped(inner.Profile, lo, hi, bare))
	b.Leaves, b.Facets = 2, b.Facets+8*(corners(p)+2)
	return b, true
}
