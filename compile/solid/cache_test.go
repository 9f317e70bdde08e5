package solid

import (
	"context"
	"errors"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
)

func sameMesh(a, b *mesh.Mesh) bool {
	return slices.Equal(a.Vertices, b.Vertices) && slices.Equal(a.Triangles, b.Triangles)
}

// edit returns the body with one leaf exchanged, moved, added or left out, or
// with one operation exchanged.
func edit(r *rand.Rand, b *Body, odd bool) *Body {
	if b.op == opPlace {
		return edit(r, b.args[0], odd).Placed(b.t)
	}
	if b.op == opLeaf || r.IntN(6) == 0 {
		switch r.IntN(5) {
		case 0:
			return Join(b, randomLeaf(r, odd))
		case 1:
			return Cut(b, randomLeaf(r, odd))
		case 2:
			return b.Placed(at(pitch*float64(r.IntN(3)-1), 0, 0))
		}
		return randomLeaf(r, odd)
	}
	args := slices.Clone(b.args)
	switch i := r.IntN(len(args)); r.IntN(10) {
	case 0:
		if len(args) > 2 {
			args = slices.Delete(args, i, i+1)
		}
	case 1:
		args = append(args, randomLeaf(r, odd))
	case 2:
		args[0], args[i] = args[i], args[0]
	case 3:
		return combine(op(r.IntN(3)), args)
	default:
		args[i] = edit(r, args[i], odd)
	}
	return combine(b.op, args)
}

// TestWarmIsCold edits random bodies step by step and compares what the cache
// makes of them with a build from nothing.
func TestWarmIsCold(t *testing.T) {
	seed := *treeSeed
	r := rand.New(rand.NewPCG(seed, 4))
	ctx, o := context.Background(), Options{Tolerance: treeTolerance}
	for n := range max(1, *trees/60) {
		c := NewCache(1 << 30)
		odd := n%2 == 1
		b := randomTree(r, 1+r.IntN(2), odd)
		for step := range 8 {
			cold, st, err := BuildStats(ctx, b, o)
			warm, st2, err2 := c.BuildStats(ctx, "a", b, o)
			if err != err2 {
				t.Fatalf("seed %d tree %d step %d: %v cold, %v warm", seed, n, step, err, err2)
			}
			if err == nil && !sameMesh(cold, warm) {
				t.Fatalf("seed %d tree %d step %d: %d, %d triangles", seed, n, step, len(cold.Triangles), len(warm.Triangles))
			}
			if err == nil && !slices.Equal(st.Idle, st2.Idle) {
				t.Fatalf("seed %d tree %d step %d: %d idle steps, %d cold", seed, n, step, len(st2.Idle), len(st.Idle))
			}
			b = edit(r, b, odd)
		}
	}
}

// TestSameBytes builds bodies large enough to be shared out among workers, with
// several numbers of processors.
func TestSameBytes(t *testing.T) {
	for _, b := range []*Body{casePlate(8, 0, 4), caseB(), Join(Ball(30), Ball(30).Placed(turnAbout(geom.Vec3{X: 1, Y: 2, Z: 3}, 50)).Placed(at(20, 5, 3)))} {
		var first *mesh.Mesh
		for _, n := range []int{1, 2, 3, 7} {
			before := runtime.GOMAXPROCS(n)
			m, _ := build(t, b, 0.01)
			runtime.GOMAXPROCS(before)
			if first == nil {
				first = m
			}
			if !sameMesh(first, m) {
				t.Fatalf("%d processors: %d and %d triangles", n, len(m.Triangles), len(first.Triangles))
			}
		}
	}
}

// signed is the comb of case A2 with a sign engraved in its front.
func signed(k int, body *Body) *Body {
	sign := Extrude(letter(k), -0.5, 1).Placed(turnAbout(geom.Vec3{X: 1}, 90)).Placed(at(25, 0, 6))
	return Cut(body, sign)
}

func TestCacheKeeps(t *testing.T) {
	ctx := context.Background()
	c := NewCache(1 << 30)
	get := func(name string, b *Body) *mesh.Mesh {
		m, err := c.Build(ctx, name, b, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	a := get("a", signed(0, caseA2()))
	if get("b", signed(0, caseA2())) != a {
		t.Error("one body was built twice")
	}
	if c.sound(a, false) || c.Check(a) != nil || !c.sound(a, false) {
		t.Error("a mesh that passed is not known to have")
	}
	k := c.kept[0].kernel
	if get("a", signed(1, caseA2())) == a || c.kept[0].kernel != k {
		t.Error("an edit was not built on what was there")
	}
	if _, err := c.Build(ctx, "a", Cut(caseA2(), caseA2()), Options{}); !errors.Is(err, ErrEmpty) {
		t.Error(err)
	}
	small := NewCache(1000)
	if _, err := small.Build(ctx, "a", caseA2(), Options{}); err != nil || len(small.kept) != 0 {
		t.Error("the limit of the cache does not hold")
	}
}

// Every kind of leaf, made anew from the same figures, is known from the build
// before when something else changes.
func TestEveryLeafIsKnown(t *testing.T) {
	square := func() Area { return fixed(Profile{rect(-2, -2, 2, 2)}) }
	form := ThreadForm{8, 1.25}
	for name, leaf := range map[string]func() *Body{
		"extrusion":  func() *Body { return ExtrudeArea(square(), 0, 5) },
		"endless":    func() *Body { return EndlessCylinder(geom.Vec3{}, geom.Vec3{Z: 1}, 2) },
		"revolution": func() *Body { return RevolveArea(fixed(Profile{rect(1, 0, 3, 4)}), 2) },
		"taper":      func() *Body { return ExtrudeShaped(fixed(Profile{rect(0, 0, 9, 9)}), 0, 5, Shaping{Taper: 0.1}) },
		"rims":       func() *Body { return ExtrudeShaped(fixed(Profile{rect(0, 0, 9, 9)}), 0, 5, Shaping{End: Rim{1, true}}) },
		"loft":       func() *Body { return LoftAreas(square(), fixed(Profile{rect(-1, -1, 1, 1)}), 0, 5) },
		"wrap":       func() *Body { return WrapArea(square(), 10, 9, 11) },
		"course":     func() *Body { return CourseArea(square(), Course{Pieces: []Piece{{B: geom.Vec2{X: 20}}}}) },
		"thread":     func() *Body { return Thread(form, 0, 0, 10, 0, 0) },
	} {
		c := NewCache(1 << 30)
		for wide := range 2 {
			other := Box(geom.Vec3{X: 100}, geom.Vec3{X: 101, Y: 1 + float64(wide), Z: 2})
			if _, err := c.Build(context.Background(), "a", Join(leaf(), leaf().Placed(at(0, 60, 0)), other, other.Placed(at(0, 20, 0))), Options{}); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		k := c.kept[0].kernel
		if made, live := len(k.leaves), len(k.live); made != live+2 {
			t.Errorf("%s: %d leaves were made for %d, want 2 more", name, made, live)
		}
	}
}

// A body that grows at one end, so that its middle moves, keeps its other leaves,
// and the endless ones among them.
func TestGrowthKeepsLeaves(t *testing.T) {
	c := NewCache(1 << 30)
	for long := range 4 {
		arm := Box(geom.Vec3{Y: -3}, geom.Vec3{X: 70 + 3*float64(long), Y: 3, Z: 5})
		post := Cut(Join(Cylinder(8, 0, 20), Cylinder(8, 0, 20).Placed(at(20, 0, 0))), EndlessCylinder(geom.Vec3{X: 4, Z: 3}, geom.Vec3{Z: 1}, 3))
		if _, err := c.Build(context.Background(), "a", Join(post, arm), Options{}); err != nil {
			t.Fatal(err)
		}
	}
	if k := c.kept[0].kernel; len(k.leaves) != len(k.live)+3 {
		t.Errorf("%d leaves were made for %d, want 3 more", len(k.leaves), len(k.live))
	}
}

// BenchmarkEdit builds bodies whose engraving changes each time; share is the
// time of that in the time of a build from nothing.
func BenchmarkEdit(b *testing.B) {
	for _, c := range []struct {
		name string
		body *Body
	}{{"comb", caseA2()}, {"plate", casePlate(20, 0, 4)}} {
		bodies := [2]*Body{signed(0, c.body), signed(1, c.body)}
		b.Run(c.name, func(b *testing.B) {
			ctx := context.Background()
			cold := timeOf(func() { Build(ctx, bodies[0], Options{}) })
			cache := NewCache(1 << 30)
			cache.Build(ctx, "a", bodies[0], Options{})
			cache.Build(ctx, "a", bodies[1], Options{})
			n := 0
			for b.Loop() {
				if _, err := cache.Build(ctx, "a", bodies[n%2], Options{}); err != nil {
					b.Fatal(err)
				}
				n++
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/cold, "share")
		})
	}
}
