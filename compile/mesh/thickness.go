package mesh

import (
	"math"
	"slices"

	"perch/compile/boxtree"
	"perch/compile/geom"
)

// Side tells walls from gaps.
type Side int

// Sides.
const (
	Walls Side = iota // through the body
	Gaps              // through the air between two faces of the body
)

// Opposed is how far two faces may be from parallel, in radians, to be the two
// sides of a wall or a gap.
const Opposed = math.Pi / 6

// Thinnest returns the thinnest wall of a closed mesh, or its narrowest gap.
//
// The thickness at a point of the surface is the way straight inwards (outwards
// for gaps) to the first face there; both faces are the sides of a wall when
// they are within 30 degrees of parallel. Over a pair of triangles that way
// changes linearly, so its least value stands at a corner of the polygon in
// which one covers the other. All pairs are compared, going down the tree
// twice at once; a pair of branches is left out when nothing in one can lie in
// front of anything in the other nearer than the best pair so far. The answer
// is exact for the mesh but for two things. Faces have to cover each other by
// a strip of nudge at least. And where a third face stands between parts of
// two faces, or where the body tapers to nothing, the pair is looked at in
// pieces of half a millimetre.
//
// Where two faces meet in a common edge or corner, the body tapers to nothing
// there: as far as that taper explains the thickness it is a feather and no
// wall, and feather is a place of one. The best pair is then improved by the
// exact distance between the triangles and their neighbours, which is shorter
// where the sides of a wall are not parallel.
//
// ok is false when no two faces look at each other.
func (t *Tree) Thinnest(side Side) (s Span, feather *geom.Vec3, ok bool) {
	th := &thinness{Tree: t, faces: t.curvedFaces(), sign: -1, step: max(finest, math.Sqrt(t.Mesh.Area()/enough))}
	if side == Gaps {
		th.sign = 1
	}
	th.best.Length = 2 * t.Mesh.Bounds().Size().Len()
	th.search()
	if !th.found {
		return Span{}, th.feather, false
	}
	th.improve()
	return th.best, th.feather, true
}

type thinness struct {
	*Tree
	faces   *curvedFaces
	sign    float64 // of the outward direction along which ways go
	step    float64 // of pieces that are looked at one by one, mm
	best    Span    // its length bounds the search also before one is found
	found   bool
	feather *geom.Vec3
}

// Pieces are half a millimetre wide, or wider so that no face is looked at in
// more than this many.
const (
	finest = 0.5
	enough = 8000
)

const (
	nudge   = 1e-3 // mm: what covers less is no wall
	noWay   = 1e-6 // mm: two faces that touch
	shorter = 1e-9 // mm: rounding
)

// search looks from some triangles first, since what they find keeps the walk
// over all pairs short.
func (t *thinness) search() {
	if len(t.order) == 0 {
		return
	}
	const first = 64
	for k := 0; k < len(t.order); k += len(t.order)/first + 1 {
		i := int(t.order[k])
		if n := t.Normals[i]; n != (geom.Vec3{}) {
			a, b, c := t.Mesh.Corners(i)
			p := a.Add(b).Add(c).Scale(1.0 / 3)
			if j, at, ok := t.first(i, p, t.best.Length); ok && t.opposed(i, j) {
				t.keep(i, j, p, at)
			}
		}
	}
	t.pair(0, 0)
}

func (t *thinness) opposed(i, j int) bool {
	return t.Normals[i].Dot(t.Normals[j]) <= -cosOpposed
}

var cosOpposed = math.Cos(Opposed)

// first returns the first face that is met straight before a point of triangle
// i within limit mm.
func (t *thinness) first(i int, p geom.Vec3, limit float64) (j int, at float64, ok bool) {
	n := t.Normals[i]
	return t.Ray(p, n.Scale(t.sign), limit, func(j int, at float64) bool {
		return j != i && at > noWay && t.Normals[j].Dot(n) < -1e-9
	})
}

// keep takes a way from point p of triangle i to triangle j that is shorter
// than the best, unless it is a feather.
func (t *thinness) keep(i, j int, p geom.Vec3, length float64) bool {
	s := Span{A: p, B: p.Add(t.Normals[i].Scale(float64(t.sign * length))), TriA: i, TriB: j, Length: length}
	if t.faces.taper(s, 0) {
		if t.feather == nil {
			t.feather = &s.A
		}
		return false
	}
	t.best, t.found = s, true
	return true
}

// pair looks from the triangles of node m for those of node n.
func (t *thinness) pair(m, n int32) {
	if !t.near(m, n) {
		return
	}
	a, b := &t.nodes[m], &t.nodes[n]
	switch {
	case a.Left == 0 && b.Left == 0:
		t.between(a, b)
	case b.Left == 0 || a.Left != 0 && a.To-a.From >= b.To-b.From:
		t.pair(a.Left, n)
		t.pair(a.Left+1, n)
	default:
		left, right := b.Left, b.Left+1
		if boxesApart(a.Box, t.nodes[right].Box) < boxesApart(a.Box, t.nodes[left].Box) {
			left, right = right, left
		}
		t.pair(m, left)
		t.pair(m, right)
	}
}

// near reports whether something in node n can lie straight before something
// in node m, face to face and nearer than the best: a way from one to the other
// is a normal of m times its length, in each coordinate.
func (t *thinness) near(m, n int32) bool {
	a, b, u, v := &t.nodes[m].Box, &t.nodes[n].Box, &t.faces.looks[m], &t.faces.looks[n]
	if leastProduct(u.Min.X, u.Max.X, v.Min.X, v.Max.X)+
		leastProduct(u.Min.Y, u.Max.Y, v.Min.Y, v.Max.Y)+
		leastProduct(u.Min.Z, u.Max.Z, v.Min.Z, v.Max.Z) > -cosOpposed {
		return false
	}
	lo, hi := 0.0, t.best.Length
	lo, hi = t.lengths(a.Min.X, a.Max.X, b.Min.X, b.Max.X, u.Min.X, u.Max.X, lo, hi)
	lo, hi = t.lengths(a.Min.Y, a.Max.Y, b.Min.Y, b.Max.Y, u.Min.Y, u.Max.Y, lo, hi)
	lo, hi = t.lengths(a.Min.Z, a.Max.Z, b.Min.Z, b.Max.Z, u.Min.Z, u.Max.Z, lo, hi)
	return lo <= hi
}

// leastProduct returns the least product of two numbers, each between two.
func leastProduct(a, b, c, d float64) float64 { return min(a*c, a*d, b*c, b*d) }

// lengths narrows the lengths between lo and hi to those with which one
// coordinate can go from between a0 and a1 to between b0 and b1 along a normal
// between n0 and n1.
func (t *thinness) lengths(a0, a1, b0, b1, n0, n1, lo, hi float64) (float64, float64) {
	d0, d1 := b0-a1-shorter, b1-a0+shorter
	if t.sign < 0 {
		n0, n1 = -n1, -n0
	}
	if n1 < 0 {
		n0, n1, d0, d1 = -n1, -n0, -d1, -d0
	}
	switch {
	case n0 <= 0:
		if d1 < n0*hi || d0 > n1*hi {
			return 1, 0
		}
	case d1 < 0:
		return 1, 0
	default:
		if d0 > lo*n1 {
			lo = d0 / n1
		}
		if d1 < hi*n0 {
			hi = d1 / n0
		}
	}
	return lo, hi
}

// between compares the triangles of two leaves.
func (t *thinness) between(a, b *boxtree.Node) {
	for _, i := range t.order[a.From:a.To] {
		n := t.Normals[i]
		if n == (geom.Vec3{}) {
			continue
		}
		o, f := t.Mesh.Vertices[t.Mesh.Triangles[i][0]], facing{i: -1}
		for _, j := range t.order[b.From:b.To] {
			if t.Normals[j].Dot(n) > -cosOpposed {
				continue
			}
			q := t.corners(int(j))
			x, y, z := float64(t.sign*q[0].Sub(o).Dot(n)), float64(t.sign*q[1].Sub(o).Dot(n)), float64(t.sign*q[2].Sub(o).Dot(n))
			if min(x, y, z) >= t.best.Length-shorter || max(x, y, z) <= noWay {
				continue
			}
			if f.i < 0 {
				f = t.facing(int(i))
			}
			f.j = int(j)
			t.over(&f)
		}
	}
}

// spot is a point before a triangle: its place in the plane of the triangle,
// and how far it is off that plane.
type spot struct {
	x, y, h float64
}

func (a spot) to(b spot, share float64) spot {
	return spot{a.x + float64((b.x-a.x)*share), a.y + float64((b.y-a.y)*share), a.h + float64((b.h-a.h)*share)}
}

// facing is a pair of triangles and the plane of the first.
type facing struct {
	i, j       int
	o, u, v, w geom.Vec3 // w is the way to look
	rim        [3]side   // of the first triangle
}

// side is a side of a triangle in its plane; inwards are positive distances.
type side struct{ x, y, off float64 }

func (s side) in(p spot) float64 { return float64(s.x*p.x) + float64(s.y*p.y) - s.off }

func (t *thinness) facing(i int) facing {
	p, n := t.corners(i), t.Normals[i]
	f := facing{i: i, o: p[0], u: p[1].Sub(p[0]).Unit(), w: n.Scale(t.sign)}
	f.v = n.Cross(f.u)
	for k := range 3 {
		a, b := f.spot(p[k]), f.spot(p[(k+1)%3])
		s := side{x: a.y - b.y, y: b.x - a.x}
		s.off = float64(s.x*a.x) + float64(s.y*a.y)
		f.rim[k] = s
	}
	return f
}

func (f *facing) spot(p geom.Vec3) spot {
	d := p.Sub(f.o)
	return spot{d.Dot(f.u), d.Dot(f.v), d.Dot(f.w)}
}

func (f *facing) at(s spot) geom.Vec3 { return f.o.Add(f.u.Scale(s.x)).Add(f.v.Scale(s.y)) }

// over looks at the part of triangle i that triangle j covers.
func (t *thinness) over(f *facing) {
	q := t.corners(f.j)
	a, b, c := f.spot(q[0]), f.spot(q[1]), f.spot(q[2])
	for _, s := range f.rim {
		if max(s.in(a), s.in(b), s.in(c)) <= 0 {
			return
		}
	}
	var room [2][9]spot
	cover, spare := append(room[0][:0], a, b, c), room[1][:0]
	for _, s := range f.rim {
		if cover, spare = clip(cover, spare, s.in), cover[:0]; len(cover) < 3 {
			return
		}
	}
	if cover = clip(cover, spare, func(p spot) float64 { return p.h - noWay }); len(cover) < 3 {
		return
	}
	least, middle, around, twice := 0, spot{}, 0.0, 0.0
	for k, s := range cover {
		if s.h < cover[least].h {
			least = k
		}
		share := 1 / float64(len(cover))
		middle = spot{middle.x + float64(s.x*share), middle.y + float64(s.y*share), middle.h + float64(s.h*share)}
		e := cover[(k+1)%len(cover)]
		around += math.Hypot(e.x-s.x, e.y-s.y)
		twice += float64(s.x*e.y) - float64(e.x*s.y)
	}
	s := cover[least]
	if s.h >= t.best.Length-shorter || math.Abs(twice) < nudge*around/2 {
		return
	}
	// The corner itself lies on the rim of faces; a little beside it tells
	// whether the way there is free.
	d := math.Hypot(middle.x-s.x, middle.y-s.y)
	if beside := s.to(middle, min(nudge/d, 0.1)); t.free(f, beside) && t.keep(f.i, f.j, f.at(s), s.h) {
		return
	}
	for k := 2; k < len(cover); k++ {
		t.pieces(f, cover[0], cover[k-1], cover[k])
	}
}

// clip appends to out what of a convex polygon lies where side is not negative.
func clip(in, out []spot, side func(spot) float64) []spot {
	for k, a := range in {
		b := in[(k+1)%len(in)]
		p, q := side(a), side(b)
		if p >= 0 {
			out = append(out, a)
		}
		if (p >= 0) != (q >= 0) {
			out = append(out, a.to(b, p/(p-q)))
		}
	}
	return out
}

// free reports whether triangle j is the first face before triangle i there.
func (t *thinness) free(f *facing, s spot) bool {
	_, _, blocked := t.first(f.i, f.at(s), s.h-noWay)
	return !blocked
}

// pieces looks at a part of triangle i piece by piece, each by its middle.
func (t *thinness) pieces(f *facing, a, b, c spot) {
	if min(a.h, b.h, c.h) >= t.best.Length-shorter {
		return
	}
	ab, bc, ca := math.Hypot(b.x-a.x, b.y-a.y), math.Hypot(c.x-b.x, c.y-b.y), math.Hypot(a.x-c.x, a.y-c.y)
	longest := max(ab, bc, ca)
	m := spot{(a.x + b.x + c.x) / 3, (a.y + b.y + c.y) / 3, (a.h + b.h + c.h) / 3}
	at := f.at(m)
	whole := Span{A: at, B: at, TriA: f.i, TriB: f.j, Length: max(a.h, b.h, c.h)}
	if t.faces.taper(whole, longest) { // all of it
		if t.feather == nil {
			t.feather = &at
		}
		return
	}
	if longest <= t.step {
		if m.h < t.best.Length-shorter && t.free(f, m) {
			t.keep(f.i, f.j, at, m.h)
		}
		return
	}
	switch longest {
	case bc:
		a, b, c = b, c, a
	case ca:
		a, b, c = c, a, b
	}
	half := a.to(b, 0.5)
	t.pieces(f, a, half, c)
	t.pieces(f, half, b, c)
}

// improve goes from the best pair of triangles to neighbouring pairs that are
// nearer, as long as there are any.
func (t *thinness) improve() {
	for range 100 {
		here, better := t.best, false
		around := t.faces.ring(t.Mesh, here.TriB)
		for _, i := range t.faces.ring(t.Mesh, here.TriA) {
			for _, j := range around {
				s := apart(t.corners(int(i)), t.corners(int(j)))
				s.TriA, s.TriB = int(i), int(j)
				if s.Length < t.best.Length-shorter && s.Length > noWay && t.straight(s) && !t.faces.taper(s, 0) {
					t.best, better = s, true
				}
			}
		}
		if !better {
			return
		}
	}
}

// straight reports whether a span crosses a wall squarely: upright on one flat
// face and within 30 degrees on the other, or on both as upright as a chord of
// a round face lets it be.
func (t *thinness) straight(s Span) bool {
	const upright = 1e-3
	d := s.B.Sub(s.A).Scale(t.sign / s.Length)
	a := math.Acos(min(1, max(-1, d.Dot(t.Normals[s.TriA]))))
	b := math.Acos(min(1, max(-1, -d.Dot(t.Normals[s.TriB]))))
	if max(a, b) > Opposed {
		return false
	}
	return min(a, b) <= upright || a <= t.turn(s.TriA)/2+upright && b <= t.turn(s.TriB)/2+upright
}

// turn returns the largest angle between a triangle and those of the same
// curved face along its sides.
func (t *thinness) turn(i int) float64 {
	least := 1.0
	for _, j := range t.faces.ring(t.Mesh, i) {
		if t.faces.of[j] == t.faces.of[i] && shared(t.Mesh.Triangles[i], t.Mesh.Triangles[j]) == 2 {
			least = min(least, t.Normals[i].Dot(t.Normals[j]))
		}
	}
	return math.Acos(max(-1, least))
}

func shared(a, b [3]int32) int {
	n := 0
	for _, v := range a {
		if slices.Contains(b[:], v) {
			n++
		}
	}
	return n
}
