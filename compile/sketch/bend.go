package sketch

import "perch/compile/solve"

// This file measures a rounded or bevelled corner at which an arc ends: what
// the blend takes from the area and from the length of the border.

// vec is a place or a way as expressions.
type vec struct{ x, y *solve.Expr }

func vecOf(p *Point) vec { return vec{p.X, p.Y} }

func (a vec) plus(b vec) vec  { return vec{solve.Add(a.x, b.x), solve.Add(a.y, b.y)} }
func (a vec) minus(b vec) vec { return vec{solve.Sub(a.x, b.x), solve.Sub(a.y, b.y)} }
func (a vec) times(k *solve.Expr) vec {
	return vec{solve.Mul(k, a.x), solve.Mul(k, a.y)}
}
func (a vec) left() vec { return vec{solve.Neg(a.y), a.x} }
func (a vec) dot(b vec) *solve.Expr {
	return solve.Add(solve.Mul(a.x, b.x), solve.Mul(a.y, b.y))
}
func (a vec) cross(b vec) *solve.Expr {
	return solve.Sub(solve.Mul(a.x, b.y), solve.Mul(a.y, b.x))
}
func (a vec) length() *solve.Expr { return solve.Hypot(a.x, a.y) }
func (a vec) unit() vec {
	l := a.length()
	return vec{solve.Div(a.x, l), solve.Div(a.y, l)}
}

// bend is a blended corner with an arc: the way from p on the first segment to
// the corner and on to q on the second is replaced by a curve from p to q,
// which is straight without a centre.
type bend struct {
	s            *Sketch
	first, next  Segment
	corner, p, q vec
	centre       *vec
	by           *solve.Expr
}

// bend works out the blend of a corner. The side on which it lies and the
// nearer of two places are as drawn.
func (s *Sketch) bend(first, next Segment, c *corner) *bend {
	b := &bend{s: s, first: first, next: next, corner: vecOf(first.to()), by: c.by}
	if c.bevel {
		b.p, b.q = b.along(first, solve.Neg(c.by)), b.along(next, c.by)
		return b
	}
	turn := b.way(first).cross(b.way(next))
	side := c.by // of the centre, to the left
	if s.start(turn) < 0 {
		side = solve.Neg(c.by)
	}
	centre := b.meet(side)
	b.centre = &centre
	b.p, b.q = b.foot(first, centre, side), b.foot(next, centre, side)
	return b
}

// way is the unit direction of a segment at the corner.
func (b *bend) way(g Segment) vec {
	if g.Line != nil {
		return vecOf(g.Line.B).minus(vecOf(g.Line.A)).unit()
	}
	w := b.corner.minus(vecOf(g.Arc.Centre)).unit().left()
	if g.Arc.Clockwise {
		return w.times(solve.Const(-1))
	}
	return w
}

// along is the place so far beyond the corner, measured along a segment.
func (b *bend) along(g Segment, far *solve.Expr) vec {
	if g.Line != nil {
		return b.corner.plus(b.way(g).times(far))
	}
	turn := solve.Div(far, g.Arc.R)
	if g.Arc.Clockwise {
		turn = solve.Neg(turn)
	}
	c := vecOf(g.Arc.Centre)
	r := b.corner.minus(c)
	return c.plus(r.times(solve.Cos(turn))).plus(r.left().times(solve.Sin(turn)))
}

// reach is the radius of the circle that lies so far to the left of an arc.
func reach(a *Arc, side *solve.Expr) *solve.Expr {
	if a.Clockwise {
		return solve.Add(a.R, side)
	}
	return solve.Sub(a.R, side)
}

// meet is the centre of the blend, which lies so far to the left of both
// segments, on the side of the corner of the line of their middles.
func (b *bend) meet(side *solve.Expr) vec {
	line, arc := b.first.Line, b.next.Arc
	if line == nil {
		line, arc = b.next.Line, b.first.Arc
	}
	if line == nil {
		return b.meetArcs(side)
	}
	c, u := vecOf(arc.Centre), vecOf(line.B).minus(vecOf(line.A)).unit()
	h := solve.Add(side, u.left().dot(b.corner.minus(c))) // of the centre beside c
	return c.plus(u.left().times(h)).plus(u.times(b.leg(reach(arc, side), h, u.dot(b.corner.minus(c)))))
}

func (b *bend) meetArcs(side *solve.Expr) vec {
	c, d := vecOf(b.first.Arc.Centre), vecOf(b.next.Arc.Centre)
	r, q := reach(b.first.Arc, side), reach(b.next.Arc, side)
	gap := d.minus(c)
	l, u := gap.length(), gap.unit()
	x := solve.Div(solve.Add(solve.Mul(l, l), solve.Sub(solve.Mul(r, r), solve.Mul(q, q))), solve.Scale(2, l))
	return c.plus(u.times(x)).plus(u.left().times(b.leg(r, x, u.cross(b.corner.minus(c)))))
}

// leg is the other leg of a right triangle, with the sign that like has at the
// start.
func (b *bend) leg(long, leg, like *solve.Expr) *solve.Expr {
	y := solve.Sqrt(solve.Sub(solve.Mul(long, long), solve.Mul(leg, leg)))
	if b.s.start(like) < 0 {
		return solve.Neg(y)
	}
	return y
}

// foot is where the blend touches a segment.
func (b *bend) foot(g Segment, centre vec, side *solve.Expr) vec {
	if g.Line != nil {
		return centre.minus(b.way(g).left().times(side))
	}
	c := vecOf(g.Arc.Centre)
	return c.plus(centre.minus(c).times(solve.Div(g.Arc.R, reach(g.Arc, side))))
}

// swept is what lies to the left of the way from p to q as seen from the
// origin, ½ p×q, and for an arc the segment over it, with the length of the way.
func (b *bend) swept(p, q vec, centre *vec, r *solve.Expr) (area, length *solve.Expr) {
	half := solve.Const(0.5)
	area = solve.Mul(half, p.cross(q))
	if centre == nil {
		return area, q.minus(p).length()
	}
	u, v := p.minus(*centre), q.minus(*centre)
	w := solve.Atan2(u.cross(v), u.dot(v))
	area = solve.Add(area, solve.Mul(half, solve.Mul(solve.Mul(r, r), solve.Sub(w, solve.Sin(w)))))
	return area, solve.Mul(r, b.s.positive(w))
}

// ways returns the sums over the way by the corner and over the blend.
func (b *bend) ways() (area, length, blendArea, blendLength *solve.Expr) {
	over := func(g Segment, p, q vec) (area, length *solve.Expr) {
		if g.Line != nil {
			return b.swept(p, q, nil, nil)
		}
		c := vecOf(g.Arc.Centre)
		return b.swept(p, q, &c, g.Arc.R)
	}
	a1, l1 := over(b.first, b.p, b.corner)
	a2, l2 := over(b.next, b.corner, b.q)
	blendArea, blendLength = b.swept(b.p, b.q, b.centre, b.by)
	return solve.Add(a1, a2), solve.Add(l1, l2), blendArea, blendLength
}

// area is what the blend takes from the area, counter-clockwise.
func (b *bend) area() *solve.Expr {
	by, _, blend, _ := b.ways()
	return solve.Sub(by, blend)
}

// saved is what it takes from the length.
func (b *bend) saved() *solve.Expr {
	_, by, _, blend := b.ways()
	return solve.Sub(by, blend)
}
