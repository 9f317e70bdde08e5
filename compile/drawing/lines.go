package drawing

import (
	"cmp"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/picture"
)

// Line is a chain of straight pieces in a view, right and up in mm.
type Line struct {
	Points []geom.Vec2
	Hidden bool
}

// crease is the least angle between two faces whose meeting is an edge of the
// part and not a chord of a curve: the chords of small holes turn by less.
const crease = 20 * math.Pi / 180

// Lines returns the edges and outlines of a part in a view: those in sight,
// and those that something covers. A hidden line that a line in sight covers
// is left out (ISO 128: a visible line comes before a hidden one).
func Lines(t *mesh.Tree, v picture.View) []Line {
	w := &sight{tree: t, view: v}
	w.collect()
	var seen, hidden []piece
	for i := range w.edges {
		w.cut(i, func(p piece, covered bool) {
			if covered {
				hidden = append(hidden, p)
			} else {
				seen = append(seen, p)
			}
		})
	}
	kept := newPaper(w.box)
	seen = kept.add(seen)
	hidden = kept.add(hidden)
	return append(chains(seen, false), chains(hidden, true)...)
}

// piece is a straight line in the view.
type piece struct{ a, b geom.Vec2 }

func (p piece) length() float64 { return p.b.Sub(p.a).Len() }

// sight finds what can be seen of a part from one direction.
type sight struct {
	tree  *mesh.Tree
	view  picture.View
	edges []sightEdge
	rims  []int // edges along which the part turns away: what is covered changes there
	grid  grid
	box   geom.Box
}

// sightEdge is an edge as right, up and away.
type sightEdge struct {
	a, b        geom.Vec3
	left, right int32
}

// collect lists the creases and outlines.
func (w *sight) collect() {
	m := w.tree.Mesh
	at := make([]geom.Vec3, len(m.Vertices))
	w.box = geom.EmptyBox()
	for i, p := range m.Vertices {
		at[i] = w.view.Seen(p)
		w.box.Add(at[i])
	}
	facing := make([]int, len(m.Triangles)) // 1 towards the viewer, -1 away, 0 edge on
	for i, n := range w.tree.Normals {
		switch z := w.view.Seen(n).Z; {
		case z < -edgeOn:
			facing[i] = 1
		case z > edgeOn:
			facing[i] = -1
		}
	}
	for _, e := range m.Edges() {
		f, g := facing[e.Left], facing[e.Right]
		rim := f != g && (f == 1 || g == 1)
		sharp := w.tree.Normals[e.Left].Dot(w.tree.Normals[e.Right]) < math.Cos(crease)
		if !rim && !sharp {
			continue
		}
		a, b := at[e.A], at[e.B]
		if flat(a).Sub(flat(b)).Len() < speck {
			continue // a point in this view
		}
		if rim {
			w.rims = append(w.rims, len(w.edges))
		}
		w.edges = append(w.edges, sightEdge{a, b, e.Left, e.Right})
	}
	w.grid = newGrid(w.box, len(w.rims))
	for _, i := range w.rims {
		w.grid.put(int32(i), flat(w.edges[i].a), flat(w.edges[i].b))
	}
}

const (
	// edgeOn is the sine below which a face counts as seen edge on.
	edgeOn = 1e-6
	// speck is what no pen draws, mm.
	speck = 1e-3
	// beside is how far to the side of an edge one looks past it, mm.
	beside = 2e-3
)

func flat(p geom.Vec3) geom.Vec2 { return geom.Vec2{X: p.X, Y: p.Y} }

// cut divides edge i where outlines cross it, and tells of each piece whether
// something covers it.
func (w *sight) cut(i int, each func(p piece, covered bool)) {
	e := w.edges[i]
	a, b := flat(e.a), flat(e.b)
	d := b.Sub(a)
	at := []float64{0, 1}
	// An outline farther away than the edge hides nothing of it.
	before := func(z, s float64) bool { return z < e.a.Z+float64(s*(e.b.Z-e.a.Z))-beside }
	w.grid.along(a, b, func(j int32) {
		if int(j) == i {
			return
		}
		c, f := flat(w.edges[j].a), flat(w.edges[j].b)
		g := f.Sub(c)
		den := d.Cross(g)
		if math.Abs(den) < 1e-12*d.Len()*g.Len() {
			for _, p := range []geom.Vec3{w.edges[j].a, w.edges[j].b} { // alongside: its ends divide
				s := flat(p).Sub(a).Dot(d) / d.Dot(d)
				if math.Abs(flat(p).Sub(a).Cross(d)) < speck*d.Len() && before(p.Z, s) {
					at = append(at, s)
				}
			}
			return
		}
		s, t := c.Sub(a).Cross(g)/den, c.Sub(a).Cross(d)/den
		if t > -1e-9 && t < 1+1e-9 && before(w.edges[j].a.Z+float64(t*(w.edges[j].b.Z-w.edges[j].a.Z)), s) {
			at = append(at, s)
		}
	})
	slices.Sort(at)
	long := d.Len()
	last, covered := 0.0, false
	open := false
	flush := func(to float64) {
		if open && (to-last)*long > speck/10 {
			each(piece{a.Add(d.Scale(last)), a.Add(d.Scale(to))}, covered)
		}
	}
	from := 0.0
	for _, s := range at {
		s = min(1, max(0, s))
		if (s-from)*long < speck/10 && s < 1 {
			continue
		}
		c := w.covered(&e, (from+s)/2)
		if !open || c != covered {
			flush(from)
			last, covered, open = from, c, true
		}
		from = s
	}
	flush(1)
}

// covered reports whether something stands before the edge at s of its
// length. An edge is in sight when the view past it is free on one side.
func (w *sight) covered(e *sightEdge, s float64) bool {
	p := e.a.Add(e.b.Sub(e.a).Scale(s))
	side := flat(e.b).Sub(flat(e.a)).Perp()
	side = side.Scale(beside / side.Len())
	for _, k := range []float64{1, -1} {
		q := w.view.Place(geom.Vec3{X: p.X + float64(k*side.X), Y: p.Y + float64(k*side.Y), Z: p.Z})
		_, _, hit := w.tree.Ray(q, w.view.Towards(), math.Inf(1), func(tri int, at float64) bool {
			return at > beside && int32(tri) != e.left && int32(tri) != e.right
		})
		if !hit {
			return false
		}
	}
	return true
}

// paper keeps the pieces that are drawn, so that none is drawn twice.
type paper struct {
	grid   grid
	pieces []piece
}

func newPaper(box geom.Box) *paper { return &paper{grid: newGrid(box, 4096)} }

// add returns what is left of the pieces where nothing is drawn yet, the
// longest first, and draws it.
func (k *paper) add(pieces []piece) []piece {
	slices.SortStableFunc(pieces, func(p, q piece) int { return cmp.Compare(q.length(), p.length()) })
	var out []piece
	for _, p := range pieces {
		for _, q := range k.rest(p) {
			k.grid.put(int32(len(k.pieces)), q.a, q.b)
			k.pieces = append(k.pieces, q)
			out = append(out, q)
		}
	}
	return out
}

// rest returns the parts of p along which no drawn piece lies.
func (k *paper) rest(p piece) []piece {
	d := p.b.Sub(p.a)
	long := d.Len()
	if long < speck {
		return nil
	}
	type span struct{ from, to float64 }
	var taken []span
	k.grid.along(p.a, p.b, func(j int32) {
		q := k.pieces[j]
		if math.Abs(q.a.Sub(p.a).Cross(d)) > 3*speck*long || math.Abs(q.b.Sub(p.a).Cross(d)) > 3*speck*long {
			return
		}
		s, t := q.a.Sub(p.a).Dot(d)/long, q.b.Sub(p.a).Dot(d)/long
		taken = append(taken, span{min(s, t), max(s, t)})
	})
	slices.SortFunc(taken, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	var out []piece
	from := 0.0
	leave := func(to float64) {
		if to-from > 2*speck {
			out = append(out, piece{p.a.Add(d.Scale(from / long)), p.a.Add(d.Scale(to / long))})
		}
	}
	for _, t := range taken {
		leave(min(t.from, long))
		from = max(from, t.to)
	}
	leave(long)
	return out
}

// chains joins pieces end to end, so that dashes run round curves. Where more
// than two meet a chain goes on straight.
func chains(pieces []piece, hidden bool) []Line {
	type end struct{ x, y int64 }
	key := func(p geom.Vec2) end {
		return end{int64(math.Round(p.X / (4 * speck))), int64(math.Round(p.Y / (4 * speck)))}
	}
	at := map[end][]int{}
	for i, p := range pieces {
		at[key(p.a)] = append(at[key(p.a)], i)
		at[key(p.b)] = append(at[key(p.b)], i)
	}
	used := make([]bool, len(pieces))
	// grow runs on from the end of a chain and returns the points it passes.
	grow := func(from, to geom.Vec2) []geom.Vec2 {
		var out []geom.Vec2
		for {
			best, turn := -1, math.Cos(45*math.Pi/180)
			var next geom.Vec2
			dir := to.Sub(from)
			for _, i := range at[key(to)] {
				if used[i] {
					continue
				}
				far := pieces[i].b
				if key(far) == key(to) {
					far = pieces[i].a
				}
				step := far.Sub(to)
				if c := step.Dot(dir) / (step.Len() * dir.Len()); c > turn {
					best, turn, next = i, c, far
				}
			}
			if best < 0 {
				return out
			}
			used[best] = true
			out = append(out, next)
			from, to = to, next
		}
	}
	var out []Line
	for i, p := range pieces {
		if used[i] {
			continue
		}
		used[i] = true
		ahead := grow(p.a, p.b)
		behind := grow(p.b, p.a)
		slices.Reverse(behind)
		out = append(out, Line{slices.Concat(behind, []geom.Vec2{p.a, p.b}, ahead), hidden})
	}
	return out
}

// grid finds the lines near a line.
type grid struct {
	min   geom.Vec2
	size  float64
	w, h  int
	cells [][]int32
}

func newGrid(box geom.Box, n int) grid {
	s := box.Size()
	side := math.Sqrt(float64(min(max(n, 1), 1<<14)))
	size := max(s.X, s.Y, speck) / side
	g := grid{min: flat(box.Min), size: size, w: int(s.X/size) + 1, h: int(s.Y/size) + 1}
	g.cells = make([][]int32, g.w*g.h)
	return g
}

// walk calls each with the cells that a line passes, and their neighbours
// within a speck.
func (g *grid) walk(a, b geom.Vec2, each func(cell int)) {
	d := b.Sub(a)
	y0 := g.cell(min(a.Y, b.Y)-g.min.Y-speck, g.h)
	y1 := g.cell(max(a.Y, b.Y)-g.min.Y+speck, g.h)
	for y := y0; y <= y1; y++ {
		x0, x1 := min(a.X, b.X), max(a.X, b.X)
		if d.Y != 0 && y0 != y1 { // only where the line crosses the row
			lo := (g.min.Y + float64(float64(y)*g.size) - speck - a.Y) / d.Y
			hi := (g.min.Y + float64(float64(y+1)*g.size) + speck - a.Y) / d.Y
			lo, hi = min(1, max(0, min(lo, hi))), min(1, max(0, max(lo, hi)))
			p, q := a.X+float64(lo*d.X), a.X+float64(hi*d.X)
			x0, x1 = min(p, q), max(p, q)
		}
		for x := g.cell(x0-g.min.X-speck, g.w); x <= g.cell(x1-g.min.X+speck, g.w); x++ {
			each(y*g.w + x)
		}
	}
}

func (g *grid) cell(x float64, n int) int { return min(n-1, max(0, int(x/g.size))) }

func (g *grid) put(i int32, a, b geom.Vec2) {
	g.walk(a, b, func(c int) { g.cells[c] = append(g.cells[c], i) })
}

// along calls each once with every line that shares a cell with a line.
func (g *grid) along(a, b geom.Vec2, each func(i int32)) {
	var found []int32
	g.walk(a, b, func(c int) { found = append(found, g.cells[c]...) })
	slices.Sort(found)
	for _, i := range slices.Compact(found) {
		each(i)
	}
}
