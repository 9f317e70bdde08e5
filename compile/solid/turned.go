package solid

import (
	"math"
	"slices"

	"perch/compile/disjoint"
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

// sidesOf returns how many steps the turn takes, and whether it closes.
func (t *turned) sidesOf(prof Profile, tol float64) (n int, full bool) {
	rmax := 0.0
	for _, ring := range prof {
		for _, v := range ring {
			rmax = max(rmax, v.X)
		}
	}
	n, full = t.sides, t.angle >= 2*math.Pi-1e-9
	if n == 0 {
		n = geom.FourFold(geom.Sides(rmax, tol))
	}
	if !full {
		n = max(1, int(math.Ceil(float64(n)*t.angle/(2*math.Pi)-1e-9)))
	}
	return n, full
}

func (t *turned) count(prof Profile, tol float64) (points, faces int) {
	n, _ := t.sidesOf(prof, tol)
	for _, ring := range prof {
		points += (n + 1) * len(ring)
	}
	return points, 2 * points
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
	sides, full := t.sidesOf(prof, tol)
	b := &turnBuild{k: k, g: g, full: full, sides: sides, angle: min(t.angle, 2*math.Pi), flip: g.t.Mirrors()}
	_, faces := t.count(prof, tol)
	b.faces = make([]rawFace, 0, faces)
	for i := range sides + 1 {
		sin, cos := geom.SinCos(b.angle * float64(i) / float64(sides))
		b.ways = append(b.ways, geom.Vec2{X: cos, Y: sin})
	}
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
	ways  []geom.Vec2 // directions of the steps
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
		c[i] = add(geom.Vec3{X: v.X * b.ways[i].X, Y: v.X * b.ways[i].Y, Z: v.Y})
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
	flats, planes := k.flatten(raw)
	var ok bool
	var across []int32
	var crowds [][]int32
	points := len(k.pts)
	both(len(flats), func() { ok = k.addPlanes(flats, planes) }, func() { across, crowds = acrossEdges(flats, points) })
	if !ok {
		return errFine
	}
	crowded := pairCrowds(flats, across, crowds)
	flats, across, err := k.joinFlat(flats, across, crowded)
	if err != nil {
		return err
	}
	base, li := int32(len(k.faces)), int32(len(k.leaves))
	corners := make([]corner, len(across))
	k.faces = slices.Grow(k.faces, len(flats))[:int(base)+len(flats)]
	starts, at := make([]int32, len(flats)), int32(0) // of the corners of each face
	for f := range flats {
		starts[f] = at
		at += int32(len(flats[f].pts))
	}
	fits := make([]bool, len(flats))
	k.shares(len(flats), many, func(k *kernel, _, f int) {
		fl, s := &flats[f], starts[f]
		own := corners[s : int(s)+len(fl.pts) : int(s)+len(fl.pts)]
		fits[f] = true
		for i, v := range fl.pts {
			h := across[int(s)+i]
			fits[f] = fits[f] && h >= 0 && flats[h].plane != fl.plane
			own[i] = corner{v, base + h}
		}
		k.faces[int(base)+f] = face{leaf: li, plane: fl.plane, sign: fl.sign, loops: own, ends: fl.ends}
	})
	if slices.Contains(fits, false) {
		k.faces = k.faces[:base]
		return errFine
	}
	k.closeLeaf(base)
	return nil
}

// flatten lists polygons of grid points with their planes. Those that are not
// flat are cut into triangles.
func (k *kernel) flatten(raw []rawFace) ([]flatFace, []coefficients) {
	ready := make([]coefficients, len(raw))
	k.shares(len(raw), many, func(k *kernel, _, i int) {
		r := &raw[i]
		if len(r.loops) == 1 && len(r.loops[0]) == 3 {
			r.tri, r.loops = [3]int32(r.loops[0]), nil
		}
		if r.loops == nil {
			ready[i] = k.through(r.tri[0], r.tri[1], r.tri[2])
		}
	})
	flats, planes := make([]flatFace, 0, len(raw)), ready[:0]
	if slices.ContainsFunc(raw, func(r rawFace) bool { return r.loops != nil }) {
		planes = make([]coefficients, 0, len(raw)) // there may be more than raw polygons
	}
	for i := range raw {
		r := &raw[i]
		if r.loops == nil {
			flats, planes = append(flats, flatFace{pts: r.tri[:], ends: threeEnds}), append(planes, ready[i])
			continue
		}
		n := k.newell(r.loops)
		if c, ok := k.commonPlane(r.loops, n); ok {
			f := flatFace{}
			f.setLoops(r.loops)
			flats, planes = append(flats, f), append(planes, c)
			continue
		}
		tris := k.cutFacet(r.loops, n)
		for n := range tris {
			t := &tris[n]
			flats, planes = append(flats, flatFace{pts: t[:], ends: threeEnds}), append(planes, k.through(t[0], t[1], t[2]))
		}
	}
	return flats, planes
}

// addPlanes gives faces their planes; it reports false when one has none.
func (k *kernel) addPlanes(flats []flatFace, planes []coefficients) bool {
	k.reservePlanes(len(planes))
	for i := range planes {
		c := &planes[i]
		if c.sign == 0 {
			return false
		}
		flats[i].plane, flats[i].sign = k.addReduced(c), c.sign
	}
	return true
}

func (s *space) through(u, v, w int32) coefficients {
	return through(s.gridPoint(u), s.gridPoint(v), s.gridPoint(w))
}

// joinFlat makes one face of neighbours that lie in one plane, in place, and
// says anew what lies across their edges. An edge at which the leaf touches
// itself stays, as a slit where the face goes on beyond it.
func (k *kernel) joinFlat(flats []flatFace, across []int32, crowded []bool) ([]flatFace, []int32, error) {
	faces := disjoint.New(len(flats))
	var joined []*merger // by the first face
	n := 0
	for f := range flats {
		for range flats[f].pts {
			h := across[n]
			if h >= 0 && !crowded[n] && flats[h].plane == flats[f].plane && flats[h].sign == flats[f].sign {
				if first, two := faces.Unite(int32(f), h); two {
					if joined == nil {
						joined = make([]*merger, len(flats))
					}
					joined[first] = &merger{across: map[edge]int32{}}
				}
			}
			n++
		}
	}
	if joined == nil {
		return flats, across, nil
	}
	n = 0
	at, left := make([]int32, len(flats)), int32(0) // where a face is in the end
	for f := range flats {
		r := faces.Of(int32(f))
		if r == int32(f) {
			at[f] = left
			left++
		}
		j := joined[r]
		if j == nil {
			n += len(flats[f].pts)
			continue
		}
		flats[f].each(func(v, next int32) {
			j.add(edge{v, next}, across[n], crowded[n])
			n++
		})
	}
	out := flats[:0]
	over, n := across[:0:0], 0
	over = slices.Grow(over, len(across))
	for f := range flats {
		fl, m := flats[f], n+len(flats[f].pts)
		if faces.Of(int32(f)) == int32(f) {
			if j := joined[int32(f)]; j != nil {
				if err := k.outlineOf(&fl, j); err != nil {
					return nil, nil, err
				}
				fl.each(func(v, next int32) { over = append(over, j.across[edge{v, next}]) })
			} else {
				over = append(over, across[n:m]...)
			}
			out = append(out, fl)
		}
		n = m
	}
	for i, h := range over {
		if h >= 0 {
			over[i] = at[faces.Of(h)]
		}
	}
	return out, over, nil
}

// merger is collects faces that become one: their edges, those at which more than two
// faces meet apart, and the face across each.
type merger struct {
	edges, stay []edge
	across      map[edge]int32
}

func (j *merger) add(e edge, across int32, crowded bool) {
	j.across[e] = across
	if crowded {
		j.stay = append(j.stay, e)
	} else {
		j.edges = append(j.edges, e)
	}
}

// outlineOf gives the face the loops of all that was collected.
func (k *kernel) outlineOf(f *flatFace, j *merger) error {
	a, b := k.axes(f.plane)
	if f.sign < 0 {
		a, b = b, a
	}
	boundary, _ := cancel(j.edges)
	boundary = append(boundary, j.stay...)
	sortEdges(boundary)
	loops, ok := k.traceLoops(boundary, a, b)
	if !ok {
		return errFine
	}
	f.setLoops(loops)
	return nil
}

// acrossEdges returns, for each edge of the faces in order, the face that has
// the edge the other way round, -1 for none. Of edges with more than two sides
// it lists these, and leaves them at -1.
func acrossEdges(flats []flatFace, points int) (across []int32, crowds [][]int32) {
	n := 0
	for f := range flats {
		n += len(flats[f].pts)
	}
	sides := make([]halfEdge, 0, n)
	face, forward := make([]int32, 0, n), make([]bool, 0, n)
	for f := range flats {
		s, pts := int32(0), flats[f].pts
		for _, e := range flats[f].ends {
			for i := s; i < e; i++ {
				next := i + 1
				if next == e {
					next = s
				}
				lo, hi := ends(pts[i], pts[next])
				sides = append(sides, halfEdge{lo, hi, int32(len(sides))})
				face, forward = append(face, int32(f)), append(forward, pts[i] == lo)
			}
			s = e
		}
	}
	across = make([]int32, n)
	for i := range across {
		across[i] = -1
	}
	groupEdges(sides, points, func(group []halfEdge) {
		if len(group) == 2 {
			if a, b := group[0].id, group[1].id; forward[a] != forward[b] {
				across[a], across[b] = face[b], face[a]
			}
			return
		}
		var to, back []int32
		for _, s := range group {
			if forward[s.id] {
				to = append(to, s.id)
			} else {
				back = append(back, s.id)
			}
		}
		crowds = append(crowds, to, back)
	})
	return across, crowds
}

// pairCrowds pairs the sides of edges with more than two, which it marks. Any
// pairing of different planes serves. crowds holds the sides that run forward
// and those that run back of one edge after the other.
func pairCrowds(flats []flatFace, across []int32, crowds [][]int32) (crowded []bool) {
	crowded = make([]bool, len(across))
	if len(crowds) == 0 {
		return crowded
	}
	face := make([]int32, 0, len(across))
	for f := range flats {
		for range flats[f].pts {
			face = append(face, int32(f))
		}
	}
	flat := func(a, b int32) bool { return flats[face[a]].plane == flats[face[b]].plane }
	for ; len(crowds) > 0; crowds = crowds[2:] {
		to, back := crowds[0], crowds[1]
		for _, s := range slices.Concat(to, back) {
			crowded[s] = true
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
	}
	return crowded
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

// commonPlane returns the plane that holds every point of the loops exactly;
// its normal goes with n.
func (k *kernel) commonPlane(loops [][]int32, n [3]float64) (coefficients, bool) {
	l := loops[0]
	for i := 2; i < len(l); i++ {
		c := k.through(l[0], l[1], l[i])
		if c.sign == 0 {
			continue
		}
		for _, l := range loops {
			for _, v := range l {
				if !c.holds(k.gridPoint(v)) {
					return coefficients{}, false
				}
			}
		}
		c.sign = 1
		if float64(float64(c.a)*n[0])+float64(float64(c.b)*n[1])+float64(float64(c.c)*n[2]) < 0 {
			c.sign = -1
		}
		return c, true
	}
	return coefficients{}, false
}
