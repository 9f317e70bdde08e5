package surface

import (
	"math"

	"perch/compile/geom"
)

// A bore that two bodies make together, such as a turned ring and the
// cylinder that is cut from it, has chords of both: no walk from border to
// border follows them. What runs on smoothly and lies on one cylinder as a
// whole is told first.

// tubes makes a face of every set of facets that run into one another
// smoothly when all lie on one cylinder.
func (f *finder) tubes() {
	seen := make([]bool, len(f.facets))
	for i := range f.facets {
		if seen[i] || f.facets[i].face >= 0 {
			continue
		}
		seen[i] = true
		group := []int32{int32(i)}
		for k := 0; k < len(group); k++ {
			for _, j := range f.facets[group[k]].edges {
				e := &f.edges[j]
				if q := f.other(e, group[k]); e.Bend < Crease && !seen[q] && f.facets[q].face < 0 {
					seen[q] = true
					group = append(group, q)
				}
			}
		}
		if len(group) > round {
			f.tube(group)
		}
	}
}

// tube makes a face of a set of facets if they lie on one cylinder.
func (f *finder) tube(group []int32) {
	axis, ok := f.common(group)
	if !ok {
		return
	}
	s := &strip{f: f, axis: axis, facets: group}
	s.u, s.v = across(axis)
	ps := f.corners(group)
	if !s.outer(f.joints(group)) || s.circle.r < near {
		return
	}
	for _, p := range ps {
		if d := s.flat(p).Sub(s.circle.c).Len() - s.circle.r; d > near || d < -f.band {
			return
		}
	}
	for _, p := range group { // across the radius, as chords are
		q := &f.facets[p]
		r := s.flat(f.m.Vertices[f.m.Triangles[q.first][0]]).Sub(s.circle.c)
		if n := s.flat(q.normal); math.Abs(n.Dot(r)) < r.Len()*math.Cos(Crease) {
			return
		}
	}
	f.claim(s)
}

// joints are the vertices at which two of some facets meet. Those at the ends
// of a face may lie anywhere on a chord that was cut off.
func (f *finder) joints(group []int32) []geom.Vec3 {
	first := map[int32]int32{}
	seen := map[int32]bool{}
	var out []geom.Vec3
	for _, p := range group {
		for _, i := range f.facets[p].edges {
			for _, v := range [2]int32{f.edges[i].A, f.edges[i].B} {
				q, met := first[v]
				switch {
				case !met:
					first[v] = p
				case q != p && !seen[v]:
					seen[v] = true
					out = append(out, f.m.Vertices[v])
				}
			}
		}
	}
	return out
}

// outer fits the circle to the corners that lie farthest out: where chords
// cross or end they lie behind it.
func (s *strip) outer(ps []geom.Vec3) bool {
	on := make([]geom.Vec2, len(ps))
	for i, p := range ps {
		on[i] = s.flat(p)
	}
	for {
		s.circle = circleFit{}
		for _, p := range on {
			s.circle.add(p)
		}
		if !s.circle.fit() {
			return false
		}
		var kept []geom.Vec2
		for _, p := range on {
			if p.Sub(s.circle.c).Len() > s.circle.r-grain {
				kept = append(kept, p)
			}
		}
		if len(kept) == len(on) {
			return true
		}
		on = kept
	}
}

// common returns the direction that is square to the normals of all facets.
func (f *finder) common(group []int32) (geom.Vec3, bool) {
	first := f.facets[group[0]].normal
	var axis geom.Vec3
	for _, p := range group {
		if c := first.Cross(f.facets[p].normal); c.Len() > axis.Len() {
			axis = c
		}
	}
	if axis.Len() < 10*flatAngle {
		return axis, false
	}
	axis = axis.Unit()
	for _, p := range group {
		if math.Abs(f.facets[p].normal.Dot(axis)) > flatAngle {
			return axis, false
		}
	}
	return axis, true
}
