package solid

import (
	"cmp"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// welder collects triangles and makes a 2-manifold of them.
type welder struct {
	k      *kernel
	tris   []weldTri
	forced int
	sheets int
}

type weldTri struct {
	v      [3]int32
	plane  int32
	turned bool
}

func (w *welder) region(r *region) {
	i, j := w.k.axesOf(r)
	t := triangulator{s: w.k.space, i: i, j: j, emit: func(a, b, c int32) {
		w.tris = append(w.tris, weldTri{[3]int32{a, b, c}, r.plane, r.turned})
	}}
	t.region(r.loops)
	w.forced += t.forced
}

// mesh pairs the triangles edge by edge and doubles corners where sheets of
// the surface only touch.
func (w *welder) mesh(place func(geom.Vec3) geom.Vec3) (*mesh.Mesh, error) {
	twin, ok := w.pair()
	if !ok {
		return nil, errOpen
	}
	m := &mesh.Mesh{Triangles: make([][3]int32, len(w.tris))}
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
	return m, nil
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
	type half struct {
		lo, hi int32
		h      int32
	}
	halves := make([]half, n)
	for h := range n {
		t := &w.tris[h/3]
		lo, hi := ends(t.v[h%3], t.v[(h+1)%3])
		halves[h] = half{lo, hi, h}
	}
	slices.SortFunc(halves, func(a, b half) int {
		return cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi), cmp.Compare(a.h, b.h))
	})
	twin := make([]int32, n)
	var fan []int32
	for i := 0; i < len(halves); {
		j := i
		fan = fan[:0]
		for ; j < len(halves) && halves[j].lo == halves[i].lo && halves[j].hi == halves[i].hi; j++ {
			fan = append(fan, halves[j].h)
		}
		if len(fan) == 2 {
			a, b := fan[0], fan[1]
			if w.forward(a) == w.forward(b) {
				return nil, false
			}
			twin[a], twin[b] = b, a
		} else if !w.pairFan(fan, twin) {
			return nil, false
		}
		i = j
	}
	return twin, true
}

// forward reports whether half-edge h runs from its lower to its higher point.
func (w *welder) forward(h int32) bool {
	t := &w.tris[h/3]
	return t.v[h%3] < t.v[(h+1)%3]
}

func (w *welder) apex(h int32) int32 { return w.tris[h/3].v[(h+2)%3] }

// ahead tells on which side of triangle a, turning about the common edge
// from its lower to its higher point, point v lies: +1 ahead, -1 behind, 0 in
// its plane.
func (w *welder) ahead(a, v int32) int {
	t := &w.tris[a/3]
	s := w.k.side(v, t.plane)
	if t.turned {
		s = -s
	}
	if !w.forward(a) {
		s = -s
	}
	return s
}

// pairFan pairs the half-edges at an edge where more than two triangles
// meet, so that each pair bounds one wedge of the body: turning about the
// edge, a wedge begins at a backward half-edge and ends at the next forward
// one.
func (w *welder) pairFan(fan, twin []int32) bool {
	ref := fan[0]
	quarter := func(h int32) int {
		if h == ref {
			return 0
		}
		switch w.ahead(ref, w.apex(h)) {
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
		return -w.ahead(a, w.apex(b))
	})
	n := len(fan)
	for i, h := range fan {
		if w.forward(h) {
			continue
		}
		g := fan[(i+1)%n]
		if !w.forward(g) {
			return false
		}
		twin[h], twin[g] = g, h
	}
	forwards := 0
	for _, h := range fan {
		if w.forward(h) {
			forwards++
		}
	}
	return 2*forwards == n
}
