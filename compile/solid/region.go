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
	loops  [][]int32 // counter-clockwise seen against the outward normal, holes clockwise
}

// axesOf returns projection axes in which the outer loops of r turn left.
func (s *space) axesOf(r *region) (i, j int) {
	i, j = s.axes(r.plane)
	if r.turned {
		i, j = j, i
	}
	return i, j
}

// cancel removes edges that stand in the list in both directions and returns
// the rest, sorted by start, then end.
func cancel(edges []edge) []edge {
	slices.SortFunc(edges, func(x, y edge) int {
		xl, xh := ends(x.a, x.b)
		yl, yh := ends(y.a, y.b)
		return cmp.Or(cmp.Compare(xl, yl), cmp.Compare(xh, yh), cmp.Compare(x.a, y.a))
	})
	out := edges[:0]
	for i := 0; i < len(edges); {
		lo, hi := ends(edges[i].a, edges[i].b)
		forward, back := 0, 0
		for ; i < len(edges); i++ {
			l, h := ends(edges[i].a, edges[i].b)
			if l != lo || h != hi {
				break
			}
			if edges[i].a == lo {
				forward++
			} else {
				back++
			}
		}
		for ; forward > back; forward-- {
			out = append(out, edge{lo, hi})
		}
		for ; back > forward; back-- {
			out = append(out, edge{hi, lo})
		}
	}
	sortEdges(out)
	return out
}

func sortEdges(edges []edge) {
	slices.SortFunc(edges, func(x, y edge) int {
		if x.a != y.a {
			return int(x.a) - int(y.a)
		}
		return int(x.b) - int(y.b)
	})
}

// edgesOfSeveral marks the edges at which faces in different planes bound the
// result. An edge that runs inside a flat region is no edge of it, unless
// other parts of the surface meet it there: then sheets touch along it, and
// each needs the edge to keep to itself.
func (k *kernel) edgesOfSeveral(out []outEdge) []bool {
	halves := make([]halfEdge, len(out))
	for i, e := range out {
		lo, hi := ends(e.a, e.b)
		halves[i] = halfEdge{lo, hi, int32(i)}
	}
	stay := make([]bool, len(out))
	groupEdges(halves, len(k.pts), func(group []halfEdge) {
		for _, h := range group[1:] {
			if out[h.id].plane != out[group[0].id].plane {
				for _, h := range group {
					stay[h.id] = true
				}
				return
			}
		}
	})
	return stay
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
	for first := range edges {
		if used[first] {
			continue
		}
		var loop []int32
		for cur := first; ; {
			used[cur] = true
			e := edges[cur]
			loop = append(loop, e.a)
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
		loops = append(loops, loop)
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

// regions joins the edges of the divider and the untouched faces that bound
// the result to flat regions, and drops corners in the middle of an edge.
func (k *kernel) regions(out []outEdge, whole []wholeFace) ([]region, bool) {
	uses := make([]int32, len(k.planes))
	for _, w := range whole {
		uses[k.faces[w.face].plane]++
	}
	divided := make([]bool, len(k.planes))
	for _, e := range out {
		divided[e.plane] = true
	}
	corners, ends := 0, 0
	for _, w := range whole {
		corners += len(k.faces[w.face].loops)
		ends += len(k.faces[w.face].ends)
	}
	slab := polygons{pts: make([]int32, 0, corners), loops: make([][]int32, 0, ends)}
	rs := make([]region, 0, len(whole))
	for _, w := range whole {
		F := &k.faces[w.face]
		turned := F.sign < 0 != w.flip
		if uses[F.plane] == 1 && !divided[F.plane] {
			rs = append(rs, region{F.plane, turned, slab.of(F, w.flip)})
			continue
		}
		F.each(func(c corner, next int32) {
			e := edge{c.pt, next}
			if w.flip {
				e = edge{next, c.pt}
			}
			out = append(out, outEdge{F.plane, turned, e})
		})
	}
	slices.SortStableFunc(out, func(x, y outEdge) int {
		if c := cmp.Compare(x.plane, y.plane); c != 0 || x.turned == y.turned {
			return c
		}
		if y.turned {
			return -1
		}
		return 1
	})
	stay := k.edgesOfSeveral(out)
	var edges, slits []edge
	for i := 0; i < len(out); {
		r := region{plane: out[i].plane, turned: out[i].turned}
		edges, slits = edges[:0], slits[:0]
		for ; i < len(out) && out[i].plane == r.plane && out[i].turned == r.turned; i++ {
			if stay[i] {
				slits = append(slits, out[i].edge)
			} else {
				edges = append(edges, out[i].edge)
			}
		}
		edges = append(cancel(edges), slits...)
		sortEdges(edges)
		u, v := k.axesOf(&r)
		var ok bool
		if r.loops, ok = k.traceLoops(edges, u, v); !ok {
			return nil, false
		}
		if len(r.loops) > 0 {
			rs = append(rs, r)
		}
	}
	k.dropStraight(rs)
	return rs, true
}

// polygons holds the loops of many faces in two pieces of memory.
type polygons struct {
	pts   []int32
	loops [][]int32
}

// of returns the loops of a face as points, reversed with flip.
func (p *polygons) of(f *face, flip bool) [][]int32 {
	first := len(p.loops)
	s := int32(0)
	for _, e := range f.ends {
		at := len(p.pts)
		for _, c := range f.loops[s:e] {
			p.pts = append(p.pts, c.pt)
		}
		l := p.pts[at:len(p.pts):len(p.pts)]
		if flip {
			reverse(l)
		}
		p.loops = append(p.loops, l)
		s = e
	}
	return p.loops[first:len(p.loops):len(p.loops)]
}

// dropStraight removes corners that have exactly two neighbours and lie
// between exactly two planes: they stand in the middle of a straight edge.
func (k *kernel) dropStraight(rs []region) {
	const free = -1
	type use struct {
		n, p [2]int32
		keep bool
	}
	uses := make([]use, len(k.pts))
	for i := range uses {
		uses[i] = use{n: [2]int32{free, free}, p: [2]int32{free, free}}
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
	for r := range rs {
		for _, l := range rs[r].loops {
			for i, v := range l {
				u := &uses[v]
				if u.keep {
					continue
				}
				u.keep = !note(&u.n, l[(i+len(l)-1)%len(l)]) || !note(&u.n, l[(i+1)%len(l)]) || !note(&u.p, rs[r].plane)
			}
		}
	}
	for r := range rs {
		loops := rs[r].loops[:0]
		for _, l := range rs[r].loops {
			kept := l[:0]
			for _, v := range l {
				if u := &uses[v]; u.keep || u.p[1] == free {
					kept = append(kept, v)
				}
			}
			if len(kept) > 0 {
				loops = append(loops, kept)
			}
		}
		rs[r].loops = loops
	}
}
