package region

import (
	"cmp"
	"slices"

	"perch/compile/geom"
)

// arrow is a side seen in one direction. Arrow 2i runs along side i, arrow
// 2i+1 against it.
type arrow = int32

// network is the sides as a planar graph.
type network struct {
	o        *overlay
	vertices []point     // sorted
	out      [][]arrow   // by vertex, counter-clockwise, from straight down on
	from     []int32     // by arrow: its vertex
	slot     []int32     // by arrow: its place in out
	face     []int32     // by arrow: the face on its left, or -1
	windings [][]winding // by face: how often regions go round it
}

func (o *overlay) trace(inside func([]bool) bool) [][]geom.Vec2 {
	n := o.network()
	n.label()
	in := make([]bool, o.regions)
	within := make([]bool, len(n.windings))
	for f, w := range n.windings {
		clear(in)
		for _, k := range w {
			in[k.region] = true
		}
		within[f] = inside(in)
	}
	kept := make([]bool, len(n.from))
	for a := range n.from {
		kept[a] = within[n.face[a]] && !within[n.face[a^1]]
	}
	return n.rings(kept)
}

func (o *overlay) network() *network {
	n := &network{o: o}
	for _, s := range o.sides {
		n.vertices = append(n.vertices, s.a, s.b)
	}
	slices.SortFunc(n.vertices, point.compare)
	n.vertices = slices.Compact(n.vertices)
	n.out = make([][]arrow, len(n.vertices))
	for i, s := range o.sides {
		for k, p := range [2]point{s.a, s.b} {
			v, _ := slices.BinarySearchFunc(n.vertices, p, point.compare)
			n.out[v] = append(n.out[v], arrow(2*i+k))
			n.from = append(n.from, int32(v))
		}
	}
	n.slot = make([]int32, len(n.from))
	n.face = make([]int32, len(n.from))
	for a := range n.face {
		n.face[a] = -1
	}
	for _, out := range n.out {
		slices.SortFunc(out, n.byAngle)
		for i, a := range out {
			n.slot[a] = int32(i)
		}
	}
	return n
}

func (n *network) direction(a arrow) point {
	return n.vertices[n.from[a^1]].sub(n.vertices[n.from[a]])
}

// byAngle orders arrows of one vertex counter-clockwise, beginning just after
// straight down, which comes last of the left half.
func (n *network) byAngle(a, b arrow) int {
	d, e := n.direction(a), n.direction(b)
	if h := cmp.Compare(half(d), half(e)); h != 0 {
		return h
	}
	return -cmp.Compare(d.cross(e), 0)
}

// half is 0 for directions to the right and straight up, 1 for the others.
func half(d point) int {
	if d.x > 0 || d.x == 0 && d.y > 0 {
		return 0
	}
	return 1
}

// next returns the arrow that goes on along the face on the left of a.
func (n *network) next(a arrow) arrow {
	back := a ^ 1
	out := n.out[n.from[back]]
	return out[(int(n.slot[back])+len(out)-1)%len(out)]
}

// label finds the face on the left of each arrow and how often each region
// goes round it. Connected pieces are done one by one, each from its leftmost
// vertex: whatever lies left of that is found by looking further left.
func (n *network) label() {
	var queue []arrow
	for v := range n.vertices { // in order of x, then y
		out := n.out[v]
		last := out[len(out)-1] // its left is what surrounds the piece
		if n.face[last] >= 0 {
			continue
		}
		n.walk(last, n.around(n.vertices[v]))
		queue = append(queue[:0], last)
		for len(queue) > 0 {
			a := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for b := n.next(a); ; b = n.next(b) {
				if twin := b ^ 1; n.face[twin] < 0 {
					across := n.o.sides[b/2].windings
					if b&1 == 0 { // seen from its left
						across = turned(across)
					}
					w := sum(n.windings[n.face[b]], across)
					n.walk(twin, w)
					queue = append(queue, twin)
				}
				if b == a {
					break
				}
			}
		}
	}
}

// walk gives the cycle of a a face with windings w.
func (n *network) walk(a arrow, w []winding) {
	f := int32(len(n.windings))
	n.windings = append(n.windings, w)
	for b := a; ; {
		n.face[b] = f
		if b = n.next(b); b == a {
			return
		}
	}
}

// around counts how often each region goes round the place just left of p, by
// the sides that a ray to the left meets. p is the leftmost vertex of a piece,
// so only other pieces are met.
func (n *network) around(p point) []winding {
	var w []winding
	for _, s := range n.o.sides { // in order of s.a.x
		if s.a.x >= p.x {
			break
		}
		up := s.a.y <= p.y && p.y < s.b.y
		down := s.b.y <= p.y && p.y < s.a.y
		if !up && !down {
			continue
		}
		t := turn(s.a, s.b, p)
		if up && t < 0 { // p is on its right
			w = sum(w, turned(s.windings))
		}
		if down && t > 0 {
			w = sum(w, s.windings)
		}
	}
	return w
}

// rings follows the kept arrows, which have the inside on their left.
func (n *network) rings(kept []bool) [][]geom.Vec2 {
	degree := make([]int, len(n.vertices))
	for a, k := range kept {
		if k {
			degree[n.from[a]]++
		}
	}
	done := make([]bool, len(kept))
	var loops [][]int32 // vertices
	for a, k := range kept {
		if !k || done[a] {
			continue
		}
		var loop []int32
		for b := arrow(a); !done[b]; b = n.onward(b, kept) {
			done[b] = true
			loop = append(loop, n.from[b])
		}
		loops = append(loops, simple(loop)...)
	}
	return n.finish(loops, degree)
}

// onward returns the kept arrow after a with the same inside between them:
// the first one clockwise from the way back.
func (n *network) onward(a arrow, kept []bool) arrow {
	for b := n.next(a); ; {
		if kept[b] {
			return b
		}
		b = n.next(b ^ 1)
	}
}

// simple divides a closed walk where it comes back to a vertex.
func simple(walk []int32) [][]int32 {
	var loops [][]int32
	at := map[int32]int{}
	var path []int32
	for _, v := range walk {
		if i, seen := at[v]; seen {
			loop := slices.Clone(path[i:])
			for _, u := range loop {
				delete(at, u)
			}
			path = path[:i]
			loops = append(loops, loop)
		}
		at[v] = len(path)
		path = append(path, v)
	}
	return append(loops, path)
}

// ring is a finished ring on its way out.
type ring struct {
	points []point
	hole   bool
	order  int // of its first corner
}

// finish drops needless corners, and brings rings into order: outer ones
// first, by the corner that was mentioned first, which each begins with.
func (n *network) finish(loops [][]int32, degree []int) [][]geom.Vec2 {
	var rings []ring
	for _, l := range loops {
		if r, ok := n.finished(l, degree); ok {
			rings = append(rings, r)
		}
	}
	slices.SortStableFunc(rings, func(a, b ring) int {
		if a.hole != b.hole {
			if b.hole {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.order, b.order), a.points[0].compare(b.points[0]))
	})
	var out [][]geom.Vec2
	for _, r := range rings {
		var ring []geom.Vec2
		for _, p := range r.points {
			ring = append(ring, n.o.float(p))
		}
		out = append(out, ring)
	}
	return out
}

func (n *network) finished(loop []int32, degree []int) (r ring, ok bool) {
	for i, v := range loop {
		before, after := loop[(i+len(loop)-1)%len(loop)], loop[(i+1)%len(loop)]
		if degree[v] > 1 || turn(n.vertices[before], n.vertices[v], n.vertices[after]) != 0 {
			r.points = append(r.points, n.vertices[v])
		}
	}
	if len(r.points) < 3 {
		return r, false
	}
	first := 0
	for i := range r.points {
		if n.before(r.points[i], r.points[first]) {
			first = i
		}
	}
	r.points = slices.Concat(r.points[first:], r.points[:first])
	r.hole = twiceArea(r.points) < 0
	r.order = len(n.o.corners)
	if c, known := n.o.corners[r.points[0]]; known {
		r.order = c.order
	}
	return r, true
}

// before orders corners: given ones as mentioned, then others by place.
func (n *network) before(p, q point) bool {
	c, known := n.o.corners[p]
	d, known2 := n.o.corners[q]
	switch {
	case known && known2:
		return c.order < d.order
	case known != known2:
		return known
	}
	return p.compare(q) < 0
}

// twiceArea returns the sign and size of the area of a ring; the size is
// rounded, which is far from mattering for its sign: rings are simple and on
// the grid.
func twiceArea(ring []point) float64 {
	sum := 0.0
	for i := range ring {
		sum += float64(turn(ring[0], ring[i], ring[(i+1)%len(ring)]))
	}
	return sum
}
