package solid

import (
	"math"
	"slices"
)

// bridgeHoles joins every hole to the outer loop by a double edge.
func (t *triangulator) bridgeHoles(start int32, holes [][]int32) {
	if len(holes) == 0 {
		return
	}
	type entry struct{ node, first, end int32 }
	var queue []entry
	for _, h := range holes {
		s := t.addLoop(h)
		m := s
		for i := s; i < s+int32(len(h)); i++ {
			t.nodes[i].apart = true
			if t.before(t.nodes[i].pt, t.nodes[m].pt) {
				m = i
			}
		}
		queue = append(queue, entry{m, s, s + int32(len(h))})
	}
	slices.SortStableFunc(queue, func(p, q entry) int {
		a, b := t.nodes[p.node].pt, t.nodes[q.node].pt
		switch {
		case a == b:
			return 0
		case t.before(a, b):
			return -1
		}
		return 1
	})
	t.chain.fill(t.nodes)
	for _, e := range queue {
		h := e.node
		b := t.visible(h, start)
		// A hole may pass its left-most corner more than once: take the
		// passage on whose side b lies.
		for i := e.first; i < e.end; i++ {
			if t.nodes[i].pt == t.nodes[h].pt && t.locally(i, b) {
				h = i
				break
			}
		}
		for i := e.first; i < e.end; i++ {
			t.nodes[i].apart = false
		}
		b2 := int32(len(t.nodes))
		h2 := b2 + 1
		t.nodes = append(t.nodes, t.nodes[b], t.nodes[h])
		bn, hp := t.nodes[b].next, t.nodes[h].prev
		t.nodes[b].next, t.nodes[h].prev = h, b
		t.nodes[hp].next, t.nodes[h2].prev = h2, hp
		t.nodes[h2].next, t.nodes[b2].prev = b2, h2
		t.nodes[b2].next, t.nodes[bn].prev = bn, b2
		for _, v := range [2]int32{b2, h2} {
			t.chain.addCorner(t.nodes, v)
			t.chain.addEdge(t.nodes, v)
		}
		t.chain.addEdge(t.nodes, b)
	}
}

// chainIndex finds corners and edges by place: corners by square cells, edges
// by rows, under the node that they start at. Holes not yet joined stand in it
// Nothing is taken out: an
// edge that has got another end stands in rows that it no longer passes.
type chainIndex struct {
	x0, y0 float64
	cell   float64
	w, h   int
	heads  []int32   // corners, linked by gridNext
	rows   [][]int32 // rowsPerCell to a row of cells
}

const rowsPerCell = 4

func (c *chainIndex) fill(nodes []earNode) {
	x1, y1 := math.Inf(-1), math.Inf(-1)
	c.x0, c.y0 = math.Inf(1), math.Inf(1)
	for i := range nodes {
		n := &nodes[i]
		c.x0, c.y0, x1, y1 = min(c.x0, n.x), min(c.y0, n.y), max(x1, n.x), max(y1, n.y)
	}
	wide, high := x1-c.x0+1, y1-c.y0+1
	c.cell = max(math.Sqrt(wide*high/float64(len(nodes))), wide/float64(len(nodes)), high/float64(len(nodes)))
	c.w, c.h = int(wide/c.cell)+1, int(high/c.cell)+1
	c.heads = resize(c.heads, c.w*c.h)
	for i := range c.heads {
		c.heads[i] = -1
	}
	for len(c.rows) < c.h*rowsPerCell {
		c.rows = append(c.rows, nil)
	}
	for i := range c.rows {
		c.rows[i] = c.rows[i][:0]
	}
	for i := range nodes {
		c.addCorner(nodes, int32(i))
		c.addEdge(nodes, int32(i))
	}
}

func within(v float64, n int) int { return max(0, min(n-1, int(v))) }

func (c *chainIndex) addCorner(nodes []earNode, v int32) {
	n := &nodes[v]
	at := within((n.y-c.y0)/c.cell, c.h)*c.w + within((n.x-c.x0)/c.cell, c.w)
	n.gridNext, c.heads[at] = c.heads[at], v
}

func (c *chainIndex) row(y float64) int {
	return within((y-c.y0)/c.cell*rowsPerCell, c.h*rowsPerCell)
}

// addEdge puts the edge that starts at v into the rows that it passes, and one
// unit more, when it runs downward or level.
func (c *chainIndex) addEdge(nodes []earNode, v int32) {
	y0, y1 := nodes[v].y, nodes[nodes[v].next].y
	if y1 > y0+1 {
		return // firstHit does not look at it
	}
	for r := c.row(y1 - 2); r <= c.row(y0+2); r++ {
		c.rows[r] = append(c.rows[r], v)
	}
}

// corners calls do for the corners in a box, and others nearby.
func (c *chainIndex) corners(nodes []earNode, x0, y0, x1, y1 float64, do func(v int32)) {
	for y := within((y0-c.y0)/c.cell, c.h); y <= within((y1-c.y0)/c.cell, c.h); y++ {
		for x := within((x0-c.x0)/c.cell, c.w); x <= within((x1-c.x0)/c.cell, c.w); x++ {
			for v := c.heads[y*c.w+x]; v >= 0; v = nodes[v].gridNext {
				do(v)
			}
		}
	}
}

// visible returns a corner of the chain from start that can be joined to h,
// the left-most corner of a hole, without crossing the chain: an end of the
// edge that the ray from h to the left meets first, or the corner nearest in
// angle to the ray among those that hide it (D. Eberly, Triangulation by Ear
// Clipping, section 3).
func (t *triangulator) visible(h, start int32) int32 {
	e, end, x := t.firstHit(h)
	if e < 0 {
		return start
	}
	level := func(p int32) int { return t.s.compare(t.nodes[h].pt, t.nodes[p].pt, t.j) }
	above := level(end)
	H, E := t.nodes[h], t.nodes[end]
	if above == 0 {
		return t.nearestLevel(h, end)
	}
	// Corners in the triangle between the ray, the edge and the line to end.
	found := end
	seen := t.locally(end, h)
	next := t.nodes[e].next
	t.chain.corners(t.nodes, min(x, E.x)-1, min(H.y, E.y)-1, H.x+1, max(H.y, E.y)+1, func(p int32) {
		Q := &t.nodes[p]
		if !Q.apart && p != end && Q.x <= H.x+1 && level(p) != -above && t.s.compare(Q.pt, H.pt, t.i) > 0 &&
			t.turn(h, end, p)*above >= 0 && t.turn(e, next, p) >= 0 && t.locally(p, h) {
			angle := t.turn(h, found, p) * above
			if !seen || angle > 0 || angle == 0 && t.s.compare(t.nodes[found].pt, Q.pt, t.i) > 0 {
				found, seen = p, true
			}
		}
	})
	return found
}

// nearestLevel returns the corner on the ray from h to the left that lies
// between end and h and nearest to h: level edges are not met by the ray, but
// their ends stand in its way.
func (t *triangulator) nearestLevel(h, end int32) int32 {
	best := end
	H := t.nodes[h]
	t.chain.corners(t.nodes, t.nodes[end].x-1, H.y-1, H.x+1, H.y+1, func(p int32) {
		Q := &t.nodes[p]
		if !Q.apart && t.s.compare(H.pt, Q.pt, t.j) == 0 && t.s.compare(Q.pt, H.pt, t.i) > 0 &&
			t.s.compare(t.nodes[best].pt, Q.pt, t.i) > 0 && t.locally(p, h) {
			best = p
		}
	})
	return best
}

// firstHit returns the edge (by its start) that the ray from h to the left
// meets first, the end of it to aim at, and where about it is met.
func (t *triangulator) firstHit(h int32) (hit, end int32, bx float64) {
	H := t.nodes[h]
	hit, bx = int32(-1), math.Inf(-1)
	for _, p := range t.chain.rows[t.chain.row(H.y)] {
		P := &t.nodes[p]
		q := P.next
		N := &t.nodes[q]
		if P.apart || P.y < H.y-1 || N.y > H.y+1 || min(P.x, N.x) >= H.x+1 {
			continue
		}
		// Edges with the area to their right run downward.
		top, bottom := t.s.compare(H.pt, P.pt, t.j), t.s.compare(H.pt, N.pt, t.j)
		if top < 0 || bottom > 0 || top == bottom {
			continue
		}
		x := P.x
		if P.y != N.y {
			x += float64((H.y-P.y)*(N.x-P.x)) / float64(N.y-P.y)
		}
		e := p // aim at the left-most end, or at the end on the ray
		if top != 0 && (bottom == 0 || t.s.compare(P.pt, N.pt, t.i) < 0) {
			e = q
		}
		if t.turn(q, p, h) <= 0 && (hit < 0 || t.nearer(p, q, x, hit, bx) || x > bx-1e-3 && !t.locally(end, h) && t.locally(e, h) && t.nodes[e].pt == t.nodes[end].pt) {
			hit, end, bx = p, e, x
		}
	}
	return hit, end, bx
}

// nearer reports whether the edge p→q, met at x, lies right of the edge from
// b, met at bx; close calls are decided by exact turns.
func (t *triangulator) nearer(p, q int32, x float64, b int32, bx float64) bool {
	if math.Abs(x-bx) > 1e-3 {
		return x > bx
	}
	c := t.nodes[b].next
	// Both run downward; an end of one that lies level with the other tells.
	for _, v := range [2]int32{p, q} {
		if s := t.turn(c, b, v); s != 0 && t.between(b, c, v) {
			return s < 0
		}
	}
	for _, v := range [2]int32{b, c} {
		if s := t.turn(q, p, v); s != 0 && t.between(p, q, v) {
			return s > 0
		}
	}
	return false
}

// between reports whether v is level with the downward edge p→q.
func (t *triangulator) between(p, q, v int32) bool {
	return t.s.compare(t.nodes[v].pt, t.nodes[p].pt, t.j) >= 0 && t.s.compare(t.nodes[q].pt, t.nodes[v].pt, t.j) >= 0
}

// locally reports whether the direction from corner p to h leads into the
// area at p.
func (t *triangulator) locally(p, h int32) bool {
	a, c := t.nodes[p].prev, t.nodes[p].next
	if t.turn(a, p, c) > 0 {
		return t.turn(p, c, h) >= 0 && t.turn(a, p, h) >= 0
	}
	return t.turn(p, c, h) >= 0 || t.turn(a, p, h) >= 0
}
