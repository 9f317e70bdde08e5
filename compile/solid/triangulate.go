package solid

import (
	"math"
	"math/big"
	"slices"
)

// triangulator cuts flat regions into triangles by clipping ears. All turns
// are exact, so every triangle has a positive area.
type triangulator struct {
	s      *space
	i, j   int // projection axes in which outer loops turn left
	emit   func(a, b, c int32)
	nodes  []earNode
	grid   earGrid
	forced int // ears cut although another corner lies inside; 0 in a sound region
}

type earNode struct {
	x, y       float64
	pt         int32
	prev, next int32
	gridNext   int32
	dead       bool
}

// region triangulates an area given by its loops.
func (t *triangulator) region(loops [][]int32) {
	if len(loops) == 1 && t.small(loops[0]) {
		return
	}
	var outer, holes [][]int32
	for _, l := range loops {
		if t.left(l) {
			outer = append(outer, l)
		} else {
			holes = append(holes, l)
		}
	}
	if len(outer) == 1 {
		t.clip(outer[0], holes)
		return
	}
	of := make([][][]int32, len(outer))
	for _, h := range holes {
		best := -1
		for o := range outer {
			if t.encloses(outer[o], h) && (best < 0 || t.encloses(outer[best], outer[o])) {
				best = o
			}
		}
		if best >= 0 {
			of[best] = append(of[best], h)
		}
	}
	for o := range outer {
		t.clip(outer[o], of[o])
	}
}

// small handles triangles and convex-enough quadrangles.
func (t *triangulator) small(l []int32) bool {
	turn := func(a, b, c int) int { return t.s.turn(l[a], l[b], l[c], t.i, t.j) }
	switch len(l) {
	case 3:
		t.emit(l[0], l[1], l[2])
		return true
	case 4:
		d02 := turn(0, 1, 2) > 0 && turn(0, 2, 3) > 0
		d13 := turn(1, 2, 3) > 0 && turn(1, 3, 0) > 0
		switch {
		case d02 && (!d13 || t.dist2(l[0], l[2]) <= t.dist2(l[1], l[3])):
			t.emit(l[0], l[1], l[2])
			t.emit(l[0], l[2], l[3])
			return true
		case d13:
			t.emit(l[1], l[2], l[3])
			t.emit(l[1], l[3], l[0])
			return true
		}
	}
	return false
}

func (t *triangulator) dist2(a, b int32) float64 {
	p, q := t.s.pts[a].f, t.s.pts[b].f
	x, y, z := p[0]-q[0], p[1]-q[1], p[2]-q[2]
	return float64(x*x) + float64(y*y) + float64(z*z)
}

// left reports whether the area of a loop is positive. A slit, which goes and
// comes back on one line, has none.
func (t *triangulator) left(l []int32) bool {
	o := &t.s.pts[l[0]].f
	area, reach := 0.0, 0.0
	for n, v := range l {
		p, q := &t.s.pts[v].f, &t.s.pts[l[(n+1)%len(l)]].f
		px, py := p[t.i]-o[t.i], p[t.j]-o[t.j]
		area += float64(px*(q[t.j]-o[t.j])) - float64(py*(q[t.i]-o[t.i]))
		reach = max(reach, math.Abs(px), math.Abs(py))
	}
	// Coordinates are off by less than 1e-6, products by 1e-15 of themselves.
	if e := float64(len(l)) * (4e-6*reach + 1e-14*reach*reach); math.Abs(area) > e {
		return area > 0
	}
	t.s.exact++
	sum := new(big.Rat)
	x, y := make([]*big.Rat, len(l)), make([]*big.Rat, len(l))
	for n, v := range l {
		x[n], y[n] = new(big.Rat).SetFrac(t.s.rational(v, t.i)), new(big.Rat).SetFrac(t.s.rational(v, t.j))
	}
	for n := range l {
		m := (n + 1) % len(l)
		sum.Add(sum, new(big.Rat).Mul(x[n], y[m]))
		sum.Sub(sum, new(big.Rat).Mul(x[m], y[n]))
	}
	return sum.Sign() > 0
}

// before orders points by the projection axes, exactly.
func (t *triangulator) before(a, b int32) bool {
	if c := t.s.compare(a, b, t.i); c != 0 {
		return c > 0
	}
	return t.s.compare(a, b, t.j) > 0
}

// encloses reports whether loop o holds loop h; the two do not cross.
func (t *triangulator) encloses(o, h []int32) bool {
	f := face{ends: []int32{int32(len(o))}}
	for _, v := range o {
		f.loops = append(f.loops, corner{pt: v})
	}
	k := kernel{space: t.s}
	for _, v := range h {
		if r := k.inPolygon(&f, v, t.i, t.j); r != onIt {
			return r == inside
		}
	}
	// All corners touch: the middle of an edge would tell, and so does the
	// sense of the loops, which differ for a hole and its own outer loop.
	return true
}

func (t *triangulator) addLoop(l []int32) int32 {
	s, n := int32(len(t.nodes)), int32(len(l))
	for i, v := range l {
		f := &t.s.pts[v].f
		t.nodes = append(t.nodes, earNode{x: f[t.i], y: f[t.j], pt: v, prev: s + (int32(i)+n-1)%n, next: s + (int32(i)+1)%n, gridNext: -1})
	}
	return s
}

func (t *triangulator) turn(a, b, c int32) int {
	return t.s.turn(t.nodes[a].pt, t.nodes[b].pt, t.nodes[c].pt, t.i, t.j)
}

// clip triangulates one outer loop with its holes.
func (t *triangulator) clip(outer []int32, holes [][]int32) {
	t.nodes = t.nodes[:0]
	start := t.addLoop(outer)
	t.bridgeHoles(start, holes)
	t.fillGrid()
	left := len(t.nodes)
	cur, stop := start, start
	force := false
	for left > 3 {
		n := t.nodes[cur]
		convex := t.turn(n.prev, cur, n.next) > 0
		if convex && (force || t.isEar(cur)) {
			if force {
				t.forced++
				force = false
			}
			left--
			t.cut(cur)
			cur = t.nodes[n.next].next
			stop = cur
			continue
		}
		cur = n.next
		if cur == stop {
			if force { // no convex corner at all: nothing can be saved
				t.forced += left
				return
			}
			force = true
		}
	}
	n := t.nodes[cur]
	t.emit(t.nodes[n.prev].pt, n.pt, t.nodes[n.next].pt)
}

func (t *triangulator) cut(b int32) {
	n := t.nodes[b]
	t.emit(t.nodes[n.prev].pt, n.pt, t.nodes[n.next].pt)
	t.nodes[n.prev].next = n.next
	t.nodes[n.next].prev = n.prev
	t.nodes[b].dead = true
}

// isEar reports whether no other corner lies in the triangle at b.
func (t *triangulator) isEar(b int32) bool {
	B := &t.nodes[b]
	a, c := B.prev, B.next
	A, C := &t.nodes[a], &t.nodes[c]
	const e = 1e-3
	x0, x1 := min(A.x, B.x, C.x)-e, max(A.x, B.x, C.x)+e
	y0, y1 := min(A.y, B.y, C.y)-e, max(A.y, B.y, C.y)+e
	blocked := func(q int32) bool {
		Q := &t.nodes[q]
		if Q.x < x0 || Q.x > x1 || Q.y < y0 || Q.y > y1 || Q.pt == A.pt || Q.pt == B.pt || Q.pt == C.pt {
			return false
		}
		return t.turn(a, b, q) >= 0 && t.turn(b, c, q) >= 0 && t.turn(c, a, q) >= 0
	}
	if t.grid.w == 0 {
		for q := C.next; q != a; q = t.nodes[q].next {
			if blocked(q) {
				return false
			}
		}
		return true
	}
	return !t.grid.any(t.nodes, x0, y0, x1, y1, blocked)
}

// bridgeHoles joins every hole to the outer loop by a double edge.
func (t *triangulator) bridgeHoles(start int32, holes [][]int32) {
	type entry struct{ node, first, end int32 }
	var queue []entry
	for _, h := range holes {
		s := t.addLoop(h)
		m := s
		for i := s; i < s+int32(len(h)); i++ {
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
		b2 := int32(len(t.nodes))
		h2 := b2 + 1
		t.nodes = append(t.nodes, t.nodes[b], t.nodes[h])
		bn, hp := t.nodes[b].next, t.nodes[h].prev
		t.nodes[b].next, t.nodes[h].prev = h, b
		t.nodes[hp].next, t.nodes[h2].prev = h2, hp
		t.nodes[h2].next, t.nodes[b2].prev = b2, h2
		t.nodes[b2].next, t.nodes[bn].prev = bn, b2
	}
}

// visible returns a corner of the chain from start that can be joined to h,
// the left-most corner of a hole, without crossing the chain: an end of the
// edge that the ray from h to the left meets first, or the corner nearest in
// angle to the ray among those that hide it (D. Eberly, Triangulation by Ear
// Clipping, section 3).
func (t *triangulator) visible(h, start int32) int32 {
	e, end := t.firstHit(h, start)
	if e < 0 {
		return start
	}
	level := func(p int32) int { return t.s.compare(t.nodes[h].pt, t.nodes[p].pt, t.j) }
	above := level(end)
	if above == 0 {
		return t.nearestLevel(h, start, end)
	}
	// Corners in the triangle between the ray, the edge and the line to end.
	found := end
	seen := t.locally(end, h)
	next := t.nodes[e].next
	for p := start; ; {
		Q := &t.nodes[p]
		if p != end && Q.x <= t.nodes[h].x+1 && level(p) != -above && t.s.compare(Q.pt, t.nodes[h].pt, t.i) > 0 &&
			t.turn(h, end, p)*above >= 0 && t.turn(e, next, p) >= 0 && t.locally(p, h) {
			angle := t.turn(h, found, p) * above
			if !seen || angle > 0 || angle == 0 && t.s.compare(t.nodes[found].pt, Q.pt, t.i) > 0 {
				found, seen = p, true
			}
		}
		if p = Q.next; p == start {
			break
		}
	}
	return found
}

// nearestLevel returns the corner on the ray from h to the left that lies
// between end and h and nearest to h: level edges are not met by the ray, but
// their ends stand in its way.
func (t *triangulator) nearestLevel(h, start, end int32) int32 {
	best := end
	for p := start; ; {
		if t.s.compare(t.nodes[h].pt, t.nodes[p].pt, t.j) == 0 && t.s.compare(t.nodes[p].pt, t.nodes[h].pt, t.i) > 0 &&
			t.s.compare(t.nodes[best].pt, t.nodes[p].pt, t.i) > 0 && t.locally(p, h) {
			best = p
		}
		if p = t.nodes[p].next; p == start {
			return best
		}
	}
}

// firstHit returns the edge (by its start) that the ray from h to the left
// meets first, and the end of it to aim at.
func (t *triangulator) firstHit(h, start int32) (hit, end int32) {
	H := t.nodes[h]
	hit, bx := int32(-1), math.Inf(-1)
	for p := start; ; {
		P := &t.nodes[p]
		q := P.next
		N := &t.nodes[q]
		if P.y >= H.y-1 && N.y <= H.y+1 && min(P.x, N.x) < H.x+1 {
			// Edges with the area to their right run downward.
			top, bottom := t.s.compare(H.pt, P.pt, t.j), t.s.compare(H.pt, N.pt, t.j)
			if top >= 0 && bottom <= 0 && top != bottom {
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
		}
		if p = q; p == start {
			return hit, end
		}
	}
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

// earGrid finds the corners near a triangle; only corners that are not
// convex can block an ear.
type earGrid struct {
	w, h   int
	x0, y0 float64
	cell   float64
	heads  []int32
}

func (t *triangulator) fillGrid() {
	g := &t.grid
	g.w = 0
	n := len(t.nodes)
	if n <= 60 {
		return
	}
	x1, y1 := math.Inf(-1), math.Inf(-1)
	g.x0, g.y0 = math.Inf(1), math.Inf(1)
	for i := range t.nodes {
		N := &t.nodes[i]
		g.x0, g.y0, x1, y1 = min(g.x0, N.x), min(g.y0, N.y), max(x1, N.x), max(y1, N.y)
	}
	g.cell = max(1, 1.5*math.Sqrt((x1-g.x0+1)*(y1-g.y0+1)/float64(n)))
	for {
		g.w, g.h = int((x1-g.x0)/g.cell)+1, int((y1-g.y0)/g.cell)+1
		if g.w*g.h <= 4*n+64 {
			break
		}
		g.cell *= 2
	}
	g.heads = resize(g.heads, g.w*g.h)
	for i := range g.heads {
		g.heads[i] = -1
	}
	for i := range t.nodes {
		N := &t.nodes[i]
		if t.turn(N.prev, int32(i), N.next) <= 0 {
			c := int((N.y-g.y0)/g.cell)*g.w + int((N.x-g.x0)/g.cell)
			N.gridNext, g.heads[c] = g.heads[c], int32(i)
		}
	}
}

func (g *earGrid) any(nodes []earNode, x0, y0, x1, y1 float64, hit func(q int32) bool) bool {
	clamp := func(v float64, n int) int { return max(0, min(n-1, int(v/g.cell))) }
	for y := clamp(y0-g.y0, g.h); y <= clamp(y1-g.y0, g.h); y++ {
		for x := clamp(x0-g.x0, g.w); x <= clamp(x1-g.x0, g.w); x++ {
			for link := &g.heads[y*g.w+x]; *link >= 0; {
				q := *link
				if nodes[q].dead {
					*link = nodes[q].gridNext
					continue
				}
				if hit(q) {
					return true
				}
				link = &nodes[q].gridNext
			}
		}
	}
	return false
}
