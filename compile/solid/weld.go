package solid

import (
	"cmp"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// welder makes a 2-manifold of triangles.
type welder struct {
	k      *kernel
	tris   []weldTri
	sheets int
	fans   [][]int32 // at each edge of more than two triangles, its pairs in a row
}

type weldTri struct {
	v      [3]int32
	plane  int32
	turned bool
}

// triangulate cuts a region into triangles.
func (k *kernel) triangulate(r *region, t *triangulator, memory *shelf) {
	n := -2
	for _, l := range r.loops {
		n += len(l) + 2
	}
	r.tris = room(&memory.tris, max(0, n))[:0]
	if r.triangle() {
		r.tris = append(r.tris, [3]int32(r.loops[0]))
		return
	}
	t.s, t.forced = k.space, 0
	t.i, t.j = k.axesOf(r)
	t.tris = r.tris
	t.region(r.loops)
	r.tris, t.tris = t.tris, nil
	r.forced = t.forced
}

// mesh pairs the triangles edge by edge and doubles corners where sheets of
// the surface only touch.
func (w *welder) mesh(place func(geom.Vec3) geom.Vec3) (*mesh.Mesh, error) {
	twin, ok := w.pair()
	if !ok {
		return nil, errOpen
	}
	m := &mesh.Mesh{Vertices: make([]geom.Vec3, 0, len(w.tris)/2+8), Triangles: make([][3]int32, len(w.tris))}
	done := make([]bool, 3*len(w.tris))
	seen := make([]bool, len(w.k.pts))
	for h0 := range done {
		if done[h0] {
			continue
		}
		v := w.tris[h0/3].v[h0%3]
		if seen[v] {
			w.sheets++
		}
		seen[v] = true
		id := int32(len(m.Vertices))
		f := &w.k.pts[v].f
		m.Vertices = append(m.Vertices, place(geom.Vec3{X: f[0] / unitsPerMM, Y: f[1] / unitsPerMM, Z: f[2] / unitsPerMM}))
		for h := int32(h0); !done[h]; { // round the corner, one fan of triangles
			done[h] = true
			m.Triangles[h/3][h%3] = id
			h = twin[before(h)]
		}
	}
	w.splitFans(m)
	return m, nil
}

// splitFans gives every pair of triangles at a common edge an edge of its
// own. Where both ends of the edge belong to one sheet, doubling corners does
// not part the pairs; then each pair after the first gets a corner on the
// edge, every one at another place.
func (w *welder) splitFans(m *mesh.Mesh) {
	type split struct {
		t, u int32 // triangles of the pair
		edge       // as it runs in t
		at   float64
	}
	var splits []split
	for _, fan := range w.fans {
		ends := func(h int32) edge { return edge{m.Triangles[h/3][h%3], m.Triangles[h/3][(h+1)%3]} }
		first := ends(fan[0])
		for i := 2; i < len(fan); i += 2 {
			if e := ends(fan[i]); e == first || e == (edge{first.b, first.a}) {
				splits = append(splits, split{fan[i] / 3, fan[i+1] / 3, e, float64(i) / float64(len(fan))})
			}
		}
	}
	parts := map[int32][]int32{} // what a triangle was divided into
	for _, s := range splits {
		p, q := m.Vertices[s.a], m.Vertices[s.b]
		mid := int32(len(m.Vertices))
		m.Vertices = append(m.Vertices, p.Add(q.Sub(p).Scale(s.at)))
		splitEdge(m, s.t, s.a, s.b, mid, parts)
		splitEdge(m, s.u, s.b, s.a, mid, parts)
	}
}

// splitEdge divides triangle t, or the part of it that has the edge a→b, at
// mid.
func splitEdge(m *mesh.Mesh, t, a, b, mid int32, parts map[int32][]int32) {
	for _, p := range append([]int32{t}, parts[t]...) {
		for e := range 3 {
			c := m.Triangles[p]
			if c[e] == a && c[(e+1)%3] == b {
				m.Triangles[p] = [3]int32{a, mid, c[(e+2)%3]}
				parts[t] = append(parts[t], int32(len(m.Triangles)))
				m.Triangles = append(m.Triangles, [3]int32{mid, b, c[(e+2)%3]})
				return
			}
		}
	}
}

// before returns the half-edge before h in its triangle.
func before(h int32) int32 {
	if h%3 == 0 {
		return h + 2
	}
	return h - 1
}

// pair returns for each half-edge 3t+e (from corner e to the next of triangle
// t) its partner on the neighbouring triangle.
func (w *welder) pair() ([]int32, bool) {
	n := int32(3 * len(w.tris))
	halves := make([]halfEdge, n)
	for h := range n {
		t := &w.tris[h/3]
		lo, hi := ends(t.v[h%3], t.v[(h+1)%3])
		halves[h] = halfEdge{lo, hi, h}
	}
	twin := make([]int32, n)
	closed := true
	var fans [][]int32
	groupEdges(halves, len(w.k.pts), func(group []halfEdge) {
		if len(group) == 2 {
			a, b := group[0].id, group[1].id
			closed = closed && w.start(a) != w.start(b)
			twin[a], twin[b] = b, a
			return
		}
		var fan []int32
		for _, h := range group {
			fan = append(fan, h.id)
		}
		fans = append(fans, fan)
	})
	slices.SortFunc(fans, func(a, b []int32) int { return int(a[0]) - int(b[0]) })
	for _, fan := range fans {
		pairs, ok := w.pairFan(fan, twin)
		w.fans = append(w.fans, pairs)
		closed = closed && ok
	}
	return twin, closed
}

// start returns the point where half-edge h begins.
func (w *welder) start(h int32) int32 { return w.tris[h/3].v[h%3] }

func (w *welder) apex(h int32) int32 { return w.tris[h/3].v[(h+2)%3] }

// ahead tells on which side of triangle a, turning about the common edge that
// begins at from, point v lies: +1 ahead, -1 behind, 0 in its plane.
func (w *welder) ahead(from, a, v int32) int {
	t := &w.tris[a/3]
	s := w.k.side(v, t.plane)
	if t.turned {
		s = -s
	}
	if w.start(a) != from {
		s = -s
	}
	return s
}

// pairFan pairs the half-edges at an edge where more than two triangles
// meet, so that each pair bounds one wedge of the body: turning about the
// edge, a wedge begins at a backward half-edge and ends at the next forward
// one, forward being as the first of the fan.
func (w *welder) pairFan(fan, twin []int32) (pairs []int32, ok bool) {
	ref := fan[0]
	from := w.start(ref)
	quarter := func(h int32) int {
		if h == ref {
			return 0
		}
		switch w.ahead(from, ref, w.apex(h)) {
		case 1:
			return 1
		case 0:
			return 2
		}
		return 3
	}
	slices.SortFunc(fan, func(a, b int32) int {
		if a == b {
			return 0
		}
		if c := cmp.Compare(quarter(a), quarter(b)); c != 0 {
			return c
		}
		return -w.ahead(from, a, w.apex(b))
	})
	for i, h := range fan {
		g := fan[(i+1)%len(fan)]
		if w.start(h) == w.start(g) {
			return nil, false
		}
		if w.start(h) != from {
			twin[h], twin[g] = g, h
			pairs = append(pairs, h, g)
		}
	}
	return pairs, true
}
