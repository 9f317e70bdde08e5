package mesh

import (
	"cmp"
	"slices"

	"perch/compile/disjoint"
)

// Pieces returns the number of connected surfaces. A body with a closed
// hollow inside has two: its outside and the wall of the hollow.
func (m *Mesh) Pieces() int {
	n, _ := m.Shells()
	return n
}

// Shells numbers the connected surfaces from 0, in the order of their first
// triangle, and returns how many there are and the number for each triangle.
// Triangles are connected when they share a vertex.
func (m *Mesh) Shells() (n int, of []int32) {
	shells := disjoint.New(len(m.Vertices))
	for _, t := range m.Triangles {
		shells.Unite(t[0], t[1])
		shells.Unite(t[0], t[2])
	}
	number := make([]int32, len(m.Vertices))
	of = make([]int32, len(m.Triangles))
	for i, t := range m.Triangles {
		r := shells.Of(t[0])
		if number[r] == 0 {
			n++
			number[r] = int32(n)
		}
		of[i] = number[r] - 1
	}
	return n, of
}

// Genus returns the number of handles of a closed surface, summed over its
// pieces: 0 for a block, 1 for a block with a hole through it. Source: the
// Euler characteristic V - E + F = Σ (2 - 2g) over the pieces. The answer
// means something only for a mesh that passes Check.
func (m *Mesh) Genus() int {
	used := make([]bool, len(m.Vertices))
	vertices := 0
	for _, t := range m.Triangles {
		for _, v := range t {
			if !used[v] {
				used[v] = true
				vertices++
			}
		}
	}
	edges := 0
	var last uint64
	for i, h := range m.halfEdges() {
		if i == 0 || h.edge != last {
			edges++
		}
		last = h.edge
	}
	return m.Pieces() - (vertices-edges+len(m.Triangles))/2
}

// halfEdge is one side of a triangle. edge names the edge whichever way it is
// walked; back holds when this triangle walks it from the higher vertex
// number to the lower.
type halfEdge struct {
	edge uint64
	tri  int32
	back bool
}

func (h halfEdge) ends() (a, b int32) { return int32(h.edge >> 32), int32(uint32(h.edge)) }

// halfEdges returns the sides of all triangles, sorted by edge, then triangle.
func (m *Mesh) halfEdges() []halfEdge {
	first := make([]int32, len(m.Vertices)+1) // of each lower end
	for _, t := range m.Triangles {
		for k := range 3 {
			first[min(t[k], t[(k+1)%3])+1]++
		}
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	hs, fill := make([]halfEdge, 3*len(m.Triangles)), slices.Clone(first)
	for i, t := range m.Triangles {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			lo, hi := min(a, b), max(a, b)
			hs[fill[lo]] = halfEdge{uint64(lo)<<32 | uint64(uint32(hi)), int32(i), a > b}
			fill[lo]++
		}
	}
	for i := 1; i < len(first); i++ {
		slices.SortStableFunc(hs[first[i-1]:first[i]], func(x, y halfEdge) int { return cmp.Compare(x.edge, y.edge) })
	}
	return hs
}
