package drawing

import (
	"math"

	"perch/compile/geom"
)

// Sizes of dimensions, mm. Arrow heads are filled and three times as long as
// they are wide at 15 to 20 degrees; extension lines leave a small gap and run
// a little past the dimension line (ISO 129-1).
const (
	arrowLong = 3.0
	arrowHalf = 0.45
	leave     = 1.0 // from the part to the extension line
	past      = 2.0 // from the dimension line to the end of the extension line
	above     = 0.9 // from the dimension line to the lettering
	apartDim  = 9.0 // from the part to the first dimension line
)

// arrow draws a head whose point is at tip, pointing along dir of length 1.
func (s *Sheet) arrow(tip, dir geom.Vec2) {
	back := tip.Sub(dir.Scale(arrowLong))
	side := dir.Perp().Scale(arrowHalf)
	s.Fills = append(s.Fills, []geom.Vec2{tip, back.Add(side), back.Sub(side)})
}

// linear draws the dimension of the distance from a to b along u, of length 1.
// Its line stands beyond both points by gap on the side of away, of length 1
// and square to u.
func (s *Sheet) linear(a, b, u, away geom.Vec2, gap float64, text string) {
	if b.Sub(a).Dot(u) < 0 {
		a, b = b, a
	}
	level := max(a.Dot(away), b.Dot(away)) + gap
	p := a.Add(away.Scale(level - a.Dot(away)))
	q := b.Add(away.Scale(level - b.Dot(away)))
	for _, e := range [2][2]geom.Vec2{{a, p}, {b, q}} {
		s.stroke(Thin, e[0].Add(away.Scale(leave)), e[1].Add(away.Scale(past)))
	}
	long := q.Sub(p).Len()
	w := wide(text, normal)
	mid := p.Add(q).Scale(0.5)
	if long >= 2*arrowLong+1 {
		s.stroke(Thin, p, q)
		s.arrow(p, u.Scale(-1))
		s.arrow(q, u)
	} else { // too short: the arrows stand outside
		s.stroke(Thin, p.Sub(u.Scale(2*arrowLong)), q.Add(u.Scale(2*arrowLong)))
		s.arrow(p, u)
		s.arrow(q, u.Scale(-1))
	}
	if outside(long, text) > 0 { // beside the dimension, on its line
		mid = q.Add(u.Scale(float64(2*arrowLong) + 1 + w/2))
		s.stroke(Thin, q, q.Add(u.Scale(outside(long, text))))
	}
	s.along(mid, u, text)
}

// outside returns how far a dimension reaches beyond its far end because the
// text has no room between the extension lines; 0 when it has.
func outside(long float64, text string) float64 {
	w := wide(text, normal)
	if w <= long-1 {
		return 0
	}
	return 2*arrowLong + 2 + w
}

// along writes a text over a line of direction u so that it reads from below
// or from the right.
func (s *Sheet) along(mid, u geom.Vec2, text string) {
	turn := math.Atan2(-u.Y, u.X) * 180 / math.Pi
	if turn <= -90+1e-9 {
		turn += 180
	}
	if turn > 90+1e-9 {
		turn -= 180
	}
	up := turned(geom.Vec2{Y: -1}, turn)
	s.Texts = append(s.Texts, Text{At: mid.Add(up.Scale(above)), Height: normal, Turn: turn, Anchor: Middle, Text: text})
}

// leader draws a line from a rim to a text beside the part.
func (s *Sheet) leader(tip, elbow geom.Vec2, text string) {
	w := wide(text, normal)
	end, at := elbow.Add(geom.Vec2{X: w + 1}), elbow.X+0.5
	if elbow.X < tip.X {
		end, at = elbow.Sub(geom.Vec2{X: w + 1}), elbow.X-w-0.5
	}
	s.stroke(Thin, tip, elbow, end)
	s.arrow(tip, tip.Sub(elbow).Unit())
	s.write(at, elbow.Y-above, normal, Left, text)
}

// cross marks the centre of a circle of radius r.
func (s *Sheet) cross(c geom.Vec2, r float64) {
	d := r + min(3, max(1, 0.25*r))
	s.stroke(Chain, geom.Vec2{X: c.X - d, Y: c.Y}, geom.Vec2{X: c.X + d, Y: c.Y})
	s.stroke(Chain, geom.Vec2{X: c.X, Y: c.Y - d}, geom.Vec2{X: c.X, Y: c.Y + d})
}
