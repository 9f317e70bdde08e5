package mesh

import (
	"math"
	"slices"
	"sync"

	"perch/compile/boxtree"
	"perch/compile/geom"
)

// Tree is a tree of boxes over the triangles of a mesh. It answers what a ray
// meets and what lies near, in about log n for n triangles of ordinary shape.
// It may be used by several goroutines at a time.
type Tree struct {
	Mesh *Mesh
	// Normals holds the outward direction of each triangle, of length 1, or 0
	// for a triangle without area.
	Normals []geom.Vec3

	nodes []boxtree.Node
	order []int32 // triangles, leaf by leaf

	once  sync.Once
	bends *curvedFaces
}

// NewTree returns the tree of m, which must not change afterwards. It takes
// about as long as sorting the triangles.
func NewTree(m *Mesh) *Tree {
	boxes := boxtree.New(m.boxes())
	return &Tree{Mesh: m, Normals: m.Normals(), nodes: boxes.Nodes, order: boxes.Order}
}

// boxes returns the box round each triangle.
func (m *Mesh) boxes() []geom.Box {
	boxes := make([]geom.Box, len(m.Triangles))
	for i := range boxes {
		a, b, c := m.Corners(i)
		boxes[i] = geom.Box{
			Min: geom.Vec3{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)},
			Max: geom.Vec3{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)},
		}
	}
	return boxes
}

func axis(v geom.Vec3, k int) float64 {
	switch k {
	case 0:
		return v.X
	case 1:
		return v.Y
	}
	return v.Z
}

// Ray returns the nearest triangle that the ray from p along dir, of length 1,
// meets within limit mm and that accept lets through, with the distance to it.
// accept is given triangles in no particular order; nil accepts all.
func (t *Tree) Ray(p, dir geom.Vec3, limit float64, accept func(tri int, at float64) bool) (tri int, at float64, ok bool) {
	tri, at = -1, limit
	inv := geom.Vec3{X: 1 / dir.X, Y: 1 / dir.Y, Z: 1 / dir.Z}
	type waiting struct {
		node int32
		at   float64 // where the ray enters it
	}
	var room [64]waiting
	stack := append(room[:0], waiting{0, enter(&t.nodes[0].Box, p, dir, inv)})
	for len(stack) > 0 {
		w := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if w.at > at || math.IsInf(w.at, 1) {
			continue
		}
		n := &t.nodes[w.node]
		if n.Left != 0 {
			near := waiting{n.Left, enter(&t.nodes[n.Left].Box, p, dir, inv)}
			far := waiting{n.Left + 1, enter(&t.nodes[n.Left+1].Box, p, dir, inv)}
			if far.at < near.at {
				near, far = far, near
			}
			if far.at <= at {
				stack = append(stack, far)
			}
			if near.at <= at {
				stack = append(stack, near)
			}
			continue
		}
		for _, i := range t.order[n.From:n.To] {
			a, b, c := t.Mesh.Corners(int(i))
			if s, hit := crossing(p, dir, a, b, c); hit && (s < at || s == at && int(i) < tri) && (accept == nil || accept(int(i), s)) {
				tri, at = int(i), s
			}
		}
	}
	return tri, at, tri >= 0
}

// enter returns the distance at which a ray enters a box, +Inf when it misses
// it. The box is taken a little larger, so that flat ones are met.
func enter(b *geom.Box, p, dir, inv geom.Vec3) float64 {
	lo, hi := 0.0, math.Inf(1)
	lo, hi = enterSlab(b.Min.X, b.Max.X, p.X, dir.X, inv.X, lo, hi)
	lo, hi = enterSlab(b.Min.Y, b.Max.Y, p.Y, dir.Y, inv.Y, lo, hi)
	lo, hi = enterSlab(b.Min.Z, b.Max.Z, p.Z, dir.Z, inv.Z, lo, hi)
	if lo > hi {
		return math.Inf(1)
	}
	return lo
}

// enterSlab narrows the stretch of a ray to what lies between two planes
// across one axis.
func enterSlab(least, most, o, d, r, lo, hi float64) (float64, float64) {
	const slack = 1e-9
	least, most = least-slack, most+slack
	if d == 0 {
		if o < least || o > most {
			return 1, 0
		}
		return lo, hi
	}
	s, e := float64((least-o)*r), float64((most-o)*r)
	if s > e {
		s, e = e, s
	}
	if s > lo {
		lo = s
	}
	if e < hi {
		hi = e
	}
	return lo, hi
}

// crossing returns where a ray meets a triangle, its sides included. Source:
// T. Möller, B. Trumbore, Fast, minimum storage ray/triangle intersection
// (1997).
func crossing(p, dir, a, b, c geom.Vec3) (float64, bool) {
	const slack = 1e-9 // of the sides, so that no ray slips between two triangles
	e, f := b.Sub(a), c.Sub(a)
	h := dir.Cross(f)
	det := e.Dot(h)
	if math.Abs(det) <= 1e-12*e.Len()*f.Len() {
		return 0, false
	}
	s := p.Sub(a)
	u := s.Dot(h) / det
	if u < -slack || u > 1+slack {
		return 0, false
	}
	q := s.Cross(e)
	v := dir.Dot(q) / det
	if v < -slack || u+v > 1+slack {
		return 0, false
	}
	at := f.Dot(q) / det
	return at, at >= 0
}

// Nearest returns the point of the surface nearest to p that is nearer than
// limit mm, with its triangle; ok is false when there is none.
func (t *Tree) Nearest(p geom.Vec3, limit float64) (tri int, q geom.Vec3, ok bool) {
	tri = -1
	best := float64(limit * limit)
	stack := make([]int32, 1, 64)
	for len(stack) > 0 {
		n := &t.nodes[stack[len(stack)-1]]
		stack = stack[:len(stack)-1]
		if apart2(n.Box, p) >= best {
			continue
		}
		if n.Left != 0 {
			near, far := n.Left, n.Left+1
			if apart2(t.nodes[far].Box, p) < apart2(t.nodes[near].Box, p) {
				near, far = far, near
			}
			stack = append(stack, far, near)
			continue
		}
		for _, i := range t.order[n.From:n.To] {
			a, b, c := t.Mesh.Corners(int(i))
			x := closest(p, a, b, c)
			d := x.Sub(p)
			if s := d.Dot(d); s < best {
				tri, q, best = int(i), x, s
			}
		}
	}
	return tri, q, tri >= 0
}

// apart2 returns the square of the distance between a box and a point.
func apart2(b geom.Box, p geom.Vec3) float64 {
	d := geom.Vec3{
		X: max(b.Min.X-p.X, 0, p.X-b.Max.X),
		Y: max(b.Min.Y-p.Y, 0, p.Y-b.Max.Y),
		Z: max(b.Min.Z-p.Z, 0, p.Z-b.Max.Z),
	}
	return d.Dot(d)
}

// closest returns the point of triangle a, b, c closest to p. Source: C.
// Ericson, Real-Time Collision Detection (2005), 5.1.5.
func closest(p, a, b, c geom.Vec3) geom.Vec3 {
	ab, ac, ap := b.Sub(a), c.Sub(a), p.Sub(a)
	d1, d2 := ab.Dot(ap), ac.Dot(ap)
	if d1 <= 0 && d2 <= 0 {
		return a
	}
	bp := p.Sub(b)
	d3, d4 := ab.Dot(bp), ac.Dot(bp)
	if d3 >= 0 && d4 <= d3 {
		return b
	}
	vc := float64(d1*d4) - float64(d3*d2)
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		return a.Add(ab.Scale(d1 / (d1 - d3)))
	}
	cp := p.Sub(c)
	d5, d6 := ab.Dot(cp), ac.Dot(cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	vb := float64(d5*d2) - float64(d1*d6)
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return a.Add(ac.Scale(d2 / (d2 - d6)))
	}
	va := float64(d3*d6) - float64(d5*d4)
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		return b.Add(c.Sub(b).Scale((d4 - d3) / ((d4 - d3) + (d5 - d6))))
	}
	sum := va + vb + vc
	if sum == 0 { // no area: its longest side
		return closestOfSides(p, a, b, c)
	}
	return a.Add(ab.Scale(vb / sum)).Add(ac.Scale(vc / sum))
}

func closestOfSides(p, a, b, c geom.Vec3) geom.Vec3 {
	best, dist := a, math.Inf(1)
	for _, s := range [3][2]geom.Vec3{{a, b}, {b, c}, {c, a}} {
		q := onSegment(p, s[0], s[1])
		if d := q.Sub(p).Len(); d < dist {
			best, dist = q, d
		}
	}
	return best
}

// onSegment returns the point of segment a, b closest to p.
func onSegment(p, a, b geom.Vec3) geom.Vec3 {
	d := b.Sub(a)
	l := d.Dot(d)
	if l == 0 {
		return a
	}
	return a.Add(d.Scale(min(1, max(0, p.Sub(a).Dot(d)/l))))
}

// Inside reports whether p lies within the closed mesh: most of three rays in
// odd directions leave it through an odd number of triangles. A point on the
// surface may count either way.
func (t *Tree) Inside(p geom.Vec3) bool {
	a, b := t.leaves(p, oddDirections[0]), t.leaves(p, oddDirections[1])
	if a != b {
		return t.leaves(p, oddDirections[2])
	}
	return a
}

// leaves reports whether the ray from p along dir goes through an odd number
// of triangles.
func (t *Tree) leaves(p, dir geom.Vec3) bool {
	var room [16]float64
	hits := room[:0] // a ray through an edge meets two triangles at one place
	t.Ray(p, dir, math.Inf(1), func(_ int, at float64) bool {
		if at = math.Round(at * 1e7); !slices.Contains(hits, at) {
			hits = append(hits, at)
		}
		return false
	})
	return len(hits)%2 == 1
}

// side returns the nearest point of the surface to p with its triangle, and
// whether p lies within the closed mesh.
func (t *Tree) side(p geom.Vec3) (tri int, q geom.Vec3, inside bool) {
	tri, q, ok := t.Nearest(p, math.Inf(1))
	if !ok {
		return tri, q, false
	}
	// Straight above a face, that face tells; beside an edge, rays do.
	d := p.Sub(q)
	h := d.Dot(t.Normals[tri])
	if math.Abs(h) >= (1-1e-12)*d.Len() {
		return tri, q, h < 0
	}
	return tri, q, t.Inside(p)
}

// oddDirections lie along no edge that people draw.
var oddDirections = [3]geom.Vec3{
	geom.Vec3{X: 0.5318, Y: 0.2749, Z: 0.8011}.Unit(),
	geom.Vec3{X: -0.3127, Y: 0.8419, Z: 0.4396}.Unit(),
	geom.Vec3{X: 0.7193, Y: -0.5871, Z: -0.3713}.Unit(),
}

// Patches calls each with points of triangle i: its middle and, when its sides
// are longer than step mm, the middles of pieces of it no longer than that; and
// with the area of each piece, mm². Pieces that have nothing in the box are
// left out.
func (m *Mesh) Patches(i int, step float64, room geom.Box, each func(p geom.Vec3, area float64)) {
	a, b, c := m.Corners(i)
	patches(a, b, c, b.Sub(a).Cross(c.Sub(a)).Len()/2, float64(step*step), &room, each)
}

// patches halves a triangle until the squares of its sides are no more than
// step2; room is nil when all of it is known to lie there.
func patches(a, b, c geom.Vec3, area, step2 float64, room *geom.Box, each func(p geom.Vec3, area float64)) {
	if room != nil {
		box := boxOf(a, b, c)
		if !boxtree.Overlap(&box, room) {
			return
		}
		if holds(*room, box) {
			room = nil
		}
	}
	ab, bc, ca := b.Sub(a), c.Sub(b), a.Sub(c)
	x, y, z := ab.Dot(ab), bc.Dot(bc), ca.Dot(ca)
	switch longest := max(x, y, z); {
	case longest <= step2:
		each(a.Add(b).Add(c).Scale(1.0/3), area)
		return
	case longest == x:
	case longest == y:
		a, b, c = b, c, a
	default:
		a, b, c = c, a, b
	}
	mid := a.Add(b).Scale(0.5)
	patches(a, mid, c, area/2, step2, room, each)
	patches(mid, b, c, area/2, step2, room, each)
}

func boxOf(a, b, c geom.Vec3) geom.Box {
	return geom.Box{
		Min: geom.Vec3{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)},
		Max: geom.Vec3{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)},
	}
}

// holds reports whether all of b lies in a.
func holds(a, b geom.Box) bool {
	return a.Min.X <= b.Min.X && b.Max.X <= a.Max.X &&
		a.Min.Y <= b.Min.Y && b.Max.Y <= a.Max.Y &&
		a.Min.Z <= b.Min.Z && b.Max.Z <= a.Max.Z
}

// vertexFans lists the triangles round each vertex.
type vertexFans struct {
	first []int32
	tris  []int32
}

func (m *Mesh) fans() vertexFans {
	f := vertexFans{first: make([]int32, len(m.Vertices)+1), tris: make([]int32, 3*len(m.Triangles))}
	for _, t := range m.Triangles {
		for _, v := range t {
			f.first[v+1]++
		}
	}
	for i := 1; i < len(f.first); i++ {
		f.first[i] += f.first[i-1]
	}
	fill := slices.Clone(f.first)
	for i, t := range m.Triangles {
		for _, v := range t {
			f.tris[fill[v]] = int32(i)
			fill[v]++
		}
	}
	return f
}

func (f vertexFans) around(v int32) []int32 { return f.tris[f.first[v]:f.first[v+1]] }
