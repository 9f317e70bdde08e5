package solid

import (
	"math"
	"math/big"
)

// triangulator cuts flat regions into triangles by clipping ears. All turns
// are exact, so every triangle has a positive area.
type triangulator struct {
	s      *space
	i, j   int        // projection axes in which outer loops turn left
	tris   [][3]int32 // what came of it
	nodes  []earNode
	grid   earGrid
	chain  chainIndex // while holes are joined
	forced int        // ears cut although another corner lies inside; 0 in a sound region
}

type earNode struct {
	x, y       float64
	pt         int32
	prev, next int32
	gridNext   int32
	dead       bool
	apart      bool // of a hole that is not joined yet
}

func (t *triangulator) put(a, b, c int32) { t.tris = append(t.tris, [3]int32{a, b, c}) }

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
		t.put(l[0], l[1], l[2])
		return true
	case 4:
		d02 := turn(0, 1, 2) > 0 && turn(0, 2, 3) > 0
		d13 := turn(1, 2, 3) > 0 && turn(1, 3, 0) > 0
		switch {
		case d02 && (!d13 || t.dist2(l[0], l[2]) <= t.dist2(l[1], l[3])):
			t.put(l[0], l[1], l[2])
			t.put(l[0], l[2], l[3])
			return true
		case d13:
			t.put(l[1], l[2], l[3])
			t.put(l[1], l[3], l[0])
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
	if e := float64(len(l)) * (float64(4e-6*reach) + float64(1e-14*reach*reach)); math.Abs(area) > e {
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
	t.put(t.nodes[n.prev].pt, n.pt, t.nodes[n.next].pt)
}

func (t *triangulator) cut(b int32) {
	n := t.nodes[b]
	t.put(t.nodes[n.prev].pt, n.pt, t.nodes[n.next].pt)
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
