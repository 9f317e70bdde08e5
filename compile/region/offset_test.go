package region

import (
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
)

func ngon(cx, cy, r float64, n int) []geom.Vec2 {
	p := make([]geom.Vec2, n)
	for i := range p {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		p[i] = geom.Vec2{X: cx + r*c, Y: cy + r*s}
	}
	return p
}

func backward(r []geom.Vec2) []geom.Vec2 {
	var p []geom.Vec2
	for i := len(r) - 1; i >= 0; i-- {
		p = append(p, r[i])
	}
	return p
}

func surface(rings [][]geom.Vec2) float64 {
	s := 0.0
	for _, r := range rings {
		for i, p := range r {
			s += p.Cross(r[(i+1)%len(r)]) / 2
		}
	}
	return s
}

// Areas by Steiner's formula: grown by d, a convex area A of perimeter U has
// A + U d + π d² with round corners, and A + U d + d² Σ tan(turn/2) with
// sharp ones; shrunk, A - U d + d² Σ tan(turn/2).
func TestOffsetClosedForms(t *testing.T) {
	box := func(x0, y0, x1, y1 float64) []geom.Vec2 {
		return []geom.Vec2{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
	}
	ell := []geom.Vec2{{}, {X: 10}, {X: 10, Y: 4}, {X: 4, Y: 4}, {X: 4, Y: 10}, {Y: 10}}
	for _, c := range []struct {
		name    string
		rings   [][]geom.Vec2
		by      float64
		corners Corners
		want    float64
		loops   int
	}{
		{"square grown, sharp", [][]geom.Vec2{box(0, 0, 10, 10)}, 1, Sharp, 144, 1},
		{"square grown, round", [][]geom.Vec2{box(0, 0, 10, 10)}, 1, Round, 140 + math.Pi, 1},
		{"square shrunk", [][]geom.Vec2{box(0, 0, 10, 10)}, -1, Round, 64, 1},
		{"hexagon grown, sharp", [][]geom.Vec2{ngon(1, 2, 6, 6)}, 1, Sharp, 3 * math.Sqrt(3) / 2 * math.Pow(6+2/math.Sqrt(3), 2), 1},
		{"circle grown", [][]geom.Vec2{ngon(0, 0, 10, 3000)}, 2, Round, math.Pi * 144, 1},
		{"circle shrunk", [][]geom.Vec2{ngon(0, 0, 10, 3000)}, -2, Round, math.Pi * 64, 1},
		{"angle shrunk, sharp", [][]geom.Vec2{ell}, -1, Sharp, 8*2 + 2*6, 1},
		{"angle shrunk, round", [][]geom.Vec2{ell}, -1, Round, 8*2 + 2*6 + 1 - math.Pi/4, 1},
		{"hole shrinks as the area grows", [][]geom.Vec2{box(0, 0, 10, 10), backward(box(3, 3, 7, 7))}, 1, Sharp, 144 - 4, 2},
		{"hole closes", [][]geom.Vec2{box(0, 0, 10, 10), backward(box(4, 4, 6, 6))}, 1, Sharp, 144, 1},
		{"hole and rim meet", [][]geom.Vec2{box(0, 0, 10, 10), backward(box(2, 2, 8, 8))}, -1.5, Sharp, 0, 0},
		{"exactly half the width", [][]geom.Vec2{box(0, 0, 10, 4)}, -2, Round, 0, 0},
		{"neck parts", [][]geom.Vec2{{{}, {X: 6}, {X: 6, Y: 2}, {X: 10, Y: 2}, {X: 10}, {X: 16}, {X: 16, Y: 6}, {X: 10, Y: 6}, {X: 10, Y: 4}, {X: 6, Y: 4}, {X: 6, Y: 6}, {Y: 6}}}, -1.5, Sharp, 18, 2},
		{"two become one", [][]geom.Vec2{box(0, 0, 4, 4), box(5, 0, 9, 4)}, 1, Sharp, 11 * 6, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Offset(c.rings, c.by, c.corners, 1e-4)
			if err != nil {
				t.Fatal(err)
			}
			if s := surface(got); math.Abs(s-c.want) > 2e-4*(1+c.want)/10 || len(got) != c.loops {
				t.Errorf("%d rings of %.6f mm², want %d of %.6f", len(got), s, c.loops, c.want)
			}
		})
	}
}

// distance from p to the border.
func distanceTo(rings [][]geom.Vec2, p geom.Vec2) float64 {
	least := math.Inf(1)
	for _, r := range rings {
		for i, a := range r {
			d := r[(i+1)%len(r)].Sub(a)
			s := max(0, min(1, p.Sub(a).Dot(d)/d.Dot(d)))
			least = min(least, p.Sub(a.Add(d.Scale(s))).Len())
		}
	}
	return least
}

func covers(rings [][]geom.Vec2, p geom.Vec2) bool {
	in := false
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}

// A point lies in the grown area exactly when it lies in the area or no
// farther from it than the offset, and in the shrunk one when it lies deeper:
// the definition, on random stars turned at random with a hole in each.
func TestOffsetByDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 9))
	for n := range 120 {
		var star []geom.Vec2
		for i := range 5 + r.IntN(20) {
			_ = i
			star = append(star, geom.Vec2{})
		}
		for i := range star {
			s, c := math.Sincos(2*math.Pi*float64(i)/float64(len(star)) + 0.3)
			l := 4 + 8*r.Float64()
			star[i] = geom.Vec2{X: l * c, Y: l * s}
		}
		rings := [][]geom.Vec2{star, backward(ngon(0.2, 0.1, 2, 3+r.IntN(9)))}
		by := (r.Float64() - 0.5) * 3
		got, err := Offset(rings, by, Round, 1e-4)
		if err != nil {
			t.Fatal(err)
		}
		for range 200 {
			p := geom.Vec2{X: 30*r.Float64() - 15, Y: 30*r.Float64() - 15}
			d := distanceTo(rings, p)
			if covers(rings, p) {
				d = -d
			}
			if math.Abs(d-by) > 3e-4 && covers(got, p) != (d < by) {
				t.Fatalf("case %d, by %g: (%g, %g) at %g from the border is in: %v", n, by, p.X, p.Y, d, covers(got, p))
			}
		}
	}
}
