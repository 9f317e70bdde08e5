package solid

import (
	"math"
	"slices"

	"perch/compile/geom"
)

// turned is an area revolved about the z axis.
type turned struct {
	area  Area
	angle float64
	sides int // of a full turn; 0: by tolerance
}

func (t *turned) profile(tol float64) (Profile, error) { return t.area(tol) }

func (t *turned) bounds(prof Profile) geom.Box {
	b := geom.EmptyBox()
	for _, ring := range prof {
		for _, v := range ring {
			b.Add(geom.Vec3{X: v.X, Y: v.X, Z: v.Y})
			b.Add(geom.Vec3{X: -v.X, Y: -v.X, Z: v.Y})
		}
	}
	return b
}

// rawFace is a polygon of grid points before planes and neighbours are known:
// a triangle, or with loops any flat or nearly flat polygon.
type rawFace struct {
	tri   [3]int32
	loops [][]int32
}

// build adds the revolved body. Curved bands become triangles of grid points
// (a quadrangle of rounded points is hardly ever flat); bands square to the
// axis stay whole when the axis is aligned.
func (t *turned) build(k *kernel, g *grid, prof Profile, tol float64) error {
	rmax := 0.0
	for _, ring := range prof {
		for _, v := range ring {
			rmax = max(rmax, v.X)
		}
	}
	full := t.angle >= 2*math.Pi-1e-9
	sides := t.sides
	if sides == 0 {
		sides = geom.FourFold(geom.Sides(rmax, tol))
	}
	if !full {
		sides = max(1, int(math.Ceil(float64(sides)*t.angle/(2*math.Pi)-1e-9)))
	}
	b := &turnBuild{k: k, g: g, full: full, sides: sides, angle: min(t.angle, 2*math.Pi), flip: g.t.Mirrors()}
	for _, ring := range prof {
		b.ring(ring)
	}
	if !full {
		b.ends()
	}
	return k.addRaw(b.faces)
}

type turnBuild struct {
	k     *kernel
	g     *grid
	full  bool
	flip  bool
	sides int
	angle float64
	faces []rawFace
	rings [][][]int32 // per ring, per corner, the points at every angle
}

// ring makes the bands of one ring of the profile.
func (b *turnBuild) ring(ring []geom.Vec2) {
	n := len(ring)
	pts := make([][]int32, n)
	for i, v := range ring {
		pts[i] = b.circle(v)
	}
	b.rings = append(b.rings, pts)
	for i := range ring {
		j := (i + 1) % n
		if len(pts[i]) == 1 && len(pts[j]) == 1 {
			continue // on the axis
		}
		if b.full && ring[i].Y == ring[j].Y && aligned(b.g.t.R) {
			b.flat(pts[i], pts[j])
			continue
		}
		b.band(pts[i], pts[j])
	}
}

// circle returns the points of one corner of the profile at every angle, or
// one point when it lies on the axis.
func (b *turnBuild) circle(v geom.Vec2) []int32 {
	add := func(p geom.Vec3) int32 {
		q := b.g.round(p)
		return b.k.addGrid(q[0], q[1], q[2])
	}
	if v.X < 0.5/unitsPerMM {
		return []int32{add(geom.Vec3{Z: v.Y})}
	}
	n := b.sides
	if !b.full {
		n++
	}
	c := make([]int32, n)
	for i := range c {
		sin, cos := geom.SinCos(b.angle * float64(i) / float64(b.sides))
		c[i] = add(geom.Vec3{X: v.X * cos, Y: v.X * sin, Z: v.Y})
	}
	return c
}

func (b *turnBuild) polygon(loops ...[]int32) {
	for _, l := range loops {
		if b.flip {
			reverse(l)
		}
	}
	b.faces = append(b.faces, rawFace{loops: loops})
}

// flat adds the disc or annulus between two circles of one plane; p is the
// start of the profile edge, q its end.
func (b *turnBuild) flat(p, q []int32) {
	var loops [][]int32
	if len(p) > 1 {
		loops = append(loops, append([]int32(nil), p...))
	}
	if len(q) > 1 {
		l := append([]int32(nil), q...)
		reverse(l)
		loops = append(loops, l)
	}
	b.polygon(loops...)
}

// band adds the facets between two circles.
func (b *turnBuild) band(p, q []int32) {
	at := func(c []int32, i int) int32 { return c[i%len(c)] }
	for i := range b.sides {
		p0, p1, q0, q1 := at(p, i), at(p, i+1), at(q, i), at(q, i+1)
		b.facet(p0, p1, q1)
		b.facet(p0, q1, q0)
	}
}

func (b *turnBuild) facet(u, v, w int32) {
	if u == v || v == w || u == w {
		return
	}
	if b.flip {
		u, w = w, u
	}
	b.faces = append(b.faces, rawFace{tri: [3]int32{u, v, w}})
}

// ends closes a partial turn by the profile at both ends.
func (b *turnBuild) ends() {
	for _, last := range []bool{false, true} {
		var loops [][]int32
		for _, ring := range b.rings {
			var l []int32
			for _, c := range ring {
				v := c[0]
				if last {
					v = c[len(c)-1]
				}
				if len(l) == 0 || l[len(l)-1] != v {
					l = append(l, v)
				}
			}
			if len(l) > 1 && l[0] == l[len(l)-1] {
				l = l[:len(l)-1]
			}
			if last {
				reverse(l)
			}
			if len(l) > 2 {
				loops = append(loops, l)
			}
		}
		b.polygon(loops...)
	}
}

// flatFace is a polygon whose plane is known: corners of all loops, and the
// end of each loop.
type flatFace struct {
	plane int32
	sign  int8
	pts   []int32
	ends  []int32
}

// each calls do for every edge in the order of the loops.
func (f *flatFace) each(do func(v, next int32)) {
	s := int32(0)
	for _, e := range f.ends {
		for i := s; i < e; i++ {
			n := i + 1
			if n == e {
				n = s
			}
			do(f.pts[i], f.pts[n])
		}
		s = e
	}
}

var threeEnds = []int32{3}

// setLoops replaces the corners.
func (f *flatFace) setLoops(loops [][]int32) {
	f.pts, f.ends = nil, nil
	for _, l := range loops {
		f.pts = append(f.pts, l...)
		f.ends = append(f.ends, int32(len(f.pts)))
	}
}

// addRaw turns polygons of grid points into the faces of a leaf: polygons
// that are not exactly flat are cut into triangles, neighbours in one plane
// are joined again, and every edge learns the face across it.
func (k *kernel) addRaw(raw []rawFace) error {
	flats := make([]flatFace, 0, len(raw))
	slab := make([]int32, 0, 3*len(raw))
	var bad error
	add := func(u, v, w int32, r coefficients) {
		if r.sign == 0 {
			bad = errFine
			return
		}
		s := len(slab)
		slab = append(slab, u, v, w)
		flats = append(flats, flatFace{k.addReduced(&r), r.sign, slab[s:len(slab):len(slab)], threeEnds})
	}
	plane := func(u, v, w int32) coefficients {
		return through(k.gridPoint(u), k.gridPoint(v), k.gridPoint(w))
	}
	ready := make([]coefficients, len(raw))
	k.shares(len(raw), func(_ *kernel, _, i int) {
		r := &raw[i]
		if len(r.loops) == 1 && len(r.loops[0]) == 3 {
			l := r.loops[0]
			r.tri, r.loops = [3]int32{l[0], l[1], l[2]}, nil
		}
		if r.loops == nil {
			ready[i] = plane(r.tri[0], r.tri[1], r.tri[2])
		}
	})
	for i, r := range raw {
		if r.loops == nil {
			add(r.tri[0], r.tri[1], r.tri[2], ready[i])
			continue
		}
		n := k.newell(r.loops)
		if id, sign, ok := k.commonPlane(r.loops, n); ok {
			f := flatFace{plane: id, sign: sign}
			f.setLoops(r.loops)
			flats = append(flats, f)
			continue
		}
		for _, t := range k.cutFacet(r.loops, n) {
			add(t[0], t[1], t[2], plane(t[0], t[1], t[2]))
		}
	}
	if bad != nil {
		return bad
	}
	across, crowded := acrossEdges(flats, len(k.pts))
	flats, joined, err := k.joinFlat(flats, across, crowded)
	if err != nil {
		return err
	}
	if joined {
		across, _ = acrossEdges(flats, len(k.pts))
	}
	base := int32(len(k.faces))
	li := int32(len(k.leaves))
	corners := make([]corner, 0, len(across))
	k.faces = slices.Grow(k.faces, len(flats))
	n := 0
	for f := range flats {
		fl := &flats[f]
		s := len(corners)
		for _, v := range fl.pts {
			h := across[n]
			n++
			if h < 0 || flats[h].plane == fl.plane {
				k.faces = k.faces[:base]
				return errFine
			}
			corners = append(corners, corner{v, base + h})
		}
		k.faces = append(k.faces, face{leaf: li, plane: fl.plane, sign: fl.sign, loops: corners[s:len(corners):len(corners)], ends: fl.ends})
	}
	k.closeLeaf(base)
	return nil
}

// joinFlat makes one face of neighbours that lie in one plane. An edge at which
// the leaf touches itself stays, as a slit where the face goes on beyond it.
func (k *kernel) joinFlat(flats []flatFace, across []int32, crowded []bool) (out []flatFace, joined bool, err error) {
	root := make([]int32, len(flats))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(x int32) int32 {
		for root[x] != x {
			root[x] = root[root[x]]
			x = root[x]
		}
		return x
	}
	n := 0
	for f := range flats {
		for range flats[f].pts {
			h := across[n]
			n++
			if h >= 0 && !crowded[n-1] && flats[h].plane == flats[f].plane && flats[h].sign == flats[f].sign {
				if a, b := find(int32(f)), find(h); a != b {
					root[max(a, b)] = min(a, b)
					joined = true
				}
			}
		}
	}
	if !joined {
		return flats, false, nil
	}
	size := make([]int32, len(flats))
	for f := range flats {
		size[find(int32(f))]++
	}
	edges, stay := map[int32][]edge{}, map[int32][]edge{} // of the faces that join, by their first
	n = 0
	for f := range flats {
		r := find(int32(f))
		flats[f].each(func(v, next int32) {
			switch {
			case size[r] < 2:
			case crowded[n]:
				stay[r] = append(stay[r], edge{v, next})
			default:
				edges[r] = append(edges[r], edge{v, next})
			}
			n++
		})
	}
	for f := range flats {
		if find(int32(f)) != int32(f) {
			continue
		}
		if size[f] == 1 {
			out = append(out, flats[f])
			continue
		}
		i, j := k.axes(flats[f].plane)
		if flats[f].sign < 0 {
			i, j = j, i
		}
		boundary, _ := cancel(edges[int32(f)])
		boundary = append(boundary, stay[int32(f)]...)
		sortEdges(boundary)
		loops, ok := k.traceLoops(boundary, i, j)
		if !ok {
			return nil, false, errFine
		}
		flats[f].setLoops(loops)
		out = append(out, flats[f])
	}
	return out, true, nil
}

// acrossEdges returns, for every edge of the faces in order, the face that
// has the edge the other way round, -1 for none, and whether more than two
// have it. Among several pairs on an edge any pairing of different planes
// serves.
func acrossEdges(flats []flatFace, points int) (across []int32, crowded []bool) {
	n := 0
	for f := range flats {
		n += len(flats[f].pts)
	}
	sides := make([]halfEdge, 0, n)
	face, forward := make([]int32, 0, n), make([]bool, 0, n)
	for f := range flats {
		flats[f].each(func(v, next int32) {
			lo, hi := ends(v, next)
			sides = append(sides, halfEdge{lo, hi, int32(len(sides))})
			face, forward = append(face, int32(f)), append(forward, v == lo)
		})
	}
	across, crowded = make([]int32, len(sides)), make([]bool, len(sides))
	for i := range across {
		across[i] = -1
	}
	flat := func(a, b int32) bool { return flats[face[a]].plane == flats[face[b]].plane }
	groupEdges(sides, points, func(group []halfEdge) {
		if len(group) == 2 {
			if a, b := group[0].id, group[1].id; forward[a] != forward[b] {
				across[a], across[b] = face[b], face[a]
			}
			return
		}
		var to, back []int32
		for _, s := range group {
			crowded[s.id] = true
			if forward[s.id] {
				to = append(to, s.id)
			} else {
				back = append(back, s.id)
			}
		}
		m := min(len(to), len(back))
		for i := range m {
			for j := 0; j < m && flat(to[i], back[i]); j++ {
				if !flat(to[i], back[j]) && !flat(to[j], back[i]) {
					back[i], back[j] = back[j], back[i]
				}
			}
		}
		for i := range m {
			across[to[i]], across[back[i]] = face[back[i]], face[to[i]]
		}
	})
	return across, crowded
}

func (s *space) gridPoint(v int32) [3]int64 {
	f := s.pts[v].f
	return [3]int64{int64(f[0]), int64(f[1]), int64(f[2])}
}

// newell returns the area vector of a polygon (Newell's method).
func (s *space) newell(loops [][]int32) [3]float64 {
	var n [3]float64
	for _, l := range loops {
		for i, v := range l {
			a, b := s.pts[v].f, s.pts[l[(i+1)%len(l)]].f
			n[0] += float64((a[1] - b[1]) * (a[2] + b[2]))
			n[1] += float64((a[2] - b[2]) * (a[0] + b[0]))
			n[2] += float64((a[0] - b[0]) * (a[1] + b[1]))
		}
	}
	return n
}

// projection returns the axes that keep most of a polygon with area vector n,
// ordered so that its turns keep their sense.
func projection(n [3]float64) (i, j int) {
	a, b, c := math.Abs(n[0]), math.Abs(n[1]), math.Abs(n[2])
	k := 2
	if a >= b && a > c {
		k = 0
	} else if b > a && b > c {
		k = 1
	}
	i, j = (k+1)%3, (k+2)%3
	if n[k] < 0 {
		i, j = j, i
	}
	return i, j
}

// commonPlane returns the plane that holds every point of the loops exactly.
func (k *kernel) commonPlane(loops [][]int32, n [3]float64) (int32, int8, bool) {
	l := loops[0]
	for i := 2; i < len(l); i++ {
		id, _, ok := k.addPlaneThrough(k.gridPoint(l[0]), k.gridPoint(l[1]), k.gridPoint(l[i]))
		if !ok {
			continue
		}
		for _, l := range loops {
			for _, v := range l {
				if k.side(v, id) != 0 {
					return 0, 0, false
				}
			}
		}
		pl := &k.planes[id]
		if float64(pl.fa*n[0])+float64(pl.fb*n[1])+float64(pl.fc*n[2]) < 0 {
			return id, -1, true
		}
		return id, 1, true
	}
	return 0, 0, false
}
