package compile

import (
	"context"
	"fmt"
	"math"
	"testing"
)

// An arc without a centre goes through a third point that is said to lie on it.
// Its radius is that of the circle round a triangle: c²/8h + h/2 with a chord c
// and the height h in its middle, else the chord over twice the sine of the angle
// under which the third point sees it (school geometry). Nothing remains to be
// said of such a sketch.
func TestArcThroughPoint(t *testing.T) {
	sees := math.Pi - math.Atan2(4, 13) - math.Atan2(4, 7)
	for _, c := range []struct {
		left, right, third string
		radius             float64
	}{
		{"(-20mm, 0)", "(20mm, 0)", "(0, 4.1mm)", 1600/(8*4.1) + 4.1/2},
		{"(0, 0)", "(20mm, 0)", "(13mm, 4mm)", 20 / (2 * math.Sin(sees))},
		{"(0, 0)", "(20mm, 0)", "(2mm, 15mm)", 20 / (2 * math.Sin(math.Pi-math.Atan2(15, 2)-math.Atan2(15, 18)))},
	} {
		s := New()
		s.Set("arc.perch", fmt.Sprintf(`sketch lens {
    point p at %s
    outline rim {
        from a at %s
        line floor to b at %s
        arc  crown to a
    }
    p on crown
}
part lens_plate {
    join extrude lens by 1mm
    check abs(lens.crown.radius - %.9fmm) < 0.000001mm
}
`, c.third, c.left, c.right, c.radius))
		res, err := s.Build(context.Background(), "arc.perch", Options{})
		if err != nil || len(res.Diags) > 0 {
			t.Errorf("through %s: %v %+v", c.third, err, res.Diags)
		}
	}
}
