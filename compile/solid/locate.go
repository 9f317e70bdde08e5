package solid

// Where a point lies, by exact signs only.

const (
	outside = -1
	onIt    = 0
	inside  = 1
)

// inFace tells where a point of the plane of face f lies: inside, onIt (on
// the boundary) or outside.
func (k *kernel) inFace(f, v int32) int {
	F := &k.faces[f]
	i, j := k.axes(F.plane)
	return k.inPolygon(F, v, i, j)
}

// inPolygon is inFace in the projection to axes i, j.
func (k *kernel) inPolygon(F *face, v int32, i, j int) int {
	in, on := false, false
	F.each(func(c corner, next int32) {
		if on {
			return
		}
		if c.pt == v {
			on = true
			return
		}
		ca, cb := k.compare(v, c.pt, j), k.compare(v, next, j)
		if ca > 0 == (cb > 0) {
			if ca == 0 && cb == 0 && k.compare(c.pt, v, i) == k.compare(v, next, i) {
				on = true
			}
			return
		}
		switch k.turn(c.pt, next, v, i, j) {
		case 0:
			on = true
		case 1:
			if cb > 0 {
				in = !in
			}
		default:
			if cb <= 0 {
				in = !in
			}
		}
	})
	switch {
	case on:
		return onIt
	case in:
		return inside
	}
	return outside
}

// inLeaf tells where a point lies: inside leaf l, onIt (on its surface) or
// outside. It counts the faces that a ray along +x meets; the ray is shifted
// by an infinitesimal amount so that it never meets an edge.
func (k *kernel) inLeaf(l, v int32) int {
	L := &k.leaves[l]
	p := k.pts[v].f
	for c := range 3 {
		if p[c] < L.lo[c] || p[c] > L.hi[c] {
			return outside
		}
	}
	in := false
	for f := L.f0; f < L.f1; f++ {
		F := &k.faces[f]
		if p[1] < F.lo[1] || p[1] > F.hi[1] || p[2] < F.lo[2] || p[2] > F.hi[2] || p[0] > F.hi[0] {
			continue
		}
		s := k.side(v, F.plane)
		if s == 0 {
			if p[0] >= F.lo[0] && k.inFace(f, v) != outside {
				return onIt
			}
			continue
		}
		a := signOf(k.planes[F.plane].a)
		if a == 0 || s == a || !k.rayMeets(F, v) {
			continue // parallel, behind, or passed by
		}
		in = !in
	}
	if in {
		return inside
	}
	return outside
}

// rayMeets reports whether the ray from v along +x, moved by an infinitesimal
// step along +y and a smaller one along -z, passes through the projection of
// the polygon to the y, z plane.
func (k *kernel) rayMeets(F *face, v int32) bool {
	in := false
	F.each(func(c corner, next int32) {
		ca, cb := k.compare(v, c.pt, 2) >= 0, k.compare(v, next, 2) >= 0
		if ca == cb {
			return
		}
		t := k.turn(c.pt, next, v, 1, 2)
		if t == 0 {
			// On the edge: the step along +y puts the ray on the right of an
			// upward edge and on the left of a downward one.
			t = -1
			if !cb {
				t = 1
			}
		}
		if cb == (t > 0) {
			in = !in
		}
	})
	return in
}
