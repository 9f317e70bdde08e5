package surface

import (
	"math"

	"perch/compile/geom"
)

// A cylinder is built of chords: strips whose borders are parallel and lie on
// the circle. So three borders in a row give a circle, and the cylinder goes
// on as long as the next border lies on it.

// strip is a walk over facets with parallel borders.
type strip struct {
	f      *finder
	axis   geom.Vec3
	u, v   geom.Vec3 // across the axis
	facets []int32
	circle circleFit
	turn   float64 // the greatest angle between neighbours
}

func (f *finder) cylinders() {
	for i := range f.facets {
		if f.facets[i].face >= 0 {
			continue
		}
		for _, k := range f.facets[i].edges {
			if s := f.walk(int32(i), k); s != nil {
				f.claim(s)
				break
			}
		}
	}
}

// next returns the border by which a strip leaves p after coming in over
// edge came: parallel to the axis, of least bend, and not on came's line.
func (s *strip) next(p, came int32) (int32, bool) {
	f := s.f
	at := s.flat(f.m.Vertices[f.edges[came].A])
	best, found := int32(-1), false
	for _, k := range f.facets[p].edges {
		e := &f.edges[k]
		if e.Bend > mostTurn || 1-math.Abs(f.along(e).Dot(s.axis)) > parallel || s.flat(f.m.Vertices[e.A]).Sub(at).Len() < near {
			continue
		}
		if f.facets[f.other(e, p)].face >= 0 {
			continue
		}
		if !found || e.Bend < f.edges[best].Bend {
			best, found = k, true
		}
	}
	return best, found
}

func (s *strip) flat(p geom.Vec3) geom.Vec2 { return geom.Vec2{X: s.u.Dot(p), Y: s.v.Dot(p)} }

// walk follows the strips from facet p over border k, and then the other way.
// It returns nil when they make no cylinder.
func (f *finder) walk(p, k int32) *strip {
	e := &f.edges[k]
	if e.Bend > mostTurn || f.facets[f.other(e, p)].face >= 0 {
		return nil
	}
	s := &strip{f: f, axis: f.along(e)}
	s.u, s.v = across(s.axis)
	back, ok := s.next(p, k)
	if !ok {
		return nil
	}
	q := f.other(e, p)
	if s.gore(p) || s.gore(q) {
		return nil
	}
	on, ok := s.next(q, k)
	if !ok {
		return nil
	}
	// The middle chord is p's own: its two borders and the next beyond k.
	for _, b := range [3]int32{back, k, on} {
		s.circle.add(s.flat(f.m.Vertices[f.edges[b].A]))
	}
	if !s.circle.fit() || s.circle.r < near || math.Abs(f.edges[back].Bend-e.Bend) > e.Bend/2+flatAngle && math.Abs(f.edges[on].Bend-e.Bend) > e.Bend/2+flatAngle {
		return nil
	}
	s.facets = []int32{p, q}
	s.turn = e.Bend
	in := map[int32]bool{p: true, q: true}
	s.follow(q, on, in)
	s.follow(p, back, in)
	if len(s.facets) < least || s.turn > Crease && len(s.facets) < round {
		return nil
	}
	s.settle()
	s.edges(in)
	return s
}

// settle fits the circle to the borders between the facets alone: the first
// and the last may lie anywhere on a chord that was cut off.
func (s *strip) settle() {
	before := s.circle
	if !s.outer(s.f.joints(s.facets)) {
		s.circle = before
	}
}

// gore reports whether a facet belongs to something round along the axis as
// well, as a ball: it runs on smoothly at both ends, and narrows.
func (s *strip) gore(p int32) bool {
	f := s.f
	var lo, hi bool
	var borders [2]float64
	var first geom.Vec2
	mid := 0.0
	for _, k := range f.facets[p].edges {
		mid += s.axis.Dot(f.middle(k)) / float64(len(f.facets[p].edges))
	}
	for _, k := range f.facets[p].edges {
		e := &f.edges[k]
		if 1-math.Abs(f.along(e).Dot(s.axis)) <= parallel {
			at := s.flat(f.m.Vertices[e.A])
			l := f.m.Vertices[e.B].Sub(f.m.Vertices[e.A]).Len()
			if borders[0] == 0 {
				first = at
			}
			if at.Sub(first).Len() < near {
				borders[0] += l
			} else {
				borders[1] += l
			}
			continue
		}
		if e.Bend < Crease {
			end := s.axis.Dot(f.middle(k)) > mid
			lo, hi = lo || !end, hi || end
		}
	}
	return lo && hi && math.Abs(borders[0]-borders[1]) > 1e-3*max(borders[0], borders[1])
}

func (f *finder) middle(k int32) geom.Vec3 {
	return f.m.Vertices[f.edges[k].A].Add(f.m.Vertices[f.edges[k].B]).Scale(0.5)
}

// follow goes on over border k from the facet before it.
func (s *strip) follow(p, k int32, in map[int32]bool) {
	f := s.f
	for {
		q := f.other(&f.edges[k], p)
		if in[q] {
			return
		}
		if !s.holds(q) {
			return
		}
		in[q] = true
		s.facets = append(s.facets, q)
		s.turn = max(s.turn, f.edges[k].Bend)
		n, ok := s.next(q, k)
		if !ok {
			return
		}
		s.circle.add(s.flat(f.m.Vertices[f.edges[n].A]))
		s.circle.fit()
		p, k = q, n
	}
}

// holds reports whether every corner of a facet lies on the cylinder, or
// behind it by no more than a chord does.
func (s *strip) holds(p int32) bool {
	f := s.f
	if s.gore(p) {
		return false
	}
	for _, k := range f.facets[p].edges {
		for _, v := range [2]int32{f.edges[k].A, f.edges[k].B} {
			d := s.flat(f.m.Vertices[v]).Sub(s.circle.c).Len() - s.circle.r
			if d > f.band/2 || d < -f.band {
				return false
			}
		}
	}
	return true
}

// edges takes up facets beside the strip that lie on the cylinder as well:
// pieces of chords that something else has cut.
func (s *strip) edges(in map[int32]bool) {
	f := s.f
	for i := 0; i < len(s.facets); i++ {
		for _, k := range f.facets[s.facets[i]].edges {
			e := &f.edges[k]
			q := f.other(e, s.facets[i])
			if in[q] || f.facets[q].face >= 0 || e.Bend > mostTurn || 1-math.Abs(f.along(e).Dot(s.axis)) > parallel || !s.holds(q) {
				continue
			}
			in[q] = true
			s.facets = append(s.facets, q)
		}
	}
}

// claim makes a face of a strip.
func (f *finder) claim(s *strip) {
	id := int32(len(f.faces))
	for _, p := range s.facets {
		f.facets[p].face = id
	}
	c := s.u.Scale(s.circle.c.X).Add(s.v.Scale(s.circle.c.Y))
	p := f.facets[s.facets[0]]
	at := f.m.Vertices[f.m.Triangles[p.first][0]]
	c = c.Add(s.axis.Scale(at.Dot(s.axis)))
	f.faces = append(f.faces, Face{Kind: Cylinder, Hollow: p.normal.Dot(at.Sub(c)) < 0, Radius: s.circle.r, Centre: c, Axis: s.axis})
}
