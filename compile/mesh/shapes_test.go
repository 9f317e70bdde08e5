package mesh

import (
	"math"
	"testing"

	"perch/compile/geom"
)

// box returns the block from a to b: 8 vertices, 12 triangles.
func box(a, b geom.Vec3) *Mesh {
	m := &Mesh{}
	for i := range 8 {
		v := a
		if i&1 != 0 {
			v.X = b.X
		}
		if i&2 != 0 {
			v.Y = b.Y
		}
		if i&4 != 0 {
			v.Z = b.Z
		}
		m.Vertices = append(m.Vertices, v)
	}
	for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

// corner returns the tetrahedron cut off the corner of a cube by a plane at
// distance l along each axis.
func corner(l float64) *Mesh {
	return &Mesh{
		Vertices:  []geom.Vec3{{}, {X: l}, {Y: l}, {Z: l}},
		Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}},
	}
}

// octahedron has its corners at distance r on the axes.
func octahedron(r float64) *Mesh {
	return &Mesh{
		Vertices:  []geom.Vec3{{X: r}, {X: -r}, {Y: r}, {Y: -r}, {Z: r}, {Z: -r}},
		Triangles: [][3]int32{{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4}, {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}},
	}
}

// torus has centre circle radius R, tube radius r, n sections round the axis
// and k corners a section.
func torus(R, r float64, n, k int) *Mesh {
	m := &Mesh{}
	for i := range n {
		s, c := geom.SinCos(2 * math.Pi * float64(i) / float64(n))
		for j := range k {
			v, u := geom.SinCos(2 * math.Pi * float64(j) / float64(k))
			d := R + r*u
			m.Vertices = append(m.Vertices, geom.Vec3{X: d * c, Y: d * s, Z: r * v})
			at := func(i, j int) int32 { return int32(i%n*k + j%k) }
			m.Triangles = append(m.Triangles,
				[3]int32{at(i, j), at(i+1, j), at(i+1, j+1)},
				[3]int32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	return m
}

// with returns both meshes side by side in one, vertices kept apart.
func with(a, b *Mesh) *Mesh {
	m := &Mesh{Vertices: append([]geom.Vec3(nil), a.Vertices...), Triangles: append([][3]int32(nil), a.Triangles...)}
	n := int32(len(a.Vertices))
	m.Vertices = append(m.Vertices, b.Vertices...)
	for _, t := range b.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{t[0] + n, t[1] + n, t[2] + n})
	}
	return m
}

// turned returns the mesh with every triangle facing the other way.
func turned(a *Mesh) *Mesh {
	m := with(a, &Mesh{})
	for i, t := range m.Triangles {
		m.Triangles[i] = [3]int32{t[0], t[2], t[1]}
	}
	return m
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.15g, want %.15g", what, got, want)
	}
}
