package sketch

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solve"
)

func distance(a, b *Point) *solve.Expr {
	return solve.Hypot(solve.Sub(b.X, a.X), solve.Sub(b.Y, a.Y))
}

func (l *Line) dx() *solve.Expr { return solve.Sub(l.B.X, l.A.X) }
func (l *Line) dy() *solve.Expr { return solve.Sub(l.B.Y, l.A.Y) }

// offset is the signed distance of a point from the carrier of l, positive
// on its left.
func (l *Line) offset(p *Point) *solve.Expr {
	dx, dy := l.dx(), l.dy()
	c := solve.Sub(solve.Mul(dx, solve.Sub(p.Y, l.A.Y)), solve.Mul(dy, solve.Sub(p.X, l.A.X)))
	return solve.Div(c, solve.Hypot(dx, dy))
}

func cross(l, m *Line) *solve.Expr {
	return solve.Sub(solve.Mul(l.dx(), m.dy()), solve.Mul(l.dy(), m.dx()))
}

func dotOf(l, m *Line) *solve.Expr {
	return solve.Add(solve.Mul(l.dx(), m.dx()), solve.Mul(l.dy(), m.dy()))
}

// Length returns the length of a line, an arc or a circle.
func (s *Sketch) Length(e Entity) (*solve.Expr, error) {
	switch e := e.(type) {
	case *Line:
		d := distance(e.A, e.B)
		s.keepSpan(d, e.A, e.B)
		return d, nil
	case *Arc:
		l := solve.Mul(e.R, s.Sweep(e))
		s.measures(sweepGauge(l, ArcLength, e))
		return l, nil
	case *Circle:
		return solve.Scale(2*math.Pi, e.R), nil
	}
	return nil, fmt.Errorf("a %s has no length", e.Sort())
}

// Sweep returns the angle an arc runs through, positive.
func (s *Sketch) Sweep(a *Arc) *solve.Expr {
	angle := func(p *Point) *solve.Expr {
		return solve.Atan2(solve.Sub(p.Y, a.Centre.Y), solve.Sub(p.X, a.Centre.X))
	}
	d := solve.Sub(angle(a.B), angle(a.A))
	if a.Clockwise {
		d = solve.Neg(d)
	}
	// The branch near the start: a sweep in 0..2π there, smooth round it.
	s0 := math.Mod(s.start(d)+4*math.Pi, 2*math.Pi)
	if s0 == 0 {
		s0 = 2 * math.Pi
	}
	sweep := solve.Add(solve.Const(s0), solve.Wrap(solve.Sub(d, solve.Const(s0))))
	s.measures(sweepGauge(sweep, AngleBetween, a))
	return sweep
}

// Radius returns the radius of a circle or an arc.
func (s *Sketch) Radius(e Entity) (*solve.Expr, error) {
	if r := radiusOf(e); r != nil {
		return r, nil
	}
	return nil, fmt.Errorf("a %s has no radius", e.Sort())
}

func radiusOf(e Entity) *solve.Expr {
	switch e := e.(type) {
	case *Circle:
		return e.R
	case *Arc:
		return e.R
	}
	return nil
}

func centreOf(e Entity) *Point {
	switch e := e.(type) {
	case *Circle:
		return e.Centre
	case *Arc:
		return e.Centre
	}
	return nil
}

// Distance returns the distance between two points, a point and a line, or
// two parallel lines. A distance from a line keeps the side it has at the
// start, as long as there is room.
func (s *Sketch) Distance(a, b Entity) (*solve.Expr, error) {
	if l, ok := a.(*Line); ok {
		if _, both := b.(*Line); !both {
			a, b = b, l
		}
	}
	switch p := a.(type) {
	case *Point:
		switch q := b.(type) {
		case *Point:
			d := distance(p, q)
			s.keepSpan(d, p, q)
			return d, nil
		case *Line:
			return s.apartFrom(p, p, q), nil
		}
	case *Line:
		return s.apartFrom(b, middle(b.(*Line)), p), nil
	}
	return nil, fmt.Errorf("there is no distance between a %s and a %s", a.Sort(), b.Sort())
}

// apartFrom is the distance of something at a point from a line, on the side of
// the start.
func (s *Sketch) apartFrom(what Entity, p *Point, l *Line) *solve.Expr {
	d, t := s.signed(l.offset(p), fmt.Sprintf("%s lies on the other side of %s than drawn", known(what), known(l)))
	s.turns(d, t)
	s.measures(footGauge(d, p, l))
	return d
}

// Gap returns the free way between the edge of a circle or an arc (the whole
// circle of it) and a point, a line, or another circle or arc. Of two circles
// of which one starts inside the other it is that to the wall round it; a line
// keeps its side.
func (s *Sketch) Gap(a, b Entity) (*solve.Expr, error) {
	if radiusOf(a) == nil {
		a, b = b, a
	}
	r := radiusOf(a)
	if r == nil {
		return nil, fmt.Errorf("`gap` is about circles and arcs, here are a %s and a %s; of these it is distance(a, b)", b.Sort(), a.Sort())
	}
	c := centreOf(a)
	switch b := b.(type) {
	case *Point:
		return s.wall(distance(c, b), r), nil
	case *Line:
		off, t := s.signed(b.offset(c), fmt.Sprintf("%s lies on the other side of %s than drawn", known(a), known(b)))
		g := solve.Sub(off, r)
		s.turns(g, t)
		s.measures(gauge{Linear, g, func(v *Solved) (spot, bool) {
			at := v.Place(c)
			line := Curve{A: v.Place(b.A), B: v.Place(b.B)}
			foot := line.nearestOn(at)
			return spot{a: foot, b: towards(at, foot, v.Value(r))}, true
		}})
		return g, nil
	}
	q := radiusOf(b)
	if q == nil {
		return nil, fmt.Errorf("there is no gap between a %s and a %s", a.Sort(), b.Sort())
	}
	d := distance(c, centreOf(b))
	if s.start(d) < math.Abs(s.start(r)-s.start(q)) { // one inside the other
		return solve.Sub(s.positive(solve.Sub(q, r)), d), nil
	}
	g := solve.Sub(d, solve.Add(r, q))
	s.measures(gauge{Linear, g, func(v *Solved) (spot, bool) {
		m, n := v.Place(c), v.Place(centreOf(b))
		return spot{a: towards(m, n, v.Value(r)), b: towards(n, m, v.Value(q))}, true
	}})
	return g, nil
}

// wall is the way from the edge of a circle to a point inside or outside, as
// it starts.
func (s *Sketch) wall(d, r *solve.Expr) *solve.Expr { return s.positive(solve.Sub(d, r)) }

// towards returns the place so far from a on the way to b.
func towards(a, b geom.Vec2, far float64) geom.Vec2 {
	v := b.Sub(a)
	if v.Len() == 0 {
		return a
	}
	return a.Add(v.Scale(far / v.Len()))
}

// corners calls straight with the size and the turn, positive to the left, of
// every rounded or bevelled corner between straight sides, and bent with every
// other one.
func (o *Outline) corners(straight func(by, turn *solve.Expr, bevel bool), bent func(b *bend)) {
	n := len(o.Segments)
	for i, g := range o.Segments {
		c := g.to().round
		if c == nil {
			continue
		}
		next := o.Segments[(i+1)%n]
		if g.Line != nil && next.Line != nil {
			straight(c.by, solve.Atan2(cross(g.Line, next.Line), dotOf(g.Line, next.Line)), c.bevel)
			continue
		}
		bent(o.sketch.bend(g, next, c))
	}
}

// Area returns the area inside an outline with its corners rounded: the
// shoelace formula, the circular segments r²/2 (w - sin w) of arcs, less
// r² (tan t/2 - t/2) for a corner between straight sides that turns by t and is
// rounded, and l²/2 sin t for one that is bevelled. At an arc it is the same
// formulas for what the blend takes away.
func (s *Sketch) Area(o *Outline) *solve.Expr {
	half := solve.Const(0.5)
	sum := solve.Const(0)
	for _, g := range o.Segments {
		a, b := g.from(), g.to()
		sum = solve.Add(sum, solve.Mul(half, solve.Sub(solve.Mul(a.X, b.Y), solve.Mul(a.Y, b.X))))
		if arc := g.Arc; arc != nil {
			w := s.Sweep(arc)
			seg := solve.Mul(half, solve.Mul(solve.Mul(arc.R, arc.R), solve.Sub(w, solve.Sin(w))))
			if arc.Clockwise {
				seg = solve.Neg(seg)
			}
			sum = solve.Add(sum, seg)
		}
	}
	o.corners(func(by, turn *solve.Expr, bevel bool) {
		off := solve.Mul(half, solve.Sin(turn))
		if !bevel {
			h := solve.Mul(half, turn)
			off = solve.Sub(solve.Tan(h), h)
		}
		sum = solve.Sub(sum, solve.Mul(solve.Mul(by, by), off))
	}, func(b *bend) { sum = solve.Sub(sum, b.area()) })
	return s.positive(sum)
}

// Perimeter returns the length of an outline with its corners rounded: a corner
// between straight sides that turns by t saves r (2 tan t/2 - t) when it is
// rounded and 2 l (1 - cos t/2) when bevelled.
func (s *Sketch) Perimeter(o *Outline) *solve.Expr {
	sum := solve.Const(0)
	for _, g := range o.Segments {
		if g.Arc != nil {
			sum = solve.Add(sum, solve.Mul(g.Arc.R, s.Sweep(g.Arc)))
		} else {
			sum = solve.Add(sum, distance(g.Line.A, g.Line.B))
		}
	}
	two := solve.Const(2)
	o.corners(func(by, turn *solve.Expr, bevel bool) {
		h := solve.Mul(solve.Const(0.5), s.positive(turn))
		saved := solve.Mul(two, solve.Sub(solve.Const(1), solve.Cos(h)))
		if !bevel {
			saved = solve.Mul(two, solve.Sub(solve.Tan(h), h))
		}
		sum = solve.Sub(sum, solve.Mul(by, saved))
	}, func(b *bend) { sum = solve.Sub(sum, b.saved()) })
	return sum
}

// keepSpan remembers what a distance is between.
func (s *Sketch) keepSpan(d *solve.Expr, p, q *Point) {
	if s.apart == nil {
		s.apart = map[*solve.Expr][2]*Point{}
	}
	s.apart[d] = [2]*Point{p, q}
	s.spans = append(s.spans, s.apart[d])
	s.measures(pointsGauge(d, Linear, p, q))
}

// positive returns e or -e, whichever is positive at the start.
func (s *Sketch) positive(e *solve.Expr) *solve.Expr {
	if s.start(e) < 0 {
		return solve.Neg(e)
	}
	return e
}

func middle(l *Line) *Point {
	return &Point{X: solve.Scale(0.5, solve.Add(l.A.X, l.B.X)), Y: solve.Scale(0.5, solve.Add(l.A.Y, l.B.Y)), vx: -1, vy: -1}
}

// Angle returns the angle from line l counter-clockwise to line m, in -π..π;
// with m nil, the angle of l from the x axis.
func (s *Sketch) Angle(l, m *Line) *solve.Expr {
	a := solve.Atan2(l.dy(), l.dx())
	if m != nil {
		a = solve.Atan2(cross(l, m), dotOf(l, m))
	}
	s.measures(angleGauge(a, l, m))
	return a
}
