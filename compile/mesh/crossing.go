package mesh

import (
	"perch/compile/boxtree"
	"perch/compile/geom"
)

// crossings calls do for the pairs of triangles that cut through each other by
// more than Fine: no motion of that length parts them, since their shadows
// overlap by more on every axis that can part two triangles (S. Gottschalk, M.
// C. Lin, D. Manocha, OBBTree, 1996). Two that face one way, lie in one plane but
// for Fine and have a point in common are looked at within it. The time is about n·log n
// for n triangles of ordinary shape.
func (m *Mesh) crossings(do func(x, y int32)) {
	normals := m.Normals()
	boxtree.New(m.boxes()).SelfPairs(func(x, y int32) bool {
		if !m.neighbours(x, y) {
			s := shadows{m.corners(int(x)), m.corners(int(y))}
			if crosses, flat := s.cross(normals[x], normals[y]); crosses && (!flat || m.meet(int(x), int(y))) {
				do(min(x, y), max(x, y))
			}
		}
		return true
	})
}

// neighbours reports whether two triangles share an edge: these cannot cut
// through each other, and folded flat they face opposite ways.
func (m *Mesh) neighbours(x, y int32) bool {
	t, u := &m.Triangles[x], &m.Triangles[y]
	n := 0
	for _, v := range t {
		if v == u[0] || v == u[1] || v == u[2] {
			n++
		}
	}
	return n > 1
}

// shadows are two triangles, to be looked at along axes.
type shadows struct{ p, q [3]geom.Vec3 }

// cross reports whether triangles with normals n and o overlap on all axes, and
// whether they do so in space or only within a plane.
func (s *shadows) cross(n, o geom.Vec3) (crosses, flat bool) {
	deepN, flatN := s.along(n)
	if !deepN && !flatN {
		return false, false
	}
	deepO, flatO := s.along(o)
	switch {
	case flatN && flatO:
		return n.Dot(o) > 0 && s.within(n) && s.within(o), true
	case !deepN || !deepO:
		return false, false
	}
	for i := range 3 {
		for j := range 3 {
			a := s.p[(i+1)%3].Sub(s.p[i]).Cross(s.q[(j+1)%3].Sub(s.q[j])).Unit()
			if deep, _ := s.along(a); !deep && a != (geom.Vec3{}) {
				return false, false
			}
		}
	}
	return true, false
}

// along reports whether the shadows on axis a, of length 1, overlap by more than
// Fine, and whether both are no longer than that and overlap.
func (s *shadows) along(a geom.Vec3) (deep, flat bool) {
	p0, p1 := extent(&s.p, a)
	q0, q1 := extent(&s.q, a)
	return min(p1-q0, q1-p0) > Fine, max(p1, q1)-min(p0, q0) <= 2*Fine
}

// within is deep for the axes square to the sides, in the plane with normal n.
func (s *shadows) within(n geom.Vec3) bool {
	for _, t := range [2]*[3]geom.Vec3{&s.p, &s.q} {
		for i := range t {
			if deep, _ := s.along(n.Cross(t[(i+1)%3].Sub(t[i])).Unit()); !deep {
				return false
			}
		}
	}
	return true
}

func extent(t *[3]geom.Vec3, a geom.Vec3) (lo, hi float64) {
	x, y, z := t[0].Dot(a), t[1].Dot(a), t[2].Dot(a)
	return min(x, y, z), max(x, y, z)
}
