package region

import (
	"errors"
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"perch/compile/geom"
)

type rings = [][]geom.Vec2

func v(x, y float64) geom.Vec2 { return geom.Vec2{X: x, Y: y} }

func rect(x0, y0, x1, y1 float64) rings {
	return rings{{v(x0, y0), v(x1, y0), v(x1, y1), v(x0, y1)}}
}

func circle(cx, cy, r float64, n int) rings {
	ring := make([]geom.Vec2, n)
	for i := range ring {
		s, c := geom.SinCos(2 * math.Pi * float64(i) / float64(n))
		ring[i] = v(cx+r*c, cy+r*s)
	}
	return rings{ring}
}

func area(rs rings) float64 {
	sum := 0.0
	for _, r := range rs {
		for i, p := range r {
			sum += p.Cross(r[(i+1)%len(r)]) / 2
		}
	}
	return sum
}

func with(in []bool) bool   { return slices.Contains(in, true) }
func within(in []bool) bool { return !slices.Contains(in, false) }
func less(in []bool) bool   { return in[0] && !slices.Contains(in[1:], true) }
func odd(in []bool) bool {
	odd := false
	for _, b := range in {
		odd = odd != b
	}
	return odd
}

func combine(t testing.TB, inside func([]bool) bool, regions ...rings) rings {
	t.Helper()
	rs, err := Combine(regions, inside)
	if err != nil {
		t.Fatal(err)
	}
	proper(t, rs)
	return rs
}

// proper fails when rings break what Combine promises, seen from outside: on
// the grid, by exact integers of its own.
func proper(t testing.TB, rs rings) {
	t.Helper()
	type seg struct {
		a, b [2]int64
		ring int
	}
	grid := func(p geom.Vec2) [2]int64 {
		return [2]int64{int64(math.Round(p.X * 1e5)), int64(math.Round(p.Y * 1e5))}
	}
	cross := func(o, a, b [2]int64) int64 {
		return (a[0]-o[0])*(b[1]-o[1]) - (a[1]-o[1])*(b[0]-o[0])
	}
	sign := func(x int64) int {
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return 0
	}
	var segs []seg
	holes := false
	for k, r := range rs {
		if len(r) < 3 {
			t.Fatalf("ring %d has %d corners", k, len(r))
		}
		a := int64(0)
		for i, p := range r {
			a += cross(grid(r[0]), grid(p), grid(r[(i+1)%len(r)]))
		}
		if a == 0 || a > 0 && holes {
			t.Fatalf("ring %d: outer rings come first, none is flat (area %d)", k, a)
		}
		holes = holes || a < 0
		seen := map[[2]int64]bool{}
		for i, p := range r {
			q := grid(p)
			if seen[q] {
				t.Fatalf("ring %d comes twice to %v", k, p)
			}
			seen[q] = true
			segs = append(segs, seg{q, grid(r[(i+1)%len(r)]), k})
		}
	}
	corners := map[[2]int64]int{}
	for _, s := range segs {
		corners[s.a]++
	}
	for i, s := range segs {
		if next := segs[(i+1)%len(segs)]; next.a == s.b && corners[s.b] == 1 && cross(s.a, s.b, next.b) == 0 {
			t.Fatalf("needless corner %v", s.b)
		}
		for j := range i {
			u := segs[j]
			if max(s.a[0], s.b[0]) < min(u.a[0], u.b[0]) || max(u.a[0], u.b[0]) < min(s.a[0], s.b[0]) {
				continue
			}
			c1, c2 := sign(cross(s.a, s.b, u.a)), sign(cross(s.a, s.b, u.b))
			d1, d2 := sign(cross(u.a, u.b, s.a)), sign(cross(u.a, u.b, s.b))
			if c1*c2 < 0 && d1*d2 < 0 {
				t.Fatalf("sides %v and %v cross", s, u)
			}
			for _, e := range []struct {
				p, a, b [2]int64
				on      int
			}{{u.a, s.a, s.b, c1}, {u.b, s.a, s.b, c2}, {s.a, u.a, u.b, d1}, {s.b, u.a, u.b, d2}} {
				if e.on == 0 && e.p != e.a && e.p != e.b && (e.p[0]-e.a[0])*(e.p[0]-e.b[0]) <= 0 && (e.p[1]-e.a[1])*(e.p[1]-e.b[1]) <= 0 {
					t.Fatalf("corner %v lies within side %v-%v", e.p, e.a, e.b)
				}
			}
		}
	}
}

// TestTouching covers the contacts of plain squares; the results are obvious.
func TestTouching(t *testing.T) {
	unit := rect(0, 0, 1, 1)
	frame := append(rect(0, 0, 3, 3), []geom.Vec2{v(1, 1), v(1, 2), v(2, 2), v(2, 1)})
	for _, c := range []struct {
		name    string
		inside  func([]bool) bool
		regions []rings
		want    string
	}{
		{"side by side", with, []rings{unit, rect(1, 0, 2, 1)}, "[[{0 0} {2 0} {2 1} {0 1}]]"},
		{"side by side, longer", with, []rings{unit, rect(1, -1, 2, 2)}, "[[{0 0} {1 0} {1 -1} {2 -1} {2 2} {1 2} {1 1} {0 1}]]"},
		{"nothing shared", within, []rings{unit, rect(1, 0, 2, 1)}, "[]"},
		{"corner to corner", with, []rings{unit, rect(1, 1, 2, 2)}, "[[{0 0} {1 0} {1 1} {0 1}] [{1 1} {2 1} {2 2} {1 2}]]"},
		{"the same twice", with, []rings{unit, unit}, "[[{0 0} {1 0} {1 1} {0 1}]]"},
		{"less itself", less, []rings{unit, unit}, "[]"},
		{"within itself", within, []rings{unit, unit}, "[[{0 0} {1 0} {1 1} {0 1}]]"},
		{"clockwise is the same", within, []rings{{{v(0, 0), v(0, 1), v(1, 1), v(1, 0)}}, unit}, "[[{0 0} {1 0} {1 1} {0 1}]]"},
		{"a hole", less, []rings{rect(0, 0, 3, 3), rect(1, 1, 2, 2)}, "[[{0 0} {3 0} {3 3} {0 3}] [{1 1} {1 2} {2 2} {2 1}]]"},
		{"a hole that touches a side", less, []rings{rect(0, 0, 3, 3), {{v(0, 1), v(1, 0.5), v(1, 1.5)}}},
			"[[{0 0} {3 0} {3 3} {0 3} {0 1}] [{0 1} {1 1.5} {1 0.5}]]"},
		{"a hole that shares a side", less, []rings{rect(0, 0, 3, 3), rect(0, 1, 1, 2)}, "[[{0 0} {3 0} {3 3} {0 3} {0 2} {1 2} {1 1} {0 1}]]"},
		{"a filled hole", with, []rings{frame, rect(1, 1, 2, 2)}, "[[{0 0} {3 0} {3 3} {0 3}]]"},
		{"an island in a hole", with, []rings{frame, rect(1.25, 1.25, 1.75, 1.75)},
			"[[{0 0} {3 0} {3 3} {0 3}] [{1.25 1.25} {1.75 1.25} {1.75 1.75} {1.25 1.75}] [{1 1} {1 2} {2 2} {2 1}]]"},
		{"an island that touches the hole", with, []rings{frame, {{v(1.5, 1), v(2, 1.5), v(1.5, 2), v(1, 1.5)}}},
			"[[{0 0} {3 0} {3 3} {0 3}] [{1.5 1} {2 1.5} {1.5 2} {1 1.5}] [{1 1} {1 1.5} {1 2} {1.5 2} {2 2} {2 1.5} {2 1} {1.5 1}]]"},
		{"a corner on the way is needless", with, []rings{{{v(0, 0), v(0.5, 0), v(1, 0), v(1, 1), v(0, 1)}}}, "[[{0 0} {1 0} {1 1} {0 1}]]"},
		{"there and back", with, []rings{{{v(0, 0), v(1, 0), v(1, 1), v(1, 0), v(2, 0), v(0, -1)}}}, "[[{0 0} {0 -1} {2 0}]]"},
		{"three bars", odd, []rings{rect(0, 0, 3, 1), rect(1, 0, 2, 1), rect(5, 5, 5, 6)}, "[[{0 0} {1 0} {1 1} {0 1}] [{3 0} {3 1} {2 1} {2 0}]]"},
	} {
		got := fmt.Sprint(combine(t, c.inside, c.regions...))
		if got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestCircles holds two overlapping regular polygons against the area of the
// lens of two circles, MathWorld "Circle-Circle Intersection", eq. 14.
func TestCircles(t *testing.T) {
	const r, R, d = 7.0, 10.0, 11.0
	lens := r*r*math.Acos((d*d+r*r-R*R)/(2*d*r)) + R*R*math.Acos((d*d+R*R-r*r)/(2*d*R)) -
		math.Sqrt((-d+r+R)*(d+r-R)*(d-r+R)*(d+r+R))/2
	a, b := circle(0, 0, R, 2000), circle(d, 0, r, 2000)
	for _, c := range []struct {
		name   string
		inside func([]bool) bool
		want   float64
	}{
		{"within", within, lens},
		{"with", with, math.Pi*(r*r+R*R) - lens},
		{"less", less, math.Pi*R*R - lens},
	} {
		// inscribed polygons of 2000 sides lose a share of 2π²/3n² = 1.6e-6
		if got := area(combine(t, c.inside, a, b)); math.Abs(got-c.want) > 4e-6*c.want {
			t.Errorf("%s: area %.6f, want %.6f", c.name, got, c.want)
		}
	}
}

func TestKeepsCorners(t *testing.T) {
	third := 1.0 / 3
	a := rings{{v(third, third), v(7*third, third), v(third, 5*third)}}
	got := combine(t, with, a)
	if !slices.EqualFunc(got, a, slices.Equal) {
		t.Errorf("got %v, want the same bits as %v", got, a)
	}
	c := circle(1, 2, 3, 24)
	if got := combine(t, less, c, rect(20, 0, 30, 10)); !slices.EqualFunc(got, c, slices.Equal) {
		t.Errorf("an uncut circle changed: %v", got)
	}
}

func TestFaults(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e5, -1e300} {
		if _, err := Combine([]rings{rect(0, 0, x, 1)}, with); !errors.Is(err, ErrTooLarge) {
			t.Errorf("%g mm: %v", x, err)
		}
	}
	if _, err := Combine([]rings{{make([]geom.Vec2, MaxCorners+1)}}, with); !errors.Is(err, ErrTooFine) {
		t.Errorf("%v", err)
	}
	if got := combine(t, with); len(got) != 0 {
		t.Errorf("no regions give %v", got)
	}
	if got := combine(t, with, rings{{}, {v(1, 1)}, {v(1, 1), v(2, 2)}}); len(got) != 0 {
		t.Errorf("rings without an area give %v", got)
	}
}

// windings counts how often rings go round p, by the definition: the sum of
// the angles under which the sides are seen.
func windings(rs rings, p geom.Vec2) float64 {
	sum := 0.0
	for _, r := range rs {
		for i, a := range r {
			a, b := a.Sub(p), r[(i+1)%len(r)].Sub(p)
			sum += math.Atan2(a.Cross(b), a.Dot(b))
		}
	}
	return math.Round(sum / (2 * math.Pi))
}

// lattice returns a ring with corners on a coarse lattice, so that corners,
// sides and crossings often fall together. It may cross itself.
func lattice(rnd *rand.Rand, cells int, mesh float64) rings {
	ring := make([]geom.Vec2, 3+rnd.Intn(6))
	for i := range ring {
		ring[i] = v(mesh*float64(rnd.Intn(cells+1)), mesh*float64(rnd.Intn(cells+1)))
	}
	return rings{ring}
}

func TestRandom(t *testing.T) {
	seed := int64(20261125)
	rnd := rand.New(rand.NewSource(seed))
	for n := range 2000 {
		regions := []rings{lattice(rnd, 6, 1), lattice(rnd, 6, 1)}
		if n%4 == 0 {
			regions = []rings{lattice(rnd, 5, 1.37), lattice(rnd, 7, 0.83), lattice(rnd, 3, 2)}
		}
		if n%10 == 1 { // on the finest lattice every crossing is bent
			regions = []rings{lattice(rnd, 9, 1e-5), lattice(rnd, 9, 1e-5), lattice(rnd, 9, 1e-5)}
		}
		sums := 0.0
		for i := range regions {
			sums += area(combine(t, func(in []bool) bool { return in[i] }, regions...))
		}
		// each point counts as often as regions hold it
		layers := 0.0
		for k := 1; k <= len(regions); k++ {
			layers += area(combine(t, func(in []bool) bool {
				count := 0
				for _, b := range in {
					if b {
						count++
					}
				}
				return count >= k
			}, regions...))
		}
		if math.Abs(sums-layers) > 1e-9 {
			t.Fatalf("case %d of seed %d: areas %g one by one, %g together", n, seed, sums, layers)
		}
		union, cut := combine(t, with, regions...), combine(t, less, regions...)
		if n%10 == 1 {
			continue // no room for points between the sides
		}
		for range 20 {
			p := v(7*rnd.Float64()-0.5, 7*rnd.Float64()-0.5)
			in := make([]bool, len(regions))
			for i, r := range regions {
				in[i] = windings(r, p) != 0
			}
			if nearBorder(regions, p) {
				continue
			}
			if got := windings(union, p) != 0; got != with(in) {
				t.Fatalf("case %d of seed %d: point %v in the union: %v", n, seed, p, got)
			}
			if got := windings(cut, p) != 0; got != less(in) {
				t.Fatalf("case %d of seed %d: point %v in the cut: %v", n, seed, p, got)
			}
		}
	}
}

func nearBorder(regions []rings, p geom.Vec2) bool {
	for _, rs := range regions {
		for _, r := range rs {
			for i, a := range r {
				u := r[(i+1)%len(r)].Sub(a)
				w := p.Sub(a)
				k := 0.0
				if l := u.Dot(u); l > 0 {
					k = max(0, min(1, w.Dot(u)/l))
				}
				if w.Sub(u.Scale(k)).Len() < 1e-4 {
					return true
				}
			}
		}
	}
	return false
}

// TestMoved: a rigid motion of the input moves the output.
func TestMoved(t *testing.T) {
	rnd := rand.New(rand.NewSource(7))
	for range 200 {
		a, b := lattice(rnd, 6, 1), lattice(rnd, 6, 1)
		sin, cos := math.Sincos(rnd.Float64() * 6)
		move := func(rs rings) rings {
			var out rings
			for _, r := range rs {
				var m []geom.Vec2
				for _, p := range r {
					m = append(m, v(cos*p.X-sin*p.Y+3.3, sin*p.X+cos*p.Y-1.7))
				}
				out = append(out, m)
			}
			return out
		}
		before, after := combine(t, less, a, b), combine(t, less, move(a), move(b))
		if len(after) > len(before) {
			t.Fatalf("slivers when moved:\n%v\n%v", before, after)
		}
		x, y := area(before), area(after)
		if math.Abs(x-y) > 1e-3 { // each corner moves by up to 0.7e-5 mm, sides are up to 8 mm
			t.Fatalf("area %.9f, moved %.9f", x, y)
		}
	}
}

// TestOrder: the order of the regions does not matter.
func TestOrder(t *testing.T) {
	rnd := rand.New(rand.NewSource(8))
	for range 200 {
		a, b, c := lattice(rnd, 9, 0.31), lattice(rnd, 9, 0.31), lattice(rnd, 9, 0.31)
		if x, y := area(combine(t, with, a, b, c)), area(combine(t, with, c, a, b)); math.Abs(x-y) > 1e-12 {
			t.Fatalf("%g and %g", x, y)
		}
	}
}

func BenchmarkCombine(b *testing.B) {
	keyhole := []rings{rect(-6, -6, 6, 8), circle(0, 0, 2.2, 48), {{v(-1.5, 0), v(1.5, 0), v(2, 9), v(-2, 9)}}}
	plate := []rings{rect(0, 0, 200, 200)}
	for i := range 100 {
		plate = append(plate, circle(10+20*float64(i%10), 10+20*float64(i/10), 6, 48))
	}
	for _, c := range []struct {
		name    string
		regions []rings
	}{{"keyhole", keyhole}, {"100 holes", plate}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Combine(c.regions, less); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
