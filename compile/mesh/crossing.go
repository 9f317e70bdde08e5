package mesh

import (
	"math"

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
	normals, offsets := m.Normals(), make([]float64, len(m.Triangles))
	for i, n := range normals {
		offsets[i] = n.Dot(m.Vertices[m.Triangles[i][0]])
	}
	const parallel = 1 - 1e-15 // 200 mm off, the planes have parted by a tenth of Fine
	boxtree.New(m.boxes()).SelfPairs(func(x, y int32) bool {
		n, o := &normals[x], &normals[y]
		turn := n.Dot(*o)
		if turn < -parallel || turn > parallel && math.Abs(offsets[x]-offsets[y]) > 2*Fine || m.neighbours(x, y) {
			return true
		}
		s := shadows{m.corners(int(x)), m.corners(int(y))}
		crosses, flat := false, turn > parallel
		if flat {
			crosses = overlies(n, &s.p, &s.q) && overlies(o, &s.q, &s.p)
		} else {
			crosses, flat = s.cross(*n, *o)
		}
		if crosses && (!flat || m.meet(int(x), int(y))) {
			do(min(x, y), max(x, y))
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
// whether they do so only within a plane.
func (s *shadows) cross(n, o geom.Vec3) (crosses, flat bool) {
	deep, flat := beside(n, &s.p, &s.q)
	switch {
	case flat && n.Dot(o) <= 0, !flat && !deep:
		return false, false
	}
	deepO, flatO := beside(o, &s.q, &s.p)
	switch {
	case flat && flatO:
		return overlies(&n, &s.p, &s.q) && overlies(&o, &s.q, &s.p), true
	case !deep || !deepO:
		return false, false
	}
	for i := range 3 {
		for j := range 3 {
			a := s.p[(i+1)%3].Sub(s.p[i]).Cross(s.q[(j+1)%3].Sub(s.q[j]))
			p0, p1 := extent(&s.p, a)
			q0, q1 := extent(&s.q, a)
			if l := a.Len(); l > 0 && min(p1-q0, q1-p0) <= float64(Fine*l) {
				return false, false
			}
		}
	}
	return true, false
}

// beside tells whether triangle q lies on both sides of the plane of p by more
// than Fine, and whether it lies within that of the plane.
func beside(n geom.Vec3, p, q *[3]geom.Vec3) (deep, flat bool) {
	q0, q1 := extent(q, n)
	h := n.Dot(p[0])
	return min(q1-h, h-q0) > Fine, max(q1-h, h-q0) <= Fine
}

// overlies reports whether triangle q, in the plane of p with normal n, reaches
// past every side of p inwards by more than Fine. Ways are measured in the
// projection along the axis that n goes along most, where they shrink by n there.
func overlies(n *geom.Vec3, p, q *[3]geom.Vec3) bool {
	k := 0
	if math.Abs(n.Y) > math.Abs(n.X) {
		k = 1
	}
	if math.Abs(n.Z) > math.Abs(axis(*n, k)) {
		k = 2
	}
	flat := func(v *geom.Vec3) (x, y float64) {
		switch k {
		case 0:
			return v.Y, v.Z
		case 1:
			return v.Z, v.X
		}
		return v.X, v.Y
	}
	up := axis(*n, k)
	for i := range p {
		j := (i + 1) % 3
		ax, ay := flat(&p[i])
		bx, by := flat(&p[j])
		ex, ey := bx-ax, by-ay
		most := math.Inf(-1)
		for c := range q {
			x, y := flat(&q[c])
			in := float64(ex*(y-ay)) - float64(ey*(x-ax))
			if up < 0 {
				in = -in
			}
			most = max(most, in)
		}
		if most <= 0 || most <= float64(Fine*math.Abs(up))*p[j].Sub(p[i]).Len() {
			return false
		}
	}
	return true
}

func extent(t *[3]geom.Vec3, a geom.Vec3) (lo, hi float64) {
	x, y, z := t[0].Dot(a), t[1].Dot(a), t[2].Dot(a)
	return min(x, y, z), max(x, y, z)
}
