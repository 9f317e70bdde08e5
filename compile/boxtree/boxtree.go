// Package boxtree finds what lies near what: a tree of axis-parallel boxes over
// numbered things, such as the triangles of a mesh or the faces of a body.
package boxtree

import (
	"cmp"
	"math/bits"
	"slices"

	"perch/compile/geom"
)

// Tree is a tree of boxes over the things 0 to n-1. Nodes[0] is the root, with
// an empty box when n is 0.
type Tree struct {
	Nodes []Node
	Order []int32    // things, leaf by leaf
	boxes []geom.Box // in that order
}

// Node has its children at Left and Left+1; a leaf has Left 0. It holds the
// things Order[From:To].
type Node struct {
	Box            geom.Box
	Left, From, To int32
}

// leafSize is the most that a leaf holds, unless more have one centre.
const leafSize = 4

// New returns the tree over boxes, which takes about as long as sorting them:
// the centres are put in the order of a curve that fills space, and nodes are
// the pieces of the curve in ever smaller cubes (T. Karras, Maximizing
// parallelism in the construction of BVHs, octrees, and k-d trees, 2012; the
// curve is that of G. M. Morton, 1966).
func New(boxes []geom.Box) *Tree {
	if len(boxes) == 0 {
		return &Tree{Nodes: []Node{{Box: geom.EmptyBox()}}}
	}
	n := len(boxes)
	b := builder{boxes: make([]geom.Box, n), codes: codesOf(boxes)}
	b.t = &Tree{Nodes: make([]Node, 1, 2+n*3/4), Order: make([]int32, n), boxes: b.boxes}
	sortCodes(b.codes)
	for i, c := range b.codes {
		b.t.Order[i] = c.thing
		b.boxes[i] = boxes[c.thing]
	}
	b.t.Nodes[0] = Node{To: int32(len(boxes))}
	b.grow(0)
	return b.t
}

// coded is a thing with the place of its centre along the curve.
type coded struct {
	code  uint64
	thing int32
}

// codesOf cuts space into cubes, 2^16 along the longest side of the box round
// all centres.
func codesOf(boxes []geom.Box) []coded {
	all := geom.EmptyBox()
	for i := range boxes {
		all.Add(boxes[i].Min.Add(boxes[i].Max))
	}
	size := all.Size()
	scale := 0.0
	if s := max(size.X, size.Y, size.Z); s > 0 {
		scale = (1<<16 - 1) / s
	}
	codes := make([]coded, len(boxes))
	for i := range boxes {
		p := boxes[i].Min.Add(boxes[i].Max).Sub(all.Min).Scale(scale)
		codes[i] = coded{spread(p.X)<<2 | spread(p.Y)<<1 | spread(p.Z), int32(i)}
	}
	return codes
}

// spread puts two zero bits before each of the 16 bits of v.
func spread(v float64) uint64 {
	x := uint64(v)
	x = (x | x<<16) & 0x0000ff0000ff
	x = (x | x<<8) & 0x00f00f00f00f
	x = (x | x<<4) & 0x0c30c30c30c3
	x = (x | x<<2) & 0x249249249249
	return x
}

// sortCodes sorts by code, then thing: when they are many, bucket by bucket from
// the lowest digits up, which keeps the order of equal ones.
func sortCodes(codes []coded) {
	const digit, digits = 12, 4
	if len(codes) < 1<<digit/4 {
		slices.SortFunc(codes, func(a, b coded) int { return cmp.Or(cmp.Compare(a.code, b.code), cmp.Compare(a.thing, b.thing)) })
		return
	}
	other := make([]coded, len(codes))
	for d := range digits {
		var start [1 << digit]int32
		at := func(c coded) uint64 { return c.code >> (digit * d) & (1<<digit - 1) }
		for _, c := range codes {
			start[at(c)]++
		}
		sum := int32(0)
		for i, n := range start {
			start[i] = sum
			sum += n
		}
		for _, c := range codes {
			a := at(c)
			other[start[a]] = c
			start[a]++
		}
		codes, other = other, codes
	}
}

type builder struct {
	t     *Tree
	boxes []geom.Box // in the order of the codes, as codes
	codes []coded
}

// grow divides node n where the highest bit of the codes changes.
func (b *builder) grow(n int32) {
	from, to := b.t.Nodes[n].From, b.t.Nodes[n].To
	if to-from <= leafSize {
		box := b.boxes[from]
		for i := from + 1; i < to; i++ {
			box = join(box, b.boxes[i])
		}
		b.t.Nodes[n].Box = box
		return
	}
	mid := (from + to) / 2
	if diff := b.codes[from].code ^ b.codes[to-1].code; diff != 0 {
		bit := uint64(1) << (bits.Len64(diff) - 1)
		lo, hi := from, to-1 // lo has the bit not, hi has it
		for lo+1 < hi {
			if m := (lo + hi) / 2; b.codes[m].code&bit != 0 {
				hi = m
			} else {
				lo = m
			}
		}
		mid = hi
	}
	left := int32(len(b.t.Nodes))
	b.t.Nodes = append(b.t.Nodes, Node{From: from, To: mid}, Node{From: mid, To: to})
	b.t.Nodes[n].Left = left
	b.grow(left)
	b.grow(left + 1)
	b.t.Nodes[n].Box = join(b.t.Nodes[left].Box, b.t.Nodes[left+1].Box)
}

func join(a, b geom.Box) geom.Box {
	return geom.Box{
		Min: geom.Vec3{X: min(a.Min.X, b.Min.X), Y: min(a.Min.Y, b.Min.Y), Z: min(a.Min.Z, b.Min.Z)},
		Max: geom.Vec3{X: max(a.Max.X, b.Max.X), Y: max(a.Max.Y, b.Max.Y), Z: max(a.Max.Z, b.Max.Z)},
	}
}

// Overlap reports whether two boxes have a point in common.
func Overlap(a, b *geom.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X &&
		a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y &&
		a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}

// Pairs calls do for every thing of t and thing of u whose boxes overlap, until
// do returns false.
func (t *Tree) Pairs(u *Tree, do func(i, j int32) bool) {
	(&descent{t, u, do}).cross(0, 0)
}

// At calls do for every thing whose box holds a point.
func (t *Tree) At(p geom.Vec3, do func(i int32)) {
	b := geom.Box{Min: p, Max: p}
	var room [64]int32
	stack := append(room[:0], 0)
	for len(stack) > 0 {
		n := &t.Nodes[stack[len(stack)-1]]
		stack = stack[:len(stack)-1]
		if !Overlap(&n.Box, &b) {
			continue
		}
		if n.Left != 0 {
			stack = append(stack, n.Left+1, n.Left)
			continue
		}
		for i := n.From; i < n.To; i++ {
			if Overlap(&t.boxes[i], &b) {
				do(t.Order[i])
			}
		}
	}
}

// SelfPairs is Pairs for two different things of one tree.
func (t *Tree) SelfPairs(do func(i, j int32) bool) {
	(&descent{t, t, do}).self(0)
}

// descent goes down two trees; its methods return false to stop.
type descent struct {
	t, u *Tree
	do   func(i, j int32) bool
}

func (d *descent) self(n int32) bool {
	N := &d.t.Nodes[n]
	if N.Left != 0 {
		return d.self(N.Left) && d.self(N.Left+1) && d.cross(N.Left, N.Left+1)
	}
	for i := N.From; i < N.To; i++ {
		for j := i + 1; j < N.To; j++ {
			if Overlap(&d.t.boxes[i], &d.t.boxes[j]) && !d.do(d.t.Order[i], d.t.Order[j]) {
				return false
			}
		}
	}
	return true
}

func (d *descent) cross(m, n int32) bool {
	M, N := &d.t.Nodes[m], &d.u.Nodes[n]
	if !Overlap(&M.Box, &N.Box) {
		return true
	}
	switch {
	case M.Left == 0 && N.Left == 0:
		for i := M.From; i < M.To; i++ {
			if !Overlap(&d.t.boxes[i], &N.Box) {
				continue
			}
			for j := N.From; j < N.To; j++ {
				if Overlap(&d.t.boxes[i], &d.u.boxes[j]) && !d.do(d.t.Order[i], d.u.Order[j]) {
					return false
				}
			}
		}
		return true
	case N.Left == 0 || M.Left != 0 && girth(&M.Box) > girth(&N.Box):
		return d.cross(M.Left, n) && d.cross(M.Left+1, n)
	}
	return d.cross(m, N.Left) && d.cross(m, N.Left+1)
}

func girth(b *geom.Box) float64 { return b.Max.X - b.Min.X + b.Max.Y - b.Min.Y + b.Max.Z - b.Min.Z }
