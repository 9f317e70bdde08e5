package mesh

import (
	"math"
	"slices"

	"perch/compile/geom"
)

// Side tells walls from gaps.
type Side int

// Sides.
const (
	Walls Side = iota // through the body
	Gaps              // through the air between two faces of the body
)

// Opposed is how far two faces may be from parallel, in radians, to be the two
// sides of a wall or a gap.
const Opposed = math.Pi / 6

// smooth is the turn between neighbouring triangles up to which they belong to
// one curved face.
const smooth = 20 * math.Pi / 180

// Thinnest returns the thinnest wall of a closed mesh, or its narrowest gap.
//
// From points all over the surface, and from just beside every corner, a ray
// goes straight inwards (outwards for gaps) to the first face it meets. Both
// are the sides of a wall when they are within 30 degrees of parallel. Where
// the two faces meet in a common edge or corner, the body tapers to nothing
// there: as far as that taper explains the thickness it is a feather and no
// wall, and is counted in feathers by the place of the first one. The best
// pair is then improved by the exact distance between the triangles and their
// neighbours, so that the answer is exact between flat faces, and between
// curved ones as far as their chords are. A wall that is thin only where two
// faces overlap by less than the spacing of the points can be missed.
//
// ok is false when no two faces look at each other.
func (t *Tree) Thinnest(side Side) (s Span, feather *geom.Vec3, ok bool) {
	th := &thinness{Tree: t, side: side, best: Span{Length: math.Inf(1)}}
	th.prepare()
	th.search()
	if math.IsInf(th.best.Length, 1) {
		return Span{}, th.feather, false
	}
	th.improve()
	return th.best, th.feather, true
}

type thinness struct {
	*Tree
	side    Side
	sign    float64 // of the outward direction along which rays go
	fans    vertexFans
	face    []int32                     // the curved face of each triangle
	joints  map[[2]int32][][2]geom.Vec3 // where two faces meet: edges, and corners as edges of no length
	best    Span
	feather *geom.Vec3
}

func (t *thinness) prepare() {
	t.sign = -1
	if t.side == Gaps {
		t.sign = 1
	}
	t.fans = t.Mesh.fans()
	t.faces()
	t.meetings()
}

// faces joins triangles to curved faces.
func (t *thinness) faces() {
	up := make([]int32, len(t.Mesh.Triangles))
	for i := range up {
		up[i] = int32(i)
	}
	find := func(i int32) int32 {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	hs := t.Mesh.halfEdges()
	for i := 0; i+1 < len(hs); i++ {
		if hs[i].edge == hs[i+1].edge && t.Normals[hs[i].tri].Dot(t.Normals[hs[i+1].tri]) >= math.Cos(smooth) {
			a, b := find(hs[i].tri), find(hs[i+1].tri)
			up[max(a, b)] = min(a, b)
		}
	}
	t.face = up
	for i := range up {
		t.face[i] = find(int32(i))
	}
}

// meetings notes the edges and corners that two faces have in common.
func (t *thinness) meetings() {
	t.joints = map[[2]int32][][2]geom.Vec3{}
	note := func(a, b int32, p, q geom.Vec3) {
		key := [2]int32{min(a, b), max(a, b)}
		t.joints[key] = append(t.joints[key], [2]geom.Vec3{p, q})
	}
	hs := t.Mesh.halfEdges()
	for i := 0; i+1 < len(hs); i++ {
		if a, b := t.face[hs[i].tri], t.face[hs[i+1].tri]; hs[i].edge == hs[i+1].edge && a != b {
			p, q := hs[i].ends()
			note(a, b, t.Mesh.Vertices[p], t.Mesh.Vertices[q])
		}
	}
	var here []int32
	for v := range t.Mesh.Vertices {
		here = here[:0]
		for _, i := range t.fans.around(int32(v)) {
			if !slices.Contains(here, t.face[i]) {
				here = append(here, t.face[i])
			}
		}
		if len(here) < 4 { // three faces at a corner share edges two by two
			continue
		}
		p := t.Mesh.Vertices[v]
		for i, a := range here {
			for _, b := range here[i+1:] {
				note(a, b, p, p)
			}
		}
	}
}

// tapers reports whether the two faces of a span run together so near to p
// that their taper explains its length.
func (t *thinness) tapers(s Span) bool {
	a, b := t.face[s.TriA], t.face[s.TriB]
	for _, j := range t.joints[[2]int32{min(a, b), max(a, b)}] {
		reach := max(onSegment(s.A, j[0], j[1]).Sub(s.A).Len(), onSegment(s.B, j[0], j[1]).Sub(s.B).Len())
		if s.Length <= float64(math.Tan(Opposed)*reach)+1e-6 {
			return true
		}
	}
	return false
}

// Spacing of the points that rays start from: half a millimetre, or wider so
// that no more than this many points are needed.
const (
	finest  = 0.5
	enough  = 8000
	nudge   = 1e-3 // mm from a corner
	similar = 0.995
)

func (t *thinness) search() {
	// Corners first: what they find keeps all other rays short.
	done := make([][]geom.Vec3, len(t.Mesh.Vertices)) // directions looked into from each corner
	for i, tri := range t.Mesh.Triangles {
		n := t.Normals[i]
		if n == (geom.Vec3{}) {
			continue
		}
		a, b, c := t.Mesh.Corners(i)
		mid := a.Add(b).Add(c).Scale(1.0 / 3)
		for k, p := range [3]geom.Vec3{a, b, c} {
			v := tri[k]
			if slices.ContainsFunc(done[v], func(d geom.Vec3) bool { return d.Dot(n) > similar }) {
				continue
			}
			done[v] = append(done[v], n)
			in := mid.Sub(p)
			t.look(i, p.Add(in.Scale(min(nudge/in.Len(), 0.1))))
		}
	}
	step := max(finest, math.Sqrt(t.Mesh.Area()/enough))
	t.Mesh.Scatter(step, func(i int, p geom.Vec3) {
		if t.Normals[i] != (geom.Vec3{}) {
			t.look(i, p)
		}
	})
}

// look sends one ray from point p of triangle i.
func (t *thinness) look(i int, p geom.Vec3) {
	dir := t.Normals[i].Scale(t.sign)
	j, at, ok := t.Ray(p, dir, t.best.Length, func(j int, at float64) bool {
		return j != i && at > 1e-6 && t.Normals[j].Dot(t.Normals[i]) < -1e-9
	})
	if !ok || at >= t.best.Length || t.Normals[j].Dot(t.Normals[i]) > -math.Cos(Opposed) {
		return
	}
	t.keep(Span{A: p, B: p.Add(dir.Scale(at)), TriA: i, TriB: j, Length: at})
}

// keep takes a shorter span unless it is a feather.
func (t *thinness) keep(s Span) bool {
	if t.tapers(s) {
		if t.feather == nil {
			t.feather = &s.A
		}
		return false
	}
	t.best = s
	return true
}

// improve goes from the best pair of triangles to neighbouring pairs that are
// nearer, as long as there are any.
func (t *thinness) improve() {
	for range 100 {
		here, better := t.best, false
		around := t.ring(here.TriB)
		for _, i := range t.ring(here.TriA) {
			for _, j := range around {
				s := apart(t.corners(int(i)), t.corners(int(j)))
				s.TriA, s.TriB = int(i), int(j)
				if s.Length < t.best.Length-1e-9 && s.Length > 1e-6 && t.straight(s) {
					better = t.keep(s) || better
				}
			}
		}
		if !better {
			return
		}
	}
}

// straight reports whether a span crosses a wall squarely: upright on one flat
// face and within 30 degrees on the other, or on both as upright as a chord of
// a round face lets it be.
func (t *thinness) straight(s Span) bool {
	const upright = 1e-3
	d := s.B.Sub(s.A).Scale(t.sign / s.Length)
	a := math.Acos(min(1, max(-1, d.Dot(t.Normals[s.TriA]))))
	b := math.Acos(min(1, max(-1, -d.Dot(t.Normals[s.TriB]))))
	if max(a, b) > Opposed {
		return false
	}
	return min(a, b) <= upright || a <= t.turn(s.TriA)/2+upright && b <= t.turn(s.TriB)/2+upright
}

// turn returns the largest angle between a triangle and those of the same
// curved face along its sides.
func (t *thinness) turn(i int) float64 {
	least := 1.0
	for _, j := range t.ring(i) {
		if t.face[j] == t.face[i] && shared(t.Mesh.Triangles[i], t.Mesh.Triangles[j]) == 2 {
			least = min(least, t.Normals[i].Dot(t.Normals[j]))
		}
	}
	return math.Acos(max(-1, least))
}

func shared(a, b [3]int32) int {
	n := 0
	for _, v := range a {
		if slices.Contains(b[:], v) {
			n++
		}
	}
	return n
}

// ring returns the triangle and those that share a corner with it.
func (t *thinness) ring(i int) []int32 {
	var out []int32
	for _, v := range t.Mesh.Triangles[i] {
		for _, x := range t.fans.around(v) {
			if !slices.Contains(out, x) {
				out = append(out, x)
			}
		}
	}
	return out
}
