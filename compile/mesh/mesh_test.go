package mesh

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"perch/compile/geom"
)

// Volumes and areas: rectangular block, corner tetrahedron l³/6, regular
// octahedron of edge a: V = √2/3·a³, A = 2√3·a² (CRC Standard Mathematical
// Tables, Polyhedra), here a = r√2.
func TestMeasuresClosedForm(t *testing.T) {
	r := 7.0
	a := r * math.Sqrt2
	s3 := math.Sqrt(3)
	for _, c := range []struct {
		name         string
		m            *Mesh
		volume, area float64
		centroid     geom.Vec3
		genus        int
	}{
		{"block", box(geom.Vec3{X: 1, Y: 2, Z: 3}, geom.Vec3{X: 11, Y: 22, Z: 33}), 6000, 2200, geom.Vec3{X: 6, Y: 12, Z: 18}, 0},
		{"corner", corner(10), 500.0 / 3, 150 + 50*s3, geom.Vec3{X: 2.5, Y: 2.5, Z: 2.5}, 0},
		{"octahedron", octahedron(r), math.Sqrt2 / 3 * a * a * a, 2 * s3 * a * a, geom.Vec3{}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			if err := c.m.Check(); err != nil {
				t.Fatal(err)
			}
			near(t, "volume", c.m.Volume(), c.volume, 1e-14)
			near(t, "area", c.m.Area(), c.area, 1e-14)
			if d := c.m.Centroid().Sub(c.centroid).Len(); d > 1e-13 {
				t.Errorf("centroid %v, want %v", c.m.Centroid(), c.centroid)
			}
			if g, p := c.m.Genus(), c.m.Pieces(); g != c.genus || p != 1 {
				t.Errorf("genus %d in %d pieces, want %d in 1", g, p, c.genus)
			}
			if x := c.m.Intersections(0); len(x) != 0 {
				t.Errorf("intersections %v", x)
			}
		})
	}
}

// A torus of n sections that are regular k-gons, joined straight: a level cut
// through the wedge between two neighbouring sections is made of triangles
// ½d²·sin(2π/n), so the wedge holds sin(2π/n)·∫d dA = A·R·sin(2π/n) with
// A = k/2·r²·sin(2π/k), the area of a regular k-gon (Pappus's argument for
// straight sides). The quadrilaterals are plane trapezia.
func TestTorus(t *testing.T) {
	const R, r, n, k = 20.0, 5.0, 48, 24
	m := torus(R, r, n, k)
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	a := k / 2.0 * r * r * math.Sin(2*math.Pi/k)
	near(t, "volume", m.Volume(), n*a*R*math.Sin(2*math.Pi/n), 1e-13)
	// The smooth torus, 2π²Rr² = 9869.60440109 and area 4π²Rr = 3947.84176044
	// for R 20, r 5 (Pappus), bounds it from above.
	if v := m.Volume(); v >= 9869.60440109 || v < 0.98*9869.60440109 {
		t.Errorf("volume %g", v)
	}
	if v := m.Area(); v >= 3947.84176044 || v < 0.99*3947.84176044 {
		t.Errorf("area %g", v)
	}
	if m.Genus() != 1 || m.Pieces() != 1 {
		t.Errorf("genus %d, pieces %d; a torus has one handle", m.Genus(), m.Pieces())
	}
	if x := m.Intersections(0); len(x) != 0 {
		t.Errorf("intersections %v", x)
	}
}

// Rigid motion changes neither volume nor area (Euclid); far from the origin
// the measures must keep their digits.
func TestFarFromOrigin(t *testing.T) {
	m := torus(20, 5, 24, 12)
	v, a := m.Volume(), m.Area()
	move := geom.Turn(geom.Vec3{X: 1}, geom.Vec3{X: 1, Y: 2, Z: 3}, 0.7).Then(geom.Move(geom.Vec3{X: 1 << 20, Y: -1 << 19, Z: 1 << 18}))
	for i := range m.Vertices {
		m.Vertices[i] = move.Apply(m.Vertices[i])
	}
	near(t, "volume", m.Volume(), v, 1e-9)
	near(t, "area", m.Area(), a, 1e-9)
}

func TestPiecesAndHollow(t *testing.T) {
	o := geom.Vec3{}
	outer := box(o, geom.Vec3{X: 10, Y: 10, Z: 10})
	hollow := turned(box(geom.Vec3{X: 2, Y: 2, Z: 2}, geom.Vec3{X: 8, Y: 8, Z: 8}))
	m := with(outer, hollow)
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	near(t, "volume", m.Volume(), 1000-216, 1e-14)
	if m.Pieces() != 2 || m.Genus() != 0 {
		t.Errorf("pieces %d genus %d", m.Pieces(), m.Genus())
	}
	two := with(torus(20, 5, 12, 8), outer)
	if two.Pieces() != 2 || two.Genus() != 1 {
		t.Errorf("pieces %d genus %d", two.Pieces(), two.Genus())
	}
	n, of := two.Shells()
	if n != 2 || of[0] != 0 || of[len(of)-1] != 1 {
		t.Errorf("shells %d %v", n, of)
	}
}

func TestCheckFindsFaults(t *testing.T) {
	unit := geom.Vec3{X: 1, Y: 1, Z: 1}
	block := func() *Mesh { return box(geom.Vec3{}, unit) }
	for _, c := range []struct {
		name  string
		spoil func() *Mesh
		kind  Kind
		count int
	}{
		{"nothing", func() *Mesh { return &Mesh{} }, Empty, 1},
		{"index", func() *Mesh { m := block(); m.Triangles[3][1] = 99; return m }, BadIndex, 1},
		{"negative index", func() *Mesh { m := block(); m.Triangles[3][1] = -1; return m }, BadIndex, 1},
		{"NaN", func() *Mesh { m := block(); m.Vertices[2].Y = math.NaN(); return m }, NotFinite, 1},
		{"infinite", func() *Mesh { m := block(); m.Vertices[2].Y = math.Inf(-1); return m }, NotFinite, 1},
		{"repeated vertex", func() *Mesh {
			m := block()
			m.Triangles = append(m.Triangles, [3]int32{0, 1, 1})
			return m
		}, Degenerate, 1},
		{"on one line", func() *Mesh {
			m := block()
			m.Vertices = append(m.Vertices, geom.Vec3{X: 0.5})
			m.Triangles[0] = [3]int32{0, 8, 1}
			return m
		}, Degenerate, 1},
		{"open", func() *Mesh { m := block(); m.Triangles = m.Triangles[1:]; return m }, Open, 3},
		{"flipped", func() *Mesh {
			m := block()
			q := m.Triangles[0]
			m.Triangles[0] = [3]int32{q[1], q[0], q[2]}
			return m
		}, Flipped, 3},
		{"crowded", func() *Mesh { m := block(); m.Triangles = append(m.Triangles, m.Triangles[0]); return m }, Crowded, 3},
		{"two blocks on one edge", func() *Mesh {
			m := with(block(), box(geom.Vec3{X: 1, Y: 1}, geom.Vec3{X: 2, Y: 2, Z: 1}))
			return merged(m)
		}, Crowded, 1},
		{"two blocks on one corner", func() *Mesh {
			return merged(with(block(), box(unit, geom.Vec3{X: 2, Y: 2, Z: 2})))
		}, Pinched, 1},
		{"inside out", func() *Mesh { return turned(block()) }, InsideOut, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			var e *CheckError
			if err := c.spoil().Check(); !errors.As(err, &e) {
				t.Fatalf("got %v", err)
			}
			if !e.Has(c.kind) || e.Error() == "" {
				t.Fatalf("got %v, want %s", e, c.kind)
			}
			for _, f := range e.Faults {
				if f.Kind == c.kind && f.Count != c.count {
					t.Errorf("count %d, want %d", f.Count, c.count)
				}
			}
		})
	}
}

// merged joins vertices that lie at one place.
func merged(m *Mesh) *Mesh {
	out := &Mesh{}
	at := map[geom.Vec3]int32{}
	number := make([]int32, len(m.Vertices))
	for i, v := range m.Vertices {
		k, ok := at[v]
		if !ok {
			k = int32(len(out.Vertices))
			at[v] = k
			out.Vertices = append(out.Vertices, v)
		}
		number[i] = k
	}
	for _, t := range m.Triangles {
		out.Triangles = append(out.Triangles, [3]int32{number[t[0]], number[t[1]], number[t[2]]})
	}
	return out
}

// float32 has 24 binary digits (IEEE 754): at 100 mm its steps are 2⁻¹⁷ mm,
// about 7.6 nm.
func TestFineDetail(t *testing.T) {
	m := box(geom.Vec3{X: 100}, geom.Vec3{X: 100 + 1e-6, Y: 1, Z: 1})
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	// The two triangles of each of the four thin faces lose their width.
	r := m.Inspect()
	if want := []Fault{{Needle, 8, r.Faults[0].At}, {Lost, 8, r.Faults[1].At}}; !slices.Equal(r.Faults, want) {
		t.Errorf("%v, want %v", r, want)
	}
	low := &Mesh{Vertices: []geom.Vec3{{}, {X: 1}, {X: 0.5, Y: 3e-5}}, Triangles: [][3]int32{{0, 1, 2}}}
	if e, short := low.Thin(0); e != 0 || short {
		t.Errorf("edge %d, short %v, of a low triangle; want 0, false", e, short)
	}
	if r := box(geom.Vec3{X: 100}, geom.Vec3{X: 101, Y: 1, Z: 1}).Inspect(); len(r.Faults) > 0 {
		t.Error(r)
	}
}

// Bodies that lie within each other by a known depth: more than Fine is found,
// less is rounding.
func TestCrossing(t *testing.T) {
	o, unit := geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1}
	block := box(o, unit)
	for _, c := range []struct {
		name string
		m    *Mesh
		want bool
	}{
		{"corner in corner", with(block, box(geom.Vec3{X: 0.5, Y: 0.5, Z: 0.5}, geom.Vec3{X: 2, Y: 2, Z: 2})), true},
		{"tip 2e-4 deep in a face", with(block, moved(turned(corner(1)), geom.Vec3{X: 0.3, Y: 0.3, Z: 1 - 2e-4})), true},
		{"as much apart", with(block, box(geom.Vec3{Z: 1 + 2e-4}, geom.Vec3{X: 1, Y: 1, Z: 2})), false},
		{"half of Fine deep", with(block, box(geom.Vec3{X: 0.25, Y: 0.25, Z: 1 - Fine/2}, geom.Vec3{X: 0.75, Y: 0.75, Z: 2})), false},
		{"one inside", with(block, box(geom.Vec3{X: 0.25, Y: 0.25, Z: 0.25}, geom.Vec3{X: 0.5, Y: 0.5, Z: 0.5})), false},
		{"twice the same", with(block, block), true},
		{"ring through ring", with(torus(20, 5, 48, 24), moved(torus(20, 5, 48, 24), geom.Vec3{X: 1})), true},
		{"apart", with(block, box(geom.Vec3{X: 2}, geom.Vec3{X: 3, Y: 1, Z: 1})), false},
		{"corner shared by place", with(block, box(unit, geom.Vec3{X: 2, Y: 2, Z: 2})), false},
	} {
		if r := c.m.Inspect(); r.Has(Crossing) != c.want || len(r.Faults) > 0 != c.want {
			t.Errorf("%s: %v, want crossings: %v", c.name, r, c.want)
		}
	}
}

func TestIntersections(t *testing.T) {
	o, unit := geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1}
	block := box(o, unit)
	for _, c := range []struct {
		name string
		m    *Mesh
		meet bool
	}{
		{"apart", with(block, box(geom.Vec3{X: 2}, geom.Vec3{X: 3, Y: 1, Z: 1})), false},
		{"crossing", with(block, box(geom.Vec3{X: 0.5, Y: 0.5, Z: 0.5}, geom.Vec3{X: 2, Y: 2, Z: 2})), true},
		{"one inside, not touching", with(block, box(geom.Vec3{X: 0.25, Y: 0.25, Z: 0.25}, geom.Vec3{X: 0.5, Y: 0.5, Z: 0.5})), false},
		{"face on larger face", with(block, box(geom.Vec3{X: 0.25, Y: 0.25, Z: 1}, geom.Vec3{X: 0.75, Y: 0.75, Z: 2})), true},
		{"edge shared by place", with(block, box(geom.Vec3{X: 1, Y: 1}, geom.Vec3{X: 2, Y: 2, Z: 1})), false},
		{"corner shared by place", with(block, box(unit, geom.Vec3{X: 2, Y: 2, Z: 2})), false},
		{"corner on a face", with(block, moved(corner(1), geom.Vec3{X: 0.4, Y: 0.3, Z: 1})), true},
		{"twice the same", with(block, block), true},
		{"folded flat", &Mesh{
			Vertices:  []geom.Vec3{{}, {X: 2}, {X: 1, Y: 1}, {X: 1, Y: 2}},
			Triangles: [][3]int32{{0, 1, 2}, {1, 0, 3}},
		}, true},
		{"spread flat", &Mesh{
			Vertices:  []geom.Vec3{{}, {X: 2}, {X: 1, Y: 1}, {X: 1, Y: -2}},
			Triangles: [][3]int32{{0, 1, 2}, {1, 0, 3}},
		}, false},
		{"common corner, one through the other", &Mesh{
			Vertices:  []geom.Vec3{{}, {X: 2}, {Y: 2}, {X: 1, Y: 1, Z: 1}, {X: 1, Y: 1, Z: -1}},
			Triangles: [][3]int32{{0, 1, 2}, {0, 3, 4}},
		}, true},
		{"common corner, in one plane, overlapping", &Mesh{
			Vertices:  []geom.Vec3{{}, {X: 2}, {X: 2, Y: 2}, {X: 3, Y: 1}, {X: 1, Y: 3}},
			Triangles: [][3]int32{{0, 1, 2}, {0, 3, 4}},
		}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := c.m.Intersections(0)
			if (len(x) > 0) != c.meet {
				t.Errorf("pairs %v, want some: %v", x, c.meet)
			}
			if c.meet && len(c.m.Intersections(1)) != 1 {
				t.Error("the limit does not hold")
			}
		})
	}
}

func moved(m *Mesh, d geom.Vec3) *Mesh {
	out := with(m, &Mesh{})
	for i := range out.Vertices {
		out.Vertices[i] = out.Vertices[i].Add(d)
	}
	return out
}

// The tree of boxes must find the same pairs as asking all pairs.
func TestIntersectionsAllPairs(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, seed))
	for round := range 30 {
		m := &Mesh{}
		for range 60 {
			n := int32(len(m.Vertices))
			c := geom.Vec3{X: float64(r.IntN(8)), Y: float64(r.IntN(8)), Z: float64(r.IntN(8))}
			for range 3 {
				m.Vertices = append(m.Vertices, c.Add(geom.Vec3{X: float64(r.IntN(4)), Y: float64(r.IntN(4)), Z: float64(r.IntN(4))}))
			}
			if !collinear(m.Vertices[n], m.Vertices[n+1], m.Vertices[n+2]) {
				m.Triangles = append(m.Triangles, [3]int32{n, n + 1, n + 2})
			}
		}
		want := 0
		for i := range m.Triangles {
			for j := range i {
				if m.meet(i, j) {
					want++
				}
			}
		}
		if got := len(m.Intersections(0)); got != want {
			t.Errorf("seed %d round %d: %d pairs, want %d", seed, round, got, want)
		}
	}
}

// The filtered sign must equal the sign in whole numbers, also for points
// within rounding of one plane.
func TestOrientExact(t *testing.T) {
	const seed = 5
	r := rand.New(rand.NewPCG(seed, seed))
	v := func() geom.Vec3 {
		return geom.Vec3{X: r.Float64()*200 - 100, Y: r.Float64()*200 - 100, Z: r.Float64()*200 - 100}
	}
	for range 2000 {
		a, b, c := v(), v(), v()
		s, u := r.Float64(), r.Float64()
		d := a.Add(b.Sub(a).Scale(s)).Add(c.Sub(a).Scale(u))
		if got, want := orient(a, b, c, d), orientExact(a, b, c, d); got != want {
			t.Fatalf("seed %d: %v %v %v %v: %d, want %d", seed, a, b, c, d, got, want)
		}
	}
	// On a grid: multiples of one vector, of which some are off by a unit.
	grid := func() float64 { return float64(r.Int64N(1<<40) - 1<<39) }
	for i := range 2000 {
		g := func() geom.Vec3 { return geom.Vec3{X: grid(), Y: grid(), Z: grid()} }
		a, e, f := g(), g().Scale(0x1p-30), g().Scale(0x1p-30)
		e, f = geom.Vec3{X: math.Trunc(e.X), Y: math.Trunc(e.Y), Z: math.Trunc(e.Z)}, geom.Vec3{X: math.Trunc(f.X), Y: math.Trunc(f.Y), Z: math.Trunc(f.Z)}
		b, c := a.Add(e.Scale(9)), a.Add(f.Scale(7))
		d := a.Add(e.Scale(5)).Sub(f.Scale(4))
		d.Z += float64(i % 3 / 2)
		if !whole(a) || !whole(b) || !whole(c) || !whole(d) {
			continue
		}
		if got, want := orient(a, b, c, d), orientExact(a, b, c, d); got != want {
			t.Fatalf("seed %d: %v %v %v %v: %d, want %d", seed, a, b, c, d, got, want)
		}
		for drop := range 3 {
			// On one line, but for the unit.
			b := a.Add(e.Scale(3))
			b.X += float64(i % 4 / 3)
			c := a.Add(e.Scale(8))
			if got, want := orient2(a, b, c, drop), orient2Exact(a, b, c, (drop+1)%3, (drop+2)%3); got != want {
				t.Fatalf("seed %d: %v %v %v: %d, want %d", seed, a, b, c, got, want)
			}
		}
	}
	up := geom.Vec3{Z: 1}
	if orient(geom.Vec3{}, geom.Vec3{X: 1}, geom.Vec3{Y: 1}, up) != 1 {
		t.Error("counter-clockwise seen from d is +1")
	}
	if orient(geom.Vec3{}, geom.Vec3{X: 1}, geom.Vec3{Y: 1}, geom.Vec3{X: 5, Y: 7}) != 0 {
		t.Error("four points of one plane give 0")
	}
}
