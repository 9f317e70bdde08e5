package mesh

import (
	"fmt"
	"testing"

	"perch/compile/geom"
)

func BenchmarkCheck(b *testing.B) {
	m := torus(20, 5, 400, 125) // 100,000 triangles
	for b.Loop() {
		if err := m.Check(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkIntersections(b *testing.B) {
	m := torus(20, 5, 400, 125)
	for b.Loop() {
		if x := m.Intersections(1); len(x) != 0 {
			b.Fatal(x)
		}
	}
}

// BenchmarkMeasuring takes what is measured on a finished part at three sizes,
// each four times the last: growth near n log n is a little more than four.
// Concentric is the hardest case of a distance: everywhere the same gap.
func BenchmarkMeasuring(b *testing.B) {
	for _, n := range []int{2, 4, 8} {
		m := torus(20, 5, 50*n, 20*n) // 8,000 to 128,000 triangles
		t, round := NewTree(m), NewTree(torus(20, 5.2, 50*n, 20*n))
		beside := NewTree(turnedAside(m))
		for _, c := range []struct {
			name string
			do   func() bool
		}{
			{"tree", func() bool { return len(NewTree(m).nodes) > 0 }},
			{"walls", func() bool { _, _, ok := t.Thinnest(Walls); return ok }},
			{"gaps", func() bool { _, _, _ = t.Thinnest(Gaps); return true }},
			{"distance", func() bool { s, _ := Between(t, beside); return s.Length > 0 }},
			{"distance, concentric", func() bool { s, _ := Between(t, round); return s.Length > 0 }},
			{"depth", func() bool { return Deepest(t, round).Length > 0 }},
			{"islands", func() bool { return len(m.Islands(0.2)) == 0 }},
			{"overhangs", func() bool { return len(t.Overhangs(0.8, 0.02, Chords{})) > 0 }},
			{"poses", func() bool { return len(t.Poses(geom.Vec3{Z: -1}, 0.8, 0.02)) > 0 }},
		} {
			b.Run(fmt.Sprintf("%s/%dk", c.name, len(m.Triangles)/1000), func(b *testing.B) {
				for b.Loop() {
					if !c.do() {
						b.Fatal("nothing measured")
					}
				}
			})
		}
	}
}

// turnedAside is a mesh upright and 60 mm to the side.
func turnedAside(m *Mesh) *Mesh {
	out := &Mesh{Triangles: m.Triangles}
	for _, v := range m.Vertices {
		out.Vertices = append(out.Vertices, geom.Vec3{X: v.X + 60, Y: v.Z, Z: -v.Y})
	}
	return out
}
