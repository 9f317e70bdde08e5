package region

import (
	"math"

	"perch/compile/geom"
)

// Corners says how an offset border goes round a corner.
type Corners uint8

const (
	Round Corners = iota // by an arc about the corner
	Sharp                // by drawing the sides out until they meet
)

// sharpest is how far a sharp corner may stand out, in offsets; a longer one
// is cut off square there. Four offsets belong to a corner of 29 degrees.
const sharpest = 4

// Offset returns the area whose border lies outside that of the given one by
// a distance in mm, or inside it for a negative distance. Rings are as
// Combine returns them; arcs about corners leave the true ones by at most
// tolerance. Nothing may be left.
//
// The area is joined with, or cut by, a strip along every side and a piece
// round every corner that the strips leave open: the Minkowski sum with a
// disc (M. de Berg et al., Computational Geometry, chapter 13).
func Offset(rings [][]geom.Vec2, by float64, corners Corners, tolerance float64) ([][]geom.Vec2, error) {
	if by == 0 {
		return rings, nil
	}
	b := bands{by: math.Abs(by), corners: corners, tolerance: tolerance}
	if by > 0 {
		for _, r := range rings {
			b.along(r)
		}
		// All wind the same way, so that none takes from another.
		out, err := Combine([][][]geom.Vec2{append(b.rings, rings...)}, func(in []bool) bool { return in[0] })
		return withoutSlivers(out), err
	}
	for _, r := range rings {
		back := make([]geom.Vec2, len(r))
		for i, v := range r {
			back[len(r)-1-i] = v
		}
		b.along(back)
	}
	out, err := Combine([][][]geom.Vec2{rings, b.rings}, func(in []bool) bool { return in[0] && !in[1] })
	return withoutSlivers(out), err
}

// bands collects the pieces that lie to the right of rings.
type bands struct {
	by, tolerance float64
	corners       Corners
	rings         [][]geom.Vec2
}

// along adds the pieces along one ring.
func (b *bands) along(ring []geom.Vec2) {
	var p []geom.Vec2
	for _, v := range ring {
		if n := len(p); n == 0 || p[n-1] != v {
			p = append(p, v)
		}
	}
	for len(p) > 1 && p[0] == p[len(p)-1] {
		p = p[:len(p)-1]
	}
	n := len(p)
	if n < 3 {
		return
	}
	out := make([]geom.Vec2, n) // offset of each side, to its right
	for i, a := range p {
		d := p[(i+1)%n].Sub(a)
		out[i] = geom.Vec2{X: d.Y, Y: -d.X}.Scale(b.by / d.Len())
	}
	for i, a := range p {
		c := p[(i+1)%n]
		b.rings = append(b.rings, []geom.Vec2{a, a.Add(out[i]), c.Add(out[i]), c})
		b.corner(c, out[i], out[(i+1)%n])
	}
}

// corner adds the piece at p between the offsets u and v of two sides.
func (b *bands) corner(p, u, v geom.Vec2) {
	angle := math.Atan2(u.Cross(v), u.Dot(v))
	if angle <= 0 {
		return
	}
	piece := []geom.Vec2{p, p.Add(u)}
	half := angle / 2
	out := b.by / math.Cos(half) // where the sides meet
	switch mid := u.Add(v); {
	case half < math.Pi/4 && out-b.by <= b.tolerance/4: // a chord of a curve
		piece = append(piece, p.Add(mid.Scale(out/mid.Len())))
	case b.corners == Sharp && half < 1.5 && out <= sharpest*b.by:
		piece = append(piece, p.Add(mid.Scale(out/mid.Len())))
	case b.corners == Sharp:
		on := (sharpest - math.Cos(half)) / math.Sin(half)
		piece = append(piece, p.Add(u).Add(u.Perp().Scale(on)), p.Add(v).Sub(v.Perp().Scale(on)))
	default:
		step := math.Pi / 4
		if b.tolerance < b.by {
			step = min(step, 2*math.Acos(1-b.tolerance/b.by))
		}
		n := int(math.Ceil(angle/step - 1e-9))
		for i := 1; i < n; i++ {
			sin, cos := geom.SinCos(angle * float64(i) / float64(n))
			piece = append(piece, p.Add(u.Scale(cos)).Add(u.Perp().Scale(sin)))
		}
	}
	b.rings = append(b.rings, append(piece, p.Add(v)))
}

// withoutSlivers drops rings thinner than two grid steps, which only rounding
// leaves: where an offset is exactly half a width.
func withoutSlivers(rings [][]geom.Vec2) [][]geom.Vec2 {
	kept := rings[:0]
	for _, r := range rings {
		area, length := 0.0, 0.0
		for i, p := range r {
			q := r[(i+1)%len(r)]
			area += p.Cross(q) / 2
			length += q.Sub(p).Len()
		}
		if math.Abs(area) > length/PerMM {
			kept = append(kept, r)
		}
	}
	return kept
}
