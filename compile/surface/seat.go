package surface

import (
	"cmp"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// Seats lists the faces that lie on another body, the largest first: every
// corner of the face is within mm of the surface of the body.
func (s *Surface) Seats(on *mesh.Tree, within float64) []int32 {
	off := make([]bool, len(s.Faces))
	known := make([]int8, len(s.Mesh.Vertices)) // 1 near, -1 not
	near := func(v int32) bool {
		if known[v] == 0 {
			known[v] = -1
			if _, _, ok := on.Nearest(s.Mesh.Vertices[v], within); ok {
				known[v] = 1
			}
		}
		return known[v] > 0
	}
	for t, f := range s.FaceOf {
		if off[f] {
			continue
		}
		corners := s.Mesh.Triangles[t]
		off[f] = slices.ContainsFunc(corners[:], func(v int32) bool { return !near(v) })
	}
	var out []int32
	for f := range s.Faces {
		if !off[f] {
			out = append(out, int32(f))
		}
	}
	slices.SortStableFunc(out, func(a, b int32) int { return cmp.Compare(s.Faces[b].Area, s.Faces[a].Area) })
	return out
}

// Rims returns the edges of a face as closed chains of points, the face to the
// left when one looks at it from outside.
func (s *Surface) Rims(face int32) [][]geom.Vec3 {
	type half struct{ a, b int32 }
	inner := map[half]bool{}
	var rim []half
	for t, f := range s.FaceOf {
		if f != face {
			continue
		}
		tri := s.Mesh.Triangles[t]
		for k := range 3 {
			h := half{tri[k], tri[(k+1)%3]}
			inner[h] = true
			rim = append(rim, h)
		}
	}
	next := map[int32][]int32{}
	for _, h := range rim {
		if !inner[half{h.b, h.a}] {
			next[h.a] = append(next[h.a], h.b)
		}
	}
	var out [][]geom.Vec3
	for _, h := range rim {
		var chain []geom.Vec3
		for at := h.a; len(next[at]) > 0; {
			to := next[at][0]
			next[at] = next[at][1:]
			chain = append(chain, s.Mesh.Vertices[at])
			at = to
		}
		if len(chain) >= 3 {
			out = append(out, chain)
		}
	}
	return out
}
