package solid

import (
	"math"

	"perch/compile/geom"
)

// facets collects the surface of a curved leaf, facet by facet, on the grid.
// Seen from outside, a facet goes round counter-clockwise.
type facets struct {
	k     *kernel
	g     *grid
	flip  bool
	faces []rawFace
}

func newFacets(k *kernel, g *grid) *facets { return &facets{k: k, g: g, flip: g.t.Mirrors()} }

func (f *facets) point(p geom.Vec3) int32 {
	q := f.g.round(p)
	return f.k.addGrid(q[0], q[1], q[2])
}

// add adds a facet with its holes. Corners that fell into one grid point are
// drawn together; what is left without an inside is no facet.
func (f *facets) add(loops ...[]int32) {
	var kept [][]int32
	for _, l := range loops {
		if l = withoutSteps(l); len(l) < 3 {
			continue
		}
		if f.flip {
			reverse(l)
		}
		kept = append(kept, l)
	}
	if len(kept) > 0 {
		f.faces = append(f.faces, rawFace{loops: kept})
	}
}

// withoutSteps returns a copy of a loop without corners that repeat the one
// before, and without ways there and straight back.
func withoutSteps(l []int32) []int32 {
	out := make([]int32, 0, len(l))
	for _, v := range l {
		switch n := len(out); {
		case n > 0 && out[n-1] == v:
		case n > 1 && out[n-2] == v:
			out = out[:n-1]
		default:
			out = append(out, v)
		}
	}
	for n := len(out); n > 1; n = len(out) {
		switch {
		case out[0] == out[n-1]:
			out = out[:n-1]
		case n > 2 && out[1] == out[n-1]:
			out = out[1:]
		case n > 2 && out[0] == out[n-2]:
			out = out[:n-1]
		default:
			return out
		}
	}
	return out
}

// band adds the facets between two rings of as many corners: quadrangles,
// halved where they are not flat. Seen from outside, a runs counter-clockwise
// below b.
func (f *facets) band(a, b []int32) {
	n := len(a)
	for i := range a {
		j := (i + 1) % n
		f.quad(a[i], a[j], b[j], b[i])
	}
}

// quad adds a quadrangle, halved along the shorter diagonal where it is not
// flat. Diagonals that rounding alone tells apart count as equal, so that a
// body is the same body however it is turned.
func (f *facets) quad(a, b, c, d int32) {
	if f.k.flatQuad(a, b, c, d) {
		f.add([]int32{a, b, c, d})
		return
	}
	const equal = 16 // grid units
	if math.Sqrt(f.k.dist2(a, c)) <= math.Sqrt(f.k.dist2(b, d))+equal {
		f.add([]int32{a, b, c})
		f.add([]int32{a, c, d})
		return
	}
	f.add([]int32{b, c, d})
	f.add([]int32{b, d, a})
}

// flatQuad reports whether four points lie in one plane exactly.
func (k *kernel) flatQuad(a, b, c, d int32) bool {
	if a == b || b == c || c == d || d == a || a == c || b == d {
		return false
	}
	p := k.through(a, b, c)
	return p.sign != 0 && p.holds(k.gridPoint(d))
}

func (k *kernel) dist2(a, b int32) float64 {
	p, q := k.pts[a].f, k.pts[b].f
	x, y, z := p[0]-q[0], p[1]-q[1], p[2]-q[2]
	return float64(x*x) + float64(y*y) + float64(z*z)
}

func (f *facets) done() error {
	if len(f.faces) == 0 {
		return nil
	}
	return f.k.addRaw(f.faces)
}

// cutFacet cuts a polygon of grid points with area vector n, which is not
// exactly flat, into triangles.
func (k *kernel) cutFacet(loops [][]int32, n [3]float64) [][3]int32 {
	i, j := projection(n)
	t := triangulator{s: k.space, i: i, j: j}
	t.region(loops)
	k.fatten(t.tris, i, j)
	return t.tris
}

// fatten exchanges edges inside a polygon that was cut into triangles for the
// other diagonal, where a triangle is so low that the rounding of its corners
// turns its plane out of the polygon's: it could meet other faces of the leaf
// there. i, j are the projection axes of the polygon.
func (k *kernel) fatten(tris [][3]int32, i, j int) {
	const low = 64 // grid units; rounding then turns a plane by about a degree
	// Every exchange raises the lowest of two triangles, so this ends.
	for again := true; again; {
		again = false
		for t := range tris {
			if h, _ := k.height(tris[t]); h < low && k.exchangeLongest(tris, t, i, j) {
				again = true
			}
		}
	}
}

// exchangeLongest exchanges the longest edge of triangle t for the other
// diagonal of the quadrangle it forms with its neighbour, where that makes
// the lower of the two triangles higher.
func (k *kernel) exchangeLongest(tris [][3]int32, t, i, j int) bool {
	h, e := k.height(tris[t])
	a, b, top := tris[t][e], tris[t][(e+1)%3], tris[t][(e+2)%3]
	for u := range tris {
		for x := range 3 {
			if tris[u][x] != b || tris[u][(x+1)%3] != a {
				continue
			}
			far := tris[u][(x+2)%3]
			one, two := [3]int32{a, far, top}, [3]int32{far, b, top}
			if k.turn(a, far, top, i, j) <= 0 || k.turn(far, b, top, i, j) <= 0 {
				return false
			}
			g, _ := k.height(tris[u])
			h1, _ := k.height(one)
			h2, _ := k.height(two)
			if min(h1, h2) <= min(g, h) {
				return false
			}
			tris[t], tris[u] = one, two
			return true
		}
	}
	return false
}

// height returns the height of a triangle over its longest edge, in grid
// units, and that edge.
func (k *kernel) height(t [3]int32) (h float64, longest int) {
	var p [3]geom.Vec3
	for i, v := range t {
		f := &k.pts[v].f
		p[i] = geom.Vec3{X: f[0], Y: f[1], Z: f[2]}
	}
	most := 0.0
	for i := range p {
		if l := p[(i+1)%3].Sub(p[i]).Len(); l > most {
			longest, most = i, l
		}
	}
	return p[1].Sub(p[0]).Cross(p[2].Sub(p[0])).Len() / most, longest
}
