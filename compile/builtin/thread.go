package builtin

import (
	"fmt"
	"math"
	"strings"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/spell"
)

// Codes of faults in threads.
const (
	ThreadUnknown diag.Code = "thread-unknown"
	ThreadShort   diag.Code = "thread-short"
)

// thread is a designation with its major diameter and pitch, mm.
type thread struct {
	name string
	solid.ThreadForm
}

func metric(name string, d, p float64) thread {
	return thread{name, solid.ThreadForm{Major: d, Pitch: p}}
}

// threads: ISO 261 coarse and fine, the two of tripods (ISO 1222: 1/4-20 UNC
// and 3/8-16 UNC, ASME B1.1), and those of filters and telescope adapters,
// which are common practice.
var threads = []thread{
	metric("M2", 2, 0.4), metric("M2.5", 2.5, 0.45), metric("M3", 3, 0.5), metric("M4", 4, 0.7),
	metric("M5", 5, 0.8), metric("M6", 6, 1), metric("M8", 8, 1.25), metric("M10", 10, 1.5), metric("M12", 12, 1.75),
	metric("M8x1", 8, 1), metric("M10x1.25", 10, 1.25),
	metric("M28.5x0.6", 28.5, 0.6), metric("M42x0.75", 42, 0.75), metric("M48x0.75", 48, 0.75), metric("M54x0.75", 54, 0.75),
	metric("1/4-20", 6.35, 1.27), metric("3/8-16", 9.525, 1.5875),
}

// threadAllowance is what a printed thread needs on its diameter when none is
// told, mm: common practice for a 0.4 mm nozzle, to be tried.
const threadAllowance = 0.2

var threadClauses = []Form{
	{"size", "size \"M6\"", "its designation: " + threadNames()},
	{"height", "height L", "the length of an upright one"},
	{"length", "length L", "the length along its axis"},
	{"from", "from z = A to z = B", fromDoc + ", in place of its length"},
	{"along", "along y", "the direction of its axis, z when not told"},
	{"centre", "centre (X, Y, Z)", "the middle of its axis; any point of it when `from` tells its ends"},
	{"allowance", "allowance L", "play on the diameter, for printing: 0.2 mm when not told; taken off a thread, added to a tap"},
	{"bevel", "bevel top L", "a lead-in of that size at one end, or at both `ends`; one of the depth of the thread at both ends when none is told"},
}

// printedM6 is the section of an M6 thread that is e mm wider, mm²: a core and
// a ridge led round it, by Pappus.
func printedM6(e float64) float64 {
	h := 0.625 * math.Sqrt(3) / 2
	core := 3 + e/2 - h
	return float64(math.Pi*core*core) + float64(2*math.Pi*(core+float64(h*(2./8+3./4)/(3*7./8)))*h*7/16)
}

var threadHead = Head{
	Name:    "thread",
	Clauses: threadClauses,
	Doc:     "a right-hand screw thread by its standard designation, full of material: the outside of a screw",
	Example: "thread size \"M6\", height 10mm, allowance 0, bevel ends 0.002mm",
	Volume:  10 * printedM6(0),
	Build:   func(c *Call) (*value.Body, bool) { return buildThread(c, solid.Thread) },
}

var tapHead = Head{
	Name:    "tap",
	Clauses: threadClauses,
	Doc:     "what cuts the same thread into a bore that is not there yet: `cut tap …`",
	Example: "tap size \"M6\", height 10mm, allowance 0.4mm, bevel ends 0.002mm",
	Volume:  10 * printedM6(0.4),
	Build:   func(c *Call) (*value.Body, bool) { return buildThread(c, solid.Tap) },
}

func threadNames() string {
	names := make([]string, len(threads))
	for i, t := range threads {
		names[i] = t.name
	}
	return strings.Join(names, ", ")
}

func buildThread(c *Call, make func(f solid.ThreadForm, allowance, z0, z1, start, end float64) *solid.Body) (*value.Body, bool) {
	cl := c.take("size")
	if cl == nil {
		c.missing("size", "add its designation, such as `size \"M6\"`")
		return nil, false
	}
	th, ok := c.thread(cl)
	along := 2
	for _, o := range c.Clauses {
		if o.Word == "along" && o.Axis != nil {
			along = o.Axis.index()
		}
	}
	backward := false
	for _, o := range c.Clauses {
		backward = backward || o.Word == "along" && o.Axis != nil && o.Axis.Negative
	}
	ax, good := c.axis()
	if !ok || !good {
		return nil, false
	}
	if ax.endless {
		c.missing("length", "add `height` or `length`, or both ends with `from … to …`")
		return nil, false
	}
	allowance := threadAllowance
	if cl := c.take("allowance"); cl != nil {
		n, ok := c.quantity(cl, 0, "length")
		if !ok {
			return nil, false
		}
		if !(n.X >= 0 && n.X <= th.Depth()) {
			c.Report(diag.Diagnostic{Code: ShapeTight, At: cl.Args[0].At,
				Message: fmt.Sprintf("an allowance of %s leaves no grip: the thread of %s is %s deep", n, th.name, value.Length(math.Round(th.Depth()*1e3)/1e3)),
				Notes:   []string{diag.Do("give 0 up to that depth; 0.2 mm is common practice")}})
			return nil, false
		}
		allowance = n.X
	}
	if along < 0 {
		along = 2
	}
	bevels, ok := c.ends("bevel", along, backward)
	if !ok {
		return nil, false
	}
	if bevels[0].cl == nil && bevels[1].cl == nil {
		// A little more than the depth, so that no sliver of a crest is left.
		bevels[0].by, bevels[1].by = 1.1*th.Depth(), 1.1*th.Depth()
	}
	l := ax.t1 - ax.t0
	if max(bevels[0].by, bevels[1].by) >= th.Major/2-allowance || bevels[0].by+bevels[1].by > l {
		c.Report(diag.Diagnostic{Code: ThreadShort, At: c.At,
			Message: fmt.Sprintf("a %s of %s has no room for lead-ins of %s and %s", c.Head, value.Length(l), value.Length(bevels[0].by), value.Length(bevels[1].by)),
			Notes:   []string{diag.Do("make it longer, or the lead-ins smaller with `bevel ends`")}})
		return nil, false
	}
	s := make(th.ThreadForm, allowance, ax.t0, ax.t1, bevels[0].by, bevels[1].by)
	return &value.Body{
		Solid: s.Placed(solid.FrameAt(ax.point, ax.dir)), Leaves: 3,
		Facets: 6 * geom.Sides(th.Major/2, c.Tolerance) * (4 + int(min(l/th.Pitch, MaxFacets))),
	}, true
}

// thread reads a designation. M6x1 is M6: a coarse pitch may be told.
func (c *Call) thread(cl *Clause) (thread, bool) {
	a := cl.Args[0]
	if value.IsBad(a.Value) {
		return thread{}, false
	}
	v, f := mustKind("text").Take("`size` takes", a.Value)
	if f != nil {
		c.fault(a.At, f.Do("write a designation in quotes, such as \"M6\""))
		return thread{}, false
	}
	said := string(v.(value.Text))
	name := strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(said, " ", ""), "×", "x"), "m", "M")
	var names []string
	for _, t := range threads {
		if strings.EqualFold(name, t.name) || strings.EqualFold(name, fmt.Sprintf("%sx%g", t.name, t.Pitch)) {
			return t, true
		}
		names = append(names, t.name)
	}
	d := diag.Diagnostic{Code: ThreadUnknown, At: a.At, Message: fmt.Sprintf("there is no thread %q in the table", said)}
	if near, ok := spell.Nearest(name, names); ok {
		d.Notes = append(d.Notes, diag.Do(fmt.Sprintf("did you mean %q?", near)))
	}
	d.Notes = append(d.Notes, diag.Do("use one of "+threadNames()))
	c.Report(d)
	return thread{}, false
}
