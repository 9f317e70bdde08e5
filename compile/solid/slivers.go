package solid

import (
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// slivers removes edges shorter than mesh.Fine, by drawing their ends
// together, and triangles lower than mesh.FineHeight, by exchanging their longest
// edge or drawing the ends of their shortest together. No surface moves further than these lengths, no triangle turns over, and
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
			if e, _ := m.Thin(t); e >= 0 {
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
		switch e, short := m.Thin(int(t)); {
		case e < 0:
		case short:
			if !s.contract(t, e) && flattened(s.m, t) {
				// A neck thinner than the grid holds the edge apart. The
				// triangle has lost its area to rounding: lean it on its
				// neighbour.
				s.exchange(t, longest(s.m, t))
			}
		case !s.exchange(t, e):
			s.contract(t, shortest(s.m, t))
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
		e, short := s.m.Thin(t)
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

// shortest returns the shortest edge of a triangle.
func shortest(m *mesh.Mesh, t int32) int {
	e, least := 0, math.Inf(1)
	for i := range 3 {
		if l := m.Vertices[m.Triangles[t][i]].Sub(m.Vertices[m.Triangles[t][(i+1)%3]]).Len(); l < least {
			e, least = i, l
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
// over when b moves to a, nor leaves its plane by more than mesh.Fine.
func (s *slivers) moveKeeps(b, a int32) bool {
	p := s.m.Vertices[a]
	for _, t := range s.of[b] {
		if s.has(t, a) {
			continue
		}
		if e, _ := s.m.Thin(int(t)); e >= 0 {
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
		n := area2(s.m, t)
		if q[1].Sub(q[0]).Cross(q[2].Sub(q[0])).Dot(n) <= 0 || math.Abs(p.Sub(s.m.Vertices[b]).Dot(n)) > mesh.Fine*n.Len() {
			return false
		}
	}
	return true
}

// exchange replaces the long edge e of the low triangle t by the edge from
// its top to the corner across; it reports false where that would break the
// mesh.
func (s *slivers) exchange(t int32, e int) bool {
	tri := s.m.Triangles[t]
	a, b, top := tri[e], tri[(e+1)%3], tri[(e+2)%3]
	other := int32(-1)
	for _, u := range s.of[a] {
		if u != t && s.has(u, b) {
			other = u
		}
	}
	if other < 0 {
		return false
	}
	far := int32(-1)
	for _, v := range s.m.Triangles[other] {
		if v != a && v != b {
			far = v
		}
	}
	if _, joined := slices.BinarySearch(s.neighbours(top), far); joined {
		return false
	}
	n := area2(s.m, other)
	p := func(v int32) geom.Vec3 { return s.m.Vertices[v] }
	one := p(far).Sub(p(a)).Cross(p(top).Sub(p(a))) // a, far, top
	two := p(b).Sub(p(far)).Cross(p(top).Sub(p(far)))
	if flattened(s.m, t) && flattened(s.m, other) {
		// A pocket of triangles on one line: shorten its edges.
		if p(far).Sub(p(top)).Len() >= 0.999*p(a).Sub(p(b)).Len() {
			return false
		}
	} else if n.Dot(one) <= 0 || n.Dot(two) <= 0 {
		return false
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
			if e, _ := s.m.Thin(int(u)); e >= 0 {
				s.todo = append(s.todo, u)
			}
		}
	}
	return true
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
