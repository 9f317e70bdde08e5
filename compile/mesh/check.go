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
}

func (k Kind) String() string { return kindText[k] }

// Fault counts the faults of one kind and gives the place of the first, in mm.
type Fault struct {
	Kind  Kind
	Count int
	At    geom.Vec3
}

// CheckError lists what is wrong with a mesh, one entry a kind.
type CheckError struct{ Faults []Fault }

func (e *CheckError) Error() string {
	parts := make([]string, len(e.Faults))
	for i, f := range e.Faults {
		switch f.Kind {
		case Empty, InsideOut:
			parts[i] = f.Kind.String()
		default:
			parts[i] = fmt.Sprintf("%d %s, first at (%.6g, %.6g, %.6g) mm", f.Count, f.Kind, f.At.X, f.At.Y, f.At.Z)
		}
	}
	return "mesh: " + strings.Join(parts, "; ")
}

// Has reports whether a fault of kind k was found.
func (e *CheckError) Has(k Kind) bool {
	for _, f := range e.Faults {
		if f.Kind == k {
			return true
		}
	}
	return false
}

func (e *CheckError) add(k Kind, at geom.Vec3) {
	for i := range e.Faults {
		if e.Faults[i].Kind == k {
			e.Faults[i].Count++
			return
		}
	}
	e.Faults = append(e.Faults, Fault{k, 1, at})
}

// Check reports whether the mesh is the boundary of a body: it has triangles,
// its coordinates are finite, no triangle is degenerate, every edge is shared
// by exactly two triangles that walk it in opposite directions, the triangles
// round every vertex form one fan, and the enclosed volume is above zero
// (3MF core specification 1.4.0, section 4.1 asks the same of a model
// object). The error is a *CheckError. Whether triangles cut through each
// other is asked of Intersections.
func (m *Mesh) Check() error {
	e := &CheckError{}
	m.checkTriangles(e)
	if len(e.Faults) == 0 || onlyDegenerate(e) {
		m.checkEdges(e)
	}
	if len(e.Faults) == 0 {
		m.checkFans(e)
		if !(m.Volume() > 0) {
			e.add(InsideOut, m.centre())
		}
	}
	if len(e.Faults) == 0 {
		return nil
	}
	return e
}

func onlyDegenerate(e *CheckError) bool {
	return len(e.Faults) == 1 && e.Faults[0].Kind == Degenerate
}

func (m *Mesh) checkTriangles(e *CheckError) {
	if len(m.Triangles) == 0 {
		e.add(Empty, geom.Vec3{})
	}
	for _, v := range m.Vertices {
		if !finite(v) {
			e.add(NotFinite, v)
		}
	}
	n := int32(len(m.Vertices))
	for i, t := range m.Triangles {
		if min(t[0], t[1], t[2]) < 0 || max(t[0], t[1], t[2]) >= n {
			e.add(BadIndex, geom.Vec3{})
			continue
		}
		a, b, c := m.Corners(i)
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] || flat(a, b, c) {
			e.add(Degenerate, a)
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

func (m *Mesh) checkEdges(e *CheckError) {
	hs := m.halfEdges()
	for i := 0; i < len(hs); {
		j := i + 1
		for j < len(hs) && hs[j].edge == hs[i].edge {
			j++
		}
		a, _ := hs[i].ends()
		switch {
		case j-i == 1:
			e.add(Open, m.Vertices[a])
		case j-i > 2:
			e.add(Crowded, m.Vertices[a])
		case hs[i].back == hs[i+1].back:
			e.add(Flipped, m.Vertices[a])
		}
		i = j
	}
}

// checkFans walks round every vertex. The edges have been checked, so each
// walk returns to where it began; it must have passed every triangle there.
func (m *Mesh) checkFans(e *CheckError) {
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
			e.add(Pinched, m.Vertices[v])
		}
	}
}

// Collapsed returns the triangles that lose their shape when every coordinate
// is rounded to float32, as in an STL file: two corners fall on one place, or
// the three fall on one line. It is no fault of the mesh; package output
// deals with it.
func (m *Mesh) Collapsed() []int {
	var out []int
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if flat(Single(a), Single(b), Single(c)) {
			out = append(out, i)
		}
	}
	return out
}

// Single returns v with every coordinate rounded to float32.
func Single(v geom.Vec3) geom.Vec3 {
	return geom.Vec3{X: float64(float32(v.X)), Y: float64(float32(v.Y)), Z: float64(float32(v.Z))}
}
