package drawing

import (
	"math"
	"slices"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/surface"
)

// saddle is a block of 34 x 40 on a tube of R 57.4049, the axis along y, with
// a slot of 10 x 6 through it off the middle.
func saddle(t *testing.T) (*surface.Surface, int32) {
	tube := solid.Cylinder(57.4049, -50, 50).Placed(solid.FrameAt(geom.Vec3{Z: -57.4049}, geom.Vec3{Y: 1}))
	slot := slab(5, -3, -10, 15, 3, 10)
	m := built(t, solid.Cut(slab(-17, -20, -5, 17, 20, 5), tube, slot)).Mesh
	s := surface.Of(m, 0.01)
	seats := s.Seats(built(t, tube), 0.02)
	if len(seats) != 1 {
		t.Fatalf("%d seats", len(seats))
	}
	return s, seats[0]
}

// Half the angle under a chord of 34 is asin(17/57.4049) = 17.226 degrees, by
// the chord formula of handbooks: the seat unrolled is 34.518 wide.
func TestTemplate(t *testing.T) {
	s, face := saddle(t)
	c := newCylinder(s, face)
	if math.Abs(c.radius-57.4049) > 0.011 || math.Abs(c.turn*180/math.Pi-17.226) > 0.01 || math.Abs(c.to-c.from-40) > 1e-6 {
		t.Errorf("radius %g, half angle %g, length %g", c.radius, c.turn*180/math.Pi, c.to-c.from)
	}
	w := c.wrap("saddle").figure
	if math.Abs(w.width()-34.518) > 0.01 || math.Abs(w.height()-40) > 1e-6 || len(w.lines) != 2 {
		t.Errorf("unrolled %g x %g, %d outlines", w.width(), w.height(), len(w.lines))
	}
	// The slot lies to the right when one looks at the tube from outside with
	// +y up: from asin(5/R) to asin(15/R) along the tube.
	i := slices.IndexFunc(w.lines, func(l Line) bool { f := newFigure([]Line{l}); return f.width() < 20 })
	if i < 0 {
		t.Fatal("no slot")
	}
	slot, r := newFigure([]Line{w.lines[i]}), 57.4049
	if math.Abs(slot.min.X-r*math.Asin(5/r)) > 0.02 || math.Abs(slot.max.X-r*math.Asin(15/r)) > 0.02 || math.Abs(slot.height()-6) > 1e-6 {
		t.Errorf("slot from %g to %g, %g high", slot.min.X, slot.max.X, slot.height())
	}
	sheets, err := Template(s, face, "saddle")
	if err != nil || len(sheets) != 2 {
		t.Fatal(err)
	}
	for _, sh := range sheets {
		if sh.Width != 210 || sh.Height != 297 {
			t.Errorf("%s on %g x %g", sh.Title, sh.Width, sh.Height)
		}
		// The bar by which the printer is judged.
		if !slices.ContainsFunc(sh.Strokes, func(k Stroke) bool {
			return len(k.Points) == 2 && k.Points[0].Y == k.Points[1].Y && math.Abs(k.Points[1].X-k.Points[0].X-100) < 1e-9
		}) {
			t.Errorf("%s has no bar of 100 mm", sh.Title)
		}
	}
}

// The gauge is an arc of the radius of the tube.
func TestGaugeArc(t *testing.T) {
	s, face := saddle(t)
	g := newCylinder(s, face).gauge("saddle").figure.lines[0].Points
	on := 0
	for _, p := range g {
		if math.Abs(p.Len()-57.4049) < 0.011 {
			on++
		}
	}
	if on < len(g)-3 || len(g) < 40 {
		t.Errorf("%d of %d points on the tube", on, len(g))
	}
}

// A ring that goes all round: the unrolled seat is as long as the girth.
func TestTemplateAllRound(t *testing.T) {
	tube := solid.Cylinder(30, -50, 50)
	m := built(t, solid.Cut(solid.Cylinder(34, 0, 12), tube)).Mesh
	s := surface.Of(m, 0.01)
	seats := s.Seats(mesh.NewTree(built(t, tube).Mesh), 0.02)
	if len(seats) != 1 {
		t.Fatalf("%d seats", len(seats))
	}
	w := newCylinder(s, seats[0]).wrap("ring").figure
	if math.Abs(w.width()-2*math.Pi*30) > 0.1 || math.Abs(w.height()-12) > 1e-6 {
		t.Errorf("%g x %g", w.width(), w.height())
	}
}
