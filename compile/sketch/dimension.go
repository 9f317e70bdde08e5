package sketch

import (
	"math"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/source"
)

// DimensionKind is how a dimension is shown in a drawing (ISO 129-1).
type DimensionKind string

const (
	// Linear is measured along the way from one place to the other.
	Linear DimensionKind = "linear"
	// Horizontal is measured along x only, Vertical along y only.
	Horizontal DimensionKind = "horizontal"
	Vertical   DimensionKind = "vertical"
	// RadiusOf and DiameterOf are of circles and arcs.
	RadiusOf   DimensionKind = "radius"
	DiameterOf DimensionKind = "diameter"
	// AngleBetween is counter-clockwise from one leg to the other.
	AngleBetween DimensionKind = "angle"
	// ArcLength is measured along an arc.
	ArcLength DimensionKind = "arc length"
)

// Dimension is a size that the sketch was given, placed for a drawing.
type Dimension struct {
	Kind DimensionKind
	// Value is in mm, of angles in radians; never negative.
	Value float64
	// Uncertainty is the standard uncertainty (k = 1) that measurements leave
	// in Value; 0 where none is known.
	Uncertainty float64
	// A and B are the places it is measured between: of a radius the centre
	// and a place on the curve, of a diameter two opposite places, of an angle
	// one place on each leg, of an arc length the ends of the arc, each
	// counter-clockwise from A to B.
	A, B geom.Vec2
	// Centre of a radius, a diameter or an arc length; the apex of an angle.
	Centre geom.Vec2
	// Count is how many places have the same size by one statement.
	Count int
	// Follows says that the size is not a given one: it follows from others
	// of the sketch. Drawings show such a size in brackets.
	Follows bool
	// At is the place in the text that gives the size.
	At source.Span
}

// gauge is how a measure of the sketch can be shown. Its place reports false
// where nothing can be drawn, as of the angle between parallels.
type gauge struct {
	kind  DimensionKind
	of    *solve.Expr
	place func(v *Solved) (spot, bool)
}

// spot is where a dimension lies.
type spot struct{ a, b, centre geom.Vec2 }

// given is a gauge with what gave it, or an equation that may.
type given struct {
	gauge
	left, right *solve.Expr // of an equation
	follows     bool
	at          source.Span
}

// measures remembers what a gauge is of; constants measure nothing.
func (s *Sketch) measures(g gauge) {
	if _, known := g.of.Constant(); known {
		return
	}
	if s.gauges == nil {
		s.gauges = map[*solve.Expr]gauge{}
	}
	if _, again := s.gauges[g.of]; !again {
		s.gauges[g.of] = g
	}
}

// give notes that a size was given by the text at a place, so that drawings
// show it.
func (s *Sketch) give(g gauge, follows bool, at source.Span) {
	s.givens = append(s.givens, given{gauge: g, follows: follows, at: at})
}

// giveEquation notes an equation, which may give a size.
func (s *Sketch) giveEquation(left, right *solve.Expr, at source.Span) {
	s.givens = append(s.givens, given{left: left, right: right, at: at})
}

// scale finds the gauges of expressions.
type scale struct {
	known map[*solve.Expr]gauge
	x, y  map[*solve.Expr]*Point
	radii map[*solve.Expr]*Circle
}

func (s *Sketch) newScale() *scale {
	k := &scale{s.gauges, map[*solve.Expr]*Point{}, map[*solve.Expr]*Point{}, map[*solve.Expr]*Circle{}}
	for _, p := range s.points {
		if k.x[p.X] == nil {
			k.x[p.X] = p
		}
		if k.y[p.Y] == nil {
			k.y[p.Y] = p
		}
	}
	for _, c := range s.circles {
		if k.radii[c.R] == nil {
			k.radii[c.R] = c
		}
	}
	return k
}

// equation returns the gauge of the size that an equation gives: one of its
// sides is a measure and the other is not.
func (k *scale) equation(left, right *solve.Expr) (g gauge, follows, ok bool) {
	g, ok = k.of(left)
	h, also := k.of(right)
	if ok == also {
		return g, false, false // two measures that are equal, or none
	}
	if also {
		g, right = h, left
	}
	_, known := right.Constant()
	return g, !known, true
}

// of returns what an expression measures: something that was asked for by its
// name, a coordinate, a radius, or a difference of coordinates.
func (k *scale) of(e *solve.Expr) (gauge, bool) {
	if g, ok := k.known[e]; ok {
		return g, true
	}
	if a, b, ok := e.Difference(); ok {
		if p, q := k.x[b], k.x[a]; p != nil && q != nil {
			return pointsGauge(e, Horizontal, p, q), true
		}
		if p, q := k.y[b], k.y[a]; p != nil && q != nil {
			return pointsGauge(e, Vertical, p, q), true
		}
		return gauge{}, false
	}
	if e.Index() < 0 {
		return gauge{}, false
	}
	if c := k.radii[e]; c != nil {
		return radiusGauge(c, e, RadiusOf), true
	}
	if p := k.x[e]; p != nil {
		return gauge{Horizontal, e, func(v *Solved) (spot, bool) {
			q := v.Place(p)
			return spot{a: geom.Vec2{Y: q.Y}, b: q}, q.X != 0
		}}, true
	}
	if p := k.y[e]; p != nil {
		return gauge{Vertical, e, func(v *Solved) (spot, bool) {
			q := v.Place(p)
			return spot{a: geom.Vec2{X: q.X}, b: q}, q.Y != 0
		}}, true
	}
	return gauge{}, false
}

func radiusGauge(e Entity, r *solve.Expr, kind DimensionKind) gauge {
	return gauge{kind, r, func(v *Solved) (spot, bool) {
		c := v.Place(centreOf(e))
		// Of a circle a place up to the right, of an arc its middle.
		radius := v.Value(radiusOf(e))
		sin, cos := geom.SinCos(math.Pi / 4)
		to := geom.Vec2{X: float64(radius * cos), Y: float64(radius * sin)}
		if a, ok := e.(*Arc); ok {
			curve := v.arc(a)
			to = curve.Middle().Sub(c)
		}
		if kind == DiameterOf {
			return spot{c.Sub(to), c.Add(to), c}, true
		}
		return spot{c, c.Add(to), c}, true
	}}
}

func pointsGauge(e *solve.Expr, kind DimensionKind, p, q *Point) gauge {
	return gauge{kind, e, func(v *Solved) (spot, bool) { return spot{a: v.Place(p), b: v.Place(q)}, true }}
}

// footGauge is of the distance of a point from a line.
func footGauge(e *solve.Expr, p *Point, l *Line) gauge {
	return gauge{Linear, e, func(v *Solved) (spot, bool) {
		at, line := v.Place(p), Curve{A: v.Place(l.A), B: v.Place(l.B)}
		return spot{a: line.nearestOn(at), b: at}, true
	}}
}

// angleGauge is of the angle from l to m, or with m nil from the x axis to l.
func angleGauge(e *solve.Expr, l, m *Line) gauge {
	return gauge{AngleBetween, e, func(v *Solved) (spot, bool) {
		a, b := v.Place(l.A), v.Place(l.B)
		if m == nil {
			return spot{a: a.Add(geom.Vec2{X: b.Sub(a).Len()}), b: b, centre: a}, true
		}
		return legs(a, b, v.Place(m.A), v.Place(m.B))
	}}
}

// legs returns the apex of the lines a b and c d and a place on the leg of
// each, in the direction of both lines or against that of both, where more of
// them lies.
func legs(a, b, c, d geom.Vec2) (spot, bool) {
	u, w := b.Sub(a), d.Sub(c)
	den := u.Cross(w)
	if math.Abs(den) < 1e-9*u.Len()*w.Len() {
		return spot{}, false
	}
	apex := a.Add(u.Scale(c.Sub(a).Cross(w) / den))
	far := func(p, q, dir geom.Vec2) float64 { // how far the line reaches from the apex in its direction
		return math.Max(p.Sub(apex).Dot(dir), q.Sub(apex).Dot(dir)) / dir.Len()
	}
	lu, lw := far(a, b, u), far(c, d, w)
	ru, rw := far(a, b, u.Scale(-1)), far(c, d, w.Scale(-1))
	if min(ru, rw) > min(lu, lw) {
		u, w, lu, lw = u.Scale(-1), w.Scale(-1), ru, rw
	}
	// A leg that is not drawn is as long as the other.
	length := max(lu, lw)
	reach := func(dir geom.Vec2, l float64) geom.Vec2 {
		if l < 1e-6*length {
			l = length
		}
		return apex.Add(dir.Scale(l / dir.Len()))
	}
	return spot{reach(u, lu), reach(w, lw), apex}, length > 0
}

// sweepGauge is of the angle that an arc runs through, or of its length.
func sweepGauge(e *solve.Expr, kind DimensionKind, arc *Arc) gauge {
	return gauge{kind, e, func(v *Solved) (spot, bool) {
		s := spot{v.Place(arc.A), v.Place(arc.B), v.Place(arc.Centre)}
		if arc.Clockwise {
			s.a, s.b = s.b, s.a
		}
		return s, true
	}}
}

// SizeGiven notes that the text gives the size of a circle or an arc, as a
// diameter or as a radius.
func (s *Sketch) SizeGiven(e Entity, diameter bool, at source.Span) {
	r := radiusOf(e)
	_, known := r.Constant()
	if _, circle := e.(*Circle); circle && r.Index() >= 0 {
		return // a suggestion only
	}
	g := radiusGauge(e, r, RadiusOf)
	if diameter {
		g = radiusGauge(e, solve.Scale(2, r), DiameterOf)
	}
	s.give(g, !known, at)
}

// LengthGiven notes that the text gives the length of a line by an expression.
func (s *Sketch) LengthGiven(l *Line, by *solve.Expr, at source.Span) {
	_, known := by.Constant()
	s.give(pointsGauge(distance(l.A, l.B), Linear, l.A, l.B), !known, at)
}

// DirectionGiven notes that the text gives the angle of a line from the x
// axis.
func (s *Sketch) DirectionGiven(l *Line, by *solve.Expr, at source.Span) {
	_, known := by.Constant()
	s.give(angleGauge(solve.Atan2(l.dy(), l.dx()), l, nil), !known, at)
}

// SweepGiven notes that the text gives the angle an arc runs through.
func (s *Sketch) SweepGiven(a *Arc, by *solve.Expr, at source.Span) {
	_, known := by.Constant()
	s.give(sweepGauge(by, AngleBetween, a), !known, at)
}

// SidesGiven notes the width and the height of a ready rectangle and where
// the text gives them.
func (s *Sketch) SidesGiven(o *Outline, width, height *solve.Expr, widthAt, heightAt source.Span) {
	_, known := width.Constant()
	bottom, right := o.Segments[0].Line, o.Segments[1].Line
	s.give(pointsGauge(width, Horizontal, bottom.A, bottom.B), !known, widthAt)
	_, known = height.Constant()
	s.give(pointsGauge(height, Vertical, right.A, right.B), !known, heightAt)
}

// WidthGiven notes the width of a ready slot.
func (s *Sketch) WidthGiven(o *Outline, width *solve.Expr, at source.Span) {
	_, known := width.Constant()
	one, other := o.Segments[0].Line, o.Segments[2].Line
	s.give(pointsGauge(width, Linear, middle(one), middle(other)), !known, at)
}

// AcrossGiven notes the size of a regular polygon that the text gives: from a
// side to the opposite one with flats set, else between opposite corners. Of
// an odd number of sides there is nothing to measure between.
func (s *Sketch) AcrossGiven(o *Outline, flats bool, across *solve.Expr, at source.Span) {
	n := len(o.Segments)
	if n%2 != 0 {
		return
	}
	_, known := across.Constant()
	a, b := o.Segments[n-1].Line, o.Segments[n/2-1].Line // the last one is level unless turned
	g := pointsGauge(across, Linear, a.A, b.A)
	if flats {
		g = pointsGauge(across, Linear, middle(a), middle(b))
	}
	s.give(g, !known, at)
}

// dimensions returns the sizes the sketch was given, in the order of the
// text.
func (v *Solved) dimensions() []Dimension {
	var out []Dimension
	k := v.sketch.newScale()
	for _, g := range v.sketch.givens {
		if g.left != nil {
			var ok bool
			if g.gauge, g.follows, ok = k.equation(g.left, g.right); !ok {
				continue
			}
		}
		if at, ok := g.place(v); ok {
			out = append(out, v.dimension(g, at))
		}
	}
	return out
}

// dimension places a given size. One that is negative, clockwise or to the
// left or down, is measured the other way round.
func (v *Solved) dimension(g given, at spot) Dimension {
	x := v.Value(g.of)
	if x < 0 {
		x, at.a, at.b = -x, at.b, at.a
	}
	return Dimension{
		Kind: g.kind, Value: x, Uncertainty: v.uncertainty(g.of),
		A: at.a, B: at.b, Centre: at.centre, Count: 1, Follows: g.follows, At: g.at,
	}
}

// uncertainty returns the standard uncertainty of an expression. Sources are
// independent of each other and slopes are for one standard uncertainty.
func (v *Solved) uncertainty(e *solve.Expr) float64 {
	s := 0.0
	for _, t := range v.Ties(e) {
		s += float64(t.Slope * t.Slope)
	}
	return math.Sqrt(s)
}
