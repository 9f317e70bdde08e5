package solid

import (
	"errors"
	"math"
	"slices"

	"perch/compile/boxtree"
	"perch/compile/exact"
	"perch/compile/geom"
)

// face is a flat polygon of a leaf. Each corner names the face across the
// edge that starts there.
type face struct {
	leaf, plane int32
	sign        int8     // +1: the outward normal is the stored normal of the plane
	loops       []corner // all loops after each other
	ends        []int32  // end of each loop in loops
	lo, hi      [3]float64
	touched     bool // another leaf may touch it, or it is apart
	apart       bool // in several pieces, each of which bounds the result or not
	stale       bool // something that it depends on is new
	// What it gives to the surface of the result: a touched face the edges of
	// its cells, any other a verdict on the whole of it.
	cut   []cutEdge
	by    int8 // the worker that divided it
	whole verdict
	sets  []setSum // of leaves, that hold the space beside it
}

// cutEdge is a directed boundary edge of the result in the plane of a face;
// turned is set when the outward normal is opposite to that of the plane. The
// result lies to the left, seen against the outward normal.
type cutEdge struct {
	edge
	turned bool
}

type edge struct{ a, b int32 }

// verdict on a face that no other leaf touches.
type verdict int8

const (
	unseen  verdict = iota
	dropped         // it does not bound the result
	kept            // it bounds the result with its own normal
	flipped         // it bounds the result, which lies outside the leaf
)

type corner struct {
	pt     int32
	across int32 // face on the other side of the edge to the next corner
}

// each calls f for every edge of the face, in the order of its loops.
func (f *face) each(do func(c corner, next int32)) {
	s := int32(0)
	for _, e := range f.ends {
		for i := s; i < e; i++ {
			n := i + 1
			if n == e {
				n = s
			}
			do(f.loops[i], f.loops[n].pt)
		}
		s = e
	}
}

// leaf is one rounded polyhedron.
type leaf struct {
	f0, f1 int32 // its faces
	lo, hi [3]float64
	over   []int32 // leaves whose boxes overlap, in no order
	tree   *boxtree.Tree
	key    leafKey
	at     int32 // its place in the order of the leaves, -1 when it is not in the body
}

// errFine says that a leaf has detail too fine for the grid.
var errFine = errors.New("a detail is finer than the grid of 10 nm can hold")

// grid carries a leaf from millimetres in its own frame to grid units.
type grid struct {
	t      geom.Transform
	origin geom.Vec3 // mm, whole numbers
}

func (g *grid) float(p geom.Vec3) [3]float64 {
	q := g.t.Apply(p).Sub(g.origin)
	return [3]float64{q.X * unitsPerMM, q.Y * unitsPerMM, q.Z * unitsPerMM}
}

func (g *grid) round(p geom.Vec3) [3]int64 {
	f := g.float(p)
	return [3]int64{int64(math.Round(f[0])), int64(math.Round(f[1])), int64(math.Round(f[2]))}
}

// ---- prisms

type prism struct {
	area    Area
	z0, z1  float64
	endless bool
}

func (p *prism) profile(tol float64) (Profile, error) { return p.area(tol) }

func (p *prism) bounds(prof Profile) geom.Box {
	b := geom.EmptyBox()
	for _, ring := range prof {
		for _, v := range ring {
			b.Add(geom.Vec3{X: v.X, Y: v.Y, Z: p.z0})
			b.Add(geom.Vec3{X: v.X, Y: v.Y, Z: p.z1})
		}
	}
	return b
}

func (p *prism) count(prof Profile, _ float64) (points, faces int) {
	n := 0
	for _, ring := range prof {
		n += len(ring)
	}
	return 2 * n, n + 2
}

func (p *prism) build(k *kernel, g *grid, prof Profile, _ float64) error {
	if aligned(g.t.R) {
		return p.buildAligned(k, g, prof)
	}
	if p.buildTilted(k, g, prof, true) || p.buildTilted(k, g, prof, false) {
		return nil
	}
	return errFine
}

type ringBuild struct {
	bottom, top []int32
	walls       []int32
	signs       []int8
}

// buildAligned rounds the corners to the grid; walls and caps are then
// exactly flat because the prism stands along an axis.
func (p *prism) buildAligned(k *kernel, g *grid, prof Profile) error {
	var rings [][][2]geom.Vec3 // bottom and top of each corner, mm
	flip := g.t.Mirrors()
	for _, ring := range prof {
		var r [][2]geom.Vec3
		for _, v := range ring {
			r = append(r, [2]geom.Vec3{{X: v.X, Y: v.Y, Z: p.z0}, {X: v.X, Y: v.Y, Z: p.z1}})
		}
		rings = append(rings, r)
	}
	var built []ringBuild
	for _, r := range rings {
		var bottom, top [][3]int64
		for _, c := range r {
			bottom, top = append(bottom, g.round(c[0])), append(top, g.round(c[1]))
		}
		if len(bottom) > 0 && bottom[0] == top[0] {
			return nil // thinner than the grid
		}
		bottom, top = cleanRing(bottom, top)
		if len(bottom) < 3 {
			continue
		}
		if flip {
			reverse(bottom)
			reverse(top)
		}
		var b ringBuild
		for i := range bottom {
			b.bottom = append(b.bottom, k.addGrid(bottom[i][0], bottom[i][1], bottom[i][2]))
			b.top = append(b.top, k.addGrid(top[i][0], top[i][1], top[i][2]))
			j := (i + 1) % len(bottom)
			id, sign, ok := k.addPlaneThrough(bottom[i], bottom[j], top[i])
			if !ok {
				return errFine
			}
			b.walls, b.signs = append(b.walls, id), append(b.signs, sign)
		}
		built = append(built, b)
	}
	if len(built) == 0 {
		return nil
	}
	first := built[0]
	at := func(id int32) [3]float64 { return k.pts[id].f }
	down := g.t.Dir(geom.Vec3{Z: -1})
	n := [3]int64{int64(math.Round(down.X)), int64(math.Round(down.Y)), int64(math.Round(down.Z))}
	cap := func(id int32, n [3]int64) (int32, int8) {
		f := at(id)
		return k.addPlane(n[0], n[1], n[2], exact.I128(-(n[0]*int64(f[0]) + n[1]*int64(f[1]) + n[2]*int64(f[2]))))
	}
	cb, sb := cap(first.bottom[0], n)
	ct, st := cap(first.top[0], [3]int64{-n[0], -n[1], -n[2]})
	k.addPrism(built, cb, sb, ct, st)
	return nil
}

func reverse[T any](s []T) {
	for i, j := 0, len(s)-1; i < j; i, j = i+1, j-1 {
		s[i], s[j] = s[j], s[i]
	}
}

// cleanRing drops doubled corners, corners on a straight line and spikes.
func cleanRing(bottom, top [][3]int64) (b, t [][3]int64) {
	straight := func(a, b, c [3]int64) bool {
		ux, uy, uz := b[0]-a[0], b[1]-a[1], b[2]-a[2]
		vx, vy, vz := c[0]-b[0], c[1]-b[1], c[2]-b[2]
		return uy*vz == uz*vy && uz*vx == ux*vz && ux*vy == uy*vx
	}
	drop := func(i int) {
		b = append(b[:i:i], b[i+1:]...)
		t = append(t[:i:i], t[i+1:]...)
	}
	// A stack pass removes nearly everything in linear time; the wrap-around
	// is finished by the loop below.
	for i := range bottom {
		b, t = append(b, bottom[i]), append(t, top[i])
		for len(b) >= 2 {
			n := len(b)
			if b[n-1] == b[n-2] {
				b, t = b[:n-1], t[:n-1]
			} else if n >= 3 && straight(b[n-3], b[n-2], b[n-1]) {
				b[n-2], t[n-2] = b[n-1], t[n-1]
				b, t = b[:n-1], t[:n-1]
			} else {
				break
			}
		}
	}
	for changed := true; changed && len(b) >= 3; {
		changed = false
		n := len(b)
		for _, i := range []int{n - 1, 0, 1, n - 2} {
			if straight(b[(i+n-1)%n], b[i], b[(i+1)%n]) {
				drop(i)
				changed = true
				break
			}
		}
	}
	if len(b) < 3 {
		return nil, nil
	}
	return b, t
}

// buildTilted keeps the planes of the faces and lets the corners follow as
// meeting points of three planes, so that walls and caps stay exactly flat.
// With adopt, a plane already known that passes within a grid unit of all
// corners of a face takes its place: touching faces become coplanar. It
// reports false when a corner would wander past its neighbour.
func (p *prism) buildTilted(k *kernel, g *grid, prof Profile, adopt bool) bool {
	var bottomPts, topPts [][3]float64
	var rings [][]geom.Vec2
	for _, ring := range prof {
		r := straighten(ring)
		if len(r) < 3 {
			continue
		}
		if g.t.Mirrors() {
			reverse(r)
		}
		for _, v := range r {
			bottomPts = append(bottomPts, g.float(geom.Vec3{X: v.X, Y: v.Y, Z: p.z0}))
			topPts = append(topPts, g.float(geom.Vec3{X: v.X, Y: v.Y, Z: p.z1}))
		}
		rings = append(rings, r)
	}
	if len(rings) == 0 {
		return true
	}
	down := g.t.Dir(geom.Vec3{Z: -1})
	cb, sb := k.nearPlane(down, bottomPts, adopt)
	ct, st := k.nearPlane(down.Scale(-1), topPts, adopt)
	if cb == ct {
		return true // thinner than the grid
	}
	turn := 1.0
	if g.t.Mirrors() {
		turn = -1
	}
	var built []ringBuild
	for _, r := range rings {
		var b ringBuild
		var starts []geom.Vec2
		n := len(r)
		for i, a := range r {
			c := r[(i+1)%n]
			d := c.Sub(a)
			out := g.t.Dir(geom.Vec3{X: turn * d.Y, Y: -turn * d.X}).Unit()
			quad := [][3]float64{
				g.float(geom.Vec3{X: a.X, Y: a.Y, Z: p.z0}), g.float(geom.Vec3{X: c.X, Y: c.Y, Z: p.z0}),
				g.float(geom.Vec3{X: a.X, Y: a.Y, Z: p.z1}), g.float(geom.Vec3{X: c.X, Y: c.Y, Z: p.z1}),
			}
			id, sign := k.nearPlane(out, quad, adopt)
			if m := len(b.walls); m > 0 && b.walls[m-1] == id {
				continue
			}
			b.walls, b.signs, starts = append(b.walls, id), append(b.signs, sign), append(starts, a)
		}
		for m := len(b.walls); m > 1 && b.walls[0] == b.walls[m-1]; m = len(b.walls) {
			starts[0] = starts[m-1]
			b.walls, b.signs, starts = b.walls[:m-1], b.signs[:m-1], starts[:m-1]
		}
		n = len(b.walls)
		if n < 3 {
			return false
		}
		for i := range n {
			prev := b.walls[(i+n-1)%n]
			v, w := k.meet(cb, prev, b.walls[i]), k.meet(ct, prev, b.walls[i])
			if v < 0 || w < 0 {
				return false
			}
			b.bottom, b.top = append(b.bottom, v), append(b.top, w)
		}
		for i := range n {
			j := (i + 1) % n
			a, c := starts[i], starts[j]
			d := g.t.Dir(geom.Vec3{X: c.X - a.X, Y: c.Y - a.Y})
			for _, e := range [][]int32{b.bottom, b.top} {
				u, v := k.pts[e[i]].f, k.pts[e[j]].f
				if d.Dot(geom.Vec3{X: v[0] - u[0], Y: v[1] - u[1], Z: v[2] - u[2]}) <= 0 {
					return false
				}
			}
		}
		built = append(built, b)
	}
	k.addPrism(built, cb, sb, ct, st)
	return true
}

// straighten drops corners closer than 2 grid units to the line between
// their neighbours, which no plane could tell from a straight wall.
func straighten(ring []geom.Vec2) []geom.Vec2 {
	const near = 2 / unitsPerMM
	off := func(a, b, c geom.Vec2) float64 {
		d := c.Sub(a)
		l := d.Len()
		if l < near {
			return 0
		}
		return math.Abs(d.Cross(b.Sub(a))) / l
	}
	var r []geom.Vec2
	for _, v := range ring {
		if len(r) > 0 && v.Sub(r[len(r)-1]).Len() < near {
			continue
		}
		if n := len(r); n >= 2 && off(r[n-2], r[n-1], v) < near {
			r[n-1] = v
			continue
		}
		r = append(r, v)
	}
	for len(r) >= 3 {
		n := len(r)
		switch {
		case r[0].Sub(r[n-1]).Len() < near || off(r[n-2], r[n-1], r[0]) < near:
			r = r[:n-1]
		case off(r[n-1], r[0], r[1]) < near:
			r = r[1:]
		default:
			return r
		}
	}
	return nil
}

// nearPlane returns the plane with the unit normal n through the points, or
// with adopt one already known within a grid unit of all of them.
func (k *kernel) nearPlane(n geom.Vec3, pts [][3]float64, adopt bool) (int32, int8) {
	nf := [3]float64{n.X, n.Y, n.Z}
	if adopt {
		if id, sign, ok := k.adoptPlane(nf, pts); ok {
			return id, sign
		}
	}
	// 2^28 steps in the normal keep a face of 1 m within a tenth of a unit.
	const scale = 1 << 28
	var c [3]int64
	axis, others := 0, 0
	for i, v := range nf {
		c[i] = int64(math.Round(v * scale))
		if c[i] != 0 {
			axis, others = i, others+1
		}
	}
	var mean [3]float64
	for _, p := range pts {
		for i := range mean {
			mean[i] += p[i] / float64(len(pts))
		}
	}
	var d int64
	if others == 1 {
		c[axis] = int64(math.Copysign(1, nf[axis]))
		d = -c[axis] * int64(math.Round(mean[axis]))
	} else {
		d = -int64(math.Round(float64(float64(c[0])*mean[0]) + float64(float64(c[1])*mean[1]) + float64(float64(c[2])*mean[2])))
	}
	id, sign := k.addPlane(c[0], c[1], c[2], exact.I128(d))
	k.registerPlane(id)
	return id, sign
}

func (k *kernel) adoptPlane(n [3]float64, pts [][3]float64) (int32, int8, bool) {
	const near = 1.0 // grid units
	key := planeBucket(n)
	for d := int64(-1); d <= 1; d++ {
		for _, id := range k.buckets[key+d] {
			pl := &k.planes[id]
			l := math.Sqrt(float64(pl.fa*pl.fa) + float64(pl.fb*pl.fb) + float64(pl.fc*pl.fc))
			dot := (float64(pl.fa*n[0]) + float64(pl.fb*n[1]) + float64(pl.fc*n[2])) / l
			if math.Abs(dot) < 0.999999 {
				continue
			}
			close := true
			for _, p := range pts {
				if math.Abs(float64(pl.fa*p[0])+float64(pl.fb*p[1])+float64(pl.fc*p[2])+pl.fd) > near*l {
					close = false
					break
				}
			}
			if close {
				return id, int8(math.Copysign(1, dot)), true
			}
		}
	}
	return 0, 0, false
}

// planeBucket is the same for a normal and its opposite.
func planeBucket(n [3]float64) int64 {
	s := 1.0
	for _, v := range n {
		if math.Abs(v) > 1e-9 {
			s = math.Copysign(1, v)
			break
		}
	}
	return int64(math.Floor(s * n[0] * 4096))
}

func (k *kernel) registerPlane(id int32) {
	if !k.tilted {
		return
	}
	pl := &k.planes[id]
	l := math.Sqrt(float64(pl.fa*pl.fa) + float64(pl.fb*pl.fb) + float64(pl.fc*pl.fc))
	key := planeBucket([3]float64{pl.fa / l, pl.fb / l, pl.fc / l})
	for _, q := range k.buckets[key] {
		if q == id {
			return
		}
	}
	k.buckets[key] = append(k.buckets[key], id)
}

// addPrism lists the faces: bottom cap, top cap, then the walls of each ring.
func (k *kernel) addPrism(rings []ringBuild, cb int32, sb int8, ct int32, st int8) {
	base := int32(len(k.faces))
	leaf := int32(len(k.leaves))
	bottom := face{leaf: leaf, plane: cb, sign: sb}
	top := face{leaf: leaf, plane: ct, sign: st}
	w := base + 2
	size := 0
	for _, r := range rings {
		size += len(r.walls)
	}
	loops := make([]corner, 0, 2*size)
	bottom.loops, top.loops = loops[:0:size], loops[size:size:2*size]
	for _, r := range rings {
		n := int32(len(r.walls))
		for i := n - 1; i >= 0; i-- {
			bottom.loops = append(bottom.loops, corner{r.bottom[i], w + (i+n-1)%n})
		}
		for i := range n {
			top.loops = append(top.loops, corner{r.top[i], w + i})
		}
		bottom.ends = append(bottom.ends, int32(len(bottom.loops)))
		top.ends = append(top.ends, int32(len(top.loops)))
		w += n
	}
	k.faces = append(slices.Grow(k.faces, 2+len(bottom.loops)), bottom, top)
	w = base + 2
	corners := make([]corner, 0, 4*(len(bottom.loops)))
	for _, r := range rings {
		n := int32(len(r.walls))
		for i := range n {
			j := (i + 1) % n
			s := len(corners)
			corners = append(corners, corner{r.bottom[i], base}, corner{r.bottom[j], w + j},
				corner{r.top[j], base + 1}, corner{r.top[i], w + (i+n-1)%n})
			k.faces = append(k.faces, face{leaf: leaf, plane: r.walls[i], sign: r.signs[i], loops: corners[s:len(corners):len(corners)], ends: fourEnds})
		}
		w += n
	}
	k.closeLeaf(base)
	k.registerPrism(base, int32(len(k.faces)))
}

// registerPrism offers the planes of a prism for adoption.
func (k *kernel) registerPrism(f0, f1 int32) {
	if !k.tilted || f0 == f1 {
		return
	}
	for f := f0 + 2; f < f1; f++ {
		k.registerPlane(k.faces[f].plane)
	}
	k.registerPlane(k.faces[f0].plane)
	k.registerPlane(k.faces[f0+1].plane)
}

var fourEnds = []int32{4}

// closeLeaf records the faces from f0 on as a leaf.
func (k *kernel) closeLeaf(f0 int32) {
	l := leaf{f0: f0, f1: int32(len(k.faces))}
	k.shares(int(l.f1-l.f0), many, func(k *kernel, _, i int) { k.boxFace(&k.faces[f0+int32(i)]) })
	for c := range 3 {
		l.lo[c], l.hi[c] = math.Inf(1), math.Inf(-1)
		for i := l.f0; i < l.f1; i++ {
			f := &k.faces[i]
			l.lo[c], l.hi[c] = min(l.lo[c], f.lo[c]), max(l.hi[c], f.hi[c])
		}
	}
	k.leaves = append(k.leaves, l)
}

// boxFace finds the box of a face, wider than the rounding of a computed point,
// and whether the face is in several pieces.
func (k *kernel) boxFace(f *face) {
	for c := range 3 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, co := range f.loops {
			x := k.pts[co.pt].f[c]
			lo, hi = min(lo, x), max(hi, x)
		}
		f.lo[c], f.hi[c] = lo-1e-3, hi+1e-3
	}
	f.apart = k.inPieces(f)
}

// inPieces reports whether a face has more than one outer loop.
func (k *kernel) inPieces(f *face) bool {
	if len(f.ends) < 2 {
		return false
	}
	i, j := k.axes(f.plane)
	outer, s := 0, int32(0)
	for _, e := range f.ends {
		area := 0.0
		o := k.pts[f.loops[s].pt].f
		for n := s + 1; n+1 < e; n++ {
			p, q := k.pts[f.loops[n].pt].f, k.pts[f.loops[n+1].pt].f
			area += float64((p[i]-o[i])*(q[j]-o[j])) - float64((p[j]-o[j])*(q[i]-o[i]))
		}
		if area*float64(f.sign) > 0 {
			outer++
		}
		s = e
	}
	return outer > 1
}
