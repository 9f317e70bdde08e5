package sketch

import (
	"cmp"
	"math"
	"slices"

	"perch/compile/geom"
)

// Curve is a solved piece of a boundary: a straight line, or an arc about
// Centre.
type Curve struct {
	A, B      geom.Vec2
	Round     bool
	Centre    geom.Vec2
	Radius    float64
	Clockwise bool
	Name      string // of the segment it comes from

	of Entity // that segment; of the blend of a corner its point
}

// Boundary is a closed chain of curves, each beginning where the one before
// ends; a full circle is one curve with A = B.
type Boundary []Curve

// sweep returns the signed angle of an arc, positive counter-clockwise.
func (c *Curve) sweep() float64 {
	u, v := c.A.Sub(c.Centre), c.B.Sub(c.Centre)
	a := math.Atan2(u.Cross(v), u.Dot(v))
	if c.Clockwise {
		if a >= 0 {
			a -= 2 * math.Pi
		}
		return a
	}
	if a <= 0 {
		a += 2 * math.Pi
	}
	return a
}

// Middle returns the place halfway along the curve.
func (c *Curve) Middle() geom.Vec2 {
	if !c.Round {
		return c.A.Add(c.B).Scale(0.5)
	}
	sin, cos := geom.SinCos(c.sweep() / 2)
	u := c.A.Sub(c.Centre)
	return c.Centre.Add(u.Scale(cos)).Add(u.Perp().Scale(sin))
}

// Sweep returns the angle that a round curve runs through, positive
// counter-clockwise, in radians; 0 for a straight one.
func (c *Curve) Sweep() float64 {
	if !c.Round {
		return 0
	}
	return c.sweep()
}

// Ring returns the boundary as a polygon with a chord error of at most tol
// mm. A circle of radius r has the least multiple of four that is not less
// than max(8, π/acos(1 - tol/r)) of sides and begins at angle 0; a multiple of
// four measures its diameter along both axes. An arc has the corners of its
// circle that lie on it, between its exact ends. The ring runs
// counter-clockwise, whichever way it was drawn.
func (b Boundary) Ring(tol float64) []geom.Vec2 { return b.ring(tol, meetings(nil).on) }

// ring is Ring with the corners that shared adds to each curve.
func (b Boundary) ring(tol float64, shared func(c *Curve) []geom.Vec2) []geom.Vec2 {
	var ring []geom.Vec2
	for i := range b {
		ring = append(ring, b[i].points(tol, shared(&b[i]))...)
	}
	if signedArea(ring) < 0 {
		slices.Reverse(ring)
	}
	return ring
}

// leastGap is how close corners of one arc may come, in mm: what rounding to
// the grid of areas could make one.
const leastGap = 2e-5

// points returns the corners of the chords of c without the last, among them
// those of `also` that lie between its ends.
func (c *Curve) points(tol float64, also []geom.Vec2) []geom.Vec2 {
	if !c.Round {
		return []geom.Vec2{c.A}
	}
	type corner struct {
		turn float64 // from A on, along the arc
		at   geom.Vec2
	}
	sweep := c.sweep()
	total := math.Abs(sweep)
	gap := leastGap / c.Radius
	way := []corner{{0, c.A}, {total, c.B}}
	add := func(turn float64, at geom.Vec2) {
		i, _ := slices.BinarySearchFunc(way, turn, func(k corner, t float64) int { return cmp.Compare(k.turn, t) })
		if i > 0 && i < len(way) && turn-way[i-1].turn > gap && way[i].turn-turn > gap {
			way = slices.Insert(way, i, corner{turn, at})
		}
	}
	for _, p := range also {
		add(c.place(p)*total, p)
	}
	u := c.A.Sub(c.Centre)
	begin := math.Atan2(u.Y, u.X)
	step := 2 * math.Pi / float64(geom.FourFold(geom.Sides(c.Radius, tol)))
	// the corners of the whole circle that lie on the arc
	lo, hi := begin, begin+sweep
	if sweep < 0 {
		lo, hi = hi, lo
	}
	for k := math.Ceil(lo / step); k*step < hi; k++ {
		sin, cos := geom.SinCos(float64(k * step))
		at := geom.Vec2{X: c.Centre.X + float64(c.Radius*cos), Y: c.Centre.Y + float64(c.Radius*sin)}
		add(math.Abs(float64(k*step)-begin), at)
	}
	p := make([]geom.Vec2, 0, len(way)-1)
	for _, k := range way[:len(way)-1] {
		p = append(p, k.at)
	}
	return p
}

func signedArea(ring []geom.Vec2) float64 {
	s := 0.0
	for i, p := range ring {
		s += p.Cross(ring[(i+1)%len(ring)])
	}
	return s / 2
}

// Surface returns the area inside the boundary in mm², exact.
func (b Boundary) Surface() float64 {
	s := 0.0
	for i := range b {
		c := &b[i]
		s += c.A.Cross(c.B) / 2
		if c.Round { // circular segment between chord and arc
			w := c.sweep()
			s += float64(float64(c.Radius*c.Radius) / 2 * (w - math.Sin(w)))
		}
	}
	return math.Abs(s)
}

// Perimeter returns the length of the boundary in mm, exact.
func (b Boundary) Perimeter() float64 {
	s := 0.0
	for i := range b {
		if b[i].Round {
			s += float64(b[i].Radius * math.Abs(b[i].sweep()))
		} else {
			s += b[i].B.Sub(b[i].A).Len()
		}
	}
	return s
}

// offsetLine and offsetCircle are the carriers of a curve moved sideways by
// d to the left of its run; roundings have their centres where the carriers
// of two neighbours cross.
type carrier struct {
	round  bool
	p, dir geom.Vec2 // of a line
	c      geom.Vec2 // of a circle
	r      float64
}

func (c *Curve) offset(d float64) carrier {
	if !c.Round {
		u := c.B.Sub(c.A)
		u = u.Scale(1 / u.Len())
		return carrier{p: c.A.Add(u.Perp().Scale(d)), dir: u}
	}
	if c.Clockwise {
		d = -d
	}
	return carrier{round: true, c: c.Centre, r: c.Radius - d}
}

// meet returns the points where two carriers cross.
func (k carrier) meet(o carrier) []geom.Vec2 {
	switch {
	case !k.round && !o.round:
		den := k.dir.Cross(o.dir)
		if math.Abs(den) < 1e-12 {
			return nil
		}
		t := o.p.Sub(k.p).Cross(o.dir) / den
		return []geom.Vec2{k.p.Add(k.dir.Scale(t))}
	case k.round && !o.round:
		return o.meet(k)
	case !k.round:
		v := o.c.Sub(k.p)
		along, off := v.Dot(k.dir), k.dir.Cross(v)
		h := float64(o.r*o.r) - float64(off*off)
		if h < 0 {
			return nil
		}
		h = math.Sqrt(h)
		return []geom.Vec2{k.p.Add(k.dir.Scale(along - h)), k.p.Add(k.dir.Scale(along + h))}
	}
	v := o.c.Sub(k.c)
	d := v.Len()
	if d == 0 {
		return nil
	}
	x := (float64(d*d) + float64(k.r*k.r) - float64(o.r*o.r)) / (2 * d)
	h := float64(k.r*k.r) - float64(x*x)
	if h < 0 {
		return nil
	}
	h = math.Sqrt(h)
	u := v.Scale(1 / d)
	m := k.c.Add(u.Scale(x))
	return []geom.Vec2{m.Add(u.Perp().Scale(h)), m.Sub(u.Perp().Scale(h))}
}

// nearestOn returns the point of the curve's own carrier nearest p.
func (c *Curve) nearestOn(p geom.Vec2) geom.Vec2 {
	if !c.Round {
		u := c.B.Sub(c.A)
		return c.A.Add(u.Scale(p.Sub(c.A).Dot(u) / u.Dot(u)))
	}
	v := p.Sub(c.Centre)
	return c.Centre.Add(v.Scale(c.Radius / v.Len()))
}

// place returns where p lies along the curve, 0 at A and 1 at B.
func (c *Curve) place(p geom.Vec2) float64 {
	if !c.Round {
		u := c.B.Sub(c.A)
		return p.Sub(c.A).Dot(u) / u.Dot(u)
	}
	u, v := c.A.Sub(c.Centre), p.Sub(c.Centre)
	a := math.Atan2(u.Cross(v), u.Dot(v))
	s := c.sweep()
	if a*s < 0 {
		a += math.Copysign(2*math.Pi, s)
	}
	return a / s
}

// leaving and arriving return the unit direction of a curve at its ends.
func (c *Curve) leaving() geom.Vec2  { return c.tangentAt(c.A) }
func (c *Curve) arriving() geom.Vec2 { return c.tangentAt(c.B) }

func (c *Curve) tangentAt(p geom.Vec2) geom.Vec2 {
	v := c.B.Sub(c.A)
	if c.Round {
		v = p.Sub(c.Centre).Perp()
		if c.Clockwise {
			v = v.Scale(-1)
		}
	}
	return v.Scale(1 / v.Len())
}

// smooth reports whether b goes on in the direction in which a ends.
func smooth(a, b *Curve) bool {
	u, v := a.arriving(), b.leaving()
	return math.Abs(u.Cross(v)) < 1e-9 && u.Dot(v) > 0
}

// blend returns the curve that rounds or bevels the corner between a and b,
// which it shortens; it reports false when there is no room or no corner.
func blend(a, b *Curve, by float64, bevel bool) (Curve, bool) {
	turn := a.arriving().Cross(b.leaving())
	if smooth(a, b) {
		return Curve{}, false
	}
	corner := a.B
	if bevel {
		p, okA := along(a, -by)
		q, okB := along(b, by)
		if !okA || !okB {
			return Curve{}, false
		}
		a.B, b.A = p, q
		return Curve{A: p, B: q}, true
	}
	side := math.Copysign(by, turn)
	best, found := geom.Vec2{}, false
	for _, c := range a.offset(side).meet(b.offset(side)) {
		p, q := a.nearestOn(c), b.nearestOn(c)
		s, t := a.place(p), b.place(q)
		const e = 1e-9
		if s < -e || s > 1+e || t < -e || t > 1+e {
			continue
		}
		if !found || c.Sub(corner).Len() < best.Sub(corner).Len() {
			best, found = c, true
		}
	}
	if !found {
		return Curve{}, false
	}
	p, q := a.nearestOn(best), b.nearestOn(best)
	a.B, b.A = p, q
	return Curve{A: p, B: q, Round: true, Centre: best, Radius: by, Clockwise: turn < 0}, true
}

// along returns the point a length l from the start of c (from its end for
// negative l), measured along it.
func along(c *Curve, l float64) (geom.Vec2, bool) {
	total := c.B.Sub(c.A).Len()
	if c.Round {
		total = c.Radius * math.Abs(c.sweep())
	}
	t := l / total
	if l < 0 {
		t = 1 + t
	}
	if t < 0 || t > 1 {
		return geom.Vec2{}, false
	}
	if !c.Round {
		return c.A.Add(c.B.Sub(c.A).Scale(t)), true
	}
	sin, cos := geom.SinCos(c.sweep() * t)
	u := c.A.Sub(c.Centre)
	return geom.Vec2{X: c.Centre.X + float64(cos*u.X) - float64(sin*u.Y), Y: c.Centre.Y + float64(sin*u.X) + float64(cos*u.Y)}, true
}
