package plate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// prism is a mesh whose shadow is the hull of the points, 5 mm high: a fan
// over the points is enough for a shadow.
func prism(points ...geom.Vec2) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i, p := range points {
		m.Vertices = append(m.Vertices, geom.Vec3{X: p.X, Y: p.Y, Z: -2}, geom.Vec3{X: p.X, Y: p.Y, Z: 3})
		n := int32(2 * ((i + 1) % len(points)))
		m.Triangles = append(m.Triangles, [3]int32{int32(2 * i), n, n + 1})
	}
	return m
}

func rectangle(w, d float64) *mesh.Mesh {
	return prism(geom.Vec2{X: 7, Y: -3}, geom.Vec2{X: 7 + w, Y: -3}, geom.Vec2{X: 7 + w, Y: d - 3}, geom.Vec2{X: 7, Y: d - 3})
}

func disc(radius float64) *mesh.Mesh {
	var ps []geom.Vec2
	for i := range 96 {
		s, c := geom.SinCos(float64(i) * 2 * math.Pi / 96)
		ps = append(ps, geom.Vec2{X: radius * c, Y: radius * s})
	}
	return prism(ps...)
}

func arrange(t *testing.T, bed Bed, parts ...Part) []Plate {
	t.Helper()
	plates, err := Arrange(context.Background(), parts, bed)
	if err != nil {
		t.Fatal(err)
	}
	verify(t, bed, parts, plates)
	return plates
}

// shape is where a copy stands, as the points of its mesh.
func shape(p Place, m *mesh.Mesh) []geom.Vec2 {
	var out []geom.Vec2
	for _, v := range m.Vertices {
		x, y := v.X, v.Y
		for range p.Quarters {
			x, y = -y, x
		}
		out = append(out, geom.Vec2{X: x + p.Move.X, Y: y + p.Move.Y})
	}
	return mesh.Hull(out)
}

// verify holds the arrangement against its definition: every copy once, on the
// bed and inside its border, and the outlines apart by the gap.
func verify(t *testing.T, bed Bed, parts []Part, plates []Plate) {
	t.Helper()
	count := make([]int, len(parts))
	for _, p := range plates {
		var hulls [][]geom.Vec2
		for _, s := range p.Places {
			count[s.Part]++
			h := shape(s, parts[s.Part].Mesh)
			for _, v := range h {
				if v.X < bed.Border-1e-6 || v.Y < bed.Border-1e-6 || v.X > bed.Width-bed.Border+1e-6 || v.Y > bed.Depth-bed.Border+1e-6 {
					t.Fatalf("%s reaches (%g, %g), beyond the border", parts[s.Part].Name, v.X, v.Y)
				}
			}
			if low := parts[s.Part].Mesh.Bounds().Min.Z + s.Move.Z; low != 0 {
				t.Fatalf("lowest point at z = %g", low)
			}
			for i, o := range hulls {
				if d := distance(h, o); d < bed.Gap-1e-6 {
					t.Fatalf("%d and %d are %g mm apart, less than %g", i, len(hulls), d, bed.Gap)
				}
			}
			hulls = append(hulls, h)
		}
	}
	for i, n := range count {
		if n != parts[i].Count {
			t.Fatalf("%s stands %d times, not %d", parts[i].Name, n, parts[i].Count)
		}
	}
}

// distance of two convex polygons, 0 when they overlap.
func distance(a, b []geom.Vec2) float64 {
	least := math.Inf(1)
	for _, pq := range [2][2][]geom.Vec2{{a, b}, {b, a}} {
		for _, p := range pq[0] {
			inside := true
			for i, q := range pq[1] {
				r := pq[1][(i+1)%len(pq[1])]
				d := r.Sub(q)
				if d.Cross(p.Sub(q)) < 0 {
					inside = false
				}
				s := min(1, max(0, p.Sub(q).Dot(d)/d.Dot(d)))
				least = min(least, p.Sub(q.Add(d.Scale(s))).Len())
			}
			if inside {
				return 0
			}
		}
	}
	return least
}

// Four squares of 50 with 5 between them need 105 x 105 exactly.
func TestSquaresFillTheBed(t *testing.T) {
	four := Part{"square", rectangle(50, 50), 4}
	if n := len(arrange(t, Bed{Width: 105, Depth: 105, Height: 10, Gap: 5}, four)); n != 1 {
		t.Errorf("%d beds", n)
	}
	if n := len(arrange(t, Bed{Width: 104.9, Depth: 105, Height: 10, Gap: 5}, four)); n != 2 {
		t.Errorf("%d beds for a bed that is too narrow, want 2", n)
	}
	if n := len(arrange(t, Bed{Width: 125, Depth: 125, Height: 10, Gap: 5, Border: 10}, four)); n != 1 {
		t.Errorf("%d beds with a border", n)
	}
}

// Two discs of 60 stand across the corners of a bed of 110, although their
// boxes need 125: the distance of the middles is 50*sqrt 2 = 70.7 > 65.
func TestDiscsAcrossCorners(t *testing.T) {
	if n := len(arrange(t, Bed{Width: 110, Depth: 110, Height: 10, Gap: 5}, Part{"disc", disc(30), 2})); n != 1 {
		t.Errorf("%d beds", n)
	}
}

// Two right-angled triangles of 80 make a square of 80 when one is turned by
// half a turn; apart from that they need two beds of 86.
func TestTrianglesTurned(t *testing.T) {
	tri := prism(geom.Vec2{}, geom.Vec2{X: 80}, geom.Vec2{Y: 80})
	if n := len(arrange(t, Bed{Width: 86, Depth: 86, Height: 10, Gap: 1}, Part{"triangle", tri, 2})); n != 1 {
		t.Errorf("%d beds", n)
	}
}

// A strip that only fits when turned by a quarter.
func TestQuarterTurn(t *testing.T) {
	plates := arrange(t, Bed{Width: 40, Depth: 120, Height: 5, Border: 2}, Part{"strip", rectangle(110, 20), 1})
	if q := plates[0].Places[0].Quarters; q%2 != 1 {
		t.Errorf("turned by %d quarters", q)
	}
}

func TestTooBig(t *testing.T) {
	for _, bed := range []Bed{{Width: 40, Depth: 50, Height: 10}, {Width: 100, Depth: 100, Height: 4}, {Width: 100, Depth: 100, Height: 10, Border: 30}} {
		_, err := Arrange(context.Background(), []Part{{"plank", rectangle(60, 30), 1}}, bed)
		var big *TooBig
		if !errors.As(err, &big) || big.Name != "plank" {
			t.Errorf("%+v: %v", bed, err)
		}
	}
}

func TestCancelled(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Arrange(ctx, []Part{{"a", rectangle(5, 5), 3}}, Bed{Width: 50, Depth: 50, Height: 50}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// Seeded sets of rectangles, discs and triangles: verify holds them all
// against the definition, and the same set gives the same places.
func TestRandomSets(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for range 12 {
		var parts []Part
		for i := range 3 + r.IntN(4) {
			a, b := 8+60*r.Float64(), 8+40*r.Float64()
			m := rectangle(a, b)
			switch r.IntN(3) {
			case 1:
				m = disc(b / 2)
			case 2:
				m = prism(geom.Vec2{}, geom.Vec2{X: a, Y: 3}, geom.Vec2{X: a / 3, Y: b})
			}
			parts = append(parts, Part{fmt.Sprint("part ", i), m, 1 + r.IntN(5)})
		}
		bed := Bed{Width: 160, Depth: 120, Height: 50, Gap: 2, Border: 3}
		if first := arrange(t, bed, parts...); !reflect.DeepEqual(first, arrange(t, bed, parts...)) {
			t.Error("not the same places the second time")
		}
	}
}

func BenchmarkArrange(b *testing.B) {
	parts := []Part{{"disc", disc(12), 30}, {"block", rectangle(30, 14), 30}}
	bed := Bed{Width: 220, Depth: 220, Height: 50, Gap: 3, Border: 5}
	for b.Loop() {
		if _, err := Arrange(context.Background(), parts, bed); err != nil {
			b.Fatal(err)
		}
	}
}
