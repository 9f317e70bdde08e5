package view

import (
	"encoding/binary"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/surface"
)

// A mesh goes to the page in one piece, little-endian, all in words of 32
// bits, so that the page can lay typed arrays over it:
//
//	head      the version, then how many corners, triangles, edges, faces
//	          and curves there are
//	corners   x y z (float32, mm) of each; normals x y z; face (uint32)
//	triangles three corners each (uint32)
//	edges     two ends, the normals on both sides (float32) of each; then the
//	          curve of each (int32, -1 for an edge that is seen only as an
//	          outline; these come last)
//	faces     kind, hollow, radius, centre, axis, area (float32)
//	curves    closed, straight, radius, centre, axis, length (float32)
const packVersion = 1

type packer struct{ out []byte }

func (p *packer) u(x uint32) { p.out = binary.LittleEndian.AppendUint32(p.out, x) }

func (p *packer) f(xs ...float64) {
	for _, x := range xs {
		p.u(math.Float32bits(float32(x)))
	}
}

func (p *packer) v(v geom.Vec3) { p.f(v.X, v.Y, v.Z) }

func (p *packer) flag(b bool) {
	if b {
		p.f(1)
	} else {
		p.f(0)
	}
}

// corner is a vertex as one face sees it.
type corner struct {
	vertex, face int32
	normal       geom.Vec3
	next         int32 // of the same vertex, -1 for none
}

// corners gives every face its own corners, with the mean of the normals of
// the face round the vertex, weighed by angle.
func corners(s *surface.Surface) (cs []corner, tris [][3]uint32) {
	first := make([]int32, len(s.Mesh.Vertices))
	for i := range first {
		first[i] = -1
	}
	tris = make([][3]uint32, len(s.Mesh.Triangles))
	for i, t := range s.Mesh.Triangles {
		face := s.FaceOf[i]
		for k, v := range t {
			c := first[v]
			for c >= 0 && cs[c].face != face {
				c = cs[c].next
			}
			if c < 0 {
				c = int32(len(cs))
				cs = append(cs, corner{vertex: v, face: face, next: first[v]})
				first[v] = c
			}
			p := s.Mesh.Vertices[v]
			a, b := s.Mesh.Vertices[t[(k+1)%3]].Sub(p), s.Mesh.Vertices[t[(k+2)%3]].Sub(p)
			cs[c].normal = cs[c].normal.Add(s.Normals[i].Scale(math.Atan2(a.Cross(b).Len(), a.Dot(b))))
			tris[i][k] = uint32(c)
		}
	}
	return cs, tris
}

func rank(e surface.Edge) int {
	if e.Crisp {
		return 0
	}
	return 1
}

// pack lays a mesh out for the page.
func pack(m *mesh.Mesh, tolerance float64) []byte {
	s := surface.Of(m, tolerance)
	cs, tris := corners(s)
	p := &packer{make([]byte, 0, 4*(6+7*len(cs)+3*len(tris)+13*len(s.Edges)+10*(len(s.Faces)+len(s.Curves))))}
	for _, n := range []int{packVersion, len(cs), len(tris), len(s.Edges), len(s.Faces), len(s.Curves)} {
		p.u(uint32(n))
	}
	for _, c := range cs {
		p.v(m.Vertices[c.vertex])
	}
	for _, c := range cs {
		p.v(c.normal.Unit())
	}
	for _, c := range cs {
		p.u(uint32(c.face))
	}
	for _, t := range tris {
		for _, c := range t {
			p.u(c)
		}
	}
	slices.SortStableFunc(s.Edges, func(a, b surface.Edge) int { return rank(a) - rank(b) })
	for _, e := range s.Edges {
		p.v(m.Vertices[e.A])
		p.v(m.Vertices[e.B])
		p.v(s.Normals[e.Left])
		p.v(s.Normals[e.Right])
	}
	for _, e := range s.Edges {
		p.u(uint32(e.Curve))
	}
	for _, f := range s.Faces {
		p.f(float64(f.Kind))
		p.flag(f.Hollow)
		p.f(f.Radius)
		p.v(f.Centre)
		p.v(f.Axis)
		p.f(f.Area)
	}
	for _, c := range s.Curves {
		p.flag(c.Closed)
		p.flag(c.Straight)
		p.f(c.Radius)
		p.v(c.Centre)
		p.v(c.Axis)
		p.f(c.Length)
	}
	return p.out
}
