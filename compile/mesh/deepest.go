package mesh

import (
	"math"
	"slices"

	"perch/compile/boxtree"
	"perch/compile/geom"
)

// Spacing of the points at which the depth of one body in another is measured.
const (
	depthStep  = 0.5 // mm
	mostDepths = 1500
)

// Deepest returns how deep two closed bodies lie within each other: of the
// points of either surface that lie within the other body (the corners, and
// one for every half millimetre square, or wider so that there are no more
// than fifteen hundred where the bodies can meet), the one farthest from the
// other's surface, with the way from it to there. Its length is 0 when the
// bodies are apart or just touch; that is exact. TriA is of a and TriB of b.
func Deepest(a, b *Tree) Span {
	w := sinking{}
	if s, ok := Between(a, b); ok && s.Length > meeting && !b.Inside(s.A) && !a.Inside(s.B) {
		return w.best // apart, and neither is within the other
	}
	w.look(a, b, false)
	w.look(b, a, true)
	return w.best
}

type sinking struct {
	of, in  *Tree
	swapped bool
	best    Span
}

// look measures the points of a that lie in b.
func (w *sinking) look(a, b *Tree, swapped bool) {
	if len(a.order) == 0 || len(b.order) == 0 {
		return
	}
	w.of, w.in, w.swapped = a, b, swapped
	room := b.nodes[0].Box
	met := w.within(0, room, nil)
	slices.Sort(met) // the order of the tree is none to tell places by
	done := make([]bool, len(a.Mesh.Vertices))
	area := 0.0
	for _, i := range met {
		p, q, r := a.Mesh.Corners(int(i))
		area += q.Sub(p).Cross(r.Sub(p)).Len() / 2
		for _, v := range a.Mesh.Triangles[i] {
			if p := a.Mesh.Vertices[v]; !done[v] {
				done[v] = true
				if apart2(room, p) == 0 {
					w.try(int(i), p)
				}
			}
		}
	}
	// Narrow triangles share points, so that their number does not grow with
	// how finely the surface is divided.
	step := max(depthStep, math.Sqrt(area/mostDepths))
	quota, due := float64(step*step), 0.0
	for _, i := range met {
		a.Mesh.Patches(int(i), step, room, func(p geom.Vec3, area float64) {
			if due += area; due >= quota/2 {
				due -= quota
				if apart2(room, p) == 0 {
					w.try(int(i), p)
				}
			}
		})
	}
}

// within lists the triangles that may reach into the box.
func (w *sinking) within(n int32, room geom.Box, out []int32) []int32 {
	d := &w.of.nodes[n]
	if !boxtree.Overlap(&d.Box, &room) {
		return out
	}
	if d.Left != 0 {
		return w.within(d.Left+1, room, w.within(d.Left, room, out))
	}
	for _, i := range w.of.order[d.From:d.To] {
		if cornersApart(w.of.corners(int(i)), room) == 0 {
			out = append(out, i)
		}
	}
	return out
}

// try measures one point, and takes it when it is deeper than the best.
func (w *sinking) try(i int, p geom.Vec3) {
	// The best so far rules most points out before the costly question.
	if _, _, near := w.in.Nearest(p, w.best.Length+noWay); near {
		return
	}
	if j, q, inside := w.in.side(p); inside {
		w.take(i, j, p, q)
	}
}

func (w *sinking) take(i, j int, p, q geom.Vec3) {
	w.best = Span{A: p, B: q, TriA: i, TriB: j, Length: q.Sub(p).Len()}
	if w.swapped {
		w.best.A, w.best.B, w.best.TriA, w.best.TriB = q, p, j, i
	}
}
