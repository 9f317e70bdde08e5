// Package sketch holds a profile drawn with constraints: points, lines, arcs,
// circles and outlines, the relations and equations between them, and, once
// solved, their exact curves.
//
// sketch.go holds the entities, measure.go the measures between them,
// outline.go chains of segments, shape.go the ready shapes, relation.go the
// table of relations (each in a file of its own), solve.go the solving and
// its messages, free.go the words for what can still move, curve.go the
// solved boundaries.
package sketch

import (
	"math"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/source"
	"perch/lang/unit"
)

// Sketch is a drawing before it is solved. Lengths are in mm, angles in
// radians.
type Sketch struct {
	Name string
	At   source.Span

	sys        solve.System
	statements []statement
	current    int // statement that equations now belong to
	points     []*Point
	lines      []*Line
	circles    []*Circle
	arcs       []*Arc
	outlines   []*Outline
	ways       []way // lines of outlines that were told where to go
	checks     []inequality
	spans      [][2]*Point // pairs that a statement ties by their distance
	apart      map[*solve.Expr][2]*Point
	gauges     map[*solve.Expr]gauge // what can be shown as a dimension
	givens     []given               // what is
	turnable   []turnable
	sided      map[*solve.Expr]*turnable // by measures that keep a side
	mirrored   []mirrored
	bendings   []bending
	nested     []nested
	usual      float64 // typical length, of the first usualOf lines and circles
	usualOf    int
}

// statement is one line of the text that makes equations.
type statement struct {
	at        source.Span
	quiet     bool // not worth a remark when it adds nothing
	equations int
	arm       float64 // mm for a radian, where angles are equated; else 0
}

// New returns an empty sketch.
func New(name string, at source.Span) *Sketch {
	s := &Sketch{Name: name, At: at}
	s.statement(at, true)
	return s
}

// statement starts a new statement; equations that follow belong to it.
func (s *Sketch) statement(at source.Span, quiet bool) {
	s.statements = append(s.statements, statement{at: at, quiet: quiet})
	s.current = len(s.statements) - 1
}

// equate demands e = 0, where scale turns e into mm.
func (s *Sketch) equate(e *solve.Expr, scale float64) {
	if k, ok := e.Constant(); ok && math.Abs(k) < 1e-12 {
		return // always true, as the height of two fixed points
	}
	s.statements[s.current].equations++
	s.sys.Require(solve.Scale(scale, e), s.current)
}

// start returns the value of e at the written start.
func (s *Sketch) start(e *solve.Expr) float64 { return s.sys.Start(e) }

// Entity is a *Point, *Line, *Circle, *Arc or *Outline.
type Entity interface {
	// EntityName is the name in the text; "" for what has none.
	EntityName() string
	// Where is the place where it was drawn.
	Where() source.Span
	// Sort is the word for it: "point", "line", "circle", "arc", "outline".
	Sort() string
	// MarkGuide says that it is drawn to help only: it bounds no area.
	MarkGuide()
}

type entity struct {
	name  string
	at    source.Span
	guide bool
}

// MarkGuide implements Entity.
func (e *entity) MarkGuide() { e.guide = true }

func (e *entity) EntityName() string { return e.name }
func (e *entity) Where() source.Span { return e.at }

// Point is a point; its coordinates are variables, constants or expressions.
type Point struct {
	entity
	X, Y   *solve.Expr
	vx, vy int // its variables, -1 for none
	round  *corner
}

// Sort implements Entity.
func (*Point) Sort() string { return "point" }

// Line is a straight line between two points.
type Line struct {
	entity
	A, B *Point
}

// Sort implements Entity.
func (*Line) Sort() string { return "line" }

// Circle is a full circle.
type Circle struct {
	entity
	Centre *Point
	R      *solve.Expr
	vr     int // its variable, -1 for none
}

// Sort implements Entity.
func (*Circle) Sort() string { return "circle" }

// Arc runs from A to B about Centre, counter-clockwise unless Clockwise.
type Arc struct {
	entity
	A, B, Centre *Point
	R            *solve.Expr
	Clockwise    bool
}

// Sort implements Entity.
func (*Arc) Sort() string { return "arc" }

// FixedPoint draws a point at a known place, which may be an expression over
// other entities.
func (s *Sketch) FixedPoint(name string, x, y *solve.Expr, at source.Span) *Point {
	p := &Point{entity: entity{name: name, at: at}, X: x, Y: y, vx: -1, vy: -1}
	s.points = append(s.points, p)
	return p
}

// FreePoint draws a point near a place.
func (s *Sketch) FreePoint(name string, near geom.Vec2, at source.Span) *Point {
	p := s.FixedPoint(name, s.sys.Var(near.X), s.sys.Var(near.Y), at)
	p.vx, p.vy = p.X.Index(), p.Y.Index()
	return p
}

// Near moves the written start of a free point.
func (s *Sketch) Near(p *Point, near geom.Vec2) {
	if p.vx >= 0 {
		s.sys.SetStart(p.X, near.X)
		s.sys.SetStart(p.Y, near.Y)
	}
}

// UnplacedPoint draws a point of which nothing is said; it starts on a
// spiral, so that no two such points coincide.
func (s *Sketch) UnplacedPoint(name string, at source.Span) *Point {
	n := float64(len(s.points))
	r := 5 + n
	return s.FreePoint(name, geom.Vec2{X: r * math.Cos(2.4*n), Y: r * math.Sin(2.4*n)}, at)
}

// StartOf returns where a point starts.
func (s *Sketch) StartOf(p *Point) geom.Vec2 { return geom.Vec2{X: s.start(p.X), Y: s.start(p.Y)} }

// NewLine draws a line.
func (s *Sketch) NewLine(name string, a, b *Point, at source.Span) *Line {
	l := &Line{entity{name: name, at: at}, a, b}
	s.lines = append(s.lines, l)
	return l
}

// CircleOf draws a circle with a known radius.
func (s *Sketch) CircleOf(name string, centre *Point, radius *solve.Expr, at source.Span) *Circle {
	c := &Circle{entity{name: name, at: at}, centre, radius, -1}
	s.circles = append(s.circles, c)
	return c
}

// CircleNear draws a circle whose radius starts near a value.
func (s *Sketch) CircleNear(name string, centre *Point, radius float64, at source.Span) *Circle {
	c := s.CircleOf(name, centre, s.sys.Var(radius), at)
	c.vr = c.R.Index()
	return c
}

// NewArc draws an arc; radius may be nil. Both ends lie at one distance from
// the centre.
func (s *Sketch) NewArc(name string, a, b, centre *Point, radius *solve.Expr, clockwise bool, at source.Span) *Arc {
	s.statement(at, true)
	arc := &Arc{entity{name: name, at: at}, a, b, centre, radius, clockwise}
	if radius == nil {
		arc.R = distance(a, centre)
	} else {
		s.equate(solve.Sub(distance(a, centre), radius), 1)
	}
	s.equate(solve.Sub(distance(b, centre), arc.R), 1)
	s.spans = append(s.spans, [2]*Point{a, centre}, [2]*Point{b, centre})
	s.arcs = append(s.arcs, arc)
	return arc
}

// EquationKind is of what an equation is, which decides how its miss is measured.
type EquationKind int

const (
	// AnyOther is a plain number, a surface or whatever else.
	AnyOther EquationKind = iota
	// LengthOf is in mm.
	LengthOf
	// AngleOf is in radians; whole turns do not count.
	AngleOf
)

// Equation demands left = right.
func (s *Sketch) Equation(left, right *solve.Expr, d EquationKind, at source.Span) {
	s.statement(at, false)
	s.giveEquation(left, right, at)
	if s.coincide(left, right) || s.coincide(right, left) {
		return
	}
	s.mayTurn(s.sided[left])
	s.mayTurn(s.sided[right])
	e := solve.Sub(left, right)
	switch d {
	case LengthOf:
		s.equate(e, 1)
	case AngleOf:
		arm := s.typical()
		s.statements[s.current].arm = arm
		s.equate(solve.Wrap(e), arm)
	default:
		if k, ok := e.Constant(); ok && math.Abs(k) < 1e-12 {
			return
		}
		s.statements[s.current].equations++
		s.sys.RequireScaled(e, s.current)
	}
}

// coincide takes a distance of zero as coincidence: as a length it could not
// be told from which side it comes to nothing.
func (s *Sketch) coincide(distance, zero *solve.Expr) bool {
	p, known := s.apart[distance]
	if k, ok := zero.Constant(); !known || !ok || k != 0 {
		return false
	}
	s.unite(p[0], p[1])
	return true
}

type inequality struct {
	op          string
	left, right *solve.Expr
	dim         unit.Dim
	at          source.Span
}

// Inequality states left op right (< <= > >= !=), both of one dimension in
// base units, checked after solving.
func (s *Sketch) Inequality(left *solve.Expr, op string, right *solve.Expr, dim unit.Dim, at source.Span) {
	s.checks = append(s.checks, inequality{op, left, right, dim, at})
}

// typical is the mean length of the lines and circles at the start, by which
// an angle of an equation becomes a length. It is worked out anew only when
// something has been drawn since.
func (s *Sketch) typical() float64 {
	drawn := len(s.lines) + len(s.circles)
	if s.usual > 0 && s.usualOf == drawn {
		return s.usual
	}
	sum, n := 0.0, 0.0
	for _, l := range s.lines {
		if d := s.start(distance(l.A, l.B)); d > 0 {
			sum, n = sum+d, n+1
		}
	}
	for _, c := range s.circles {
		if r := s.start(c.R); r > 0 {
			sum, n = sum+r, n+1
		}
	}
	s.usual, s.usualOf = 10, drawn
	if n > 0 {
		s.usual = max(leastArm, sum/n)
	}
	return s.usual
}

// leastArm is the shortest length that an angle is weighed with, in mm, so
// that lines that start with no length keep their equations.
const leastArm = 0.1

// equateAngle demands that an angle between two lines be zero, weighed with
// their mean length at the start.
func (s *Sketch) equateAngle(e *solve.Expr, l, m *Line) {
	arm := max(leastArm, (s.start(distance(l.A, l.B))+s.start(distance(m.A, m.B)))/2)
	s.statements[s.current].arm = arm
	s.equate(e, arm)
}
