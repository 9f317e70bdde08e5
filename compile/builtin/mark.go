package builtin

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

// Codes of faults in marks.
const (
	MarkNowhere diag.Code = "mark-nowhere"
	MarkLarge   diag.Code = "mark-large"
)

// What a mark is when it is not told, mm: capitals that a 0.4 mm nozzle prints
// well, and three layers of 0.2 mm (common practice).
const (
	markSize  = 5.0
	markDepth = 0.6
)

func markClauses(how Form) []Form {
	return []Form{
		{"on", "on front", "the side it is seen on, upright: front, back, left, right, top or bottom (seen from below, the front up); it lies in the middle of that side of the body so far"},
		{"around", "around TUBE at A", "in place of a side: round a tube, at an angle counted as in placing a body; it lies in the middle of the body so far along the tube"},
		{"size", "size L", "the height of the capitals of a text, 5 mm when not told"},
		how,
		{"at", "at (X, Y)", "where its middle comes, to the right of and above that middle; on a side, with (X, Y, Z) that place of the part itself, on a flat face that looks to that side"},
		{"turned", "turned A", "turns it, counter-clockwise as seen"},
	}
}

// Marks are the steps of a part that letter it: their Example is a step after
// `join box width 40mm, depth 20mm, height 10mm`, and Volume what the part then
// has. Build returns what is joined or cut, nil for an empty text.
var marks = []Head{
	{
		Name: "engrave", Area: true,
		Clauses: markClauses(Form{"depth", "depth L", "how deep it is cut, 0.6 mm when not told"}),
		Doc:     "cuts a text, or an area, into a side of the body or into a round of it: `engrave \"183\" on front`. An empty text cuts nothing",
		Example: "engrave plate on top, depth 0.5mm",
		Volume:  40*20*10 - 200*0.5,
		Build:   func(c *Call) (*value.Body, bool) { return buildMark(c, "depth", true) },
	},
	{
		Name: "emboss", Area: true,
		Clauses: markClauses(Form{"height", "height L", "how high it stands, 0.6 mm when not told"}),
		Doc:     "raises a text, or an area, on a side of the body or on a round of it. An empty text raises nothing",
		Example: "emboss plate on front, height 0.5mm",
		Volume:  40*20*10 + 200*0.5,
		Build:   func(c *Call) (*value.Body, bool) { return buildMark(c, "height", false) },
	},
}

// LookupMark returns the step of that word.
func LookupMark(word string) (*Head, bool) {
	for i := range marks {
		if marks[i].Name == word {
			return &marks[i], true
		}
	}
	return nil, false
}

func isMark(h *Head) bool {
	_, ok := LookupMark(h.Name)
	return ok
}

// Mark makes what a mark joins or cuts; nil for nothing.
func (c *Call) Mark(h *Head) (*value.Body, bool) {
	if !c.noneTwice() {
		return nil, false
	}
	b, ok := h.Build(c)
	if !ok {
		return nil, false
	}
	for _, cl := range c.Clauses {
		if !cl.used {
			c.Report(c.unknown(cl, h))
			ok = false
		}
	}
	return b, ok
}

// side of a body as a reader sees it.
type side struct{ right, up, out geom.Vec3 }

var sides = map[string]side{
	"front":  {geom.Vec3{X: 1}, geom.Vec3{Z: 1}, geom.Vec3{Y: -1}},
	"back":   {geom.Vec3{X: -1}, geom.Vec3{Z: 1}, geom.Vec3{Y: 1}},
	"left":   {geom.Vec3{Y: -1}, geom.Vec3{Z: 1}, geom.Vec3{X: -1}},
	"right":  {geom.Vec3{Y: 1}, geom.Vec3{Z: 1}, geom.Vec3{X: 1}},
	"top":    {geom.Vec3{X: 1}, geom.Vec3{Y: 1}, geom.Vec3{Z: 1}},
	"bottom": {geom.Vec3{X: 1}, geom.Vec3{Y: -1}, geom.Vec3{Z: -1}},
}

func buildMark(c *Call, word string, sunk bool) (*value.Body, bool) {
	area, empty, ok := c.marked()
	thick, good := c.sizeOr(word, markDepth)
	at, placed, fine := c.markAt()
	turn := c.take("turned")
	if !ok || !good || !fine {
		return nil, false
	}
	if turn != nil {
		if turn.Axis != nil {
			c.Report(diag.Diagnostic{Code: AxisBad, At: turn.Axis.At, Message: "a mark is turned where it lies, about no axis",
				Notes: []string{diag.Do("write the angle only: `turned 90deg`")}})
			return nil, false
		}
		a, ok := c.quantity(turn, 0, "angle")
		if !ok {
			return nil, false
		}
		if !empty {
			area = movedArea(area, a.X, geom.Vec2{})
		}
	}
	on, round := c.take("on"), c.take("around")
	switch {
	case on != nil && round != nil:
		c.both(on, round, "where this lies")
		return nil, false
	case on == nil && round == nil:
		c.missing("place", "add the side it is seen on, such as `on front`, or `around` and a tube")
		return nil, false
	case round != nil:
		return c.markRound(area, empty, round, at, placed, thick, sunk)
	case empty:
		return nil, true
	}
	return c.markSide(area, on, at, placed, thick, sunk)
}

// marked returns what is lettered, centred; empty for a text without signs.
func (c *Call) marked() (a *value.Area, empty, ok bool) {
	size := c.take("size")
	text, isText := c.Subject.Value.(value.Text)
	if !isText {
		if a, f := AreaOf(c.Subject.Value); a == nil && f == nil && !value.IsBad(c.Subject.Value) {
			c.Report(diag.Diagnostic{Code: KindMismatch, At: c.Subject.At, Message: fmt.Sprintf("`%s` takes a text or an area, this is %s", c.Head, withValue(c.Subject.Value)),
				Notes: []string{diag.Do("write a text in quotes, or `text(…)` to make one of numbers")}})
			return nil, false, false
		}
		a, ok := c.area()
		if ok && size != nil {
			c.Report(diag.Diagnostic{Code: ClauseUnknown, At: size.At, Message: "`size` is said of a text; an area has its own",
				Notes: []string{diag.Do("take it out, or letter a text")}})
			return nil, false, false
		}
		return a, false, ok
	}
	caps := markSize
	if size != nil {
		n, ok := c.size(size, 0)
		if !ok {
			return nil, false, false
		}
		caps = n.X
	}
	a, f := Lettering(string(text), caps, "middle")
	if f != nil {
		c.fault(c.Subject.At, f)
		return nil, false, false
	}
	c.Capitals = caps
	p, err := a.Profile(c.Tolerance)
	return a, err == nil && len(p) == 0, true
}

func (c *Call) sizeOr(word string, def float64) (float64, bool) {
	cl := c.take(word)
	if cl == nil {
		return def, true
	}
	n, ok := c.size(cl, 0)
	return n.X, ok
}

func (c *Call) markAt() (at spot, placed, ok bool) {
	cl := c.take("at")
	if cl == nil {
		return spot{}, false, true
	}
	at, ok = c.spot(cl, 0)
	return at, true, ok
}

func (c *Call) markRound(area *value.Area, empty bool, cl *Clause, at spot, placed bool, thick float64, sunk bool) (*value.Body, bool) {
	tube, angle, ok := c.tubeAt(cl)
	if !ok || empty {
		return nil, ok
	}
	if placed && at.set[2] {
		c.Report(diag.Diagnostic{Code: MarkNowhere, At: at.at, Message: "round a tube, `at` takes two coordinates: how far round and how far along",
			Notes: []string{diag.Do("leave the third out")}})
		return nil, false
	}
	m, err := c.SoFar()
	if err != nil {
		c.noSides(err)
		return nil, false
	}
	lo, hi := alongTube(m, tube)
	area = movedArea(area, 0, geom.Vec2{X: at.p[0], Y: float64((lo+hi)/2) + at.p[1]})
	depth, height := thick, 0.0
	if !sunk {
		depth, height = 0, thick
	}
	b, ok := c.wrapped(area, tube, angle, depth, height, true)
	if !ok {
		return nil, false
	}
	if p, ok := c.rings(area); ok {
		c.overTube(p, lo, hi)
	}
	return b, true
}

// alongTube returns from where to where a mesh reaches along a tube, mm from
// the point of its axis, the way that y runs on it.
func alongTube(m *mesh.Mesh, t *value.Tube) (lo, hi float64) {
	y := column(OnTube(t, 0), 1)
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range m.Vertices {
		h := v.Sub(t.Point).Dot(y)
		lo, hi = min(lo, h), max(hi, h)
	}
	return lo, hi
}

// overTube warns of a mark round a tube that reaches beyond the body, which
// lies from lo to hi along it.
func (c *Call) overTube(p solid.Profile, lo, hi float64) {
	least, most := math.Inf(1), math.Inf(-1)
	for _, r := range p {
		for _, v := range r {
			least, most = min(least, v.Y), max(most, v.Y)
		}
	}
	if least >= lo-markSlack && most <= hi+markSlack {
		return
	}
	c.Report(diag.Diagnostic{Code: MarkLarge, Severity: diag.Warning, At: c.Subject.At,
		Message: fmt.Sprintf("this reaches beyond the body along the tube: it lies from %s to %s of the middle, the body from %s to %s",
			tenth(least-(lo+hi)/2), tenth(most-(lo+hi)/2), tenth((lo-hi)/2), tenth((hi-lo)/2)),
		Notes: []string{diag.Do("make it smaller with `size`, or move it with `at`: (0, 0) is the middle of the body along the tube")}})
}

func (c *Call) markSide(area *value.Area, on *Clause, at spot, placed bool, thick float64, sunk bool) (*value.Body, bool) {
	s, ok := sides[on.Second]
	if !ok {
		c.Report(diag.Diagnostic{Code: MarkNowhere, At: on.At, Message: "`on` takes a side of the body",
			Notes: []string{diag.Do("write front, back, left, right, top or bottom")}})
		return nil, false
	}
	p, ok := c.rings(area)
	if !ok {
		return nil, false
	}
	middle, over := at.vec(), false
	if !at.set[2] {
		box, ok := c.Extent()
		if !ok {
			return nil, false
		}
		centre := box.Min.Add(box.Max).Scale(0.5)
		half := box.Size().Scale(0.5)
		reach := func(d geom.Vec3) float64 { return math.Abs(half.Dot(d)) }
		middle = centre.Add(s.out.Scale(reach(s.out))).Add(s.right.Scale(at.p[0])).Add(s.up.Scale(at.p[1]))
		over = c.overSide(p, on, at, reach(s.right), reach(s.up))
	}
	lo, hi := 0.0, thick
	if sunk {
		lo, hi = -thick, 0
	}
	frame := geom.Transform{
		R: [3]geom.Vec3{{X: s.right.X, Y: s.up.X, Z: s.out.X}, {X: s.right.Y, Y: s.up.Y, Z: s.out.Y}, {X: s.right.Z, Y: s.up.Z, Z: s.out.Z}},
		T: middle,
	}
	if !over {
		c.overAir(p, on.Second, frame, thick, sunk)
	}
	return &value.Body{Solid: solid.ExtrudeArea(area.Profile, lo, hi).Placed(frame), Leaves: 1, Facets: 4 * corners(p)}, true
}

// markSlack is how far a mark may reach over before that is told, mm.
const markSlack = 1e-3

func tenth(v float64) value.Number { return value.Length(math.Round(v*10) / 10) }

// overSide warns of a mark that reaches beyond its side, and reports whether it
// did.
func (c *Call) overSide(p solid.Profile, on *Clause, at spot, right, up float64) bool {
	var over bool
	lo, hi := p[0][0], p[0][0]
	for _, r := range p {
		for _, v := range r {
			lo = geom.Vec2{X: min(lo.X, v.X), Y: min(lo.Y, v.Y)}
			hi = geom.Vec2{X: max(hi.X, v.X), Y: max(hi.Y, v.Y)}
			over = over || math.Abs(v.X+at.p[0]) > right+markSlack || math.Abs(v.Y+at.p[1]) > up+markSlack
		}
	}
	if !over {
		return false
	}
	c.Report(diag.Diagnostic{Code: MarkLarge, Severity: diag.Warning, At: c.Subject.At,
		Message: fmt.Sprintf("this reaches beyond the %s: it takes %s by %s, the %s has %s by %s", on.Second,
			tenth(hi.X-lo.X), tenth(hi.Y-lo.Y), on.Second, tenth(2*right), tenth(2*up)),
		Notes: []string{diag.Do("make it smaller with `size`, shorter, or move it with `at`")}})
	return true
}

// Extent returns the box round the body that a mark is put on.
func (c *Call) Extent() (geom.Box, bool) {
	m, err := c.SoFar()
	if err != nil {
		c.noSides(err)
		return geom.Box{}, false
	}
	return m.Bounds(), true
}

func (c *Call) noSides(err error) {
	c.Report(diag.Diagnostic{Code: MarkNowhere, At: c.At, Message: fmt.Sprintf("the body so far has no sides to %s: %v", c.Head, err),
		Notes: []string{diag.Do("look at the steps before this one")}})
}
