package mesh

import (
	"fmt"
	"math"
	"strings"

	"perch/compile/geom"
)

// Kind is one way in which a mesh can be unfit for printing.
type Kind int

const (
	// Empty: there is no triangle.
	Empty Kind = iota
	// BadIndex: a triangle names a vertex that does not exist.
	BadIndex
	// NotFinite: a coordinate is infinite or not a number.
	NotFinite
	// Degenerate: a triangle names a vertex twice, or has no area.
	Degenerate
	// Open: an edge with a triangle on one side only.
	Open
	// Crowded: an edge with more than two triangles.
	Crowded
	// Flipped: an edge whose two triangles face opposite ways.
	Flipped
	// Pinched: a vertex at which two or more fans of triangles meet.
	Pinched
	// InsideOut: the enclosed volume is not above zero.
	InsideOut
	// Needle: an edge shorter than Fine, or a triangle lower than FineHeight.
	Needle
	// Lost: a triangle without area when coordinates are rounded to float32, as
	// in a file.
	Lost
	// Crossing: a triangle that cuts through another by more than Fine.
	Crossing
)

// What is finer than this cannot be told apart in a file of single-precision
// numbers (one step at 200 mm is 1.5e-5 mm) nor by any printer, mm.
const (
	Fine       = 1e-4
	FineHeight = 4e-5
)

var kindText = [...]string{
	Empty:      "no triangles",
	BadIndex:   "triangles with a vertex number out of range",
	NotFinite:  "vertices that are not finite",
	Degenerate: "triangles without area",
	Open:       "open edges",
	Crowded:    "edges with more than two triangles",
	Flipped:    "edges whose triangles face opposite ways",
	Pinched:    "vertices where separate fans of triangles meet",
	InsideOut:  "volume not above zero",
	Needle:     "triangles finer than 0.1 µm",
	Lost:       "triangles that a file cannot hold",
	Crossing:   "triangles that cut through others",
}

func (k Kind) String() string { return kindText[k] }

// Fault counts the faults of one kind and gives the place of the first, in mm.
type Fault struct {
	Kind  Kind
	Count int
	At    geom.Vec3
}

// Report lists what is wrong with a mesh, one entry a kind.
type Report struct{ Faults []Fault }

// Err returns the report as an error, a *CheckError, when a fault makes the mesh
// unfit; nil when there is none but Needle and Lost. These remain where the body
// has a neck that is finer than 0.1 µm; a printer does not see them, and package
// output sets their corners apart.
func (r Report) Err() error {
	for _, f := range r.Faults {
		if f.Kind != Needle && f.Kind != Lost {
			return &CheckError{r}
		}
	}
	return nil
}

// CheckError says that a mesh is unfit.
type CheckError struct{ Report }

func (e *CheckError) Error() string { return "mesh: " + e.String() }

func (r Report) String() string {
	parts := make([]string, len(r.Faults))
	for i, f := range r.Faults {
		switch f.Kind {
		case Empty, InsideOut:
			parts[i] = f.Kind.String()
		default:
			parts[i] = fmt.Sprintf("%d %s, first at (%.6g, %.6g, %.6g) mm", f.Count, f.Kind, f.At.X, f.At.Y, f.At.Z)
		}
	}
	return strings.Join(parts, "; ")
}

// Has reports whether a fault of kind k was found.
func (r Report) Has(k Kind) bool {
	for _, f := range r.Faults {
		if f.Kind == k {
			return true
		}
	}
	return false
}

func (r *Report) add(k Kind, at geom.Vec3) {
	for i := range r.Faults {
		if r.Faults[i].Kind == k {
			r.Faults[i].Count++
			return
		}
	}
	r.Faults = append(r.Faults, Fault{k, 1, at})
}

// Check returns Inspect().Err().
func (m *Mesh) Check() error { return m.Inspect().Err() }

// Inspect looks for everything that a mesh which Perch writes must not have. The
// mesh must be the boundary of a body: it has triangles, its coordinates are
// finite, no triangle is degenerate, every edge is shared by exactly two
// triangles that walk it in opposite directions, the triangles round every
// vertex form one fan, and the enclosed volume is above zero (3MF core
// specification 1.4.0, section 4.1 asks the same of a model object). No triangle
// cuts through another by more than Fine, none is finer than that, and none
// loses its area in float32. What is asked later is asked only of a mesh that has
// nothing wrong before. The search for triangles that cut through others takes
// three quarters of the time, which is about n·log n (BenchmarkCheck).
func (m *Mesh) Inspect() Report {
	r := Report{}
	m.checkTriangles(&r)
	if len(r.Faults) == 0 || len(r.Faults) == 1 && r.Has(Degenerate) {
		m.checkEdges(&r)
	}
	if len(r.Faults) > 0 {
		return r
	}
	m.checkFans(&r)
	if !(m.Volume() > 0) {
		r.add(InsideOut, m.centre())
	}
	m.checkDetail(&r)
	m.crossings(func(x, _ int32) { r.add(Crossing, m.Vertices[m.Triangles[x][0]]) })
	return r
}

// checkDetail looks for triangles that are too fine.
func (m *Mesh) checkDetail(r *Report) {
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if e, _ := m.Thin(i); e >= 0 {
			r.add(Needle, a)
		}
		if flat(Single(a), Single(b), Single(c)) {
			r.add(Lost, a)
		}
	}
}

// Thin returns the shortest edge of triangle i when it is shorter than Fine, or
// else the longest when the triangle is lower than FineHeight, or -1. Edge e
// leads from corner e to the next.
func (m *Mesh) Thin(i int) (e int, short bool) {
	t := m.corners(i)
	var l [3]float64
	lo, hi := 0, 0
	for i := range 3 {
		l[i] = t[i].Sub(t[(i+1)%3]).Len()
		if l[i] < l[lo] {
			lo = i
		}
		if l[i] > l[hi] {
			hi = i
		}
	}
	if l[lo] < Fine {
		return lo, true
	}
	if t[1].Sub(t[0]).Cross(t[2].Sub(t[0])).Len() < FineHeight*l[hi] {
		return hi, false
	}
	return -1, false
}

func (m *Mesh) checkTriangles(r *Report) {
	if len(m.Triangles) == 0 {
		r.add(Empty, geom.Vec3{})
	}
	for _, v := range m.Vertices {
		if !finite(v) {
			r.add(NotFinite, v)
		}
	}
	n := int32(len(m.Vertices))
	for i, t := range m.Triangles {
		if min(t[0], t[1], t[2]) < 0 || max(t[0], t[1], t[2]) >= n {
			r.add(BadIndex, geom.Vec3{})
			continue
		}
		a, b, c := m.Corners(i)
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] || flat(a, b, c) {
			r.add(Degenerate, a)
		}
	}
}

// flat reports whether three points lie on one line, decided exactly.
func flat(a, b, c geom.Vec3) bool {
	if b.Sub(a).Cross(c.Sub(a)).Len() > 1e-9*b.Sub(a).Len()*c.Sub(a).Len() {
		return false // far above the rounding of the three differences and products
	}
	return collinear(a, b, c)
}

func finite(v geom.Vec3) bool {
	s := math.Abs(v.X) + math.Abs(v.Y) + math.Abs(v.Z)
	return !math.IsNaN(s) && !math.IsInf(s, 0)
}

func (m *Mesh) checkEdges(r *Report) {
	hs := m.halfEdges()
	for i := 0; i < len(hs); {
		j := i + 1
		for j < len(hs) && hs[j].edge == hs[i].edge {
			j++
		}
		a, _ := hs[i].ends()
		switch {
		case j-i == 1:
			r.add(Open, m.Vertices[a])
		case j-i > 2:
			r.add(Crowded, m.Vertices[a])
		case hs[i].back == hs[i+1].back:
			r.add(Flipped, m.Vertices[a])
		}
		i = j
	}
}

// checkFans walks round every vertex. The edges have been checked, so each
// walk returns to where it began; it must have passed every triangle there.
func (m *Mesh) checkFans(r *Report) {
	first := make([]int32, len(m.Vertices)+1)
	for _, t := range m.Triangles {
		for _, v := range t {
			first[v+1]++
		}
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	// spokes holds, for each vertex v, the pairs (a, b) of its triangles v, a, b.
	spokes := make([][2]int32, 3*len(m.Triangles))
	fill := append([]int32(nil), first...)
	for _, t := range m.Triangles {
		for k, v := range t {
			spokes[fill[v]] = [2]int32{t[(k+1)%3], t[(k+2)%3]}
			fill[v]++
		}
	}
	next := map[int32]int32{}
	for v := range m.Vertices {
		fan := spokes[first[v]:first[v+1]]
		if len(fan) == 0 {
			continue
		}
		clear(next)
		for _, s := range fan {
			next[s[0]] = s[1]
		}
		steps := 1
		for at := fan[0][1]; at != fan[0][0]; at = next[at] {
			steps++
		}
		if steps != len(fan) {
			r.add(Pinched, m.Vertices[v])
		}
	}
}

// Single returns v with every coordinate rounded to float32.
func Single(v geom.Vec3) geom.Vec3 {
	return geom.Vec3{X: float64(float32(v.X)), Y: float64(float32(v.Y)), Z: float64(float32(v.Z))}
}
