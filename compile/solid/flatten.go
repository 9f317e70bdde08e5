package solid

import (
	"fmt"
	"math"

	"perch/compile/geom"
)

// placed is one leaf of the flattened expression.
type placed struct {
	shape shape
	t     geom.Transform // from the leaf's own frame to the frame of the build
}

// member is a node of the flattened expression.
type member struct {
	op     op
	leaf   int32 // of opLeaf
	parent int32
	first  bool // first argument of its parent
	n      int32
	body   *Body // where the node comes from
}

// flat is an expression with its placements pushed down to the leaves.
type flat struct {
	leaves  []placed
	members []member // members[0] is the root; parents come before children
	frame   geom.Transform
}

// flatten lists the leaves and chooses the frame of the build: the turn that
// most leaves share, so that a body turned as a whole is built as if it were
// not, and its touching faces stay exactly flush. The frame sits on the first
// leaf of that turn, so that moving the body changes no rounding either.
func flatten(b *Body) *flat {
	f := &flat{}
	f.add(b, geom.Identity(), -1, false)
	f.chooseFrame()
	return f
}

func (f *flat) add(b *Body, t geom.Transform, parent int32, first bool) {
	for b.op == opPlace {
		t = b.t.Then(t)
		b = b.args[0]
	}
	id := int32(len(f.members))
	f.members = append(f.members, member{op: b.op, leaf: -1, parent: parent, first: first, n: int32(len(b.args)), body: b})
	if b.op == opLeaf {
		f.members[id].leaf = int32(len(f.leaves))
		f.leaves = append(f.leaves, placed{b.leaf, t})
		return
	}
	for i, a := range b.args {
		f.add(a, t, id, i == 0)
	}
}

func (f *flat) chooseFrame() {
	f.frame = geom.Identity()
	type class struct {
		geom.Transform // of its first leaf
		n              int
	}
	classes := []class{{Transform: f.frame}}
	for _, l := range f.leaves {
		found := false
		for i := range classes {
			if aligned(relative(classes[i].R, l.t.R)) {
				classes[i].n++
				found = true
				break
			}
		}
		if !found && len(classes) < 64 {
			classes = append(classes, class{l.t, 1})
		}
	}
	best := 0
	for i := range classes {
		if classes[i].n > classes[best].n {
			best = i
		}
	}
	if best == 0 {
		return
	}
	f.frame = classes[best].Transform
	if f.frame.Mirrors() { // keep the frame a right hand
		for i := range f.frame.R {
			f.frame.R[i].X = -f.frame.R[i].X
		}
	}
	back := geom.Transform{R: transpose(f.frame.R)}
	back.T = back.Dir(f.frame.T).Scale(-1)
	for i := range f.leaves {
		f.leaves[i].t = f.leaves[i].t.Then(back)
	}
}

func transpose(r [3]geom.Vec3) [3]geom.Vec3 {
	return [3]geom.Vec3{{X: r[0].X, Y: r[1].X, Z: r[2].X}, {X: r[0].Y, Y: r[1].Y, Z: r[2].Y}, {X: r[0].Z, Y: r[1].Z, Z: r[2].Z}}
}

// relative returns aᵀ·b.
func relative(a, b [3]geom.Vec3) [3]geom.Vec3 {
	return geom.Transform{R: b}.Then(geom.Transform{R: transpose(a)}).R
}

// aligned reports whether r only exchanges and flips axes. The allowance
// covers the rounding of a chain of turns, 1e-9 of 1 m being a tenth of a
// grid unit.
func aligned(r [3]geom.Vec3) bool {
	const near = 1e-9
	for _, row := range r {
		for _, v := range [3]float64{row.X, row.Y, row.Z} {
			if a := math.Abs(v); a > near && math.Abs(a-1) > near {
				return false
			}
		}
	}
	return true
}

// settle sets the length of endless leaves and returns the box round all
// leaves, in mm, in the frame of the build.
func (f *flat) settle(profiles *profiles) (geom.Box, error) {
	all := geom.EmptyBox()
	grow := func(l *placed) error {
		prof, err := profiles.of(l.shape)
		if err != nil {
			return err
		}
		b := l.shape.bounds(prof)
		if b.Empty() {
			return nil
		}
		for _, p := range b.Corners() {
			all.Add(l.t.Apply(p))
		}
		return nil
	}
	for i := range f.leaves {
		if p, ok := f.leaves[i].shape.(*prism); ok && p.endless {
			continue
		}
		if err := grow(&f.leaves[i]); err != nil {
			return all, err
		}
	}
	if all.Empty() {
		all.Add(geom.Vec3{})
	}
	finite := all
	for i := range f.leaves {
		l := &f.leaves[i]
		p, ok := l.shape.(*prism)
		if !ok || !p.endless {
			continue
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		axis := l.t.Dir(geom.Vec3{Z: 1})
		for _, q := range finite.Corners() {
			z := axis.Dot(q.Sub(l.t.T))
			lo, hi = min(lo, z), max(hi, z)
		}
		// Steps of 16 mm, so that a body that grows a little leaves it as it is,
		// and never flush with what it passes.
		l.shape = &prism{area: p.area, z0: 16 * math.Floor((lo-2)/16), z1: 16 * math.Ceil((hi+2)/16)}
		if err := grow(l); err != nil {
			return all, err
		}
	}
	for _, v := range []float64{all.Min.X, all.Min.Y, all.Min.Z, all.Max.X, all.Max.Y, all.Max.Z} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return all, fmt.Errorf("a size is not a finite number: %w", ErrTooLarge)
		}
	}
	return all, nil
}
