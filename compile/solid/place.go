package solid

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"math"
	"slices"
)

// leafKey is the sum of all that a leaf on the grid is made from; the zero key
// stands for a leaf that has none.
type leafKey [sha256.Size]byte

// keyed is a shape that tells what it is made from besides its profile:
// numbers, printed in full, and the profiles of further areas.
type keyed interface {
	inputs(tolerance float64) (numbers any, more []Profile, err error)
}

func (p *prism) inputs(float64) (any, []Profile, error) { return [2]float64{p.z0, p.z1}, nil, nil }
func (t *turned) inputs(float64) (any, []Profile, error) {
	return [2]float64{t.angle, float64(t.sides)}, nil, nil
}
func (h *helix) inputs(float64) (any, []Profile, error) { return *h, nil, nil }
func (w *wrap) inputs(float64) (any, []Profile, error) {
	return [3]float64{w.radius, w.in, w.out}, nil, nil
}
func (e *shaped) inputs(float64) (any, []Profile, error) {
	return struct {
		z0, z1 float64
		Shaping
	}{e.z0, e.z1, e.Shaping}, nil, nil
}
func (l *loft) inputs(tol float64) (any, []Profile, error) {
	b, err := l.b(tol)
	return [2]float64{l.z0, l.z1}, []Profile{b}, err
}

// keyOf returns the key of a leaf.
func keyOf(s shape, g *grid, prof Profile, tol float64) (key leafKey, err error) {
	k, ok := s.(keyed)
	if !ok {
		return key, nil
	}
	numbers, more, err := k.inputs(tol)
	if err != nil {
		return key, err
	}
	h := sha256.New()
	fmt.Fprintf(h, "%T %#v", s, numbers)
	w := sumWriter{Hash: h}
	w.float(tol)
	for i, r := range g.t.R {
		t := [3]float64{g.t.T.X - g.origin.X, g.t.T.Y - g.origin.Y, g.t.T.Z - g.origin.Z}[i]
		w.float(r.X, r.Y, r.Z, t)
	}
	for _, p := range append([]Profile{prof}, more...) {
		w.profile(p)
	}
	w.flush()
	h.Sum(key[:0])
	return key, nil
}

// sumWriter writes numbers to a hash, many at a time.
type sumWriter struct {
	hash.Hash
	buf []byte
}

func (w *sumWriter) float(vs ...float64) {
	for _, v := range vs {
		w.buf = binary.LittleEndian.AppendUint64(w.buf, math.Float64bits(v))
	}
	if len(w.buf) >= 4096 {
		w.flush()
	}
}

func (w *sumWriter) profile(p Profile) {
	w.float(float64(len(p)))
	for _, r := range p {
		w.float(float64(len(r)))
		for _, v := range r {
			w.float(v.X, v.Y)
		}
	}
}

func (w *sumWriter) flush() {
	w.Write(w.buf)
	w.buf = w.buf[:0]
}

// place puts every leaf on the grid and marks the faces as stale that do not
// stand as they stood in the body before. Aligned leaves come first, so that
// leaves at odd angles find their planes. Leaves that the body before had as
// well keep their faces; it returns those that are fresh, and those that are
// gone.
func (k *kernel) place(ctx context.Context, p *plan) (fresh, gone []int32, err error) {
	k.tilted, k.buckets = false, map[int64][]int32{}
	var order []int32
	for pass := range 2 {
		for i := range p.leaves {
			if aligned(p.leaves[i].t.R) == (pass == 0) {
				order = append(order, int32(i))
				k.tilted = k.tilted || pass == 1
			}
		}
	}
	before, old := k.live, map[leafKey][]int32{}
	oldMembers, wasAt := k.members, make([]int32, len(k.leaves))
	for _, l := range before {
		L := &k.leaves[l]
		old[L.key] = append(old[L.key], l)
		wasAt[l], L.at = L.at, -1
	}
	delete(old, leafKey{})
	k.reserveFor(p, old)
	k.live = make([]int32, 0, len(order))
	to := make([]int32, len(order))
	for n, i := range order {
		if n&15 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, nil, err
			}
		}
		id, isOld, err := k.placeLeaf(p, i, old)
		if err != nil {
			return nil, nil, err
		}
		if !isOld {
			fresh = append(fresh, id)
		}
		k.leaves[id].at = int32(n)
		k.live = append(k.live, id)
		to[i] = id
	}
	k.members = slices.Clone(p.members)
	for i := range k.members {
		if m := &k.members[i]; m.op == opLeaf {
			m.leaf = to[m.leaf]
		}
	}
	for _, l := range before {
		if k.leaves[l].at < 0 {
			gone = append(gone, l)
		}
	}
	stays := func(l int32) bool { return int(l) < len(wasAt) && k.leaves[l].at >= 0 }
	staying := slices.DeleteFunc(slices.Clone(k.live), func(l int32) bool { return !stays(l) })
	inOrder := slices.IsSortedFunc(staying, func(a, b int32) int { return int(wasAt[a] - wasAt[b]) })
	if !inOrder || !slices.Equal(without(oldMembers, stays), without(k.members, stays)) {
		k.eachFace(func(_ int32, F *face) { F.stale = true })
		return fresh, gone, nil
	}
	k.markStale(fresh, gone)
	return fresh, gone, nil
}

// counted is a shape that tells beforehand about how many points and faces it
// has on the grid.
type counted interface {
	count(p Profile, tolerance float64) (points, faces int)
}

// reserveFor makes room for the leaves that are not known from before.
func (k *kernel) reserveFor(p *plan, old map[leafKey][]int32) {
	points, faces := 0, 0
	for i := range p.leaves {
		c, ok := p.leaves[i].shape.(counted)
		if !ok || p.keys != nil && len(old[p.keys[i]]) > 0 {
			continue
		}
		if prof, err := p.profiles.of(p.leaves[i].shape); err == nil {
			n, f := c.count(prof, p.profiles.tol)
			points, faces = points+n, faces+f
		}
	}
	k.reserve(points, faces)
	k.faces = slices.Grow(k.faces, faces)
	k.leaves = slices.Grow(k.leaves, len(p.leaves))
}

// placeLeaf returns the number of a leaf, and whether the body before had it.
// A prism at an odd angle depends on the planes that it finds, so it is made
// anew and then compared.
func (k *kernel) placeLeaf(p *plan, i int32, old map[leafKey][]int32) (id int32, isOld bool, err error) {
	l := &p.leaves[i]
	g := &grid{t: l.t, origin: p.origin}
	prof, err := p.profiles.of(l.shape)
	if err != nil {
		return 0, false, err
	}
	var key leafKey
	if p.keys != nil {
		key = p.keys[i]
	}
	_, upright := l.shape.(*prism)
	adopts := upright && !aligned(l.t.R)
	known := old[key]
	if len(known) > 0 && !adopts {
		old[key] = known[1:]
		if L := &k.leaves[known[0]]; upright {
			k.registerPrism(L.f0, L.f1)
		}
		return known[0], true, nil
	}
	id, base := int32(len(k.leaves)), int32(len(k.faces))
	if err := l.shape.build(k, g, prof, p.profiles.tol); err != nil {
		return 0, false, err
	}
	if len(k.leaves) == int(id) { // nothing of it is left on the grid
		k.closeLeaf(base)
	}
	if len(known) > 0 && k.sameFaces(known[0], id) {
		old[key] = known[1:]
		k.leaves, k.faces = k.leaves[:id], k.faces[:base]
		return known[0], true, nil
	}
	k.leaves[id].key = key
	for f := base; f < int32(len(k.faces)); f++ {
		k.faces[f].stale = true
	}
	return id, false, nil
}

// sameFaces reports whether two leaves have the same faces.
func (k *kernel) sameFaces(a, b int32) bool {
	A, B := &k.leaves[a], &k.leaves[b]
	shift := B.f0 - A.f0
	return slices.EqualFunc(k.faces[A.f0:A.f1], k.faces[B.f0:B.f1], func(f, g face) bool {
		return f.plane == g.plane && f.sign == g.sign && slices.Equal(f.ends, g.ends) &&
			slices.EqualFunc(f.loops, g.loops, func(c, d corner) bool { return c.pt == d.pt && c.across+shift == d.across })
	})
}

// markStale marks the faces that a leaf which is fresh or gone comes near.
func (k *kernel) markStale(fresh, gone []int32) {
	isFresh := map[int32]bool{}
	for _, l := range fresh {
		isFresh[l] = true
	}
	changed := slices.Concat(fresh, gone)
	var near []int32
	for _, l := range k.live {
		if isFresh[l] {
			continue
		}
		L := &k.leaves[l]
		near = near[:0]
		for _, c := range changed {
			if C := &k.leaves[c]; overlap(&L.lo, &L.hi, &C.lo, &C.hi) {
				near = append(near, c)
			}
		}
		for f := L.f0; f < L.f1 && len(near) > 0; f++ {
			F := &k.faces[f]
			F.stale = slices.ContainsFunc(near, func(c int32) bool {
				C := &k.leaves[c]
				return overlap(&F.lo, &F.hi, &C.lo, &C.hi)
			})
		}
	}
}

// without writes down what is left of an expression when the leaves that do
// not stay hold nothing: where they do, two expressions with the same rest
// are the same.
func without(members []member, stays func(int32) bool) []int32 {
	if len(members) == 0 {
		return nil
	}
	children := make([][]int32, len(members))
	for i, m := range members {
		if m.parent >= 0 {
			children[m.parent] = append(children[m.parent], int32(i))
		}
	}
	var rest func(i int32) []int32 // nil: nothing
	rest = func(i int32) []int32 {
		m := &members[i]
		if m.op == opLeaf {
			if stays(m.leaf) {
				return []int32{m.leaf}
			}
			return nil
		}
		var args [][]int32
		for n, c := range children[i] {
			a := rest(c)
			if a == nil {
				if m.op == opTrim || m.op == opCut && n == 0 {
					return nil
				}
				continue
			}
			args = append(args, a)
		}
		switch len(args) {
		case 0:
			return nil
		case 1:
			return args[0]
		}
		return slices.Concat([]int32{-1 - int32(m.op)}, slices.Concat(args...), []int32{-100})
	}
	return rest(0)
}
