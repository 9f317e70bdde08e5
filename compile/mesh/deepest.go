package mesh

import (
	"math"

	"perch/compile/geom"
)

// Spacing of the points at which the depth of one body in another is measured.
const depthStep = 0.5 // mm

// Deepest returns how deep two closed bodies lie within each other: of the
// points of either surface that lie within the other body (the corners, and
// one for every half millimetre square, or wider so that there are no more
// than twenty thousand), the one farthest from the other's surface,
// with the way from it to there. Its length is 0 when the bodies are apart or
// just touch. TriA is of a and TriB of b.
func Deepest(a, b *Tree) Span {
	w := sinking{}
	w.look(a, b, false)
	w.look(b, a, true)
	return w.best
}

type sinking struct{ best Span }

// look measures the points of a that lie in b.
func (w *sinking) look(a, b *Tree, swapped bool) {
	if len(b.nodes) == 0 || len(b.order) == 0 {
		return
	}
	room := b.nodes[0].box
	step := max(depthStep, math.Sqrt(a.Mesh.Area()/enough))
	try := func(i int, p geom.Vec3) {
		if apart2(room, p) > 0 {
			return
		}
		// The best so far rules most points out before the costly question.
		if _, _, near := b.Nearest(p, w.best.Length+1e-6); near {
			return
		}
		j, q, inside := b.side(p)
		if !inside {
			return
		}
		w.best = Span{A: p, B: q, TriA: i, TriB: j, Length: q.Sub(p).Len()}
		if swapped {
			w.best.A, w.best.B, w.best.TriA, w.best.TriB = q, p, j, i
		}
	}
	done := make([]bool, len(a.Mesh.Vertices))
	for i, t := range a.Mesh.Triangles {
		box := geom.EmptyBox()
		for _, v := range t {
			box.Add(a.Mesh.Vertices[v])
		}
		if boxesApart(box, room) > 0 {
			continue
		}
		for _, v := range t {
			if !done[v] {
				done[v] = true
				try(i, a.Mesh.Vertices[v])
			}
		}
	}
	a.Mesh.Scatter(step, try)
}
