package lettering

import (
	"math"
	"slices"
	"testing"

	"perch/compile/geom"
)

// The strokes of an H are what its outline says: an upright at a quarter of the
// height, and the level stroke halfway between the uprights.
func TestStroke(t *testing.T) {
	line, err := Set("H", 12)
	if err != nil {
		t.Fatal(err)
	}
	rings := line.Rings(0.001, geom.Vec2{})
	upright := crossings(rings[0], func(p geom.Vec2) (float64, float64) { return p.Y, p.X }, 3)
	level := crossings(rings[0], func(p geom.Vec2) (float64, float64) { return p.X, p.Y }, (upright[1]+upright[2])/2)
	want := min(upright[1]-upright[0], level[1]-level[0])
	if got := Stroke(12); math.Abs(got-want) > 1e-9 || got < 12.0/8 || got > 12.0/5 {
		t.Errorf("%v, the outlines have %v", got, want)
	}
}

// crossings lists where a ring crosses a level, in order.
func crossings(ring []geom.Vec2, of func(geom.Vec2) (level, place float64), at float64) []float64 {
	var out []float64
	for i, p := range ring {
		a, x := of(p)
		b, y := of(ring[(i+1)%len(ring)])
		if (a < at) != (b < at) {
			out = append(out, x+(y-x)*(at-a)/(b-a))
		}
	}
	slices.Sort(out)
	return out
}
