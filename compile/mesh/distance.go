package mesh

import (
	"math"

	"perch/compile/geom"
)

// Span is the straight way from a point of one triangle to a point of another.
type Span struct {
	A, B       geom.Vec3 // mm
	TriA, TriB int
	Length     float64 // mm
}

// Between returns the shortest way from the surface of one mesh to that of
// another. Its length is 0 when the surfaces meet. ok is false when one has no
// triangles.
func Between(a, b *Tree) (s Span, ok bool) {
	if len(a.order) == 0 || len(b.order) == 0 {
		return Span{}, false
	}
	w := walk{a: a, b: b, best: Span{Length: math.Inf(1)}}
	w.pair(0, 0)
	return w.best, true
}

// walk goes down two trees at once.
type walk struct {
	a, b *Tree
	best Span
}

func (w *walk) pair(i, j int32) {
	m, n := &w.a.nodes[i], &w.b.nodes[j]
	if w.best.Length <= meeting || boxesApart(m.Box, n.Box) >= w.best.Length {
		return
	}
	switch {
	case m.Left == 0 && n.Left == 0:
		for _, x := range w.a.order[m.From:m.To] {
			p := w.a.corners(int(x))
			if cornersApart(p, n.Box) >= w.best.Length {
				continue
			}
			for _, y := range w.b.order[n.From:n.To] {
				w.triangles(int(x), int(y), p)
			}
		}
	case n.Left == 0 || m.Left != 0 && m.To-m.From >= n.To-n.From:
		w.nearFirst(m.Left, j, m.Left+1, j)
	default:
		w.nearFirst(i, n.Left, i, n.Left+1)
	}
}

func (w *walk) nearFirst(i, j, k, l int32) {
	if boxesApart(w.a.nodes[k].Box, w.b.nodes[l].Box) < boxesApart(w.a.nodes[i].Box, w.b.nodes[j].Box) {
		i, j, k, l = k, l, i, j
	}
	w.pair(i, j)
	w.pair(k, l)
}

// meeting is the distance from which on two surfaces touch, mm: what the
// rounding of coordinates leaves.
const meeting = 1e-9

func (w *walk) triangles(x, y int, p [3]geom.Vec3) {
	q := w.b.corners(y)
	if before(p, w.a.Normals[x], q) >= w.best.Length || before(q, w.b.Normals[y], p) >= w.best.Length {
		return
	}
	if s := apart(p, q); s.Length < w.best.Length {
		s.TriA, s.TriB = x, y
		w.best = s
	}
}

// before returns how far all of q lies off the plane of p, 0 when the plane
// goes through q: no way between them is shorter.
func before(p [3]geom.Vec3, n geom.Vec3, q [3]geom.Vec3) float64 {
	h := n.Dot(p[0])
	x, y, z := n.Dot(q[0])-h, n.Dot(q[1])-h, n.Dot(q[2])-h
	return max(0, min(x, y, z), -max(x, y, z)) - 1e-12
}

// cornersApart returns how far the box of a triangle is from another.
func cornersApart(p [3]geom.Vec3, b geom.Box) float64 {
	return boxesApart(boxOf(p[0], p[1], p[2]), b)
}

func (t *Tree) corners(i int) [3]geom.Vec3 { return t.Mesh.corners(i) }

func (m *Mesh) corners(i int) [3]geom.Vec3 {
	a, b, c := m.Corners(i)
	return [3]geom.Vec3{a, b, c}
}

func boxesApart(a, b geom.Box) float64 {
	d := geom.Vec3{
		X: max(a.Min.X-b.Max.X, 0, b.Min.X-a.Max.X),
		Y: max(a.Min.Y-b.Max.Y, 0, b.Min.Y-a.Max.Y),
		Z: max(a.Min.Z-b.Max.Z, 0, b.Min.Z-a.Max.Z),
	}
	return d.Len()
}

// apart returns the shortest way between two triangles: between two sides, or
// from a corner to the other face, unless a side goes through the other face.
func apart(p, q [3]geom.Vec3) Span {
	s := Span{Length: math.Inf(1)}
	try := func(a, b geom.Vec3) {
		if l := b.Sub(a).Len(); l < s.Length {
			s.A, s.B, s.Length = a, b, l
		}
	}
	for k := range 3 {
		try(p[k], closest(p[k], q[0], q[1], q[2]))
		try(closest(q[k], p[0], p[1], p[2]), q[k])
		for l := range 3 {
			try(segmentsApart(p[k], p[(k+1)%3], q[l], q[(l+1)%3]))
		}
	}
	for k := range 3 {
		if at, ok := through(p[k], p[(k+1)%3], q); ok {
			return Span{A: at, B: at}
		}
		if at, ok := through(q[k], q[(k+1)%3], p); ok {
			return Span{A: at, B: at}
		}
	}
	return s
}

// through returns where segment a, b goes through triangle t.
func through(a, b geom.Vec3, t [3]geom.Vec3) (geom.Vec3, bool) {
	d := b.Sub(a)
	l := d.Len()
	if l == 0 {
		return a, false
	}
	at, ok := crossing(a, d.Scale(1/l), t[0], t[1], t[2])
	return a.Add(d.Scale(at / l)), ok && at <= l
}

// segmentsApart returns the closest points of two segments. Source: C.
// Ericson, Real-Time Collision Detection (2005), 5.1.9.
func segmentsApart(p1, q1, p2, q2 geom.Vec3) (geom.Vec3, geom.Vec3) {
	d1, d2, r := q1.Sub(p1), q2.Sub(p2), p1.Sub(p2)
	a, e, f := d1.Dot(d1), d2.Dot(d2), d2.Dot(r)
	switch {
	case a == 0:
		return p1, onSegment(p1, p2, q2)
	case e == 0:
		return onSegment(p2, p1, q1), p2
	}
	b, c := d1.Dot(d2), d1.Dot(r)
	s := 0.0
	if det := float64(a*e) - float64(b*b); det > 1e-15*a*e {
		s = min(1, max(0, (float64(b*f)-float64(c*e))/det))
	}
	u := (float64(b*s) + f) / e
	if u < 0 {
		u, s = 0, min(1, max(0, -c/a))
	} else if u > 1 {
		u, s = 1, min(1, max(0, (b-c)/a))
	}
	return p1.Add(d1.Scale(s)), p2.Add(d2.Scale(u))
}
