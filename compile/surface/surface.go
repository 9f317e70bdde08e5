// Package surface tells apart the faces of a mesh: what is flat, what is a
// cylinder or a ball and of which radius, which edges are crisp, and which of
// them run together as straight lines and circles. A mesh knows only
// triangles; people pick faces and edges.
package surface

import (
	"math"
	"slices"

	"perch/compile/disjoint"
	"perch/compile/geom"
	"perch/compile/mesh"
)

// Kind is the sort of a face.
type Kind uint8

const (
	// Flat faces have a normal in Axis.
	Flat Kind = iota
	// Cylinder faces have a radius, a point of the axis in Centre and the
	// direction of the axis in Axis.
	Cylinder
	// Ball faces have a radius and a centre.
	Ball
	// Curved faces are smooth and none of the others.
	Curved
)

// Face is a set of triangles that people take for one face.
type Face struct {
	Kind         Kind
	Hollow       bool    // of a Cylinder or Ball: a bore and not a peg
	Radius       float64 // mm, 0 when there is none
	Centre, Axis geom.Vec3
	Area         float64 // mm²
}

// Edge is where two triangles meet that do not lie in one plane.
type Edge struct {
	A, B        int32    // vertices
	Left, Right int32    // triangles; A to B runs counter-clockwise round Left
	Crisp       bool     // people see it whatever the light
	Curve       int32    // of a crisp edge: its place in Curves
	Bend        float64  // the angle between the normals, radians
	facets      [2]int32 // on its two sides
}

// Curve is a run of crisp edges between the same two faces.
type Curve struct {
	Closed       bool
	Straight     bool
	Radius       float64 // mm, of a circle or an arc, else 0
	Centre, Axis geom.Vec3
	Length       float64 // mm
}

// Surface is a mesh with its faces and edges.
type Surface struct {
	Mesh    *mesh.Mesh
	Normals []geom.Vec3 // of the triangles; of slivers that of their facet
	FaceOf  []int32     // of the triangles
	Faces   []Face
	Edges   []Edge
	Curves  []Curve
}

// Crease is the angle from which on an edge is crisp, unless it belongs to
// the chords of a cylinder. Common practice for drawing meshes.
const Crease = 20 * math.Pi / 180

const (
	flatAngle = 1e-3               // rad; chords of 0.001 mm at 1 m turn by 2.8e-3
	mostTurn  = 46 * math.Pi / 180 // a circle has 8 chords at least
	grain     = 1e-4               // mm; triangles that are thinner have no sure normal
	near      = 2e-3               // mm; corners of chords lie this close to their circle
	parallel  = 1e-5               // 1 - cosine of directions that count as one
	balance   = 5                  // a facet so many times larger than what it runs into smoothly is flat
	least     = 3                  // chords of a cylinder
	round     = 8                  // chords of a whole circle
)

// Of finds the faces of a mesh whose curves were built within tolerance (mm).
func Of(m *mesh.Mesh, tolerance float64) *Surface {
	f := &finder{m: m, band: float64(1.5*tolerance) + near}
	f.triangles()
	f.pair()
	f.group()
	f.tubes()
	f.cylinders()
	f.rest()
	f.mark()
	f.curves()
	return &Surface{Mesh: m, Normals: f.normals, FaceOf: f.faceOf, Faces: f.faces, Edges: f.edges, Curves: f.runs}
}

type finder struct {
	m    *mesh.Mesh
	band float64

	normals []geom.Vec3
	areas   []float64
	thin    []bool
	edges   []Edge // all pairs of triangles, then those between facets

	facetOf []int32 // of triangles
	facets  []facet
	faceOf  []int32
	faces   []Face
	runs    []Curve
}

// facet is a flat piece of the surface.
type facet struct {
	normal geom.Vec3
	area   float64
	first  int32   // one of its triangles
	edges  []int32 // to other facets
	face   int32   // -1 for none yet
}

func (f *finder) triangles() {
	n := len(f.m.Triangles)
	f.normals, f.areas, f.thin = make([]geom.Vec3, n), make([]float64, n), make([]bool, n)
	for i := range f.m.Triangles {
		a, b, c := f.m.Corners(i)
		w := b.Sub(a).Cross(c.Sub(a))
		l := w.Len()
		longest := math.Sqrt(max(b.Sub(a).Dot(b.Sub(a)), c.Sub(b).Dot(c.Sub(b)), a.Sub(c).Dot(a.Sub(c))))
		f.areas[i], f.thin[i] = l/2, l < grain*longest
		f.normals[i] = w.Unit()
	}
}

// pair finds the two triangles at every edge. Half edges are looked up by
// their lower corner.
func (f *finder) pair() {
	first := make([]int32, len(f.m.Vertices)+1)
	for _, t := range f.m.Triangles {
		for e := range 3 {
			first[min(t[e], t[(e+1)%3])+1]++
		}
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	type half struct{ hi, tri int32 }
	halves := make([]half, 3*len(f.m.Triangles))
	used := make([]int32, len(f.m.Vertices))
	f.edges = make([]Edge, 0, 3*len(f.m.Triangles)/2)
	for i, t := range f.m.Triangles {
		for e := range 3 {
			a, b := t[e], t[(e+1)%3]
			lo, hi := min(a, b), max(a, b)
			row := halves[first[lo] : first[lo]+used[lo]]
			k := slices.IndexFunc(row, func(h half) bool { return h.hi == hi })
			if k < 0 {
				halves[first[lo]+used[lo]] = half{hi, int32(i)}
				used[lo]++
				continue
			}
			other := row[k].tri
			row[k].hi = -1
			f.edges = append(f.edges, Edge{A: b, B: a, Left: other, Right: int32(i), Curve: -1})
		}
	}
}

func between(a, b geom.Vec3) float64 { return math.Atan2(a.Cross(b).Len(), a.Dot(b)) }

// group joins triangles of one plane to facets, and slivers to whatever lies
// across their longest side.
func (f *finder) group() {
	facets := disjoint.New(len(f.m.Triangles))
	longest := make([]float64, len(f.m.Triangles))
	across := make([]int32, len(f.m.Triangles))
	for _, e := range f.edges {
		d := f.m.Vertices[e.B].Sub(f.m.Vertices[e.A])
		l := d.Dot(d)
		for _, s := range [2][2]int32{{e.Left, e.Right}, {e.Right, e.Left}} {
			if f.thin[s[0]] && l > longest[s[0]] {
				longest[s[0]], across[s[0]] = l, s[1]
			}
		}
		if !f.thin[e.Left] && !f.thin[e.Right] && between(f.normals[e.Left], f.normals[e.Right]) <= flatAngle {
			facets.Unite(e.Left, e.Right)
		}
	}
	for i, thin := range f.thin {
		if thin && longest[i] > 0 {
			facets.Unite(int32(i), across[i])
		}
	}
	f.facetOf = make([]int32, len(facets))
	for i := range facets {
		r := facets.Of(int32(i))
		if r == int32(i) {
			f.facetOf[i] = int32(len(f.facets))
			f.facets = append(f.facets, facet{first: r, face: -1})
		} else {
			f.facetOf[i] = f.facetOf[r]
		}
		p := &f.facets[f.facetOf[i]]
		p.area += f.areas[i]
		p.normal = p.normal.Add(f.normals[i].Scale(f.areas[i]))
	}
	for i := range f.facets {
		f.facets[i].normal = f.facets[i].normal.Unit()
	}
	for i, thin := range f.thin {
		if thin {
			f.normals[i] = f.facets[f.facetOf[i]].normal
		}
	}
	kept := f.edges[:0]
	for _, e := range f.edges {
		a, b := f.facetOf[e.Left], f.facetOf[e.Right]
		if a == b {
			continue
		}
		e.facets = [2]int32{a, b}
		e.Bend = between(f.facets[a].normal, f.facets[b].normal)
		n := int32(len(kept))
		kept = append(kept, e)
		f.facets[a].edges = append(f.facets[a].edges, n)
		f.facets[b].edges = append(f.facets[b].edges, n)
	}
	f.edges = kept
}

func (f *finder) other(e *Edge, p int32) int32 {
	if e.facets[0] == p {
		return e.facets[1]
	}
	return e.facets[0]
}

func (f *finder) along(e *Edge) geom.Vec3 {
	return f.m.Vertices[e.B].Sub(f.m.Vertices[e.A]).Unit()
}

// rest makes faces of the facets that belong to no cylinder: those that run
// into one another smoothly become one, the others are flat.
func (f *finder) rest() {
	soft := func(p int32) []int32 {
		var out []int32
		for _, i := range f.facets[p].edges {
			e := &f.edges[i]
			if q := f.other(e, p); e.Bend < Crease && f.facets[q].face < 0 && !slices.Contains(out, q) {
				out = append(out, q)
			}
		}
		return out
	}
	flat := make([]bool, len(f.facets))
	for i := range f.facets {
		if f.facets[i].face >= 0 {
			continue
		}
		next := soft(int32(i))
		sum := 0.0
		for _, q := range next {
			sum += f.facets[q].area
		}
		flat[i] = len(next) == 0 || f.facets[i].area*float64(len(next)) > balance*sum
	}
	for i := range f.facets {
		if f.facets[i].face >= 0 {
			continue
		}
		id := int32(len(f.faces))
		f.facets[i].face = id
		group := []int32{int32(i)}
		for k := 0; k < len(group) && !flat[i]; k++ {
			for _, q := range soft(group[k]) {
				if !flat[q] {
					f.facets[q].face = id
					group = append(group, q)
				}
			}
		}
		f.faces = append(f.faces, f.named(group))
	}
	f.faceOf = make([]int32, len(f.facetOf))
	for i, p := range f.facetOf {
		f.faceOf[i] = f.facets[p].face
		f.faces[f.faceOf[i]].Area += f.areas[i]
	}
}

// named tells a flat face from a ball and from what has no simpler name.
func (f *finder) named(group []int32) Face {
	if len(group) == 1 {
		p := f.facets[group[0]]
		return Face{Kind: Flat, Axis: p.normal, Centre: f.m.Vertices[f.m.Triangles[p.first][0]]}
	}
	if b, ok := f.ball(group); ok {
		return b
	}
	return Face{Kind: Curved}
}

// corners are the vertices on the edges of some facets, each once.
func (f *finder) corners(group []int32) []geom.Vec3 {
	seen := map[int32]bool{}
	var out []geom.Vec3
	for _, p := range group {
		for _, i := range f.facets[p].edges {
			for _, v := range [2]int32{f.edges[i].A, f.edges[i].B} {
				if !seen[v] {
					seen[v] = true
					out = append(out, f.m.Vertices[v])
				}
			}
		}
	}
	return out
}

func (f *finder) ball(group []int32) (Face, bool) {
	const enough = 12 // facets; fewer lie near many balls
	if len(group) < enough {
		return Face{}, false
	}
	ps := f.corners(group)
	c, r, ok := fitBall(ps)
	if !ok {
		return Face{}, false
	}
	for _, p := range ps {
		if math.Abs(p.Sub(c).Len()-r) > f.band {
			return Face{}, false
		}
	}
	out := f.facets[group[0]].normal.Dot(f.m.Vertices[f.m.Triangles[f.facets[group[0]].first][0]].Sub(c))
	return Face{Kind: Ball, Hollow: out < 0, Radius: r, Centre: c}, true
}

// mark says which edges are crisp.
func (f *finder) mark() {
	for i := range f.edges {
		e := &f.edges[i]
		a, b := f.facets[e.facets[0]].face, f.facets[e.facets[1]].face
		e.Crisp = e.Bend > Crease && !(a == b && f.faces[a].Kind == Cylinder)
	}
}
