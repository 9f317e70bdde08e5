// Package mesh holds indexed triangle meshes, what can be measured on them,
// and the checks that every mesh Perch writes must pass.
package mesh

import (
	"math"

	"perch/compile/geom"
)

// Mesh is a set of triangles over shared vertices, in millimetres. Triangles
// are counter-clockwise seen from outside. Two triangles are neighbours when
// they share vertex numbers, not when their corners merely lie at one place:
// bodies that touch along an edge keep vertices of their own.
type Mesh struct {
	Vertices  []geom.Vec3
	Triangles [][3]int32
}

// Corners returns the three corners of triangle i.
func (m *Mesh) Corners(i int) (a, b, c geom.Vec3) {
	t := m.Triangles[i]
	return m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
}

// Bounds returns the smallest box that holds every triangle, in mm. Vertices
// that no triangle uses do not count.
func (m *Mesh) Bounds() geom.Box {
	b := geom.EmptyBox()
	for _, t := range m.Triangles {
		for _, v := range t {
			b.Add(m.Vertices[v])
		}
	}
	return b
}

// Volume returns the enclosed volume in mm³, negative when the triangles face
// inwards. Source: the divergence theorem; every triangle and the centre of
// the box span a tetrahedron of volume a·(b×c)/6. Measuring from the centre
// keeps the terms small, so that a part far from the origin loses no digits.
func (m *Mesh) Volume() float64 {
	o := m.centre()
	var s sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		s.add(a.Sub(o).Dot(b.Sub(o).Cross(c.Sub(o))))
	}
	return s.value() / 6
}

// Area returns the area of the surface in mm².
func (m *Mesh) Area() float64 {
	var s sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		s.add(b.Sub(a).Cross(c.Sub(a)).Len())
	}
	return s.value() / 2
}

// Centroid returns the centre of the enclosed volume, or the centre of the
// box when nothing is enclosed. Source: the centroid of a tetrahedron is the
// mean of its four corners; each counts by its signed volume.
func (m *Mesh) Centroid() geom.Vec3 {
	o := m.centre()
	var v, x, y, z sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(o), b.Sub(o), c.Sub(o)
		d := a.Dot(b.Cross(c))
		p := a.Add(b).Add(c)
		v.add(d)
		x.add(float64(d * p.X))
		y.add(float64(d * p.Y))
		z.add(float64(d * p.Z))
	}
	w := float64(4 * v.value())
	if w == 0 {
		return o
	}
	return geom.Vec3{X: o.X + x.value()/w, Y: o.Y + y.value()/w, Z: o.Z + z.value()/w}
}

func (m *Mesh) centre() geom.Vec3 {
	b := m.Bounds()
	if b.Empty() {
		return geom.Vec3{}
	}
	return geom.Vec3{
		X: float64(b.Min.X/2) + float64(b.Max.X/2),
		Y: float64(b.Min.Y/2) + float64(b.Max.Y/2),
		Z: float64(b.Min.Z/2) + float64(b.Max.Z/2),
	}
}

// sum adds with a running correction, so that a long sum keeps the digits of
// a short one. Source: A. Neumaier, Rundungsfehleranalyse einiger Verfahren
// zur Summation endlicher Summen (1974).
type sum struct{ total, lost float64 }

func (s *sum) add(x float64) {
	t := s.total + x
	if math.Abs(s.total) >= math.Abs(x) {
		s.lost += (s.total - t) + x
	} else {
		s.lost += (x - t) + s.total
	}
	s.total = t
}

func (s *sum) value() float64 { return s.total + s.lost }
