package sketch

import (
	"math"

	"perch/compile/geom"
	"perch/lang/source"
)

// Figure is a solved sketch as data for a drawing: lengths in mm, y up,
// angles in radians.
type Figure struct {
	Name string
	// At is the name of the sketch in the text.
	At source.Span
	// Curves are the outlines, circles and ready shapes in written order, each
	// once round with its corners rounded, then loose lines and arcs.
	Curves []Stroke
	// Points are those with a name, in written order, and nameless ones that
	// can still move.
	Points []Dot
	// Dimensions are the sizes the text gives, in its order, then those of
	// rounded and bevelled corners.
	Dimensions []Dimension
	// Motions are sentences about what can still move, none in a sketch that
	// is pinned. Free counts the motions, which may be more than the sentences.
	Motions []string
	Free    int
	// Min and Max are the corners of the box round curves and points.
	Min, Max geom.Vec2
}

// Stroke is a drawn curve; a full circle has A = B.
type Stroke struct {
	Curve
	// Sort is "line", "arc" or "circle".
	Sort string
	// Shape names the outline, circle or ready shape that the curve is a part
	// of; "" for a loose line or arc.
	Shape string
	// Guide says that the curve bounds nothing: it is loose or drawn as guide.
	Guide bool
	// Motion tells how it can still move or change; "" when it is pinned.
	Motion string
	// At is the place in the text that draws it.
	At source.Span
}

// Dot is a drawn point.
type Dot struct {
	Name string // "" for a corner without a name
	geom.Vec2
	// Guide says that it was drawn as guide.
	Guide bool
	// Motion tells how it can still move; "" when it is pinned.
	Motion string
	// At is the place in the text that draws it.
	At source.Span
}

// Figure returns the solved sketch as data for a drawing. An outline that has
// a fault of its own (see Boundary) is drawn without its rounded corners.
func (v *Solved) Figure() *Figure {
	s := v.sketch
	f := &Figure{Name: s.Name, At: s.At, Free: v.Result.DOF}
	w := witness{v: v, told: v.told()}
	for _, m := range w.told[:min(len(w.told), mostMotions)] {
		f.Motions = append(f.Motions, m.words)
	}
	part := map[Entity]bool{} // of an outline
	var corners []Curve
	for _, o := range s.outlines {
		b, _ := v.Boundary(o)
		if b == nil {
			b = v.sharp(o)
		}
		for _, g := range o.Segments {
			part[g.entity()] = true
		}
		for _, c := range b {
			f.stroke(&w, c, o.name, o.guide)
			if _, blend := c.of.(*Point); blend {
				corners = append(corners, c)
			}
		}
	}
	for _, c := range s.circles {
		f.stroke(&w, v.circle(c), c.name, c.guide)
	}
	for _, l := range s.lines {
		if !part[l] {
			f.stroke(&w, v.line(l), "", true)
		}
	}
	for _, a := range s.arcs {
		if !part[a] {
			f.stroke(&w, v.arc(a), "", true)
		}
	}
	f.dots(&w)
	f.Dimensions = append(v.dimensions(), v.cornerSizes(corners)...)
	f.box()
	return f
}

// entity returns the line or the arc of a segment.
func (g Segment) entity() Entity {
	if g.Line != nil {
		return g.Line
	}
	return g.Arc
}

// sharp returns the boundary of an outline without roundings and bevels.
func (v *Solved) sharp(o *Outline) Boundary {
	var b Boundary
	for _, g := range o.Segments {
		if g.Arc != nil {
			b = append(b, v.arc(g.Arc))
		} else {
			b = append(b, v.line(g.Line))
		}
	}
	return b
}

func (f *Figure) stroke(w *witness, c Curve, shape string, guide bool) {
	d := Stroke{Curve: c, Sort: "line", Shape: shape, Guide: guide, Motion: w.entity(c.of), At: c.of.Where()}
	if c.Round {
		d.Sort = "arc"
	}
	switch of := c.of.(type) {
	case *Circle:
		d.Sort = "circle"
	case *Point:
		d.At = of.round.at
	}
	f.Curves = append(f.Curves, d)
}

func (f *Figure) dots(w *witness) {
	for _, p := range w.v.sketch.points {
		d := Dot{p.name, w.v.Place(p), p.guide, w.entity(p), p.at}
		if d.Name != "" || d.Motion != "" {
			f.Points = append(f.Points, d)
		}
	}
}

// cornerSizes returns the sizes of rounded and bevelled corners; those that
// one statement makes are one dimension with a count.
func (v *Solved) cornerSizes(corners []Curve) []Dimension {
	var out []Dimension
	var made []*corner
next:
	for _, c := range corners {
		r := c.of.(*Point).round
		for i, m := range made {
			if m.by == r.by && m.bevel == r.bevel {
				out[i].Count++
				continue next
			}
		}
		_, known := r.by.Constant()
		g := given{gauge: gauge{kind: RadiusOf, of: r.by}, follows: !known, at: r.at}
		at := spot{c.Centre, c.Middle(), c.Centre}
		if r.bevel {
			g.kind = Linear
			at = spot{a: c.A, b: v.Place(c.of.(*Point))}
		}
		out, made = append(out, v.dimension(g, at)), append(made, r)
	}
	return out
}

// box sets Min and Max.
func (f *Figure) box() {
	lo, hi := geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}
	add := func(p geom.Vec2) {
		lo.X, lo.Y, hi.X, hi.Y = min(lo.X, p.X), min(lo.Y, p.Y), max(hi.X, p.X), max(hi.Y, p.Y)
	}
	for i := range f.Curves {
		c := &f.Curves[i].Curve
		add(c.A)
		add(c.B)
		for _, p := range c.extremes() {
			add(p)
		}
	}
	for _, p := range f.Points {
		add(p.Vec2)
	}
	if !(lo.X <= hi.X) {
		lo, hi = geom.Vec2{}, geom.Vec2{}
	}
	f.Min, f.Max = lo, hi
}

// extremes returns the places of a round curve that lie furthest along each
// axis, between its ends.
func (c *Curve) extremes() []geom.Vec2 {
	if !c.Round {
		return nil
	}
	var out []geom.Vec2
	for _, d := range []geom.Vec2{{X: 1}, {Y: 1}, {X: -1}, {Y: -1}} {
		p := c.Centre.Add(d.Scale(c.Radius))
		if at := c.place(p); c.A == c.B || at > 0 && at < 1 {
			out = append(out, p)
		}
	}
	return out
}

// witness tells which motion moves something.
type witness struct {
	v    *Solved
	told []told
}

// entity returns the first sentence about a motion that moves or changes e.
func (w *witness) entity(e Entity) string {
	if len(w.told) == 0 {
		return ""
	}
	switch e := e.(type) {
	case *Point:
		return w.moving(e)
	case *Line:
		return w.moving(e.A, e.B)
	case *Arc:
		return w.moving(e.A, e.B, e.Centre)
	case *Circle:
		if m := w.moving(e.Centre); m != "" {
			return m
		}
		for _, t := range w.told {
			if math.Abs(w.v.Result.Rate(e.R, t.moves)) > leastMove {
				return t.words
			}
		}
	}
	return ""
}

// leastMove is how far something moves beside what moves most, to count.
const leastMove = 1e-6

func (w *witness) moving(ps ...*Point) string {
	for _, t := range w.told {
		for _, p := range ps {
			r := w.v.Result
			if math.Abs(r.Rate(p.X, t.moves)) > leastMove || math.Abs(r.Rate(p.Y, t.moves)) > leastMove {
				return t.words
			}
		}
	}
	return ""
}
