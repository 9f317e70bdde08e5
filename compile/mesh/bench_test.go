package mesh

import "testing"

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
