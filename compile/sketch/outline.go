package sketch

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/source"
)

// Outline is a closed chain of lines and arcs or, as a path, one that may be
// open.
type Outline struct {
	entity
	Path     bool
	Segments []Segment
	sketch   *Sketch
	last     *Point // end of the chain while it is walked
	closed   bool
}

// Sort implements Entity.
func (o *Outline) Sort() string {
	if o.Path {
		return "path"
	}
	return "outline"
}

// Segment is one piece of an outline: exactly one of its fields is set.
type Segment struct {
	Line *Line
	Arc  *Arc
}

func (g Segment) from() *Point {
	if g.Line != nil {
		return g.Line.A
	}
	return g.Arc.A
}

func (g Segment) to() *Point {
	if g.Line != nil {
		return g.Line.B
	}
	return g.Arc.B
}

// corner is the rounding or bevel of a corner.
type corner struct {
	by    *solve.Expr
	bevel bool
	at    source.Span
}

// NewOutline begins an outline at a point.
func (s *Sketch) NewOutline(name string, start *Point, at source.Span) *Outline {
	o := &Outline{entity: entity{name: name, at: at}, sketch: s, last: start}
	s.outlines = append(s.outlines, o)
	return o
}

// Start returns the first point of the outline.
func (o *Outline) Start() *Point {
	if len(o.Segments) == 0 {
		return o.last
	}
	return o.Segments[0].from()
}

// Step describes the next segment of an outline.
type Step struct {
	Name string
	At   source.Span
	// To is the end of the segment when it is a point of its own or was drawn
	// before; ToNew says that it is new and has no place of its own, so that
	// the walk places its start; nil makes a nameless corner.
	To    *Point
	ToNew bool

	// Of a line. Dir is "right", "left", "up", "down", "ahead" or "". Length
	// and Angle (from the x axis) may be nil.
	Dir    string
	Length *solve.Expr
	Angle  *solve.Expr

	// Of an arc. Turn is "left" or "right" for an arc that runs on from what
	// came before, or "". Radius and Through may be nil, and Centre, which a
	// turning arc makes itself.
	Turn      string
	Radius    *solve.Expr
	Through   *solve.Expr
	Centre    *Point
	Clockwise bool
}

func (o *Outline) next(st *Step, guess geom.Vec2) *Point {
	switch {
	case st.To == nil:
		return o.sketch.FreePoint("", guess, st.At)
	case st.ToNew:
		o.sketch.Near(st.To, guess)
	}
	return st.To
}

// direction of the steps that name one.
var directions = map[string]geom.Vec2{"right": {X: 1}, "left": {X: -1}, "up": {Y: 1}, "down": {Y: -1}}

// Line walks a straight segment.
func (o *Outline) Line(st Step) (*Line, error) {
	s := o.sketch
	a := o.last
	from := s.StartOf(a)
	length := 10.0
	if st.Length != nil {
		length = s.start(st.Length)
	}
	var ux, uy *solve.Expr // unit direction, when known
	switch {
	case st.Dir == "ahead":
		var err error
		if ux, uy, err = o.heading(); err != nil {
			return nil, err
		}
	case st.Dir != "":
		d := directions[st.Dir]
		ux, uy = solve.Const(d.X), solve.Const(d.Y)
	case st.Angle != nil:
		ux, uy = solve.Cos(st.Angle), solve.Sin(st.Angle)
	}
	guess := from.Add(geom.Vec2{X: length})
	if ux != nil {
		guess = from.Add(geom.Vec2{X: s.start(ux), Y: s.start(uy)}.Scale(length))
	}
	b := o.next(&st, guess)
	l := s.NewLine(st.Name, a, b, st.At)
	s.statement(st.At, false)
	switch {
	case ux != nil && st.Length != nil:
		s.equate(solve.Sub(solve.Sub(b.X, a.X), solve.Mul(st.Length, ux)), 1)
		s.equate(solve.Sub(solve.Sub(b.Y, a.Y), solve.Mul(st.Length, uy)), 1)
	case ux != nil: // direction only: nothing across it
		s.equate(solve.Sub(solve.Mul(l.dx(), uy), solve.Mul(l.dy(), ux)), 1)
	case st.Length != nil:
		s.equate(solve.Sub(distance(a, b), st.Length), 1)
		s.spans = append(s.spans, [2]*Point{a, b})
	}
	if ux != nil {
		s.ways = append(s.ways, way{l, solve.Add(solve.Mul(l.dx(), ux), solve.Mul(l.dy(), uy)), st})
	}
	o.Segments = append(o.Segments, Segment{Line: l})
	o.last = b
	return l, nil
}

// way is a line that was told where to go; along is how far it goes there.
type way struct {
	line  *Line
	along *solve.Expr
	step  Step
}

// words returns how the way was written: "right", "ahead", "at an angle".
func (w *way) words() string {
	if w.step.Dir != "" {
		return w.step.Dir
	}
	return "at an angle"
}

// heading returns the unit direction in which the last segment ends.
func (o *Outline) heading() (ux, uy *solve.Expr, err error) {
	if len(o.Segments) == 0 {
		return nil, nil, fmt.Errorf("nothing comes before this segment that it could run on from")
	}
	g := o.Segments[len(o.Segments)-1]
	if l := g.Line; l != nil {
		n := distance(l.A, l.B)
		return solve.Div(l.dx(), n), solve.Div(l.dy(), n), nil
	}
	a := g.Arc
	rx, ry := solve.Sub(a.B.X, a.Centre.X), solve.Sub(a.B.Y, a.Centre.Y)
	n := solve.Hypot(rx, ry)
	if a.Clockwise {
		return solve.Div(ry, n), solve.Div(solve.Neg(rx), n), nil
	}
	return solve.Div(solve.Neg(ry), n), solve.Div(rx, n), nil
}

// Arc walks a round segment.
func (o *Outline) Arc(st Step) (*Arc, error) {
	if st.Turn == "" {
		return o.plainArc(st)
	}
	s := o.sketch
	a := o.last
	ux, uy, err := o.heading()
	if err != nil {
		return nil, err
	}
	clockwise := st.Turn == "right"
	side := 1.0
	if clockwise {
		side = -1
	}
	r := 5.0
	if st.Radius != nil {
		r = s.start(st.Radius)
	}
	through := math.Pi / 2
	if st.Through != nil {
		through = s.start(st.Through)
	}
	from := s.StartOf(a)
	toCentre := geom.Vec2{X: s.start(ux), Y: s.start(uy)}.Perp().Scale(side)
	c0 := from.Add(toCentre.Scale(r))
	sin, cos := geom.SinCos(side * through)
	v := from.Sub(c0)
	guess := c0.Add(geom.Vec2{X: float64(cos*v.X) - float64(sin*v.Y), Y: float64(sin*v.X) + float64(cos*v.Y)})
	b := o.next(&st, guess)
	c := st.Centre
	if c == nil {
		c = s.FreePoint("", c0, st.At)
	}
	arc := &Arc{entity{name: st.Name, at: st.At}, a, b, c, st.Radius, clockwise}
	s.arcs = append(s.arcs, arc)
	if arc.R == nil {
		arc.R = distance(a, c)
	}
	s.statement(st.At, false)
	// The centre lies square to the heading, on the side of the turn.
	if st.Radius != nil {
		k := solve.Mul(solve.Const(side), st.Radius)
		s.equate(solve.Add(solve.Sub(c.X, a.X), solve.Mul(k, uy)), 1)
		s.equate(solve.Sub(solve.Sub(c.Y, a.Y), solve.Mul(k, ux)), 1)
	} else {
		s.equate(solve.Add(solve.Mul(solve.Sub(c.X, a.X), ux), solve.Mul(solve.Sub(c.Y, a.Y), uy)), 1)
	}
	if st.Through != nil {
		sweep := solve.Mul(solve.Const(side), st.Through)
		cs, sn := solve.Cos(sweep), solve.Sin(sweep)
		vx, vy := solve.Sub(a.X, c.X), solve.Sub(a.Y, c.Y)
		s.equate(solve.Sub(solve.Sub(b.X, c.X), solve.Sub(solve.Mul(cs, vx), solve.Mul(sn, vy))), 1)
		s.equate(solve.Sub(solve.Sub(b.Y, c.Y), solve.Add(solve.Mul(sn, vx), solve.Mul(cs, vy))), 1)
	} else {
		s.equate(solve.Sub(distance(b, c), arc.R), 1)
	}
	s.spans = append(s.spans, [2]*Point{a, c}, [2]*Point{b, c})
	o.Segments = append(o.Segments, Segment{Arc: arc})
	o.last = b
	return arc, nil
}

// plainArc walks an arc about a centre of its own.
func (o *Outline) plainArc(st Step) (*Arc, error) {
	s := o.sketch
	a := o.last
	from := s.StartOf(a)
	b := o.next(&st, from.Add(geom.Vec2{X: 10}))
	c := st.Centre
	if c == nil {
		to := s.StartOf(b)
		mid := from.Add(to).Scale(0.5)
		half := to.Sub(from).Scale(0.5)
		h := 0.0
		if st.Radius != nil {
			if r := s.start(st.Radius); r > half.Len() {
				h = math.Sqrt(float64(r*r) - half.Dot(half))
			}
		}
		side := half.Perp() // the centre of a short counter-clockwise arc lies on the left
		if st.Clockwise {
			side = side.Scale(-1)
		}
		if l := side.Len(); l > 0 {
			side = side.Scale(h / l)
		}
		c = s.FreePoint("", mid.Add(side), st.At)
	}
	arc := s.NewArc(st.Name, a, b, c, st.Radius, st.Clockwise, st.At)
	if st.Through != nil {
		s.equate(solve.Sub(s.Sweep(arc), st.Through), s.start(arc.R))
	}
	o.Segments = append(o.Segments, Segment{Arc: arc})
	o.last = b
	return arc, nil
}

// Close ends the outline. With straight set, a straight line goes back to
// the start unless the walk is already there.
func (o *Outline) Close(straight bool, name string, at source.Span) error {
	s := o.sketch
	start := o.Start()
	o.closed = true
	if o.last == start {
		if len(o.Segments) == 0 {
			return fmt.Errorf("an outline needs at least two segments")
		}
		return nil
	}
	if !straight {
		return fmt.Errorf("the outline does not come back to its start")
	}
	if s.StartOf(o.last).Sub(s.StartOf(start)).Len() < 1e-7 {
		s.statement(at, true)
		s.unite(start, o.last)
		g := &o.Segments[len(o.Segments)-1]
		if g.Line != nil {
			g.Line.B = start
		} else {
			g.Arc.B = start
		}
		o.last = start
		return nil
	}
	o.Segments = append(o.Segments, Segment{Line: s.NewLine(name, o.last, start, at)})
	o.last = start
	return nil
}

// RoundCorner rounds (or with bevel cuts off) the corner of an outline by a
// radius (or along both sides by a length). Dimensions keep to the sharp
// corner.
func (s *Sketch) RoundCorner(p *Point, by *solve.Expr, bevel bool, at source.Span) error {
	if p.round != nil {
		return fmt.Errorf("the corner %s is already rounded or bevelled", nameOf(p))
	}
	n := 0
	for _, o := range s.outlines {
		for _, g := range o.Segments {
			if g.from() == p {
				n++
			}
		}
	}
	if n == 0 {
		return fmt.Errorf("%s is not a corner of an outline", nameOf(p))
	}
	p.round = &corner{by, bevel, at}
	return nil
}
