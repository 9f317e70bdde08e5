package mesh

import "perch/compile/geom"

// Edge is where two triangles meet: Left walks it from A to B, Right from B
// to A.
type Edge struct {
	A, B        int32
	Left, Right int32 // triangles
}

// Edges lists every edge between two triangles once, by its lower and higher
// vertex number.
func (m *Mesh) Edges() []Edge {
	var out []Edge
	hs := m.halfEdges()
	for i := 0; i+1 < len(hs); i++ {
		h, o := hs[i], hs[i+1]
		if h.edge != o.edge {
			continue
		}
		a, b := h.ends()
		e := Edge{a, b, h.tri, o.tri}
		if h.back {
			e.Left, e.Right = e.Right, e.Left
		}
		out = append(out, e)
		i++
	}
	return out
}

// Normals returns the outward direction of each triangle, of length 1, or 0
// for a triangle without area.
func (m *Mesh) Normals() []geom.Vec3 {
	n := make([]geom.Vec3, len(m.Triangles))
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		n[i] = b.Sub(a).Cross(c.Sub(a)).Unit()
	}
	return n
}
