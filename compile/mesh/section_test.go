package mesh

import (
	"math"
	"testing"

	"perch/compile/geom"
)

// The cut through a block is a rectangle, through its corners too; that of a
// cut-off corner at height h a triangle of (l-h)^2/2.
func TestSection(t *testing.T) {
	area := func(chains [][]geom.Vec3, n geom.Vec3) float64 {
		sum := 0.0
		for _, c := range chains {
			for i, p := range c {
				sum += n.Dot(p.Cross(c[(i+1)%len(c)])) / 2
			}
		}
		return sum
	}
	z := geom.Vec3{Z: 1}
	for _, c := range []struct {
		name   string
		m      *Mesh
		at     geom.Vec3
		normal geom.Vec3
		want   float64
	}{
		{"block", box(geom.Vec3{X: -3, Y: -2}, geom.Vec3{X: 4, Y: 2, Z: 5}), geom.Vec3{Z: 1}, z, 28},
		{"block at its foot", box(geom.Vec3{X: -3, Y: -2}, geom.Vec3{X: 4, Y: 2, Z: 5}), geom.Vec3{}, z, 28},
		{"block from below", box(geom.Vec3{X: -3, Y: -2}, geom.Vec3{X: 4, Y: 2, Z: 5}), geom.Vec3{Z: 1}, geom.Vec3{Z: -1}, 28},
		{"block along x", box(geom.Vec3{X: -3, Y: -2}, geom.Vec3{X: 4, Y: 2, Z: 5}), geom.Vec3{X: 1}, geom.Vec3{X: 1}, 20},
		{"corner", corner(6), geom.Vec3{Z: 2}, z, 8},
		{"above", corner(6), geom.Vec3{Z: 7}, z, 0},
	} {
		if got := area(c.m.Section(c.at, c.normal), c.normal); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%s: %g mm², want %g", c.name, got, c.want)
		}
	}
}
