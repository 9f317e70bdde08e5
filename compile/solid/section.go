package solid

import "slices"

// seg is a piece of the line where a face g of another leaf meets the plane
// of the face being divided. It runs along direction(p, q), q the plane of g.
//
// A plane is looked at from both sides: the section of a leaf by the plane
// moved up an infinitesimal step, and moved down. A face that crosses the
// plane gives both sections the same piece; one that only touches it gives
// it to one section or none.
type seg struct {
	a, b  int32 // ends, as points or farEnd
	q     int32
	leaf  int32
	face  int32
	up    bool // bounds the section just above p (towards its stored normal)
	down  bool // bounds the section just below p
	left  bool // the leaf lies on the left of a→b, next to g
	cover int8 // a face of the leaf in p itself continues g: +1 on the left of a→b, -1 on the right, 0 none
	above bool // with cover: the leaf lies above that face
}

// farEnd stands for the end, in the direction way, of a piece of the line where
// plane q is met that lies beyond the box of the face being divided: where it
// is does not matter there, and the piece is taken to go on for ever.
func farEnd(q int32, way int) int32 { return ^(2*q + int32(way+1)/2) }

func isFar(v int32) bool { return v < 0 }

// section appends the pieces where face g meets the plane p of face f, those
// that come near f, and reports whether a corner of g lies in the plane.
func (k *kernel) section(g, f int32, out []seg) ([]seg, bool) {
	p := k.faces[f].plane
	var buf [64]int8
	s, neg, pos, zero := k.signs(g, p, buf[:0])
	if !zero && !(neg && pos) {
		return out, false
	}
	G := &k.faces[g]
	q := G.plane
	d := k.direction(p, q)
	piece := seg{q: q, leaf: G.leaf, face: g, left: G.sign > 0}
	var xbuf [2][16]int32
	if !zero {
		piece.up, piece.down = true, true
		if ends, ok := k.twoCrossings(g, s); ok {
			if k.crossEnd(&piece.a, g, f, ends[0], &d, -1) && k.crossEnd(&piece.b, g, f, ends[1], &d, 1) && piece.a != piece.b {
				out = append(out, piece)
			}
			return out, false
		}
		x := k.crossings(g, p, q, s, -1, xbuf[0][:0])
		k.sortAlong(&d, x)
		for i := 0; i+1 < len(x); i += 2 {
			if x[i] != x[i+1] {
				piece.a, piece.b = x[i], x[i+1]
				out = append(out, piece)
			}
		}
		return out, false
	}
	// Corners on the plane count as below it for the upper section and as
	// above it for the lower one.
	up := k.crossings(g, p, q, s, -1, xbuf[0][:0])
	down := k.crossings(g, p, q, s, +1, xbuf[1][:0])
	k.sortAlong(&d, up)
	k.sortAlong(&d, down)
	first := len(out)
	i, j := 0, 0
	prev := int32(-1)
	for i < len(up) || j < len(down) {
		var v int32
		fromUp := j >= len(down) || i < len(up) && k.order(&d, up[i], down[j]) >= 0
		if fromUp {
			v = up[i]
		} else {
			v = down[j]
		}
		if (piece.up || piece.down) && prev != v {
			piece.a, piece.b = prev, v
			out = append(out, piece)
		}
		if fromUp {
			piece.up = !piece.up
			i++
		} else {
			piece.down = !piece.down
			j++
		}
		prev = v
	}
	if len(out) > first {
		out = k.splitAtCorners(g, s, out, first, &d)
		k.findCover(g, p, s, out[first:], &d)
	}
	return out, true
}

// twoCrossings returns the edges of g, by their numbers in loops, that lead
// through a plane, when there are just two: the one where the common line
// begins, then the one where it ends. Its direction is normal(p)×normal(q).
func (k *kernel) twoCrossings(g int32, s []int8) (e [2]int32, ok bool) {
	G := &k.faces[g]
	n := 0
	start := int32(0)
	for _, end := range G.ends {
		for i := start; i < end; i++ {
			j := i + 1
			if j == end {
				j = start
			}
			if s[i] == s[j] {
				continue
			}
			if n++; n > 2 {
				return e, false
			}
			// With interior on the left, going up through p leaves it behind
			// against the line where g has the normal of q.
			if (s[i] < 0) == (G.sign > 0) {
				e[1] = i
			} else {
				e[0] = i
			}
		}
		start = end
	}
	return e, true
}

// crossEnd finds the end of a piece where edge i of g passes the plane of f:
// the end in the direction way·d. It reports false when the whole piece lies
// apart from the box of f.
func (k *kernel) crossEnd(end *int32, g, f, i int32, d *[3]float64, way int) bool {
	G, F := &k.faces[g], &k.faces[f]
	j := i + 1
	for n, e := range G.ends {
		if j == e {
			j = 0
			if n > 0 {
				j = G.ends[n-1]
			}
			break
		}
	}
	v, w := G.loops[i].pt, G.loops[j].pt
	a, b := &k.pts[v].f, &k.pts[w].f
	for c := range 3 {
		off := 0 // where the edge lies off the box
		if min(a[c], b[c]) > F.hi[c] {
			off = 1
		} else if max(a[c], b[c]) < F.lo[c] {
			off = -1
		}
		if off == 0 {
			continue
		}
		if off*signOf(d[c])*way > 0 { // the box comes before this end
			*end = farEnd(G.plane, way)
			return true
		}
		return false
	}
	*end = k.meetEdge(F.plane, G.plane, k.faces[G.loops[i].across].plane, v, w)
	return true
}

// splitAtCorners cuts the pieces from first on at corners of g that lie
// between their ends, so that each piece on the boundary of g is one edge.
func (k *kernel) splitAtCorners(g int32, s []int8, out []seg, first int, d *[3]float64) []seg {
	for i, c := range k.faces[g].loops {
		if s[i] != 0 {
			continue
		}
		for x := first; x < len(out); x++ {
			if k.order(d, out[x].a, c.pt) > 0 && k.order(d, c.pt, out[x].b) > 0 {
				rest := out[x]
				rest.a, out[x].b = c.pt, c.pt
				out = append(out, rest)
				break
			}
		}
	}
	return out
}

// crossings lists where the boundary of g passes plane p, with corners on the
// plane taken to lie on the side zeroAs.
func (k *kernel) crossings(g, p, q int32, s []int8, zeroAs int8, x []int32) []int32 {
	G := &k.faces[g]
	start := int32(0)
	for _, end := range G.ends {
		for i := start; i < end; i++ {
			j := i + 1
			if j == end {
				j = start
			}
			a, b := s[i], s[j]
			if a == 0 {
				a = zeroAs
			}
			if b == 0 {
				b = zeroAs
			}
			switch {
			case a == b:
			case s[i] == 0:
				x = append(x, G.loops[i].pt)
			case s[j] == 0:
				x = append(x, G.loops[j].pt)
			default:
				x = append(x, k.meet(p, q, k.faces[G.loops[i].across].plane))
			}
		}
		start = end
	}
	return x
}

func (k *kernel) sortAlong(d *[3]float64, x []int32) {
	switch {
	case len(x) == 2:
		if k.order(d, x[0], x[1]) < 0 {
			x[0], x[1] = x[1], x[0]
		}
	case len(x) > 2:
		slices.SortFunc(x, func(v, w int32) int { return -k.order(d, v, w) })
	}
}

// findCover marks the pieces that are an edge of g with a face in p on its
// other side.
func (k *kernel) findCover(g, p int32, s []int8, pieces []seg, d *[3]float64) {
	G := &k.faces[g]
	start := int32(0)
	for _, end := range G.ends {
		for i := start; i < end; i++ {
			j := i + 1
			if j == end {
				j = start
			}
			n := &k.faces[G.loops[i].across]
			if s[i] != 0 || s[j] != 0 || n.plane != p {
				continue
			}
			// g runs v→w here, so its neighbour runs w→v and, seen against
			// its outward normal, lies to the left of w→v.
			v, w := G.loops[i].pt, G.loops[j].pt
			cover := int8(-1)
			if n.sign < 0 {
				cover = 1
			}
			if k.order(d, v, w) < 0 {
				v, w = w, v
				cover = -cover
			}
			for x := range pieces {
				if pieces[x].a == v && pieces[x].b == w {
					pieces[x].cover = cover
					pieces[x].above = n.sign < 0
				}
			}
		}
		start = end
	}
}
