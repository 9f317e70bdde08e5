package solid

import (
	"cmp"
	"math"
	"slices"

	"perch/compile/boxtree"
	"perch/compile/geom"
)

// kernel holds a build. It can go on from one body to a body that differs in
// some leaves: what does not depend on those stays. Numbers of points, planes,
// faces and leaves then depend on the way that led there; the mesh does not.
type kernel struct {
	*space
	faces    []face
	leaves   []leaf
	live     []int32            // the leaves of the body, in their order
	members  []member           // the expression, over numbers of leaves
	tilted   bool               // some leaf stands at an odd angle to the others
	buckets  map[int64][]int32  // planes by direction, for adoptPlane
	meets    [][]int32          // per face, the faces of other leaves it may touch
	surfaces []*region          // by 2·plane, +1 for the side against the normal
	sets     map[setSum][]int32 // the leaves of the sets that faces have seen
}

func overlap(alo, ahi, blo, bhi *[3]float64) bool {
	return alo[0] <= bhi[0] && blo[0] <= ahi[0] && alo[1] <= bhi[1] && blo[1] <= ahi[1] && alo[2] <= bhi[2] && blo[2] <= ahi[2]
}

func boxOf(lo, hi *[3]float64) geom.Box {
	return geom.Box{Min: geom.Vec3{X: lo[0], Y: lo[1], Z: lo[2]}, Max: geom.Vec3{X: hi[0], Y: hi[1], Z: hi[2]}}
}

// contact is a pair of faces, or of leaves, that may touch.
type contact struct{ f, g int32 }

// findContacts fills leaf.over, and meets for the pairs of faces of which one
// belongs to a fresh leaf; it marks the touched faces. A pair that does not
// touch may be listed; one that does is never missed.
func (k *kernel) findContacts(fresh []int32) {
	k.meets = append(k.meets, make([][]int32, len(k.faces)-len(k.meets))...)
	isFresh := make([]bool, len(k.leaves))
	for _, l := range fresh {
		isFresh[l] = true
	}
	for _, l := range k.live {
		L := &k.leaves[l]
		L.over = L.over[:0]
		for f := L.f0; f < L.f1; f++ {
			if !k.faces[f].stale || isFresh[l] {
				continue
			}
			k.meets[f] = slices.DeleteFunc(k.meets[f], func(g int32) bool { return k.leaves[k.faces[g].leaf].at < 0 })
		}
	}
	k.addMeets(k.facePairs(k.leafPairs(isFresh)))
	for _, l := range k.live {
		for f := k.leaves[l].f0; f < k.leaves[l].f1; f++ {
			k.faces[f].touched = len(k.meets[f]) > 0 || k.faces[f].apart
		}
	}
}

// leafPairs fills leaf.over, and lists the pairs of which one is fresh.
func (k *kernel) leafPairs(isFresh []bool) []contact {
	order := slices.Clone(k.live)
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(k.leaves[a].lo[0], k.leaves[b].lo[0]), cmp.Compare(a, b))
	})
	var active []int32
	var pairs []contact
	for _, i := range order {
		l := &k.leaves[i]
		keep := active[:0]
		for _, j := range active {
			m := &k.leaves[j]
			if m.hi[0] < l.lo[0] {
				continue
			}
			keep = append(keep, j)
			if overlap(&l.lo, &l.hi, &m.lo, &m.hi) {
				l.over, m.over = append(l.over, j), append(m.over, i)
				if isFresh[i] || isFresh[j] {
					pairs = append(pairs, contact{min(i, j), max(i, j)})
				}
			}
		}
		active = append(keep, i)
	}
	return pairs
}

// facePairs lists the pairs of faces of pairs of leaves that may touch.
func (k *kernel) facePairs(leaves []contact) []contact {
	k.plantTrees(leaves)
	near := make([][]contact, len(leaves))
	k.shares(len(leaves), few, func(k *kernel, _, i int) { near[i] = k.nearFaces(leaves[i]) })
	pairs := slices.Concat(near...)
	touch := make([]bool, len(pairs))
	k.shares(len(pairs), many, func(k *kernel, _, i int) { touch[i] = k.mayTouch(pairs[i].f, pairs[i].g) })
	n := 0
	for i, c := range pairs {
		if touch[i] {
			pairs[n] = c
			n++
		}
	}
	return pairs[:n]
}

// addMeets adds pairs of faces to meets.
func (k *kernel) addMeets(pairs []contact) {
	more := make([]int32, len(k.faces))
	for _, c := range pairs {
		more[c.f]++
		more[c.g]++
	}
	slab := make([]int32, 0, 2*len(pairs))
	for f, n := range more {
		if n > 0 {
			k.meets[f] = append(room(&slab, len(k.meets[f])+int(n))[:0], k.meets[f]...)
		}
	}
	for _, c := range pairs {
		k.meets[c.f] = append(k.meets[c.f], c.g)
		k.meets[c.g] = append(k.meets[c.g], c.f)
	}
}

// wantsTrees reports whether the faces of two leaves are found by trees, and
// not by a pass over the larger for each face of the smaller.
func (k *kernel) wantsTrees(c contact) bool {
	na, nb := int(k.leaves[c.f].f1-k.leaves[c.f].f0), int(k.leaves[c.g].f1-k.leaves[c.g].f0)
	const many = 8 // leaves for which a tree is worth its while
	return na*nb > 1<<12 && (min(na, nb) > 16 || len(k.leaves[c.f].over) > many || len(k.leaves[c.g].over) > many)
}

// plantTrees makes the trees that pairs of leaves want.
func (k *kernel) plantTrees(leaves []contact) {
	var want []int32
	for _, c := range leaves {
		if k.wantsTrees(c) {
			want = append(want, c.f, c.g)
		}
	}
	slices.Sort(want)
	want = slices.Compact(want)
	k.shares(len(want), 1, func(k *kernel, _, i int) {
		L := &k.leaves[want[i]]
		if L.tree != nil {
			return
		}
		boxes := make([]geom.Box, L.f1-L.f0)
		for i := range boxes {
			F := &k.faces[int(L.f0)+i]
			boxes[i] = boxOf(&F.lo, &F.hi)
		}
		L.tree = boxtree.New(boxes)
	})
}

// nearFaces lists the pairs of faces of two leaves whose boxes overlap.
func (k *kernel) nearFaces(c contact) (pairs []contact) {
	la, lb := &k.leaves[c.f], &k.leaves[c.g]
	if k.wantsTrees(c) {
		la.tree.Pairs(lb.tree, func(i, j int32) bool {
			pairs = append(pairs, contact{la.f0 + i, lb.f0 + j})
			return true
		})
		return pairs
	}
	if la.f1-la.f0 > lb.f1-lb.f0 {
		la, lb = lb, la
	}
	for g := lb.f0; g < lb.f1; g++ {
		G := &k.faces[g]
		if !overlap(&la.lo, &la.hi, &G.lo, &G.hi) {
			continue
		}
		for f := la.f0; f < la.f1; f++ {
			if F := &k.faces[f]; overlap(&F.lo, &F.hi, &G.lo, &G.hi) {
				pairs = append(pairs, contact{f, g})
			}
		}
	}
	return pairs
}

// signs appends the side of every corner of face g to plane p.
func (k *kernel) signs(g, p int32, buf []int8) (s []int8, neg, pos, zero bool) {
	for _, c := range k.faces[g].loops {
		v := k.side(c.pt, p)
		buf = append(buf, int8(v))
		switch {
		case v < 0:
			neg = true
		case v > 0:
			pos = true
		default:
			zero = true
		}
	}
	return buf, neg, pos, zero
}

// mayTouch reports whether two faces can have a common point.
func (k *kernel) mayTouch(f, g int32) bool {
	F, G := &k.faces[f], &k.faces[g]
	if F.plane == G.plane {
		return true
	}
	var b1, b2 [32]int8
	// A face of many corners is not worth testing corner by corner against
	// each of the many faces that cross it.
	const many = 32
	var s1, s2 []int8
	if len(G.loops) <= many {
		s, neg, pos, zero := k.signs(g, F.plane, b1[:0])
		if !zero && !(neg && pos) {
			return false
		}
		s1 = s
	}
	if len(F.loops) <= many {
		s, neg, pos, zero := k.signs(f, G.plane, b2[:0])
		if !zero && !(neg && pos) {
			return false
		}
		s2 = s
	}
	if s1 == nil || s2 == nil {
		return true
	}
	// Where the two sections of the common line lie; widened far beyond the
	// rounding of the ends.
	d := k.direction(F.plane, G.plane)
	l := math.Abs(d[0]) + math.Abs(d[1]) + math.Abs(d[2])
	if l == 0 {
		return false // parallel and apart
	}
	lo1, hi1 := k.reach(g, F.plane, s1, &d)
	lo2, hi2 := k.reach(f, G.plane, s2, &d)
	e := float64(l * 0.01)
	return lo1 <= hi2+e && lo2 <= hi1+e
}

// reach returns the interval of the line with direction d that face g covers
// where it meets plane p.
func (k *kernel) reach(g, p int32, s []int8, d *[3]float64) (lo, hi float64) {
	pl := &k.planes[p]
	lo, hi = math.Inf(1), math.Inf(-1)
	along := func(f *[3]float64) float64 { return float64(d[0]*f[0]) + float64(d[1]*f[1]) + float64(d[2]*f[2]) }
	at := func(f *[3]float64) (v, err float64) { // with the bound of side
		t0, t1, t2 := float64(pl.fa*f[0]), float64(pl.fb*f[1]), float64(pl.fc*f[2])
		return t0 + t1 + t2 + pl.fd, float64((math.Abs(t0) + math.Abs(t1) + math.Abs(t2) + math.Abs(pl.fd)) * 1e-15)
	}
	F := &k.faces[g]
	start := int32(0)
	for _, end := range F.ends {
		for i := start; i < end; i++ {
			j := i + 1
			if j == end {
				j = start
			}
			a := &k.pts[F.loops[i].pt].f
			if s[i] == 0 {
				t := along(a)
				lo, hi = min(lo, t), max(hi, t)
				continue
			}
			if s[j] == 0 || s[i] == s[j] {
				continue
			}
			b := &k.pts[F.loops[j].pt].f
			da, ea := at(a)
			db, eb := at(b)
			// Where planes are nearly parallel the crossing is known only
			// roughly; take all of the edge that it may lie on.
			w, dw := 0.5, 0.5
			if da != db {
				w = max(0, min(1, da/(da-db)))
				dw = float64(2*(ea+eb)) / math.Abs(da-db)
			}
			ta, tb := along(a), along(b)
			u, v := ta+float64(max(0, w-dw)*(tb-ta)), ta+float64(min(1, w+dw)*(tb-ta))
			lo, hi = min(lo, u, v), max(hi, u, v)
		}
		start = end
	}
	return lo, hi
}
