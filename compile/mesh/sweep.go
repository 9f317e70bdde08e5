package mesh

import (
	"math"

	"perch/compile/geom"
)

// Sweeps reports whether a body that is moved along a way, and taken in by
// graze mm all round, meets another; at is a place where it does.
//
// The space that a moving body passes through is bounded by the body at both
// ends of the way and by the strips that its outline sweeps: the edges between
// a face that looks along the way and one that looks back. The other body
// stays clear when its surface meets none of these and none of it lies within
// another as a whole. That is exact for the two meshes.
func Sweeps(body *Tree, along geom.Vec3, graze float64, other *Tree) (at geom.Vec3, meets bool) {
	m := body.shrunk(graze)
	shell := m.swept(along)
	if len(shell.Triangles) == 0 || len(other.order) == 0 {
		return geom.Vec3{}, false
	}
	if s, ok := Between(NewTree(shell), other); ok && s.Length <= 1e-9 {
		return s.A, true
	}
	// Nothing meets: either they are apart, or one holds the other as a whole.
	first := m.Vertices[m.Triangles[0][0]]
	if other.Inside(first) {
		return first, true
	}
	p := other.Mesh.Vertices[other.Mesh.Triangles[0][0]]
	start := NewTree(m)
	if _, _, hit := start.Ray(p, along.Scale(-1).Unit(), along.Len(), nil); hit || start.Inside(p) {
		return p, true
	}
	return geom.Vec3{}, false
}

// shrunk moves every corner inwards so that the faces round it come in by d.
func (t *Tree) shrunk(d float64) *Mesh {
	m := t.Mesh
	fans := m.fans()
	out := &Mesh{Vertices: make([]geom.Vec3, len(m.Vertices)), Triangles: m.Triangles}
	for v, p := range m.Vertices {
		var n geom.Vec3
		for _, i := range fans.around(int32(v)) {
			n = n.Add(t.Normals[i].Scale(m.angleAt(int(i), int32(v))))
		}
		n = n.Unit()
		least := 1.0
		for _, i := range fans.around(int32(v)) {
			if c := n.Dot(t.Normals[i]); c > 0.3 { // sharper corners only give way by so much
				least = min(least, c)
			}
		}
		out.Vertices[v] = p.Sub(n.Scale(d / least))
	}
	return out
}

// angleAt returns the angle of triangle i at its corner v, radians: faces
// count by it in the direction of a corner, however they are divided. Source:
// G. Thürmer, C. A. Wüthrich, Computing vertex normals from polygonal facets
// (1998).
func (m *Mesh) angleAt(i int, v int32) float64 {
	t := m.Triangles[i]
	for t[0] != v {
		t = [3]int32{t[1], t[2], t[0]}
	}
	p := m.Vertices[v]
	a, b := m.Vertices[t[1]].Sub(p), m.Vertices[t[2]].Sub(p)
	return math.Atan2(a.Cross(b).Len(), a.Dot(b))
}

// swept is the closed shell round the space that the mesh passes through on
// its way along d; inner pieces may stay where it is not convex.
func (m *Mesh) swept(d geom.Vec3) *Mesh {
	n := int32(len(m.Vertices))
	out := &Mesh{Vertices: make([]geom.Vec3, 2*n)}
	for i, p := range m.Vertices {
		out.Vertices[i], out.Vertices[int32(i)+n] = p, p.Add(d)
	}
	ahead := make([]bool, len(m.Triangles))
	for i, t := range m.Triangles {
		a, b, c := m.Corners(i)
		ahead[i] = b.Sub(a).Cross(c.Sub(a)).Dot(d) > 0
		out.Triangles = append(out.Triangles, t, [3]int32{t[0] + n, t[1] + n, t[2] + n})
	}
	hs := m.halfEdges()
	for i := 0; i+1 < len(hs); i++ {
		if hs[i].edge != hs[i+1].edge || ahead[hs[i].tri] == ahead[hs[i+1].tri] {
			continue
		}
		p, q := hs[i].ends()
		out.Triangles = append(out.Triangles, [3]int32{p, q, q + n}, [3]int32{p, q + n, p + n})
	}
	return out
}
