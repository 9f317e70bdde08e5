package sketch

import (
	"fmt"
	"math"

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
// start.
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
			return s.apartFrom(p, q), nil
		}
	case *Line:
		return s.apartFrom(middle(b.(*Line)), p), nil
	}
	return nil, fmt.Errorf("there is no distance between a %s and a %s", a.Sort(), b.Sort())
}

// apartFrom is the distance of a point from a line, on the side of the start.
func (s *Sketch) apartFrom(p *Point, l *Line) *solve.Expr {
	d := s.positive(l.offset(p))
	s.measures(footGauge(d, p, l))
	return d
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
