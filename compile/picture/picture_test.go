package picture

import (
	"context"
	"image"
	"math"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
)

func built(t testing.TB, b *solid.Body) *mesh.Mesh {
	t.Helper()
	m, err := solid.Build(context.Background(), b, solid.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// inked returns the box round everything that is not paper, and how many
// pixels that is, above the scale bar and below the label.
func inked(img *image.NRGBA) (image.Rectangle, int) {
	b := img.Bounds()
	var r image.Rectangle
	n := 0
	for y := b.Min.Y + 24; y < b.Max.Y-24; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if img.NRGBAAt(x, y) != paper {
				r = r.Union(image.Rect(x, y, x+1, y+1))
				n++
			}
		}
	}
	return r, n
}

// TestViews checks that each view shows the sides it should, in proportion: a
// box of 40 x 20 x 10 mm.
func TestViews(t *testing.T) {
	m := built(t, solid.Box(geom.Vec3{}, geom.Vec3{X: 40, Y: 20, Z: 10}))
	for name, want := range map[string][2]float64{
		"front": {40, 10}, "back": {40, 10}, "top": {40, 20}, "below": {40, 20}, "right": {20, 10}, "left": {20, 10},
	} {
		v, ok := Named(name)
		if !ok {
			t.Fatal(name)
		}
		img, err := One(m, v, 400, 300)
		if err != nil {
			t.Fatal(err)
		}
		r, n := inked(img)
		ratio := float64(r.Dx()) / float64(r.Dy())
		if math.Abs(ratio-want[0]/want[1]) > 0.05*want[0]/want[1] {
			t.Errorf("%s: %v is not %v to %v", name, r, want[0], want[1])
		}
		if n < r.Dx()*r.Dy()*98/100 {
			t.Errorf("%s: only %d of %d pixels are filled", name, n, r.Dx()*r.Dy())
		}
	}
}

// TestScale checks that a disc covers π/4 of the square round it.
func TestScale(t *testing.T) {
	v, _ := Named("top")
	img, err := One(built(t, solid.Cylinder(15, 0, 2)), v, 500, 500)
	if err != nil {
		t.Fatal(err)
	}
	r, n := inked(img)
	if got := float64(n) / float64(r.Dx()*r.Dy()); math.Abs(got-math.Pi/4) > 0.01 {
		t.Errorf("a disc covers %.4f of its square, want %.4f", got, math.Pi/4)
	}
}

// TestHidden checks that what lies behind is not seen: a wall before a taller
// one hides its lower part, and a bore shows in the top view only.
func TestHidden(t *testing.T) {
	body := solid.Cut(solid.Box(geom.Vec3{}, geom.Vec3{X: 20, Y: 20, Z: 20}), solid.Cylinder(3, -1, 21).Placed(geom.Move(geom.Vec3{X: 10, Y: 10})))
	m := built(t, body)
	count := func(name string) int {
		v, _ := Named(name)
		img, err := One(m, v, 300, 300)
		if err != nil {
			t.Fatal(err)
		}
		_, n := inked(img)
		return n
	}
	top, front := count("top"), count("front")
	if hole := float64(front-top) / float64(front); math.Abs(hole-math.Pi*9/400) > 0.01 {
		t.Errorf("the bore takes %.3f of the top view, want %.3f", hole, math.Pi*9/400)
	}
}

func TestSheetAndSizes(t *testing.T) {
	m := built(t, solid.Ball(5))
	img, err := Sheet(m, 400, 320)
	if err != nil || img.Bounds().Dx() != 400 || img.Bounds().Dy() != 320 {
		t.Fatal(err)
	}
	again, err := Sheet(m, 400, 320)
	if err != nil || string(again.Pix) != string(img.Pix) {
		t.Error("the same mesh gives another picture")
	}
	for _, s := range [][2]int{{0, 100}, {100, 9000}, {-5, 100}} {
		if _, err := Sheet(m, s[0], s[1]); err == nil {
			t.Errorf("%v is accepted", s)
		}
	}
	for limit, want := range map[float64]float64{7: 5, 23: 20, 100: 100, 0.3: 0.2} {
		if got := barLength(limit); math.Abs(got-want) > 1e-12 {
			t.Errorf("bar of at most %v: %v, want %v", limit, got, want)
		}
	}
}

// The view from below has the front up and x to the right, as the bottom view
// of a drawing has in either projection (ISO 5456-2); the top view the back.
func TestUp(t *testing.T) {
	for name, up := range map[string]geom.Vec3{"below": {Y: -1}, "top": {Y: 1}} {
		v, _ := Named(name)
		if got := v.Seen(up); got != (geom.Vec3{Y: 1}) {
			t.Errorf("%s: %v is seen as %v", name, up, got)
		}
		if got := v.Seen(geom.Vec3{X: 1}); got != (geom.Vec3{X: 1}) {
			t.Errorf("%s: x is seen as %v", name, got)
		}
	}
}

// A bed of 200 x 100 mm with a cube in a corner: its outline lies at that
// proportion, and ink stands in the middle of its far side.
func TestOnBed(t *testing.T) {
	m := built(t, solid.Box(geom.Vec3{X: 5, Y: 5}, geom.Vec3{X: 15, Y: 15, Z: 10}))
	img, err := OnBed(m, 200, 100, 600, 600)
	if err != nil {
		t.Fatal(err)
	}
	r, _ := inked(img)
	if ratio := float64(r.Dx()) / float64(r.Dy()); math.Abs(ratio-2) > 0.04 {
		t.Errorf("the outline is %v", r)
	}
	if img.NRGBAAt((r.Min.X+r.Max.X)/2, r.Min.Y) == paper {
		t.Error("the far side of the bed is not drawn")
	}
}
