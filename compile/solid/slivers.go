package solid

import (
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// What is finer than this cannot be told apart in a file of single-precision
// numbers (one step at 200 mm is 1.5e-5 mm) nor by any printer, mm.
const (
	shortEdge = 1e-4
	flatCap   = 4e-5
)

// slivers removes edges shorter than shortEdge, by drawing their ends
// together, and triangles lower than flatCap, by exchanging their longest
// edge. Nothing moves further than these lengths, no triangle turns over, and
// the mesh stays a 2-manifold of the same genus; where one of these would
// break, the sliver stays.
type slivers struct {
	m    *mesh.Mesh
	of   [][]int32 // triangles at each vertex
	dead []bool    // by triangle
	todo []int32   // triangles to look at
}

func removeSlivers(m *mesh.Mesh) {
	var found [mostWorkers][]int32
	pieces(len(m.Triangles), func(piece, from, to int) {
		for t := from; t < to; t++ {
			if e, _ := thin(m, int32(t)); e >= 0 {
				found[piece] = append(found[piece], int32(t))
			}
		}
	})
	todo := slices.Concat(found[:]...)
	if len(todo) == 0 {
		return
	}
	s := &slivers{m: m, todo: todo, dead: make([]bool, len(m.Triangles)), of: make([][]int32, len(m.Vertices))}
	count := make([]int32, len(m.Vertices))
	for _, tri := range m.Triangles {
		for _, v := range tri {
			count[v]++
		}
	}
	slab := make([]int32, 3*len(m.Triangles))
	for v, n := range count {
		s.of[v], slab = slab[:0:n], slab[n:]
	}
	for t, tri := range m.Triangles {
		for _, v := range tri {
			s.of[v] = append(s.of[v], int32(t))
		}
	}
	// Every change removes a triangle or makes one thin triangle less; the
	// bound only guards against a pair of edges exchanged for ever.
	for budget := 60 * len(todo); len(s.todo) > 0 && budget > 0; budget-- {
		t := s.todo[0]
		s.todo = s.todo[1:]
		if s.dead[t] {
			continue
		}
		switch e, short := thin(m, t); {
		case e < 0:
		case short:
			if !s.contract(t, e) && flattened(s.m, t) {
				// A neck thinner than the grid holds the edge apart. The
				// triangle has lost its area to rounding: lean it on its
				// neighbour.
				s.exchange(t, longest(s.m, t))
			}
		default:
			s.exchange(t, e)
		}
	}
	s.part()
	s.compact()
}

// part moves corners of one place, or on the side of a triangle, which a thin
// neck keeps there, a grid step away, so that no triangle is without area.
func (s *slivers) part() {
	for t := range s.m.Triangles {
		if s.dead[t] || !flattened(s.m, int32(t)) {
			continue
		}
		e, short := thin(s.m, int32(t))
		b := s.m.Triangles[t][(e+2)%3] // off the longest side
		if short {
			b = s.m.Triangles[t][(e+1)%3]
		}
		near := s.neighbours(b)
		var mid geom.Vec3
		for _, v := range near {
			mid = mid.Add(s.m.Vertices[v].Scale(1 / float64(len(near))))
		}
		s.m.Vertices[b] = s.m.Vertices[b].Add(mid.Sub(s.m.Vertices[b]).Unit().Scale(1 / unitsPerMM))
	}
}

// thin returns the shortest edge of a triangle when it is too short, or else
// the longest when the triangle is too low, or -1.
func thin(m *mesh.Mesh, t int32) (e int, short bool) {
	var l [3]float64
	lo, hi := 0, 0
	for i := range 3 {
		l[i] = m.Vertices[m.Triangles[t][i]].Sub(m.Vertices[m.Triangles[t][(i+1)%3]]).Len()
		if l[i] < l[lo] {
			lo = i
		}
		if l[i] > l[hi] {
			hi = i
		}
	}
	if l[lo] < shortEdge {
		return lo, true
	}
	if area2(m, t).Len() < flatCap*l[hi] {
		return hi, false
	}
	return -1, false
}

func area2(m *mesh.Mesh, t int32) geom.Vec3 {
	a, b, c := m.Corners(int(t))
	return b.Sub(a).Cross(c.Sub(a))
}

func (s *slivers) has(t, v int32) bool { return slices.Contains(s.m.Triangles[t][:], v) }

// neighbours returns the vertices joined to v by an edge, sorted.
func (s *slivers) neighbours(v int32) []int32 {
	var n []int32
	for _, t := range s.of[v] {
		for _, w := range s.m.Triangles[t] {
			if w != v {
				n = append(n, w)
			}
		}
	}
	slices.Sort(n)
	return slices.Compact(n)
}

// longest returns the longest edge of a triangle.
func longest(m *mesh.Mesh, t int32) int {
	e, most := 0, 0.0
	for i := range 3 {
		if l := m.Vertices[m.Triangles[t][i]].Sub(m.Vertices[m.Triangles[t][(i+1)%3]]).Len(); l > most {
			e, most = i, l
		}
	}
	return e
}

// flattened reports whether the corners of a triangle lie on a line but for
// rounding.
func flattened(m *mesh.Mesh, t int32) bool {
	e := longest(m, t)
	l := m.Vertices[m.Triangles[t][e]].Sub(m.Vertices[m.Triangles[t][(e+1)%3]]).Len()
	return area2(m, t).Len() < 1e-9*l
}

// contract draws the ends of edge e of triangle t together; it reports false
// where that would break the mesh.
func (s *slivers) contract(t int32, e int) bool {
	a, b := s.m.Triangles[t][e], s.m.Triangles[t][(e+1)%3]
	var shared []int32
	for _, u := range s.of[a] {
		if s.has(u, b) {
			shared = append(shared, u)
		}
	}
	// Link condition for an edge of a closed surface: the ends have just the
	// two opposite corners as common neighbours (T. Dey et al., Topology
	// preserving edge contraction, 1999).
	na, nb := s.neighbours(a), s.neighbours(b)
	common := 0
	for _, v := range na {
		if _, ok := slices.BinarySearch(nb, v); ok {
			common++
		}
	}
	if len(shared) != 2 || common != 2 || len(na) < 4 && len(nb) < 4 {
		return false
	}
	if !s.moveKeeps(b, a) {
		if !s.moveKeeps(a, b) {
			return false
		}
		a, b = b, a
	}
	for _, u := range shared {
		s.dead[u] = true
		for _, v := range s.m.Triangles[u] {
			s.of[v] = slices.DeleteFunc(s.of[v], func(w int32) bool { return w == u })
		}
	}
	for _, u := range s.of[b] {
		for i, v := range s.m.Triangles[u] {
			if v == b {
				s.m.Triangles[u][i] = a
			}
		}
	}
	s.of[a] = append(s.of[a], s.of[b]...)
	s.of[b] = nil
	s.todo = append(s.todo, s.of[a]...)
	return true
}

// moveKeeps reports whether no triangle at b that is not thin itself turns
// over when b moves to a.
func (s *slivers) moveKeeps(b, a int32) bool {
	p := s.m.Vertices[a]
	for _, t := range s.of[b] {
		if s.has(t, a) {
			continue
		}
		if e, _ := thin(s.m, t); e >= 0 {
			continue
		}
		tri := s.m.Triangles[t]
		var q [3]geom.Vec3
		for i, v := range tri {
			q[i] = s.m.Vertices[v]
			if v == b {
				q[i] = p
			}
		}
		if q[1].Sub(q[0]).Cross(q[2].Sub(q[0])).Dot(area2(s.m, t)) <= 0 {
			return false
		}
	}
	return true
}

// exchange replaces the long edge e of the low triangle t by the edge from
// its top to the corner across.
func (s *slivers) exchange(t int32, e int) {
	tri := s.m.Triangles[t]
	a, b, top := tri[e], tri[(e+1)%3], tri[(e+2)%3]
	other := int32(-1)
	for _, u := range s.of[a] {
		if u != t && s.has(u, b) {
			other = u
		}
	}
	if other < 0 {
		return
	}
	far := int32(-1)
	for _, v := range s.m.Triangles[other] {
		if v != a && v != b {
			far = v
		}
	}
	if _, joined := slices.BinarySearch(s.neighbours(top), far); joined {
		return
	}
	n := area2(s.m, other)
	p := func(v int32) geom.Vec3 { return s.m.Vertices[v] }
	one := p(far).Sub(p(a)).Cross(p(top).Sub(p(a))) // a, far, top
	two := p(b).Sub(p(far)).Cross(p(top).Sub(p(far)))
	if flattened(s.m, t) && flattened(s.m, other) {
		// A pocket of triangles on one line: shorten its edges.
		if p(far).Sub(p(top)).Len() >= 0.999*p(a).Sub(p(b)).Len() {
			return
		}
	} else if n.Dot(one) <= 0 || n.Dot(two) <= 0 {
		return
	}
	s.m.Triangles[t] = [3]int32{a, far, top}
	s.m.Triangles[other] = [3]int32{far, b, top}
	drop := func(v, t int32) {
		s.of[v] = slices.DeleteFunc(s.of[v], func(w int32) bool { return w == t })
	}
	drop(b, t)
	drop(a, other)
	s.of[top] = append(s.of[top], other)
	s.of[far] = append(s.of[far], t)
	for _, v := range [4]int32{a, b, top, far} {
		for _, u := range s.of[v] {
			if e, _ := thin(s.m, u); e >= 0 {
				s.todo = append(s.todo, u)
			}
		}
	}
}

// compact drops dead triangles and unused vertices.
func (s *slivers) compact() {
	id := make([]int32, len(s.m.Vertices))
	for i := range id {
		id[i] = -1
	}
	vs := make([]geom.Vec3, 0, len(s.m.Vertices))
	ts := s.m.Triangles[:0]
	for t, tri := range s.m.Triangles {
		if s.dead[t] {
			continue
		}
		for i, v := range tri {
			if id[v] < 0 {
				id[v] = int32(len(vs))
				vs = append(vs, s.m.Vertices[v])
			}
			tri[i] = id[v]
		}
		ts = append(ts, tri)
	}
	s.m.Vertices, s.m.Triangles = vs, ts
}
