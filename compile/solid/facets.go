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
	id, _, ok := k.addPlaneThrough(k.gridPoint(a), k.gridPoint(b), k.gridPoint(c))
	return ok && k.side(d, id) == 0
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
