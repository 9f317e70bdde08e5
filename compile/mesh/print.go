package mesh

import (
	"cmp"
	"math"
	"slices"

	"perch/compile/disjoint"
	"perch/compile/geom"
)

// This file looks at a closed mesh as something that is laid down layer on
// layer along z.

// Island is a piece of the body that begins in the air.
type Island struct {
	At geom.Vec3 // its lowest corner
	// Free is how high it stands alone before it joins what was begun below it,
	// mm; +Inf when it never does.
	Free float64
}

// Islands returns the pieces that begin above the lowest point and stand alone
// for more than least mm, from the lowest up. As z rises, a new piece of the
// body begins only at a place from where the surface leads nowhere down and
// that faces down, and two pieces join only at a saddle of the surface; so a
// walk over the corners by height finds them all, whatever the layers are.
// Source: Morse theory of the height over a body with a boundary.
func (m *Mesh) Islands(least float64) []Island {
	w := newRise(m)
	lowest := m.Bounds().Min.Z
	for i := 0; i < len(w.order); {
		j := i + 1
		for j < len(w.order) && m.Vertices[w.order[j]].Z == m.Vertices[w.order[i]].Z {
			j++
		}
		w.level(w.order[i:j])
		i = j
	}
	for v := range m.Vertices { // what never joined
		if p := w.pieces[v]; w.up[v] == int32(v) && p.body {
			w.end(p, math.Inf(1))
		}
	}
	out := slices.DeleteFunc(w.ended, func(s Island) bool { return !(s.Free > least) || s.At.Z <= lowest+least })
	slices.SortStableFunc(out, func(a, b Island) int {
		switch {
		case a.At.Z < b.At.Z:
			return -1
		case a.At.Z > b.At.Z:
			return 1
		}
		return 0
	})
	return out
}

// piece is what has been met of the surface up to some height and hangs
// together.
type piece struct {
	body bool // it begins with body, not with a hollow
	at   geom.Vec3
}

type rise struct {
	m      *Mesh
	fans   vertexFans
	order  []int32 // used vertices by height
	up     []int32
	met    []bool
	pieces []piece   // of each root
	facing []float64 // of each root of the level: how far it faces up
	ended  []Island
}

func newRise(m *Mesh) *rise {
	w := &rise{m: m, fans: m.fans(), up: make([]int32, len(m.Vertices)), met: make([]bool, len(m.Vertices)), pieces: make([]piece, len(m.Vertices)), facing: make([]float64, len(m.Vertices))}
	type key struct {
		z float64
		v int32
	}
	var keys []key // together, so that sorting does not jump about in memory
	for v := range m.Vertices {
		w.up[v] = int32(v)
		if len(w.fans.around(int32(v))) > 0 {
			keys = append(keys, key{m.Vertices[v].Z, int32(v)})
		}
	}
	slices.SortFunc(keys, func(a, b key) int { return cmp.Or(cmp.Compare(a.z, b.z), cmp.Compare(a.v, b.v)) })
	w.order = make([]int32, len(keys))
	for i, k := range keys {
		w.order[i] = k.v
	}
	return w
}

func (w *rise) find(v int32) int32 {
	for w.up[v] != v {
		w.up[v] = w.up[w.up[v]]
		v = w.up[v]
	}
	return v
}

// level adds the corners of one height: first the flat groups that they form
// among themselves, then what leads down from them.
func (w *rise) level(group []int32) {
	z := w.m.Vertices[group[0]].Z
	for _, v := range group {
		w.met[v] = true
		w.pieces[v] = piece{at: w.m.Vertices[v]}
	}
	for _, v := range group {
		w.each(v, func(u int32) {
			if w.met[u] && w.m.Vertices[u].Z == z {
				a, b := w.find(v), w.find(u)
				w.up[max(a, b)] = min(a, b)
			}
		})
	}
	for _, v := range group {
		root := w.find(v)
		for _, i := range w.fans.around(v) {
			a, b, c := w.m.Corners(int(i))
			w.facing[root] += b.Sub(a).Cross(c.Sub(a)).Z
		}
	}
	for _, v := range group {
		if w.up[v] == v {
			w.pieces[v].body = w.facing[v] < 0
		}
	}
	for _, v := range group {
		w.each(v, func(u int32) {
			if w.met[u] && w.m.Vertices[u].Z < z {
				w.join(w.find(v), w.find(u), z)
			}
		})
	}
}

// each calls do with the corners next to v.
func (w *rise) each(v int32, do func(u int32)) {
	for _, i := range w.fans.around(v) {
		for _, u := range w.m.Triangles[i] {
			if u != v {
				do(u)
			}
		}
	}
}

// join makes one piece of two at height z. A group that has just been met and
// leads down never was a piece of its own.
func (w *rise) join(a, b int32, z float64) {
	if a == b {
		return
	}
	p, q := w.pieces[a], w.pieces[b]
	switch fresh, other := p.at.Z == z, q.at.Z == z; {
	case fresh && !other, fresh == other && q.body && (!p.body || q.at.Z < p.at.Z):
		p, q = q, p
	}
	switch {
	case p.body && q.body && q.at.Z < z:
		w.end(q, z)
	case p.body && !q.body && q.at.Z < p.at.Z:
		// The hollow was there before the piece began in it, so the piece joins
		// what is round the hollow.
		w.end(p, z)
		p = q
	}
	root := min(a, b)
	w.up[max(a, b)] = root
	w.pieces[root] = p
}

func (w *rise) end(p piece, z float64) {
	w.ended = append(w.ended, Island{At: p.at, Free: z - p.at.Z})
}

// Overhang is a connected part of the surface that leans outwards more than
// some angle.
type Overhang struct {
	Box   geom.Box
	Area  float64 // mm²
	Angle float64 // the steepest, radians from upright: 0 a wall, π/2 a ceiling
	// Bridge is the longest way across it from support to support in the best
	// direction, mm; +Inf when in every direction it ends in the air somewhere.
	Bridge float64
}

// Lean returns how far triangle i leans outwards, in radians: 0 for a wall,
// π/2 for a ceiling, negative for what faces up.
func (t *Tree) Lean(i int) float64 { return math.Asin(min(1, max(-1, -t.Normals[i].Z))) }

// Chords says how far the facets of a curved face may lie off it.
type Chords struct {
	// Off is the greatest distance between a curve and its chords, mm; 0 takes
	// every facet as exact.
	Off float64
	// Least is the span below which that of a facet is not counted, mm: what
	// is narrower is not printed.
	Least float64
}

// lean returns how much more than the face a facet may lean that spans b mm in
// plan, radians. Its edges lie up to Off off the curve, so that it spans
// b + Off over the same height: with tan L = b/height the lean grows by
// sin(2L)/2 · Off/b at most (plane geometry).
func (c Chords) lean(limit, b float64) float64 {
	if c.Off == 0 {
		return 0
	}
	return math.Abs(math.Sin(2*limit)) / 2 * c.Off / max(b, c.Least)
}

// Most is the most that any facet of a curved face may lean more, radians.
func (c Chords) Most(limit float64) float64 { return c.lean(limit, 0) }

// bend is the greatest angle between two facets of one curved face, radians: a
// curve of a radius of 0.4 mm, a line of the nozzle, at a chord tolerance of
// 0.01 mm.
const bend = 0.45

// curved tells of each triangle whether it is a facet of a curved face: one of
// its neighbours goes on at a small angle.
func (t *Tree) curved(hs []halfEdge) []bool {
	out := make([]bool, len(t.Mesh.Triangles))
	for i := 0; i+1 < len(hs); i++ {
		if hs[i].edge != hs[i+1].edge {
			continue
		}
		x, y := hs[i].tri, hs[i+1].tri
		turn := t.Normals[x].Cross(t.Normals[y]).Len()
		if turn > 1e-6 && turn < math.Sin(bend) && t.Normals[x].Dot(t.Normals[y]) > 0 {
			out[x], out[y] = true, true
		}
	}
	return out
}

// LeanStep returns how much, in radians, the lean of triangle i differs at most
// from that of a neighbour that goes on with the same curved face; 0 for a flat
// face or an upright cone. The lean of a curved face is told in such steps.
func (t *Tree) LeanStep(i int) float64 {
	own, most := t.Mesh.Triangles[i], 0.0
	for j, other := range t.Mesh.Triangles {
		meets := false // at a corner: a facet may be of several triangles
		for _, v := range other {
			meets = meets || v == own[0] || v == own[1] || v == own[2]
		}
		if !meets || t.Normals[i].Dot(t.Normals[j]) <= 0 {
			continue
		}
		if turn := math.Asin(min(1, t.Normals[i].Cross(t.Normals[j]).Len())); turn > 1e-6 && turn < bend {
			most = max(most, math.Abs(t.Lean(i)-t.Lean(j)))
		}
	}
	return most
}

// span returns how far triangle i reaches in plan in the direction it faces.
func (t *Tree) span(i int) float64 {
	n := t.Normals[i]
	l := math.Hypot(n.X, n.Y)
	if l == 0 {
		return 0
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	a, b, c := t.Mesh.Corners(i)
	for _, p := range [3]geom.Vec3{a, b, c} {
		d := (float64(p.X*n.X) + float64(p.Y*n.Y)) / l
		lo, hi = min(lo, d), max(hi, d)
	}
	return hi - lo
}

// Overhangs returns the parts of the surface that lean more than limit and do
// not lie on the bed, in the order of their first triangle. The bed lies at
// the lowest point, and what is within first mm of it counts as on it. Facets
// of curved faces may lean more by as much as their chords explain.
func (t *Tree) Overhangs(limit, first float64, chords Chords) []Overhang {
	m := t.Mesh
	bed := m.Bounds().Min.Z + first
	hs := m.halfEdges()
	curved := t.curved(hs)
	over := make([]bool, len(m.Triangles))
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		allowed := limit + 1e-6
		if lean := t.Lean(i); lean > allowed && curved[i] {
			allowed += chords.lean(limit, t.span(i))
		}
		over[i] = t.Lean(i) > allowed && max(a.Z, b.Z, c.Z) > bed
	}
	areas := disjoint.New(len(m.Triangles))
	rims := []rim{}
	owner := []int32{}
	for i := 0; i+1 < len(hs); i++ {
		if hs[i].edge != hs[i+1].edge {
			continue
		}
		x, y := hs[i].tri, hs[i+1].tri
		switch {
		case over[x] && over[y]:
			areas.Unite(x, y)
		case over[x] != over[y]:
			if over[y] {
				x, y = y, x
			}
			p, q := hs[i].ends()
			rims = append(rims, rim{m.Vertices[p], m.Vertices[q], t.carries(int(y), m.Vertices[p], m.Vertices[q], bed)})
			owner = append(owner, x)
		}
	}
	number := map[int32]int{}
	var out []Overhang
	var edges [][]rim
	for i := range m.Triangles {
		if !over[i] {
			continue
		}
		r := areas.Of(int32(i))
		k, ok := number[r]
		if !ok {
			k = len(out)
			number[r] = k
			out = append(out, Overhang{Box: geom.EmptyBox()})
			edges = append(edges, nil)
		}
		a, b, c := m.Corners(i)
		for _, p := range [3]geom.Vec3{a, b, c} {
			out[k].Box.Add(p)
		}
		out[k].Area += b.Sub(a).Cross(c.Sub(a)).Len() / 2
		out[k].Angle = max(out[k].Angle, t.Lean(i))
	}
	for i, r := range rims {
		k := number[areas.Of(owner[i])]
		edges[k] = append(edges[k], r)
	}
	for k := range out {
		out[k].Bridge = bridge(edges[k])
	}
	return out
}

// rim is an edge of an overhang; held says that the body goes on down there.
type rim struct {
	a, b geom.Vec3
	held bool
}

// carries reports whether triangle i leads down from its edge p, q, or the
// edge lies on the bed.
func (t *Tree) carries(i int, p, q geom.Vec3, bed float64) bool {
	low := min(p.Z, q.Z)
	if max(p.Z, q.Z) <= bed {
		return true
	}
	a, b, c := t.Mesh.Corners(i)
	return min(a.Z, b.Z, c.Z) < low-1e-9
}

// bridge seeks the direction in which every line across the rims begins and
// ends where the body goes on down, and the longest of the lines is shortest.
// It tries directions 7.5 degrees apart, and 24 lines in each.
func bridge(rims []rim) float64 {
	const directions, lines = 24, 24
	best := math.Inf(1)
	seen := make([]seenRim, len(rims))
	for k := range directions {
		sin, cos := geom.SinCos(math.Pi * float64(k) / directions)
		lo, hi := math.Inf(1), math.Inf(-1)
		for i, r := range rims {
			v := seenRim{
				float64(r.a.X*cos) + float64(r.a.Y*sin), float64(r.b.X*cos) + float64(r.b.Y*sin),
				float64(r.a.Y*cos) - float64(r.a.X*sin), float64(r.b.Y*cos) - float64(r.b.X*sin), r.held,
			}
			seen[i] = v
			lo, hi = min(lo, v.u, v.v), max(hi, v.u, v.v)
		}
		longest := 0.0
		for l := 0; l < lines && longest < best; l++ {
			longest = max(longest, crossed(seen, lo+(hi-lo)*(float64(l)+0.5)/lines))
		}
		best = min(best, longest)
	}
	return best
}

// seenRim is a rim seen in one direction: s and e are how far along that its
// ends lie, u and v how far across.
type seenRim struct {
	s, e, u, v float64
	held       bool
}

// crossed returns the longest way within the rims on one line, +Inf when it
// ends in the air.
func crossed(rims []seenRim, at float64) float64 {
	type cut struct {
		s    float64
		held bool
	}
	var room [16]cut
	cuts := room[:0]
	for i := range rims {
		r := &rims[i]
		u, v := r.u-at, r.v-at
		if (u < 0) == (v < 0) {
			continue
		}
		cuts = append(cuts, cut{r.s + (r.e-r.s)*u/(u-v), r.held})
	}
	slices.SortStableFunc(cuts, func(a, b cut) int { return cmp.Compare(a.s, b.s) })
	longest := 0.0
	for i := 0; i+1 < len(cuts); i += 2 {
		if w := cuts[i+1].s - cuts[i].s; w > 1e-6 {
			if !cuts[i].held || !cuts[i+1].held {
				return math.Inf(1)
			}
			longest = max(longest, w)
		}
	}
	return longest
}

// Foot returns the part of the surface that lies flat on the bed, which is
// within first mm of the lowest point: its area in mm², its box, and the
// corners of its convex hull seen from above, counter-clockwise. Corners that
// merely touch the bed belong to the hull too.
func (t *Tree) Foot(first float64) (area float64, box geom.Box, hull []geom.Vec2) {
	m := t.Mesh
	bed := m.Bounds().Min.Z + first
	box = geom.EmptyBox()
	var ps []geom.Vec2
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		for _, p := range [3]geom.Vec3{a, b, c} {
			if p.Z <= bed {
				ps = append(ps, geom.Vec2{X: p.X, Y: p.Y})
			}
		}
		if max(a.Z, b.Z, c.Z) <= bed && t.Normals[i].Z < 0 {
			area -= b.Sub(a).Cross(c.Sub(a)).Z / 2
			box.Add(a)
			box.Add(b)
			box.Add(c)
		}
	}
	return area, box, Hull(ps)
}

// Hull returns the corners of the convex hull of points, counter-clockwise,
// without those in the middle of a side. Source: A. M. Andrew, Another
// efficient algorithm for convex hulls in two dimensions (1979).
func Hull(ps []geom.Vec2) []geom.Vec2 {
	ps = slices.Clone(ps)
	slices.SortFunc(ps, func(a, b geom.Vec2) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	ps = slices.Compact(ps)
	if len(ps) < 3 {
		return ps
	}
	half := func(ps []geom.Vec2) []geom.Vec2 {
		var h []geom.Vec2
		for _, p := range ps {
			for len(h) >= 2 && h[len(h)-1].Sub(h[len(h)-2]).Cross(p.Sub(h[len(h)-1])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, p)
		}
		return h[:len(h)-1]
	}
	lower := half(ps)
	slices.Reverse(ps)
	return append(lower, half(ps)...)
}
