package solid

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
)

var (
	trees    = flag.Int("trees", 1200, "number of random trees to build")
	treeSeed = flag.Uint64("treeseed", 7, "seed of the random trees")
)

// lattice is a random tree of whole boxes on a coarse lattice, with its
// membership as a function of a cell, so that volume and surface can be
// counted.
type lattice struct {
	body *Body
	in   func(x, y, z int) bool
}

const latticeSize = 6

func randomLattice(r *rand.Rand, depth int) lattice {
	if depth == 0 || r.IntN(5) == 0 {
		var lo, hi [3]int
		for c := range 3 {
			lo[c] = r.IntN(latticeSize - 1)
			hi[c] = lo[c] + 1 + r.IntN(min(3, latticeSize-lo[c]))
		}
		return lattice{
			Box(geom.Vec3{X: float64(lo[0]), Y: float64(lo[1]), Z: float64(lo[2])}, geom.Vec3{X: float64(hi[0]), Y: float64(hi[1]), Z: float64(hi[2])}),
			func(x, y, z int) bool {
				return x >= lo[0] && x < hi[0] && y >= lo[1] && y < hi[1] && z >= lo[2] && z < hi[2]
			},
		}
	}
	var parts []lattice
	var bodies []*Body
	for range 2 + r.IntN(3) {
		p := randomLattice(r, depth-1)
		parts, bodies = append(parts, p), append(bodies, p.body)
	}
	switch r.IntN(3) {
	case 0:
		return lattice{Join(bodies...), func(x, y, z int) bool {
			for _, p := range parts {
				if p.in(x, y, z) {
					return true
				}
			}
			return false
		}}
	case 1:
		return lattice{Cut(bodies[0], bodies[1:]...), func(x, y, z int) bool {
			for i, p := range parts {
				if p.in(x, y, z) != (i == 0) {
					return false
				}
			}
			return true
		}}
	}
	return lattice{Trim(bodies[0], bodies[1:]...), func(x, y, z int) bool {
		for _, p := range parts {
			if !p.in(x, y, z) {
				return false
			}
		}
		return true
	}}
}

func (l lattice) count() (vol, area int) {
	for x := -1; x <= latticeSize; x++ {
		for y := -1; y <= latticeSize; y++ {
			for z := -1; z <= latticeSize; z++ {
				c := l.in(x, y, z)
				if c {
					vol++
				}
				for _, n := range [3]bool{l.in(x+1, y, z), l.in(x, y+1, z), l.in(x, y, z+1)} {
					if n != c {
						area++
					}
				}
			}
		}
	}
	return vol, area
}

// TestLatticeTrees checks joins, cuts and trims of boxes that share faces,
// edges and corners against a count of lattice cells, upright and turned as
// a whole.
func TestLatticeTrees(t *testing.T) {
	seed := *treeSeed
	r := rand.New(rand.NewPCG(seed, 1))
	for n := range *trees {
		l := randomLattice(r, 3)
		vol, area := l.count()
		body := l.body
		if n%3 == 1 {
			body = body.Placed(turnZ(37).Then(turnAbout(geom.Vec3{X: 1, Y: 1}, 20)).Then(at(3, 1, 4)))
		}
		m, st, err := BuildStats(context.Background(), body, Options{})
		if vol == 0 {
			if err != ErrEmpty {
				t.Fatalf("seed %d tree %d: %v, want empty", seed, n, err)
			}
			continue
		}
		if err != nil {
			t.Fatalf("seed %d tree %d: %v", seed, n, err)
		}
		if err := m.Check(); err != nil {
			t.Fatalf("seed %d tree %d: %v", seed, n, err)
		}
		if st.Forced != 0 || math.Abs(m.Volume()-float64(vol)) > 1e-9 || math.Abs(m.Area()-float64(area)) > 1e-9 {
			t.Fatalf("seed %d tree %d: volume %v area %v, want %d %d; %+v", seed, n, m.Volume(), m.Area(), vol, area, st)
		}
	}
}

// pitch of the lattice of the random leaves, mm. Parts of 20 to 100 mm keep
// the 10 nm of the grid below a millionth.
const pitch = 20

// treeTolerance keeps curves as coarse as flat faces are many.
const treeTolerance = 2

// randomLeaf is one of the shapes on the lattice, in one of several poses: a
// box, a prism, a body of revolution, or one with tapered walls, broken rims,
// between two areas, wrapped or led along a way.
func randomLeaf(r *rand.Rand, odd bool) *Body {
	size := func() float64 { return pitch * float64(1+r.IntN(3)) }
	var b *Body
	switch r.IntN(12) {
	case 0, 1, 2:
		b = Box(geom.Vec3{}, geom.Vec3{X: size(), Y: size(), Z: size()})
	case 3:
		b = Cylinder(size()/2, 0, size())
	case 4:
		b = Extrude(angleSection(pitch+size(), size()/2), 0, size())
	case 5:
		b = Extrude(Profile{Circle(geom.Vec2{}, size(), 6)}, 0, size())
	case 6:
		if r.IntN(2) == 0 {
			b = Cone(size(), pitch*float64(r.IntN(2)), 0, size())
		} else {
			b = Ball(size())
		}
	case 7:
		b = randomShaped(r, size)
	case 8:
		b = randomLoft(r, size)
	case 9: // a part of a ring or of a disc
		in, angle := pitch*float64(r.IntN(2)), []float64{45, 90, 100, 180, 270, 359}[r.IntN(6)]
		b = Revolve(Profile{rect(in, 0, in+size(), size())}, angle*deg)
	case 10:
		b = randomWrap(r, size)
	case 11:
		b = randomCourse(r, size)
	}
	quarter := []float64{0, 90, 180, 270}
	b = b.Placed(turnAbout(geom.Vec3{X: 1}, quarter[r.IntN(4)])).Placed(turnAbout(geom.Vec3{Y: 1}, quarter[r.IntN(4)]))
	if odd {
		switch r.IntN(4) {
		case 0:
			b = b.Placed(turnZ(37))
		case 1:
			b = b.Placed(turnZ(-45))
		case 2:
			b = b.Placed(turnAbout(geom.Vec3{X: 1, Y: 2, Z: -1}, 23))
		}
	}
	return b.Placed(at(pitch*float64(r.IntN(5)), pitch*float64(r.IntN(5)), pitch*float64(r.IntN(5))))
}

// angleSection is an L with legs of length a and width w.
func angleSection(a, w float64) Profile {
	return Profile{{{}, {X: a}, {X: a, Y: w}, {X: w, Y: w}, {X: w, Y: a}, {Y: a}}}
}

func randomShaped(r *rand.Rand, size func() float64) *Body {
	p := [...]Profile{
		{rect(0, 0, pitch+size(), pitch+size())},
		{Circle(geom.Vec2{}, size(), 6)},
		{Circle(geom.Vec2{}, size(), 16)},
		angleSection(pitch+size(), pitch),
	}[r.IntN(4)]
	var s Shaping
	if r.IntN(3) > 0 {
		s.Taper, s.DrawnAtEnd = math.Atan(float64(r.IntN(5)-2)/16), r.IntN(2) == 0
	}
	rim := func() Rim { return Rim{pitch / 8 * float64(r.IntN(3)), r.IntN(2) == 0} }
	if s.Taper == 0 || r.IntN(2) == 0 {
		s.Start, s.End = rim(), rim()
	}
	h := size()
	if CheckShaped(p, 0, h, s, treeTolerance) != nil {
		s = Shaping{}
	}
	return ExtrudeShaped(fixed(p), 0, h, s)
}

func randomLoft(r *rand.Rand, size func() float64) *Body {
	end := func() Profile {
		a, b := size()/2, size()/2
		switch r.IntN(3) {
		case 0:
			return Profile{rect(-a, -b, a, b)}
		case 1:
			return Profile{Circle(geom.Vec2{}, a, 4+2*r.IntN(4))}
		}
		x := pitch / 2 * float64(r.IntN(3))
		return Profile{rect(x-a, -b, x+a, b)}
	}
	return LoftAreas(fixed(end()), fixed(end()), 0, size())
}

func randomWrap(r *rand.Rand, size func() float64) *Body {
	radius, h := size(), size()
	long := [...]float64{size(), math.Pi * radius, 2 * math.Pi * radius}[r.IntN(3)]
	p := Profile{rect(0, 0, long, h)}
	switch r.IntN(4) {
	case 0:
		p = append(p, hole(rect(long/4, h/4, long/2, h/2)))
	case 1:
		p = Profile{{{}, {X: long}, {X: long / 2, Y: h}}}
	case 2:
		p = Profile{{{}, {X: long, Y: pitch / 2}, {X: long, Y: pitch/2 + h}, {Y: h}}}
	}
	return WrapArea(fixed(p), radius, radius-pitch/4*float64(r.IntN(3)), radius+pitch/4*float64(1+r.IntN(2)))
}

// randomCourse leads a square along a line, a quarter turn or a corner, and
// another line.
func randomCourse(r *rand.Rand, size func() float64) *Body {
	a, b := pitch+size(), pitch+size()
	w := pitch / 4 * float64(1+r.IntN(2))
	p := Profile{rect(-w, -w, w, w)}
	if r.IntN(2) == 0 {
		return CourseArea(fixed(p), Course{Pieces: []Piece{
			{A: geom.Vec2{}, B: geom.Vec2{X: a}},
			{A: geom.Vec2{X: a}, B: geom.Vec2{X: a + pitch, Y: pitch}, Centre: geom.Vec2{X: a, Y: pitch}, Turn: math.Pi / 2},
			{A: geom.Vec2{X: a + pitch, Y: pitch}, B: geom.Vec2{X: a + pitch, Y: pitch + b}},
		}})
	}
	return CourseArea(fixed(p), Course{Pieces: []Piece{
		{A: geom.Vec2{}, B: geom.Vec2{X: a}}, {A: geom.Vec2{X: a}, B: geom.Vec2{X: a + b*float64(r.IntN(2)), Y: b}},
	}})
}

func randomTree(r *rand.Rand, depth int, odd bool) *Body {
	if depth == 0 {
		return randomLeaf(r, odd)
	}
	var args []*Body
	for range 2 + r.IntN(3) {
		args = append(args, randomTree(r, depth-1, odd))
	}
	switch r.IntN(4) {
	case 0:
		return Cut(args[0], args[1:]...)
	case 1:
		if depth == 1 {
			return Trim(args[0], args[1])
		}
	}
	return Join(args...)
}

// checked builds a random tree and checks its mesh; where nothing is left of
// the body, the mesh is empty.
func checked(b *Body) (*mesh.Mesh, error) {
	m, st, err := BuildStats(context.Background(), b, Options{Tolerance: treeTolerance})
	if err == ErrEmpty {
		return &mesh.Mesh{}, nil
	}
	if err != nil {
		return nil, err
	}
	if err := m.Check(); err != nil {
		return nil, err
	}
	if st.Forced != 0 {
		return nil, fmt.Errorf("%d ears cut without proof", st.Forced)
	}
	return m, nil
}

func measure(b *Body) (vol, area float64, err error) {
	m, err := checked(b)
	if err != nil {
		return 0, 0, err
	}
	return m.Volume(), m.Area(), nil
}

// TestIdentities checks, over random trees of all leaves in all poses, that
// vol(A) + vol(B) = vol(A join B) + vol(A trim B) and that
// vol(A cut B) = vol(A) - vol(A trim B) (inclusion and exclusion), that the
// order of joins does not matter, and that moving a body changes nothing but
// coordinates.
func TestIdentities(t *testing.T) {
	seed := *treeSeed
	r := rand.New(rand.NewPCG(seed, 2))
	for n := range max(1, *trees/4) {
		a, b := randomTree(r, 1+r.IntN(2), n%2 == 1), randomTree(r, 1+r.IntN(2), n%2 == 1)
		surface := 0.0
		get := func(what string, b *Body) float64 {
			v, s, err := measure(b)
			surface += s
			if err != nil {
				t.Errorf("seed %d tree %d, %s: %v", seed, n, what, err)
			}
			return v
		}
		va, vb := get("A", a), get("B", b)
		join, trim, cut := get("A join B", Join(a, b)), get("A trim B", Trim(a, b)), get("A cut B", Cut(a, b))
		swapped := get("B join A", Join(b, a))
		moved := get("moved", Join(a, b).Placed(turnAbout(geom.Vec3{X: 1, Y: 0.3, Z: 0.7}, 71)).Placed(at(10, 20, 30)))
		// A millionth, and a tenth of a grid step over the surfaces.
		tol := 2e-6*(va+vb+1) + 1e-6*surface
		for _, c := range []struct {
			what string
			off  float64
		}{
			{"A + B = join + trim", va + vb - join - trim},
			{"cut = A - trim", va - trim - cut},
			{"join either way", join - swapped},
			{"moved", join - moved},
		} {
			if math.Abs(c.off) > tol {
				t.Errorf("seed %d tree %d: %s off by %g", seed, n, c.what, c.off)
			}
		}
		if t.Failed() {
			return
		}
	}
}
