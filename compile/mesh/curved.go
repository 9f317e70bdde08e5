package mesh

import (
	"math"
	"slices"

	"perch/compile/disjoint"
	"perch/compile/geom"
)

// smooth is the turn between neighbouring triangles up to which they belong to
// one curved face.
const smooth = 20 * math.Pi / 180

// curvedFaces are the curved faces of a mesh, where they meet, and which ways
// the branches of its tree look.
type curvedFaces struct {
	fans   vertexFans
	of     []int32                     // the curved face of each triangle
	joints map[[2]int32][][2]geom.Vec3 // where two faces meet: edges, and corners as edges of no length
	looks  []geom.Box                  // of each node of the tree: round the normals in it
}

// curvedFaces works the faces out, once.
func (t *Tree) curvedFaces() *curvedFaces {
	t.once.Do(func() {
		hs := t.Mesh.halfEdges()
		f := &curvedFaces{fans: t.Mesh.fans(), joints: map[[2]int32][][2]geom.Vec3{}, looks: make([]geom.Box, len(t.nodes))}
		f.join(t, hs)
		f.meet(t.Mesh, hs)
		if len(t.order) > 0 {
			f.look(t, 0)
		}
		t.bends = f
	})
	return t.bends
}

// join joins triangles to faces.
func (f *curvedFaces) join(t *Tree, hs []halfEdge) {
	faces := disjoint.New(len(t.Mesh.Triangles))
	flat := math.Cos(smooth)
	for i := 0; i+1 < len(hs); i++ {
		if hs[i].edge == hs[i+1].edge && t.Normals[hs[i].tri].Dot(t.Normals[hs[i+1].tri]) >= flat {
			faces.Unite(hs[i].tri, hs[i+1].tri)
		}
	}
	f.of = make([]int32, len(faces))
	for i := range f.of {
		f.of[i] = faces.Of(int32(i))
	}
}

// meet notes the edges and corners that two faces have in common.
func (f *curvedFaces) meet(m *Mesh, hs []halfEdge) {
	note := func(a, b int32, p, q geom.Vec3) {
		key := [2]int32{min(a, b), max(a, b)}
		f.joints[key] = append(f.joints[key], [2]geom.Vec3{p, q})
	}
	for i := 0; i+1 < len(hs); i++ {
		if a, b := f.of[hs[i].tri], f.of[hs[i+1].tri]; hs[i].edge == hs[i+1].edge && a != b {
			p, q := hs[i].ends()
			note(a, b, m.Vertices[p], m.Vertices[q])
		}
	}
	var here []int32
	for v, p := range m.Vertices {
		here = here[:0]
		for _, i := range f.fans.around(int32(v)) {
			if !slices.Contains(here, f.of[i]) {
				here = append(here, f.of[i])
			}
		}
		if len(here) < 4 { // three faces at a corner share edges two by two
			continue
		}
		for i, a := range here {
			for _, b := range here[i+1:] {
				note(a, b, p, p)
			}
		}
	}
}

// look sets the ways that node n and those below it look.
func (f *curvedFaces) look(t *Tree, n int32) geom.Box {
	b := geom.EmptyBox()
	if d := &t.nodes[n]; d.Left == 0 {
		for _, i := range t.order[d.From:d.To] {
			b.Add(t.Normals[i])
		}
	} else {
		for _, c := range [2]geom.Box{f.look(t, d.Left), f.look(t, d.Left+1)} {
			b.Add(c.Min)
			b.Add(c.Max)
		}
	}
	f.looks[n] = b
	return b
}

// taper reports whether the two faces of a span run together so near to it
// that their taper explains its length; within says how far from its ends
// others begin and end for which the answer is to hold too, mm.
func (f *curvedFaces) taper(s Span, within float64) bool {
	a, b := f.of[s.TriA], f.of[s.TriB]
	for _, j := range f.joints[[2]int32{min(a, b), max(a, b)}] {
		reach := max(onSegment(s.A, j[0], j[1]).Sub(s.A).Len(), onSegment(s.B, j[0], j[1]).Sub(s.B).Len())
		if s.Length <= float64(tanOpposed*(reach-within))+1e-6 {
			return true
		}
	}
	return false
}

var tanOpposed = math.Tan(Opposed)

// ring returns the triangle and those that share a corner with it.
func (f *curvedFaces) ring(m *Mesh, i int) []int32 {
	var out []int32
	for _, v := range m.Triangles[i] {
		for _, x := range f.fans.around(v) {
			if !slices.Contains(out, x) {
				out = append(out, x)
			}
		}
	}
	return out
}
