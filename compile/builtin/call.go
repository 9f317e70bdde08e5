package builtin

import (
	"fmt"
	"math"
	"strings"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
	"perch/lang/unit"
)

// Limits on what a part file can ask for. They keep a slip of the keyboard
// from filling the memory; no printed part comes near them.
const (
	// MaxSize is the largest size or distance of a body, mm: more than the
	// bed of any printer this language is for, and what the grid of package
	// solid holds.
	MaxSize = 1200.0
	// MinSize is the smallest size, mm: a thousandth is far below what
	// printers and calipers resolve.
	MinSize = 1e-3
	// MaxLeaves is how many plain shapes a part may have, copies included.
	MaxLeaves = 20_000
	// MaxFacets is how many flat faces these may have together.
	MaxFacets = 4_000_000
)

// Codes of faults in bodies.
const (
	ClauseUnknown diag.Code = "clause-unknown"
	ClauseTwice   diag.Code = "clause-twice"
	ClauseMissing diag.Code = "clause-missing"
	SizeNotAbove0 diag.Code = "size-not-above-0"
	SizeTooSmall  diag.Code = "size-too-small"
	SizeTooLarge  diag.Code = "size-too-large"
	TooManyCopies diag.Code = "too-many-copies"
	TooManyFaces  diag.Code = "too-many-faces"
	AxisBad       diag.Code = "axis-bad"
	AcrossAxis    diag.Code = "across-axis"
	NoTube        diag.Code = "no-tube"
)

// Form is one clause that a head takes.
type Form struct {
	Word string
	Text string // how it is written, with its parameters in capitals
	Doc  string
}

// Head is a word that begins a body.
type Head struct {
	Name    string
	Area    bool // an area follows the word
	Along   bool // a path stands behind `along`
	Clauses []Form
	Doc     string
	// Example is a body; its volume is Volume mm³ by the closed form named
	// beside it, up to the chord tolerance.
	Example string
	Volume  float64
	Build   func(c *Call) (*value.Body, bool)
}

// Placement is a clause that moves or copies a body.
type Placement struct {
	Word    string
	Text    string
	Doc     string
	Example string
	Volume  float64
	Apply   func(c *Call, p *Clause, b *value.Body) (*value.Body, bool)
}

// Call is a body being made: its head and clauses with their values.
type Call struct {
	At        source.Span
	Head      string
	Subject   Arg
	Clauses   []*Clause
	Tolerance float64 // chord tolerance of the build, mm
	Report    func(diag.Diagnostic)
	SoFar     func() (*mesh.Mesh, error) // the body so far, coarsely, for a mark
	Capitals  float64                    // their height in the text of a mark, mm, once it is made
}

// Clause is a clause with its values.
type Clause struct {
	At     source.Span
	Word   string
	WordAt source.Span
	Second string
	Args   []Arg
	Axis   *Axis
	used   bool
}

// Arg is one value and where it is written.
type Arg struct {
	At    source.Span
	Value value.Value
	Parts []source.Span // where the coordinates of a place are written
}

// Axis is a direction; Name is "x", "y" or "z" when it is one of these.
type Axis struct {
	At       source.Span
	Name     string
	Negative bool
	Dir      geom.Vec3 // of length 1
}

// index returns 0, 1, 2 for x, y, z and -1 for a written direction.
func (a *Axis) index() int {
	if a.Name == "" {
		return -1
	}
	return strings.Index("xyz", a.Name)
}

func axisNamed(i int) *Axis {
	d := [3]geom.Vec3{{X: 1}, {Y: 1}, {Z: 1}}[i]
	return &Axis{Name: "xyz"[i : i+1], Dir: d}
}

// Make builds the body of a call and then places it, clause by clause.
func (c *Call) Make(h *Head) (*value.Body, bool) {
	if !c.noneTwice() {
		return nil, false
	}
	b, ok := h.Build(c)
	if !ok {
		return nil, false
	}
	return c.Place(b, h)
}

// Place applies the placing clauses in their order; h is nil for a body that
// has no head. Clauses that neither the head nor a placement took are faults.
func (c *Call) Place(b *value.Body, h *Head) (*value.Body, bool) {
	ok := true
	for _, cl := range c.Clauses {
		if cl.used {
			continue
		}
		p, found := LookupPlacement(cl.Word)
		if !found {
			c.Report(c.unknown(cl, h))
			ok = false
			continue
		}
		if !ok {
			continue
		}
		b, ok = p.Apply(c, cl, b)
		ok = ok && c.withinLimits(cl.At, b)
	}
	return b, ok
}

func (c *Call) unknown(cl *Clause, h *Head) diag.Diagnostic {
	d := diag.Diagnostic{Code: ClauseUnknown, At: cl.WordAt}
	var words []string
	if h != nil {
		d.Message = fmt.Sprintf("`%s` takes no `%s`", h.Name, cl.Word)
		for _, f := range h.Clauses {
			words = append(words, f.Word)
		}
	} else {
		d.Message = fmt.Sprintf("`%s` places no body", cl.Word)
	}
	if h == nil || !isMark(h) {
		for _, p := range All.Placements {
			words = append(words, p.Word)
		}
	}
	if near, ok := spell.Nearest(cl.Word, words); ok {
		d.Notes = append(d.Notes, diag.Do(fmt.Sprintf("did you mean `%s`?", near)))
	} else {
		d.Notes = append(d.Notes, diag.Do("use one of: "+strings.Join(words, ", ")))
	}
	return d
}

// noneTwice reports a clause of the head that is written twice.
func (c *Call) noneTwice() bool {
	first := map[string]*Clause{}
	ok := true
	for _, cl := range c.Clauses {
		if _, placing := LookupPlacement(cl.Word); placing {
			continue
		}
		key := cl.Word
		if key == "from" && cl.Axis != nil {
			key += cl.Axis.Name
		}
		if cl.Second != "" {
			key += " " + cl.Second
		}
		if f := first[key]; f != nil {
			c.Report(diag.Diagnostic{
				Code: ClauseTwice, At: cl.At, Message: fmt.Sprintf("`%s` is told twice", cl.Word),
				Labels: []diag.Label{{At: f.At, Text: "first told here"}},
				Notes:  []string{diag.Do("keep one of the two")},
			})
			ok = false
		}
		first[key] = cl
	}
	return ok
}

// take returns the clause of that word, or nil, and marks it as used.
func (c *Call) take(word string) *Clause {
	for _, cl := range c.Clauses {
		if cl.Word == word && !cl.used {
			cl.used = true
			return cl
		}
	}
	return nil
}

// takeFrom returns the clause `from AXIS = …`, or nil.
func (c *Call) takeFrom(axis string) *Clause {
	for _, cl := range c.Clauses {
		if cl.Word == "from" && !cl.used && cl.Axis != nil && cl.Axis.Name == axis {
			cl.used = true
			return cl
		}
	}
	return nil
}

// both reports that two clauses tell the same thing.
func (c *Call) both(a, b *Clause, what string) {
	c.Report(diag.Diagnostic{
		Code: ClauseTwice, At: b.At, Message: fmt.Sprintf("%s is told twice", what),
		Labels: []diag.Label{{At: a.At, Text: "first told here"}},
		Notes:  []string{diag.Do("keep one of the two")},
	})
}

func (c *Call) missing(what, do string) {
	c.Report(diag.Diagnostic{
		Code: ClauseMissing, At: c.At, Message: fmt.Sprintf("this %s has no %s", c.Head, what),
		Notes: []string{diag.Do(do)},
	})
}

func (c *Call) fault(at source.Span, f *value.Fault) {
	c.Report(diag.Diagnostic{Code: f.Code, At: at, Message: f.Message, Notes: f.Notes})
}

// quantity returns argument i of a clause as a finite number of dimension d.
func (c *Call) quantity(cl *Clause, i int, kind string) (value.Number, bool) {
	if i >= len(cl.Args) {
		c.Report(diag.Diagnostic{Code: ClauseMissing, At: cl.At, Message: fmt.Sprintf("`%s` lacks a value", cl.Word),
			Notes: []string{diag.Do(fmt.Sprintf("write %s after it, such as %s", mustKind(kind).phrase(), mustKind(kind).Sample))}})
		return value.Number{}, false
	}
	a := cl.Args[i]
	if value.IsBad(a.Value) {
		return value.Number{}, false
	}
	v, f := mustKind(kind).Take(cl.name(i)+" takes", a.Value)
	if f != nil {
		c.fault(a.At, f)
		return value.Number{}, false
	}
	n := v.(value.Number)
	if !n.Finite() {
		c.Report(diag.Diagnostic{Code: value.NotFinite, At: a.At, Message: fmt.Sprintf("`%s` is %s", cl.Word, n)})
		return n, false
	}
	return n, true
}

// name is how messages call argument i of a clause.
func (cl *Clause) name(i int) string {
	if i == 1 && (cl.Word == "row" || cl.Word == "ring") {
		return "`every`"
	}
	return "`" + cl.Word + "`"
}

func mustKind(word string) *Kind {
	k, ok := LookupKind(word)
	if !ok {
		panic("no kind of parameter called " + word)
	}
	return k
}

// size returns argument i as a length that a body can have.
func (c *Call) size(cl *Clause, i int) (value.Number, bool) {
	n, ok := c.quantity(cl, i, "length")
	return n, ok && c.sizeWithin(cl.Args[i].At, cl.name(i), n.X)
}

func (c *Call) sizeWithin(at source.Span, what string, x float64) bool {
	if f := SizeFault(what, x); f != nil {
		c.fault(at, f)
		return false
	}
	return true
}

// SizeFault says when x mm is no size that can be made.
func SizeFault(what string, x float64) *value.Fault {
	switch l := value.Length(x); {
	case !(x > 0):
		return value.Faultf(SizeNotAbove0, "%s must be larger than 0, this is %s", what, l).
			Do("give a size above 0; check the formula if this is the result of one")
	case x < MinSize:
		return value.Faultf(SizeTooSmall, "%s of %s is too small to make", what, l).
			Why("the least size is 0.001 mm").Do("check the unit")
	case x > MaxSize:
		return value.Faultf(SizeTooLarge, "%s of %s is too large to make", what, l).
			Why("the largest size is 1200 mm").Do("check the unit")
	}
	return nil
}

// position returns argument i as a coordinate.
func (c *Call) position(cl *Clause, i int) (float64, bool) {
	n, ok := c.quantity(cl, i, "length")
	return n.X, ok && c.near(cl.Args[i].At, n)
}

func (c *Call) near(at source.Span, n value.Number) bool {
	if math.Abs(n.X) <= MaxSize {
		return true
	}
	c.Report(diag.Diagnostic{
		Code: SizeTooLarge, At: at, Message: fmt.Sprintf("%s is too far out", n),
		Notes: []string{diag.Why("a part lies within 1200 mm of the origin"), diag.Do("check the unit")},
	})
	return false
}

// span returns the ends told by `from AXIS = a to AXIS = b`.
func (c *Call) span(cl *Clause) (lo, hi float64, ok bool) {
	lo, ok1 := c.position(cl, 0)
	hi, ok2 := c.position(cl, 1)
	if !ok1 || !ok2 {
		return 0, 0, false
	}
	if hi <= lo {
		d := diag.Diagnostic{Code: SizeNotAbove0, At: cl.At,
			Message: fmt.Sprintf("this runs from %s to %s: nothing lies between", value.Length(lo), value.Length(hi))}
		if hi < lo {
			d.Notes = []string{diag.Do("write the lower end first")}
		} else {
			d.Notes = []string{diag.Do("put the two ends apart")}
		}
		c.Report(d)
		return 0, 0, false
	}
	return lo, hi, c.sizeWithin(cl.At, "the distance", hi-lo)
}

// spot is a point as written: Set tells which coordinates are given.
type spot struct {
	at  source.Span
	p   [3]float64
	any [3]bool // written as a bare 0
	set [3]bool
}

// spot returns argument i as a point of two or three coordinates.
func (c *Call) spot(cl *Clause, i int) (spot, bool) {
	a := cl.Args[i]
	s := spot{at: a.At}
	if value.IsBad(a.Value) {
		return s, false
	}
	p, isPoint := a.Value.(value.Point)
	if !isPoint {
		todo := "write it as (x, y, z), such as (0, 0, 3mm)"
		if o, ok := a.Value.(value.Object); ok && strings.HasPrefix(o.What(), "point ") {
			if text := a.At.Text(); !strings.ContainsAny(text, " (\n") {
				todo = "write its coordinates, as in (" + text + ".x, 0, " + text + ".y)"
			}
		}
		c.Report(diag.Diagnostic{Code: KindMismatch, At: a.At,
			Message: fmt.Sprintf("`%s` takes a place in coordinates, this is %s", cl.Word, withValue(a.Value)),
			Notes:   []string{diag.Do(todo)}})
		return s, false
	}
	for k, n := range p {
		if n.Dim != unit.Length && !n.Any {
			_, f := mustKind("length").Take("a coordinate is", n)
			at := a.At
			if k < len(a.Parts) {
				at = a.Parts[k]
			}
			c.fault(at, f)
			return s, false
		}
		if !c.near(a.At, n.As(unit.Length)) {
			return s, false
		}
		s.p[k], s.any[k], s.set[k] = n.X, n.Any, true
	}
	return s, true
}

func (s spot) vec() geom.Vec3 { return geom.Vec3{X: s.p[0], Y: s.p[1], Z: s.p[2]} }

// whole returns argument i as a count from 1 up.
func (c *Call) whole(cl *Clause, i int) (int, bool) {
	if n, ok := cl.Args[i].Value.(value.Number); ok && n.X > MaxLeaves && n.Dim == unit.None {
		c.fault(cl.Args[i].At, tooMany(n.String()))
		return 0, false
	}
	n, ok := c.quantity(cl, i, "count")
	if !ok {
		return 0, false
	}
	k, _ := n.Whole()
	if k < 1 {
		c.Report(diag.Diagnostic{Code: SizeNotAbove0, At: cl.Args[i].At,
			Message: fmt.Sprintf("a %s needs at least 1, this is %d", cl.Word, k),
			Notes:   []string{diag.Do("give 1 or more; check the formula if this is the result of one")}})
		return 0, false
	}
	return k, true
}

// withinLimits reports a body that has grown beyond what can be built.
func (c *Call) withinLimits(at source.Span, b *value.Body) bool {
	if f := Limits(b); f != nil {
		c.fault(at, f)
		return false
	}
	return true
}

func tooMany(n string) *value.Fault {
	return value.Faultf(TooManyCopies, "this makes %s shapes", n).
		Why("a part can have at most %d, copies included", MaxLeaves).
		Do("use fewer copies, or a wider pitch")
}

// Limits says when a body has more shapes or faces than can be built.
func Limits(b *value.Body) *value.Fault {
	switch {
	case b.Leaves > MaxLeaves:
		return tooMany(fmt.Sprint(b.Leaves))
	case b.Facets > MaxFacets:
		return value.Faultf(TooManyFaces, "this makes about %d faces", b.Facets).
			Why("a part can have at most %d", MaxFacets).
			Do("use fewer copies, or a coarser tolerance")
	}
	return nil
}
