package sketch

import (
	"math"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/source"
)

// Ready shapes are outlines whose corners are expressions.

// Rectangle draws a rectangle about a centre.
func (s *Sketch) Rectangle(name string, centre *Point, width, height, corners *solve.Expr, at source.Span) *Outline {
	half := solve.Const(0.5)
	w, h := solve.Mul(half, width), solve.Mul(half, height)
	at4 := func(sx, sy float64) *Point {
		return s.FixedPoint("", solve.Add(centre.X, solve.Mul(solve.Const(sx), w)), solve.Add(centre.Y, solve.Mul(solve.Const(sy), h)), at)
	}
	ps := []*Point{at4(-1, -1), at4(1, -1), at4(1, 1), at4(-1, 1)}
	o := s.polygonOf(name, ps, at)
	if corners != nil {
		for _, p := range ps {
			p.round = &corner{by: corners, at: at}
		}
	}
	return o
}

func (s *Sketch) polygonOf(name string, ps []*Point, at source.Span) *Outline {
	o := s.NewOutline(name, ps[0], at)
	for i, p := range ps {
		o.Segments = append(o.Segments, Segment{Line: s.NewLine("", p, ps[(i+1)%len(ps)], at)})
	}
	o.closed = true
	return o
}

// Polygon draws a regular polygon of n corners about a centre; radius is
// that of the circle through the corners, the first of which stands at angle
// turned.
func (s *Sketch) Polygon(name string, centre *Point, n int, radius, turned *solve.Expr, at source.Span) *Outline {
	ps := make([]*Point, n)
	for i := range ps {
		a := solve.Add(turned, solve.Const(2*math.Pi*float64(i)/float64(n)))
		if k, ok := a.Constant(); ok {
			sin, cos := geom.SinCos(k)
			ps[i] = s.FixedPoint("", solve.Add(centre.X, solve.Mul(radius, solve.Const(cos))), solve.Add(centre.Y, solve.Mul(radius, solve.Const(sin))), at)
			continue
		}
		ps[i] = s.FixedPoint("", solve.Add(centre.X, solve.Mul(radius, solve.Cos(a))), solve.Add(centre.Y, solve.Mul(radius, solve.Sin(a))), at)
	}
	return s.polygonOf(name, ps, at)
}

// AcrossFlats returns the radius of the circle through the corners of a
// regular polygon of n sides that measures w across flats (for odd n, twice
// the inscribed radius).
func AcrossFlats(w *solve.Expr, n int) *solve.Expr {
	return solve.Div(w, solve.Const(2*math.Cos(math.Pi/float64(n))))
}

// FlatsOf returns what a regular polygon of n sides measures across flats.
func FlatsOf(radius *solve.Expr, n int) *solve.Expr {
	return solve.Scale(2*math.Cos(math.Pi/float64(n)), radius)
}

// AcrossCorners is AcrossFlats for a measure across corners.
func AcrossCorners(w *solve.Expr) *solve.Expr { return solve.Mul(w, solve.Const(0.5)) }

// SlotShape draws a straight slot with round ends about the centres p and q.
func (s *Sketch) SlotShape(name string, p, q *Point, width *solve.Expr, at source.Span) *Outline {
	r := solve.Mul(solve.Const(0.5), width)
	l := &Line{A: p, B: q}
	n := distance(p, q)
	// Half the width, square to the slot on its left.
	ox, oy := solve.Div(solve.Neg(solve.Mul(r, l.dy())), n), solve.Div(solve.Mul(r, l.dx()), n)
	side := func(c *Point, sign float64) *Point {
		k := solve.Const(sign)
		return s.FixedPoint("", solve.Add(c.X, solve.Mul(k, ox)), solve.Add(c.Y, solve.Mul(k, oy)), at)
	}
	a, b, c, d := side(p, -1), side(q, -1), side(q, 1), side(p, 1)
	arc := func(from, to, centre *Point) Segment {
		x := &Arc{entity{at: at}, from, to, centre, r, false}
		s.arcs = append(s.arcs, x)
		return Segment{Arc: x}
	}
	o := s.NewOutline(name, a, at)
	o.Segments = []Segment{
		{Line: s.NewLine("", a, b, at)}, arc(b, c, q),
		{Line: s.NewLine("", c, d, at)}, arc(d, a, p),
	}
	o.closed = true
	return o
}
