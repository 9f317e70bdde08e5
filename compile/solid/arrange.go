package solid

import (
	"context"
	"math"
	"slices"

	"perch/compile/boxtree"
	"perch/compile/disjoint"
	"perch/compile/geom"
)

// divider divides one touched face after the other into cells. In every cell
// each leaf is either inside or outside just above the plane of the face, and
// just below it; where the whole expression differs between above and below,
// the cell bounds the result.
type divider struct {
	*kernel
	up, down *evaluator
	out      []cutEdge // of the face being divided
	slab     []cutEdge // memory for the edges of faces

	// Of the face being divided.
	f, p      int32
	i, j      int // projection axes
	pieces    []seg
	lines     []line
	touches   []int32 // points where another leaf touches the plane with a corner only
	marks     []mark
	subs      []sub
	edges     []cellEdge
	vertices  []int32 // local to global
	halfNext  []int32
	cell      []int32 // of each half-edge
	cellTau   []int8
	cellDone  []bool
	firstHalf []int32       // one half-edge of each cell
	group     disjoint.Sets // of local vertices, tied by edges

	// Of the part of the face being walked.
	leafs  []int32     // local to global
	states []leafState // by local leaf
	split  int         // leaves before that of f with a face of their own here

	overTree *boxtree.Tree // of the leaves near overLeaf
	overLeaf int32

	known           map[setSum]int32 // sets by the last face, +1, that saw them
	seen, setSlab   []setSum         // sets of the face being divided; memory for those of faces
	localOf, leafOf stamped
	scratch         struct {
		keys                         []pieceKey
		pieces                       []seg
		order, active, start, spokes []int32
		angle                        []float64
		events                       []int32
		stack                        []walkFrame
	}
}

func newDivider(k *kernel) *divider {
	return &divider{kernel: k, up: newEvaluator(k.members, len(k.leaves)), down: newEvaluator(k.members, len(k.leaves)), known: map[setSum]int32{}}
}

// line is a piece of line in the plane, with the segs that lie on it.
type line struct {
	a, b     int32
	q        int32
	s0, s1   int32 // range of pieces
	leaf     int32 // leaf of all pieces, -1 when they differ
	boundary bool
	d        [3]float64
	along    int8       // the axis that d goes along most
	sign     int8       // of d there
	box      [4]float64 // min i, min j, max i, max j
}

// pieceKey sorts pieces by their ends.
type pieceKey struct {
	ends     uint64
	face, at int32
}

// mark is a point on a line where it must be divided.
type mark struct{ line, pt int32 }

// sub is a part of a line between neighbouring points, a < b.
type sub struct {
	a, b int32
	line int32
	rev  bool // the line runs b→a
}

// cellEdge is an edge of the division; a, b are local vertices.
type cellEdge struct {
	a, b     int32
	s0, s1   int32 // range of subs
	boundary bool
}

type leafState struct {
	up, down           bool // in the cell the walk stands in
	relUp, relDown     bool
	hasPiece, resolved bool
	stamp              int32
}

type walkFrame struct{ first, cur, entry int32 }

// stamped is a sparse map from small integers that is cleared in O(1).
type stamped struct {
	val, at []int32
	now     int32
}

func (s *stamped) clear(n int) {
	if len(s.val) < n {
		s.val = append(s.val, make([]int32, n-len(s.val))...)
		s.at = append(s.at, make([]int32, n-len(s.at))...)
	}
	s.now++
}

func (s *stamped) get(i int32) (int32, bool) {
	if int(i) < len(s.at) && s.at[i] == s.now {
		return s.val[i], true
	}
	return 0, false
}

func (s *stamped) set(i, v int32) {
	for int(i) >= len(s.at) {
		s.val, s.at = append(s.val, 0), append(s.at, 0)
	}
	s.val[i], s.at[i] = v, s.now
}

// divide finds the boundary edges that face f gives to the result. A
// face that thousands of others cross takes long, so it looks at ctx between
// its stages and while it crosses lines.
func (d *divider) divide(ctx context.Context, f int32) error {
	F := &d.faces[f]
	d.f, d.p = f, F.plane
	d.i, d.j = d.axes(d.p)
	d.out, d.seen = d.out[:0], d.seen[:0]
	d.collect(F)
	d.uniteLines()
	if err := d.cross(ctx); err != nil {
		return err
	}
	for _, stage := range []func(){d.cutLines, d.link, d.walkAll, d.emit} {
		if err := ctx.Err(); err != nil {
			return err
		}
		stage()
	}
	F.cut = keep(&d.slab, d.out)
	F.sets = keep(&d.setSlab, d.seen)
	return nil
}

// keep copies list to the end of a slab, or to a new one where that is full.
func keep[T any](slab *[]T, list []T) []T {
	own := room(slab, len(list))
	copy(own, list)
	return own
}

// room takes n zero elements from the end of a slab, or of a new one where that
// is full.
func room[T any](slab *[]T, n int) []T {
	if cap(*slab)-len(*slab) < n {
		*slab = make([]T, 0, max(64, min(2*cap(*slab), 1<<11), n))
	}
	at := len(*slab)
	*slab = (*slab)[:at+n]
	return (*slab)[at : at+n : at+n]
}

// collect lists the boundary of f and the pieces of other leaves.
func (d *divider) collect(F *face) {
	d.pieces = d.pieces[:0]
	F.each(func(c corner, next int32) {
		q := d.faces[c.across].plane
		dir := d.direction(d.p, q)
		s := seg{a: c.pt, b: next, q: q, leaf: F.leaf, face: d.f, left: F.sign > 0}
		if d.order(&dir, s.a, s.b) < 0 {
			s.a, s.b, s.left = s.b, s.a, !s.left
		}
		d.pieces = append(d.pieces, s)
	})
	d.touches = d.touches[:0]
	for _, g := range d.meets[d.f] {
		if d.faces[g].plane == d.p {
			continue
		}
		n := len(d.pieces)
		touches := false
		if d.pieces, touches = d.section(g, d.f, d.pieces); !touches {
			continue
		}
		own := d.pieces[n:]
		for _, c := range d.faces[g].loops {
			ends := func(s seg) bool { return s.a == c.pt || s.b == c.pt }
			if d.side(c.pt, d.p) == 0 && !slices.ContainsFunc(own, ends) {
				d.touches = append(d.touches, c.pt)
			}
		}
	}
	slices.Sort(d.touches)
	d.touches = slices.Compact(d.touches)
}

func ends(a, b int32) (lo, hi int32) { return min(a, b), max(a, b) }

// uniteLines makes one line of all pieces with the same ends.
func (d *divider) uniteLines() {
	// The sort moves small keys, not pieces.
	keys := d.scratch.keys[:0]
	for i := range d.pieces {
		lo, hi := ends(d.pieces[i].a, d.pieces[i].b)
		keys = append(keys, pieceKey{uint64(lo)<<32 | uint64(uint32(hi)), d.pieces[i].face, int32(i)})
	}
	slices.SortFunc(keys, func(s, t pieceKey) int {
		switch {
		case s.ends < t.ends:
			return -1
		case s.ends > t.ends:
			return 1
		case s.face != t.face:
			return int(s.face) - int(t.face)
		}
		return int(s.at) - int(t.at)
	})
	sorted := d.scratch.pieces[:0]
	for _, k := range keys {
		sorted = append(sorted, d.pieces[k.at])
	}
	d.scratch.keys, d.scratch.pieces, d.pieces = keys, d.pieces, sorted
	d.lines = d.lines[:0]
	for i := 0; i < len(d.pieces); {
		s := &d.pieces[i]
		l := line{a: s.a, b: s.b, q: s.q, s0: int32(i), leaf: s.leaf}
		for ; i < len(d.pieces); i++ {
			t := &d.pieces[i]
			if !(t.a == l.a && t.b == l.b || t.a == l.b && t.b == l.a) {
				break
			}
			l.boundary = l.boundary || t.face == d.f
			if t.leaf != l.leaf {
				l.leaf = -1
			}
		}
		l.s1 = int32(i)
		l.d = d.direction(d.p, l.q)
		l.along, l.sign = longestAxis(&l.d)
		l.box = d.boxOf(&l)
		d.lines = append(d.lines, l)
	}
}

// boxOf returns a box round the line, as far as it comes near the face.
func (d *divider) boxOf(l *line) [4]float64 {
	const e = 1e-3
	F := &d.faces[d.f]
	if isFar(l.a) || isFar(l.b) {
		return [4]float64{F.lo[d.i] - e, F.lo[d.j] - e, F.hi[d.i] + e, F.hi[d.j] + e}
	}
	a, b := &d.pts[l.a].f, &d.pts[l.b].f
	return [4]float64{min(a[d.i], b[d.i]) - e, min(a[d.j], b[d.j]) - e, max(a[d.i], b[d.i]) + e, max(a[d.j], b[d.j]) + e}
}

// cross finds the points where lines meet. Lines of one leaf only share ends.
// A corner that only touches the plane gives no line, but where it lies on
// one it divides that line, as it does in the other faces along it.
func (d *divider) cross(ctx context.Context) error {
	d.marks = d.marks[:0]
	pair := func(x, y int32) {
		if l, m := &d.lines[x], &d.lines[y]; l.leaf < 0 || l.leaf != m.leaf {
			d.crossPair(x, y)
		}
	}
	if len(d.lines) < 512 {
		d.sweep(pair)
	} else {
		boxes := make([]geom.Box, len(d.lines))
		for i := range boxes {
			b := &d.lines[i].box
			boxes[i] = geom.Box{Min: geom.Vec3{X: b[0], Y: b[1]}, Max: geom.Vec3{X: b[2], Y: b[3]}}
		}
		n := 0
		boxtree.New(boxes).SelfPairs(func(x, y int32) bool {
			pair(x, y)
			n++
			return n&4095 != 0 || ctx.Err() == nil
		})
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	for _, v := range d.touches {
		f := &d.pts[v].f
		x, y := f[d.i], f[d.j]
		for n := range d.lines {
			l := &d.lines[n]
			if x >= l.box[0] && x <= l.box[2] && y >= l.box[1] && y <= l.box[3] && d.side(v, l.q) == 0 {
				d.markInside(int32(n), v)
			}
		}
	}
	return nil
}

// sweep calls do for the pairs of lines whose boxes overlap.
func (d *divider) sweep(do func(x, y int32)) {
	order := d.scratch.order[:0]
	for i := range d.lines {
		order = append(order, int32(i))
	}
	sorted := len(order) > 12 // the sweep needs no order to be right
	if sorted {
		slices.SortFunc(order, func(x, y int32) int {
			switch a, b := d.lines[x].box[0], d.lines[y].box[0]; {
			case a < b:
				return -1
			case a > b:
				return 1
			}
			return int(x) - int(y)
		})
	}
	active := d.scratch.active[:0]
	for _, x := range order {
		l := &d.lines[x]
		keep := active[:0]
		for _, y := range active {
			m := &d.lines[y]
			if sorted && m.box[2] < l.box[0] {
				continue
			}
			keep = append(keep, y)
			if l.box[0] <= m.box[2] && m.box[0] <= l.box[2] && l.box[1] <= m.box[3] && m.box[1] <= l.box[3] {
				do(x, y)
			}
		}
		active = append(keep, x)
	}
	d.scratch.order, d.scratch.active = order, active
}

func (d *divider) mark(l, v int32) { d.marks = append(d.marks, mark{l, v}) }

func (d *divider) crossPair(x, y int32) {
	l, m := &d.lines[x], &d.lines[y]
	var la, lb, ma, mb int
	if l.q != m.q {
		la, lb = d.sidesOf(l, m)
		if la == lb && la != 0 {
			return
		}
		ma, mb = d.sidesOf(m, l)
		if ma == mb && ma != 0 {
			return
		}
	}
	switch {
	case la == 0 && lb == 0 || ma == 0 && mb == 0:
		d.markInside(x, m.a)
		d.markInside(x, m.b)
		d.markInside(y, l.a)
		d.markInside(y, l.b)
	case la == 0 || lb == 0:
		v := l.a
		if lb == 0 {
			v = l.b
		}
		if ma != 0 && mb != 0 {
			d.mark(y, v)
		}
	case ma == 0:
		d.mark(x, m.a)
	case mb == 0:
		d.mark(x, m.b)
	default:
		v := d.meet(d.p, l.q, m.q)
		d.mark(x, v)
		d.mark(y, v)
	}
}

// sidesOf returns the sides of the ends of line l to the plane that makes line
// m. A far end lies at infinity; both are 0 where a line without ends runs
// parallel to m, which its other side then tells.
func (d *divider) sidesOf(l, m *line) (a, b int) {
	if !isFar(l.a) {
		a = d.side(l.a, m.q)
	}
	if !isFar(l.b) {
		b = d.side(l.b, m.q)
	}
	if !isFar(l.a) && !isFar(l.b) {
		return a, b
	}
	ahead := d.handed(d.p, l.q, m.q) // of the side that l runs to
	switch {
	case isFar(l.a) && isFar(l.b):
		return -ahead, ahead
	case isFar(l.a):
		if a = -ahead; ahead == 0 {
			a = b
		}
	default:
		if b = ahead; ahead == 0 {
			b = a
		}
	}
	return a, b
}

// markInside divides line x at v, a point of its carrier, when v lies between
// its ends.
func (d *divider) markInside(x, v int32) {
	if isFar(v) {
		return
	}
	l := &d.lines[x]
	if (isFar(l.a) || d.orderOn(l.along, l.sign, l.a, v) > 0) && (isFar(l.b) || d.orderOn(l.along, l.sign, v, l.b) > 0) {
		d.mark(x, v)
	}
}

// cutLines divides the lines at their marks and lists the distinct edges.
func (d *divider) cutLines() {
	d.subs = d.subs[:0]
	emit := func(l, a, b int32) {
		switch {
		case isFar(a) && isFar(b): // it passes the face by
		case a < b:
			d.subs = append(d.subs, sub{a, b, l, false})
		case a > b:
			d.subs = append(d.subs, sub{b, a, l, true})
		}
	}
	slices.SortFunc(d.marks, func(m, n mark) int {
		if m.line != n.line {
			return int(m.line) - int(n.line)
		}
		l := &d.lines[m.line]
		return -d.orderOn(l.along, l.sign, m.pt, n.pt)
	})
	k := 0
	for x := range d.lines {
		l := &d.lines[x]
		prev := l.a
		for ; k < len(d.marks) && d.marks[k].line == int32(x); k++ {
			emit(int32(x), prev, d.marks[k].pt)
			prev = d.marks[k].pt
		}
		emit(int32(x), prev, l.b)
	}
	slices.SortFunc(d.subs, func(s, t sub) int {
		if s.a != t.a {
			return int(s.a) - int(t.a)
		}
		if s.b != t.b {
			return int(s.b) - int(t.b)
		}
		return int(s.line) - int(t.line)
	})
	d.edges, d.vertices = d.edges[:0], d.vertices[:0]
	d.localOf.clear(len(d.pts))
	local := func(v int32) int32 {
		if isFar(v) { // the outer end of a spoke that leaves the face
			d.vertices = append(d.vertices, v)
			return int32(len(d.vertices) - 1)
		}
		if n, ok := d.localOf.get(v); ok {
			return n
		}
		n := int32(len(d.vertices))
		d.vertices = append(d.vertices, v)
		d.localOf.set(v, n)
		return n
	}
	for i := 0; i < len(d.subs); {
		s := d.subs[i]
		e := cellEdge{a: local(s.a), b: local(s.b), s0: int32(i)}
		for ; i < len(d.subs) && d.subs[i].a == s.a && d.subs[i].b == s.b; i++ {
			e.boundary = e.boundary || d.lines[d.subs[i].line].boundary
		}
		e.s1 = int32(i)
		d.edges = append(d.edges, e)
	}
}

func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/2)
	}
	s = s[:n]
	clear(s)
	return s
}

// Half-edge 2e runs along edge e from a to b, 2e+1 back; the cell of a
// half-edge lies on its left.

func (d *divider) from(h int32) int32 {
	if h&1 == 0 {
		return d.edges[h>>1].a
	}
	return d.edges[h>>1].b
}

// along returns +1 when half-edge h runs with direction(p, q) of the first
// line on its edge, q that line's plane.
func (d *divider) along(h int32) int {
	if d.subs[d.edges[h>>1].s0].rev == (h&1 == 1) {
		return 1
	}
	return -1
}

func (d *divider) lineOf(h int32) *line { return &d.lines[d.subs[d.edges[h>>1].s0].line] }

// link sorts the half-edges round every vertex and traces the cells.
func (d *divider) link() {
	nv, nh := len(d.vertices), 2*len(d.edges)
	d.group = disjoint.Renew(d.group, nv)
	start := resize(d.scratch.start, nv+1)
	for _, e := range d.edges {
		start[e.a]++
		start[e.b]++
		d.group.Unite(e.a, e.b)
	}
	sum := int32(0)
	for i, n := range start {
		start[i] = sum
		sum += n
	}
	spokes := resize(d.scratch.spokes, nh)
	angle := resize(d.scratch.angle, nh)
	for e := range d.edges {
		h := int32(2 * e)
		l, s := d.lineOf(h), float64(d.along(h))
		angle[h] = diamond(s*l.d[d.i], s*l.d[d.j])
		angle[h+1] = diamond(-s*l.d[d.i], -s*l.d[d.j])
		for _, x := range [2]int32{h, h + 1} {
			v := d.from(x)
			spokes[start[v]] = x
			start[v]++
		}
	}
	d.halfNext = resize(d.halfNext, nh)
	s := int32(0)
	for v := range nv {
		around := spokes[s:start[v]]
		s = start[v]
		if len(around) > 2 {
			slices.SortFunc(around, func(x, y int32) int { return d.compareSpokes(x, y, angle) })
		}
		for i, h := range around {
			// Arriving against h, the cell on the left goes on along the
			// spoke before h, clockwise.
			prev := around[(i+len(around)-1)%len(around)]
			d.halfNext[h^1] = prev
		}
	}
	d.scratch.start, d.scratch.spokes, d.scratch.angle = start, spokes, angle
	d.cell = resize(d.cell, nh)
	for h := range d.cell {
		d.cell[h] = -1
	}
	d.firstHalf = d.firstHalf[:0]
	for h := range d.cell {
		if d.cell[h] >= 0 {
			continue
		}
		c := int32(len(d.firstHalf))
		d.firstHalf = append(d.firstHalf, int32(h))
		for x := int32(h); d.cell[x] < 0; x = d.halfNext[x] {
			d.cell[x] = c
		}
	}
	d.cellTau = resize(d.cellTau, len(d.firstHalf))
	d.cellDone = resize(d.cellDone, len(d.firstHalf))
}

// diamond is a stand-in for the angle of a direction, in 0..4.
func diamond(x, y float64) float64 {
	t := x / (math.Abs(x) + math.Abs(y))
	if y < 0 {
		return 3 + t
	}
	return 1 - t
}

func (d *divider) compareSpokes(x, y int32, angle []float64) int {
	if x == y {
		return 0
	}
	if t := angle[x] - angle[y]; t < -1e-9 {
		return -1
	} else if t > 1e-9 {
		return 1
	}
	// (p×q)×(p×r) = p·det(p, q, r)
	return -d.along(x) * d.along(y) * d.handed(d.p, d.lineOf(x).q, d.lineOf(y).q)
}

// walkAll classifies every cell inside f.
func (d *divider) walkAll() {
	nv := len(d.vertices)
	// Vertices joined to the boundary of f.
	tied := resize(d.scratch.order, nv)
	for _, e := range d.edges {
		if e.boundary {
			tied[d.group.Of(e.a)] = 1
		}
	}
	for e := range d.edges {
		if !d.edges[e].boundary {
			continue
		}
		h := int32(2 * e)
		if !d.interiorLeft(e) {
			h++
		}
		if !d.cellDone[d.cell[h]] {
			d.walk(h)
		}
	}
	for e := range d.edges {
		g := d.group.Of(d.edges[e].a)
		if tied[g] != 0 {
			continue
		}
		tied[g] = 2 // an island: inside f or outside it as a whole
		v := d.vertices[d.edges[e].a]
		if isFar(v) {
			v = d.vertices[d.edges[e].b]
		}
		if d.inFace(d.f, v) == inside {
			d.walk(int32(2 * e))
		}
	}
	d.scratch.order = tied
}

// interiorLeft reports whether f lies on the left of boundary edge e, a→b.
func (d *divider) interiorLeft(e int) bool {
	E := &d.edges[e]
	for _, s := range d.subs[E.s0:E.s1] {
		l := &d.lines[s.line]
		for i := l.s0; i < l.s1; i++ {
			if t := &d.pieces[i]; t.face == d.f {
				return t.left != d.reversed(s, l, t)
			}
		}
	}
	panic("a boundary edge without its face")
}

// reversed reports whether piece t, on line l, runs against the edge a→b of
// sub s.
func (d *divider) reversed(s sub, l *line, t *seg) bool { return s.rev != (t.a != l.a) }

// walk visits the cells that can be reached from half-edge h0 without
// leaving f, in a tour that crosses one edge at a time.
func (d *divider) walk(h0 int32) {
	events := d.tour(h0)
	d.seed(h0, events)
	d.classify(h0, events)
	for _, l := range d.leafs { // back to all outside
		st := d.state(l)
		if st.up {
			d.up.toggle(l)
		}
		if st.down {
			d.down.toggle(l)
		}
	}
}

// tour lists half-edges to cross, each leaving its cell for that of its twin;
// it ends where it began.
func (d *divider) tour(h0 int32) []int32 {
	events := d.scratch.events[:0]
	stack := append(d.scratch.stack[:0], walkFrame{h0, h0, -1})
	d.cellDone[d.cell[h0]] = true
	for len(stack) > 0 {
		top := &stack[len(stack)-1]
		if top.cur < 0 {
			if top.entry >= 0 {
				events = append(events, top.entry^1)
			}
			stack = stack[:len(stack)-1]
			continue
		}
		h := top.cur
		if top.cur = d.halfNext[h]; top.cur == top.first {
			top.cur = -1
		}
		t := h ^ 1
		if d.edges[h>>1].boundary || d.cellDone[d.cell[t]] {
			continue
		}
		d.cellDone[d.cell[t]] = true
		events = append(events, h)
		stack = append(stack, walkFrame{t, t, h})
	}
	d.scratch.events, d.scratch.stack = events, stack
	return events
}

// state returns the state of a leaf in this walk.
func (d *divider) state(l int32) *leafState {
	if n, ok := d.leafOf.get(l); ok {
		return &d.states[n]
	}
	d.leafOf.set(l, int32(len(d.leafs)))
	d.leafs = append(d.leafs, l)
	d.states = append(d.states, leafState{})
	return &d.states[len(d.states)-1]
}

// eachPiece visits the pieces of other leaves on the edge of half-edge h;
// against is set when a piece runs against h.
func (d *divider) eachPiece(h int32, do func(t *seg, against bool)) {
	E := &d.edges[h>>1]
	for _, s := range d.subs[E.s0:E.s1] {
		l := &d.lines[s.line]
		for i := l.s0; i < l.s1; i++ {
			if t := &d.pieces[i]; t.face != d.f {
				do(t, d.reversed(s, l, t) != (h&1 == 1))
			}
		}
	}
}

// seed finds where every leaf is in the cell of h0. A leaf with a piece among
// the edges of the walk is known next to that piece; any other does not
// touch the vertices of the walk and is tested at one of them.
func (d *divider) seed(h0 int32, events []int32) {
	d.leafs, d.states = d.leafs[:0], d.states[:0]
	d.leafOf.clear(len(d.leaves))
	resolve := func(h int32) {
		d.eachPiece(h, func(t *seg, _ bool) {
			st := d.state(t.leaf)
			if st.resolved {
				return
			}
			up, down := d.beside(h, t.leaf)
			st = d.state(t.leaf)
			st.up, st.down = up != st.relUp, down != st.relDown
			st.resolved = true
		})
	}
	cellOf := func(h int32) {
		for x := h; ; {
			resolve(x)
			if x = d.halfNext[x]; x == h {
				return
			}
		}
	}
	cellOf(h0)
	for _, h := range events {
		d.eachPiece(h, func(t *seg, _ bool) {
			st := d.state(t.leaf)
			st.relUp = st.relUp != t.up
			st.relDown = st.relDown != t.down
		})
		cellOf(h ^ 1)
	}
	// What does not reach to the corner of h0 is not there.
	d.eachOver(d.vertices[d.from(h0)], func(l int32) {
		if _, ok := d.leafOf.get(l); ok {
			return
		}
		if up, down := d.around(h0, events, l); up || down {
			st := d.state(l)
			st.up, st.down = up, down
		}
	})
	own := d.state(d.faces[d.f].leaf)
	own.up, own.down = d.faces[d.f].sign < 0, d.faces[d.f].sign > 0
}

// eachOver calls do for the leaves near that of the face whose boxes hold a
// point.
func (d *divider) eachOver(v int32, do func(l int32)) {
	own := d.faces[d.f].leaf
	over, p := d.leaves[own].over, &d.pts[v].f
	const several = 64
	if len(over) < several {
		for _, l := range over {
			if L := &d.leaves[l]; overlap(&L.lo, &L.hi, p, p) {
				do(l)
			}
		}
		return
	}
	if d.overTree == nil || d.overLeaf != own {
		boxes := make([]geom.Box, len(over))
		for i, l := range over {
			boxes[i] = boxOf(&d.leaves[l].lo, &d.leaves[l].hi)
		}
		d.overTree, d.overLeaf = boxtree.New(boxes), own
	}
	d.overTree.At(geom.Vec3{X: p[0], Y: p[1], Z: p[2]}, func(i int32) { do(over[i]) })
}

// around tells whether leaf l holds the space above and below the cell of h0.
// It has no piece on an edge of the walk, so one vertex decides, unless the
// leaf just touches it.
func (d *divider) around(h0 int32, events []int32, l int32) (up, down bool) {
	try := func(h int32) (decided bool) {
		for x := h; ; {
			if up, down, decided = d.atCorner(x, l); decided {
				return true
			}
			if x = d.halfNext[x]; x == h {
				return false
			}
		}
	}
	if try(h0) {
		return up, down
	}
	for _, h := range events {
		if try(h ^ 1) {
			break
		}
	}
	return up, down
}

// atCorner is around for the corner of the cell where half-edge x starts.
// Turning clockwise from x, nothing of the leaf changes until an edge with
// one of its pieces comes.
func (d *divider) atCorner(x, l int32) (up, down, decided bool) {
	for y := d.halfNext[x^1]; y != x; y = d.halfNext[y^1] {
		if d.hasPiece(y, l) {
			up, down = d.beside(y, l)
			return up, down, true
		}
	}
	return d.atVertex(d.vertices[d.from(x)], l)
}

func (d *divider) hasPiece(h, l int32) (found bool) {
	d.eachPiece(h, func(t *seg, _ bool) { found = found || t.leaf == l })
	return found
}

// atVertex tells whether leaf l holds the space above and below the plane
// round point v; undecided when a corner or an edge of the leaf passes there.
func (d *divider) atVertex(v, l int32) (up, down, decided bool) {
	switch d.inLeaf(l, v) {
	case inside:
		return true, true, true
	case outside:
		return false, false, true
	}
	for _, g := range d.meets[d.f] {
		if G := &d.faces[g]; G.leaf == l && G.plane == d.p && d.inFace(g, v) == inside {
			return G.sign < 0, G.sign > 0, true
		}
	}
	return false, false, false
}

// beside returns whether leaf l holds the space just above and just below
// the plane in the cell of half-edge h, on whose edge it has a face.
//
// Turning about the edge from the cell upwards, the first face of the leaf
// that is met tells: its own inner side is known.
func (d *divider) beside(h, l int32) (up, down bool) {
	return d.firstFace(h, l, 1), d.firstFace(h, l, -1)
}

// firstFace turns about the edge of h from its cell through the side s of
// the plane (+1 above, -1 below), past the other half of the plane and back
// through the other side.
func (d *divider) firstFace(h, l int32, s int) bool {
	if t, against := d.nearest(h, l, s, true); t != nil {
		return t.left != against // the side turned to the cell
	}
	if t := d.coverOn(h, l, -1); t != nil {
		return t.above == (s > 0)
	}
	if t, against := d.nearest(h, l, -s, false); t != nil {
		return t.left == against
	}
	if t := d.coverOn(h, l, 1); t != nil {
		return t.above == (s > 0)
	}
	return false
}

// coverOn returns a piece of leaf l whose continuation in the plane lies on
// the left (+1) or right (-1) of half-edge h.
func (d *divider) coverOn(h, l int32, where int8) (found *seg) {
	d.eachPiece(h, func(t *seg, against bool) {
		c := t.cover
		if against {
			c = -c
		}
		if t.leaf == l && c == where {
			found = t
		}
	})
	return found
}

// nearest returns the face of leaf l on side s of the plane that is closest
// in angle to the left (or the right) of half-edge h.
func (d *divider) nearest(h, l int32, s int, left bool) (best *seg, bestAgainst bool) {
	d.eachPiece(h, func(t *seg, against bool) {
		if t.leaf != l || s > 0 && !t.up || s < 0 && !t.down {
			return
		}
		if best == nil {
			best, bestAgainst = t, against
			return
		}
		v := d.cornerOn(t.face, s)
		if v < 0 {
			return
		}
		// Left of direction(p, q) is the negative side of q.
		isLeft := d.side(v, best.q) < 0 != bestAgainst
		if isLeft == left {
			best, bestAgainst = t, against
		}
	})
	return best, bestAgainst
}

func (d *divider) cornerOn(g int32, s int) int32 {
	for _, c := range d.faces[g].loops {
		if d.side(c.pt, d.p) == s {
			return c.pt
		}
	}
	return -1
}

// before reports whether leaf l comes before leaf m in the body.
func (k *kernel) before(l, m int32) bool { return k.leaves[l].at < k.leaves[m].at }

// classify walks the tour again with the whole expression and notes for each
// cell whether it bounds the result.
func (d *divider) classify(h0 int32, events []int32) {
	own := d.faces[d.f].leaf
	d.split = 0
	for n, l := range d.leafs {
		st := &d.states[n]
		if st.up {
			d.up.toggle(l)
		}
		if st.down {
			d.down.toggle(l)
		}
		if d.before(l, own) && st.up != st.down {
			d.split++
		}
	}
	d.settle(d.cell[h0])
	for _, h := range events {
		d.eachPiece(h, func(t *seg, _ bool) {
			st := d.state(t.leaf)
			was := st.up != st.down
			if t.up {
				st.up = !st.up
				d.up.toggle(t.leaf)
			}
			if t.down {
				st.down = !st.down
				d.down.toggle(t.leaf)
			}
			if now := st.up != st.down; now != was && d.before(t.leaf, own) {
				if now {
					d.split++
				} else {
					d.split--
				}
			}
		})
		d.settle(d.cell[h^1])
	}
}

const (
	tauNone = iota
	tauUp   // the result lies below: the outward normal is the stored one
	tauDown
)

// settle notes the verdict on a cell. A cell that several leaves cover with
// faces of their own belongs to the first of them.
func (d *divider) settle(c int32) {
	d.cellTau[c] = tauNone
	if d.split > 0 {
		return
	}
	d.see(d.up.holding, func(s *leafState) bool { return s.up })
	d.see(d.down.holding, func(s *leafState) bool { return s.down })
	switch above, below := d.up.root(), d.down.root(); {
	case below && !above:
		d.cellTau[c] = tauUp
	case above && !below:
		d.cellTau[c] = tauDown
	}
}

// see notes a set of leaves that hold the space beside the face.
func (d *divider) see(s setSum, holds func(*leafState) bool) {
	if d.known[s] == d.f+1 {
		return
	}
	d.known[s] = d.f + 1
	d.seen = append(d.seen, s)
	if _, ok := d.sets[s]; ok {
		return
	}
	var leaves []int32
	for n, l := range d.leafs {
		if holds(&d.states[n]) {
			leaves = append(leaves, l)
		}
	}
	d.sets[s] = leaves
}

// emit lists the edges of the cells that bound the result. Between two cells
// with one verdict the edge is listed both ways: whether it can go is known
// only when the other planes through it are.
func (d *divider) emit() {
	for e := range d.edges {
		a, b := d.vertices[d.edges[e].a], d.vertices[d.edges[e].b]
		d.put(d.cellTau[d.cell[2*e]], a, b)
		d.put(d.cellTau[d.cell[2*e+1]], b, a)
	}
}

func (d *divider) put(tau int8, a, b int32) {
	switch tau {
	case tauUp:
		d.out = append(d.out, cutEdge{edge{a, b}, false})
	case tauDown:
		d.out = append(d.out, cutEdge{edge{b, a}, true})
	}
}
