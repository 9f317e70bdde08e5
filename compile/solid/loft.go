package solid

import (
	"errors"
	"math"
	"slices"
	"sync/atomic"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// Errors of lofts and sweeps.
var (
	// ErrUnlike says that the two areas of a loft have different numbers of rings.
	ErrUnlike = errors.New("the two areas do not have the same number of outlines and holes")
	// ErrFolds says that walls of a loft or a swept area run through each other.
	ErrFolds = errors.New("the walls run through each other")
)

// LoftAreas joins area a at z0 with area b at z1 by straight lines. Borders
// with as many corners are matched corner to corner, others by their length: what lies a third of the way round a
// is joined with what lies a third of the way round b, from the start that
// makes the walls shortest. Build fails with ErrUnlike or ErrFolds.
func LoftAreas(a, b Area, z0, z1 float64) *Body { return leafBody(&loft{a: a, b: b, z0: z0, z1: z1}) }

type loft struct {
	a, b   Area
	z0, z1 float64
	smooth unfolded
}

func (l *loft) profile(tol float64) (Profile, error) { return l.a(tol) }

func (l *loft) bounds(p Profile) geom.Box {
	b := geom.EmptyBox()
	add := func(p Profile, z float64) {
		for _, r := range p {
			for _, v := range r {
				b.Add(geom.Vec3{X: v.X, Y: v.Y, Z: z})
			}
		}
	}
	add(p, l.z0)
	if q, err := l.b(DefaultTolerance); err == nil {
		add(q, l.z1)
	}
	return b
}

func (l *loft) build(k *kernel, g *grid, p Profile, tol float64) error {
	q, err := l.b(tol)
	if err == nil {
		err = uncrossed(q)
	}
	if err != nil {
		return err
	}
	pairs, err := matchProfiles(p, q)
	if err != nil {
		return err
	}
	b := newFacets(k, g)
	rows := 1
	for _, m := range pairs {
		rows = max(rows, l.rows(m, tol))
	}
	var low, high [][]int32
	for _, m := range pairs {
		at := func(t float64) []int32 {
			ids := make([]int32, len(m))
			for i, c := range m {
				p := c[0].Add(c[1].Sub(c[0]).Scale(t))
				ids[i] = b.point(geom.Vec3{X: p.X, Y: p.Y, Z: l.z0 + float64((l.z1-l.z0)*t)})
			}
			return ids
		}
		first := at(0)
		last := first
		for i := 1; i <= rows; i++ {
			next := at(float64(i) / float64(rows))
			b.band(last, next)
			last = next
		}
		reverse(first)
		low, high = append(low, first), append(high, last)
	}
	b.add(low...)
	b.add(high...)
	if err := l.smooth.check(b); err != nil {
		return err
	}
	return b.done()
}

// rows returns how many bands keep facets within the tolerance of a twisted
// wall: the middles of the two diagonals of a quadrangle lie that far apart.
func (l *loft) rows(m ringPair, tol float64) int {
	const most = 64
	n := 1
	for i, c := range m {
		d := m[(i+1)%len(m)]
		low, high := d[0].Sub(c[0]), d[1].Sub(c[1])
		up := geom.Vec3{X: c[1].X - c[0].X, Y: c[1].Y - c[0].Y, Z: l.z1 - l.z0}
		e := geom.Vec3{X: low.X, Y: low.Y}.Add(geom.Vec3{X: high.X, Y: high.Y})
		twist := low.Sub(high)
		off := math.Abs(e.Cross(up).Unit().Dot(geom.Vec3{X: twist.X, Y: twist.Y})) / 4
		n = max(n, int(math.Ceil(min(most, off/tol)-1e-6)))
	}
	return n
}

// unfolded remembers that a shape was found not to cut through itself, so that
// it is not asked again in every place where it is put.
type unfolded struct{ known atomic.Bool }

func (u *unfolded) check(f *facets) error {
	if !u.known.Load() {
		if f.folds() {
			return ErrFolds
		}
		u.known.Store(true)
	}
	return nil
}

// folds reports whether triangles of the surface cut through each other. Flat
// faces with more corners are left out: walls would cross them first.
func (f *facets) folds() bool {
	m := &mesh.Mesh{}
	at := map[int32]int32{}
	for _, r := range f.faces {
		if len(r.loops) != 1 || len(r.loops[0]) > 4 {
			continue
		}
		l := r.loops[0]
		ids := make([]int32, len(l))
		for i, v := range l {
			id, ok := at[v]
			if !ok {
				id = int32(len(m.Vertices))
				at[v] = id
				p := f.k.pts[v].f
				m.Vertices = append(m.Vertices, geom.Vec3{X: p[0], Y: p[1], Z: p[2]})
			}
			ids[i] = id
		}
		for i := 2; i < len(ids); i++ {
			m.Triangles = append(m.Triangles, [3]int32{ids[0], ids[i-1], ids[i]})
		}
	}
	return len(m.Intersections(1)) > 0
}

// pairing is two rings with as many corners, corner by corner.
type ringPair [][2]geom.Vec2

// matchProfiles pairs the rings of two profiles: outer with outer rings, holes
// with holes, nearest centres first.
func matchProfiles(p, q Profile) ([]ringPair, error) {
	p, q = plainRings(p), plainRings(q)
	if len(p) != len(q) {
		return nil, ErrUnlike
	}
	used := make([]bool, len(q))
	var out []ringPair
	for _, r := range p {
		best, least := -1, math.Inf(1)
		for j, s := range q {
			if used[j] || (ringArea(r) > 0) != (ringArea(s) > 0) {
				continue
			}
			if d := middle(r).Sub(middle(s)).Len(); d < least {
				best, least = j, d
			}
		}
		if best < 0 {
			return nil, ErrUnlike
		}
		used[best] = true
		out = append(out, matchRings(r, q[best]))
	}
	return out, nil
}

func plainRings(p Profile) Profile {
	var out Profile
	for _, r := range p {
		if r = straighten(r); len(r) > 2 {
			out = append(out, r)
		}
	}
	return out
}

func middle(r []geom.Vec2) geom.Vec2 {
	lo, hi := r[0], r[0]
	for _, v := range r {
		lo = geom.Vec2{X: min(lo.X, v.X), Y: min(lo.Y, v.Y)}
		hi = geom.Vec2{X: max(hi.X, v.X), Y: max(hi.Y, v.Y)}
	}
	return lo.Add(hi).Scale(0.5)
}

// measured is a ring with the share of its length gone at each corner.
type measured struct {
	r     []geom.Vec2
	share []float64 // one more than corners; the last is 1
}

func measureRing(r []geom.Vec2) measured {
	m := measured{r: r, share: make([]float64, len(r)+1)}
	for i, p := range r {
		m.share[i+1] = m.share[i] + r[(i+1)%len(r)].Sub(p).Len()
	}
	l := m.share[len(r)]
	for i := range m.share {
		m.share[i] /= l
	}
	m.share[len(r)] = 1
	return m
}

// at returns the point at a share of the length, 0 <= t < 1.
func (m *measured) at(t float64) geom.Vec2 {
	i, found := slices.BinarySearch(m.share, t)
	if found {
		return m.r[i%len(m.r)]
	}
	a, b := m.r[i-1], m.r[i%len(m.r)]
	s := (t - m.share[i-1]) / (m.share[i] - m.share[i-1])
	return a.Add(b.Sub(a).Scale(s))
}

func matchRings(p, q []geom.Vec2) ringPair {
	// The start that moves the points least, about the centres.
	a := measureRing(p)
	off := middle(q).Sub(middle(p))
	const samples = 48
	best, least := 0, math.Inf(1)
	for s := range q {
		b := measureRing(append(slices.Clone(q[s:]), q[:s]...))
		sum := 0.0
		for i := range samples {
			t := float64(i) / samples
			d := b.at(t).Sub(a.at(t)).Sub(off)
			sum += d.Dot(d)
		}
		if sum < least*(1-1e-9) {
			best, least = s, sum
		}
	}
	b := measureRing(append(slices.Clone(q[best:]), q[:best]...))
	if len(p) == len(q) { // corner to corner
		out := make(ringPair, len(p))
		for i := range p {
			out[i] = [2]geom.Vec2{p[i], b.r[i]}
		}
		return out
	}
	// Corners of both; those within a millionth of the way are one.
	const one = 1e-6
	var out ringPair
	for i, j := 0, 0; i < len(a.r) || j < len(b.r); {
		s, t := a.share[min(i, len(a.r))], b.share[min(j, len(b.r))]
		switch {
		case math.Abs(s-t) < one && i < len(a.r) && j < len(b.r):
			out = append(out, [2]geom.Vec2{a.r[i], b.r[j]})
			i, j = i+1, j+1
		case j == len(b.r) || i < len(a.r) && s < t:
			out = append(out, [2]geom.Vec2{a.r[i], b.at(s)})
			i++
		default:
			out = append(out, [2]geom.Vec2{a.at(t), b.r[j]})
			j++
		}
	}
	return out
}

// CheckLeaf builds a body that is a single leaf on its own, upright, and
// returns the error of that, nil for none. It tells early and where the body
// is written what Build would find.
func CheckLeaf(b *Body, tolerance float64) error {
	if b.op != opLeaf {
		return nil
	}
	p, err := (&profiles{tol: tolerance, known: map[shape]Profile{}}).of(b.leaf)
	if err != nil {
		return err
	}
	k := &kernel{space: newSpace(), buckets: map[int64][]int32{}}
	box := b.leaf.bounds(p)
	if s := box.Size(); max(s.X, s.Y, s.Z) > 2*(maxCoord/unitsPerMM-2) {
		return ErrTooLarge
	}
	c := box.Min.Add(box.Max).Scale(0.5)
	return b.leaf.build(k, &grid{t: geom.Identity(), origin: geom.Vec3{X: math.Round(c.X), Y: math.Round(c.Y), Z: math.Round(c.Z)}}, p, tolerance)
}
