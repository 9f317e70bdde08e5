package solid

import (
	"cmp"
	"slices"
)

// region is a flat piece of the surface of the result: all of it that lies
// in one plane and faces one way.
type region struct {
	plane  int32
	turned bool      // the outward normal is opposite to the stored one
	first  int32     // the first face that has a part in it
	raw    [][]int32 // loops as they are traced: counter-clockwise seen against the outward normal, holes clockwise
	loops  [][]int32 // the same without corners in the middle of an edge
	edges  []edge    // while it is made: its boundary
	inner  []edge    // while it is made: edges that run inside it, lower end first
	tris   [][3]int32
	forced int // ears cut without proof
}

// shelf is memory for regions and what they hold; each worker has its own.
type shelf struct {
	regions []region
	loops   [][]int32
	pts     []int32
	tris    [][3]int32
}

func (s *shelf) region(r region) *region {
	own := &room(&s.regions, 1)[0]
	*own = r
	return own
}

// triangle reports whether a region is one triangle.
func (r *region) triangle() bool { return len(r.raw) == 1 && len(r.raw[0]) == 3 }

// axesOf returns projection axes in which the outer loops of r turn left.
func (s *space) axesOf(r *region) (i, j int) {
	i, j = s.axes(r.plane)
	if r.turned {
		i, j = j, i
	}
	return i, j
}

// cancel splits a list of edges: those that stand in it in both directions are
// inner, listed once with the lower end first; the rest is the boundary. Both
// come out sorted by start, then end; the list is used up.
func cancel(edges []edge) (boundary, inner []edge) {
	keys := make([]uint64, len(edges))
	for i, e := range edges {
		lo, hi := ends(e.a, e.b)
		keys[i] = uint64(lo)<<33 | uint64(hi)<<1
		if e.a != lo {
			keys[i] |= 1
		}
	}
	slices.Sort(keys)
	boundary = edges[:0]
	for i := 0; i < len(keys); {
		same := keys[i] >> 1
		balance, j := 0, i
		for ; j < len(keys) && keys[j]>>1 == same; j++ {
			balance += 1 - 2*int(keys[j]&1)
		}
		lo, hi := int32(same>>32), int32(same&(1<<32-1))
		for n := (j - i - max(balance, -balance)) / 2; n > 0; n-- {
			inner = append(inner, edge{lo, hi})
		}
		for ; balance > 0; balance-- {
			boundary = append(boundary, edge{lo, hi})
		}
		for ; balance < 0; balance++ {
			boundary = append(boundary, edge{hi, lo})
		}
		i = j
	}
	sortEdges(boundary)
	return boundary, inner
}

func sortEdges(edges []edge) {
	slices.SortFunc(edges, func(x, y edge) int {
		if x.a != y.a {
			return int(x.a) - int(y.a)
		}
		return int(x.b) - int(y.b)
	})
}

// traceLoops joins directed edges (sorted by start) to closed loops with the
// area on their left. Where loops touch in a corner each keeps to its own
// area. It reports false when the edges do not close.
func (s *space) traceLoops(edges []edge, i, j int) ([][]int32, bool) {
	used := make([]bool, len(edges))
	starts := func(v int32) (lo, hi int) {
		lo, _ = slices.BinarySearchFunc(edges, v, func(e edge, v int32) int { return cmp.Compare(e.a, v) })
		for hi = lo; hi < len(edges) && edges[hi].a == v; hi++ {
		}
		return lo, hi
	}
	var loops [][]int32
	slab := make([]int32, 0, len(edges))
	for first := range edges {
		if used[first] {
			continue
		}
		n := len(slab)
		for cur := first; ; {
			used[cur] = true
			e := edges[cur]
			slab = append(slab, e.a)
			lo, hi := starts(e.b)
			next := s.nextEdge(edges, used, lo, hi, e, first, i, j)
			if next == first {
				break
			}
			if next < 0 {
				return nil, false
			}
			cur = next
		}
		loops = append(loops, slab[n:len(slab):len(slab)])
	}
	return loops, true
}

// nextEdge chooses, among the edges lo..hi that leave the end of e and are
// free (or are the first of the loop), the one that bounds the same area as
// e: the first when turning clockwise from e's start.
func (s *space) nextEdge(edges []edge, used []bool, lo, hi int, e edge, first, i, j int) int {
	best := -1
	for x := lo; x < hi; x++ {
		if used[x] && x != first {
			continue
		}
		if best < 0 || s.clockwiseBefore(e.b, e.a, edges[x].b, edges[best].b, i, j) {
			best = x
		}
	}
	return best
}

// clockwiseBefore reports whether, turning clockwise about v from the
// direction to from, x is met before y.
func (s *space) clockwiseBefore(v, from, x, y int32, i, j int) bool {
	// Quadrants of the clockwise turn: 0 to the right of the start direction,
	// 1 straight on, 2 to the left. None equals the start direction.
	half := func(w int32) int {
		if w == from {
			return 3
		}
		switch s.turn(v, from, w, i, j) {
		case -1:
			return 0
		case 0:
			return 1
		}
		return 2
	}
	hx, hy := half(x), half(y)
	if hx != hy {
		return hx < hy
	}
	return s.turn(v, x, y, i, j) < 0
}

// outline makes the regions of one plane, without their loops, from the faces
// that have a part in them, in the order of the faces.
func (k *kernel) outline(plane int32, faces []int32, memory *shelf) {
	for side := range int32(2) {
		k.surfaces[2*plane+side] = nil
	}
	if len(faces) == 1 && !k.faces[faces[0]].touched {
		F := &k.faces[faces[0]]
		r := memory.region(region{plane: plane, turned: F.sign < 0 != (F.whole == flipped), first: faces[0]})
		r.raw = memory.loopsOf(F, F.whole == flipped)
		k.surfaces[2*plane+k.sideOf(r.turned)] = r
		return
	}
	for side := range int32(2) {
		r := region{plane: plane, turned: side == 1, first: -1}
		var edges []edge
		for _, f := range faces {
			F := &k.faces[f]
			n := len(edges)
			for _, e := range F.cut {
				if e.turned == r.turned {
					edges = append(edges, e.edge)
				}
			}
			if flip := F.whole == flipped; flip || F.whole == kept {
				if F.sign < 0 != flip == r.turned {
					F.each(func(c corner, next int32) {
						if flip {
							edges = append(edges, edge{next, c.pt})
						} else {
							edges = append(edges, edge{c.pt, next})
						}
					})
				}
			}
			if r.first < 0 && len(edges) > n {
				r.first = f
			}
		}
		if len(edges) > 0 {
			r.edges, r.inner = cancel(edges)
			k.surfaces[2*plane+side] = memory.region(r)
		}
	}
}

func (k *kernel) sideOf(turned bool) int32 {
	if turned {
		return 1
	}
	return 0
}

// keepSlits looks for inner edges at which faces in other planes bound the
// result. An edge that runs inside a flat region is no edge of it, unless
// other parts of the surface meet it there: then sheets touch along it, and
// each needs the edge to keep to itself.
func (k *kernel) keepSlits(rs []*region) {
	at := map[edge][]*region{}
	low := make([]bool, len(k.pts))
	for _, r := range rs {
		for _, e := range r.inner {
			at[e] = append(at[e], r)
			low[e.a] = true
		}
	}
	if len(at) == 0 {
		return
	}
	meet := func(F *face, a, b int32) {
		lo, hi := ends(a, b)
		if !low[lo] {
			return
		}
		e := edge{lo, hi}
		around := at[e]
		rest := around[:0]
		for _, r := range around {
			if r.plane == F.plane {
				rest = append(rest, r)
				continue
			}
			r.edges = append(r.edges, e, edge{hi, lo})
		}
		if len(rest) < len(around) {
			at[e] = rest
		}
	}
	k.eachFace(func(_ int32, F *face) {
		for _, c := range F.cut {
			meet(F, c.a, c.b)
		}
		if F.whole >= kept {
			F.each(func(c corner, next int32) { meet(F, c.pt, next) })
		}
	})
}

// trace makes the loops of a region from its edges; it reports false when
// they do not close.
func (k *kernel) trace(r *region) (ok bool) {
	sortEdges(r.edges)
	i, j := k.axesOf(r)
	r.raw, ok = k.traceLoops(r.edges, i, j)
	r.edges, r.inner = nil, nil
	return ok
}

// loopsOf returns the loops of a face as points, reversed with flip.
func (s *shelf) loopsOf(f *face, flip bool) [][]int32 {
	pts := room(&s.pts, len(f.loops))
	loops := room(&s.loops, len(f.ends))
	from := int32(0)
	for n, e := range f.ends {
		l := pts[from:e:e]
		for i := range l {
			l[i] = f.loops[from+int32(i)].pt
		}
		if flip {
			reverse(l)
		}
		loops[n] = l
		from = e
	}
	return loops
}

// dropStraight fills the loops of the regions rs, which are among all: corners
// that have exactly two neighbours and lie between exactly two planes stand in
// the middle of a straight edge and go.
func (k *kernel) dropStraight(rs, all []*region, memory *shelf) {
	const free = -1
	type use struct {
		n, p   [2]int32
		wanted bool
		keep   bool
	}
	uses := make([]use, len(k.pts))
	for _, r := range rs {
		for _, l := range r.raw {
			for _, v := range l {
				uses[v] = use{n: [2]int32{free, free}, p: [2]int32{free, free}, wanted: true}
			}
		}
	}
	for _, r := range all {
		if r.triangle() {
			for _, v := range r.raw[0] { // which is no straight edge
				uses[v].keep = true
			}
		}
	}
	note := func(slot *[2]int32, v int32) bool {
		for i := range slot {
			if slot[i] == v {
				return true
			}
			if slot[i] == free {
				slot[i] = v
				return true
			}
		}
		return false
	}
	for _, r := range all {
		if r.triangle() {
			continue
		}
		for _, l := range r.raw {
			for i, v := range l {
				u := &uses[v]
				if !u.wanted || u.keep {
					continue
				}
				before, after := i-1, i+1
				if i == 0 {
					before = len(l) - 1
				}
				if after == len(l) {
					after = 0
				}
				u.keep = !note(&u.n, l[before]) || !note(&u.n, l[after]) || !note(&u.p, r.plane)
			}
		}
	}
	for _, r := range rs {
		if r.triangle() {
			r.loops = r.raw
			continue
		}
		n := 0
		for _, l := range r.raw {
			n += len(l)
		}
		slab := room(&memory.pts, n)[:0]
		r.loops = room(&memory.loops, len(r.raw))[:0]
		for _, l := range r.raw {
			s := len(slab)
			for _, v := range l {
				if u := &uses[v]; u.keep || u.p[1] == free {
					slab = append(slab, v)
				}
			}
			if len(slab) > s {
				r.loops = append(r.loops, slab[s:len(slab):len(slab)])
			}
		}
	}
}

// arrangeLoops begins every loop at its first corner by place and puts the
// loops in the order of these, so that numbers of points do not matter.
func (s *space) arrangeLoops(loops [][]int32) {
	for _, l := range loops {
		first := 0
		for i := 1; i < len(l); i++ {
			if l[i] == l[first] {
				if s.compareLoops(l, i, l, first) < 0 {
					first = i
				}
			} else if s.comparePlaces(l[i], l[first]) < 0 {
				first = i
			}
		}
		reverse(l[:first]) // a turn by first, in three reversals
		reverse(l[first:])
		reverse(l)
	}
	slices.SortFunc(loops, func(l, m []int32) int { return s.compareLoops(l, 0, m, 0) })
}

// compareLoops orders loops by their corners from i and j on.
func (s *space) compareLoops(l []int32, i int, m []int32, j int) int {
	for n := range min(len(l), len(m)) {
		if c := s.comparePlaces(l[(i+n)%len(l)], m[(j+n)%len(m)]); c != 0 {
			return c
		}
	}
	return len(l) - len(m)
}

// comparePlaces orders points by x, then y, then z.
func (s *space) comparePlaces(v, w int32) int {
	if v == w {
		return 0
	}
	for k := range 3 {
		if c := s.compare(v, w, k); c != 0 {
			return -c
		}
	}
	return 0
}
