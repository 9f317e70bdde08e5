package mesh

import (
	"cmp"
	"math"
	"slices"

	"perch/compile/geom"
)

// Pose is a way to lay a part on the bed.
type Pose struct {
	Down geom.Vec3 // the direction that points to the bed
	Foot float64   // area on the bed, mm²
	// Over is the area that leans more than the limit and is not on the bed,
	// mm², bridges included.
	Over   float64
	Height float64 // mm
}

// Turn returns the axis and the angle, in radians, that bring the pose's down
// to -z; the angle is 0 for the part as it is drawn.
func (p Pose) Turn() (axis geom.Vec3, angle float64) {
	z := geom.Vec3{Z: -1}
	c := p.Down.Cross(z)
	switch l := c.Len(); {
	case l > 1e-9:
		return c.Scale(1 / l), math.Atan2(l, p.Down.Dot(z))
	case p.Down.Dot(z) < 0:
		return geom.Vec3{X: 1}, math.Pi
	}
	return geom.Vec3{X: 1}, 0
}

// Laid returns the mesh turned and then set down: the lowest point of its box at
// z = 0, the middle of it over the origin. The motion is what brings it there.
func (m *Mesh) Laid(turn geom.Transform) (*Mesh, geom.Transform) {
	box := geom.EmptyBox()
	for _, t := range m.Triangles {
		for _, v := range t {
			box.Add(turn.Apply(m.Vertices[v]))
		}
	}
	middle := box.Min.Add(box.Max).Scale(-0.5)
	motion := turn.Then(geom.Move(geom.Vec3{X: middle.X, Y: middle.Y, Z: -box.Min.Z}))
	out := &Mesh{Vertices: make([]geom.Vec3, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		p := motion.Apply(v)
		if math.Abs(p.Z) < level {
			p.Z = 0
		}
		out.Vertices[i] = p
	}
	return out, motion
}

// level is how far from z = 0 a corner counts as on it, mm: the angle of a turn
// is written with some six digits, and a foot is to be flat.
const level = 1e-4

// mostPoses is how many ways of lying are looked at, the largest feet first.
const mostPoses = 24

// Poses returns the part as it lies with own down, and then the other ways of
// laying it on one of the flat faces of its convex hull, the largest foot first. limit is
// the lean that prints without support, and what is within first mm of the
// lowest point is on the bed. Only faces of the part itself count: a part that
// lies on edges or points has no foot.
func (t *Tree) Poses(own geom.Vec3, limit, first float64) []Pose {
	m := t.Mesh
	out := []Pose{t.pose(own, limit, first)}
	// Directions of faces, each with its area.
	type face struct {
		n    geom.Vec3
		area float64
	}
	areas := map[[3]int32]int{}
	var faces []face
	for i := range m.Triangles {
		n := t.Normals[i]
		if n == (geom.Vec3{}) {
			continue
		}
		a, b, c := m.Corners(i)
		key := [3]int32{int32(math.Round(n.X * 1e4)), int32(math.Round(n.Y * 1e4)), int32(math.Round(n.Z * 1e4))}
		k, ok := areas[key]
		if !ok {
			k = len(faces)
			areas[key] = k
			faces = append(faces, face{n: n})
		}
		faces[k].area += b.Sub(a).Cross(c.Sub(a)).Len() / 2
	}
	slices.SortStableFunc(faces, func(a, b face) int { return cmp.Compare(b.area, a.area) })
	for _, f := range faces[:min(len(faces), 4*mostPoses)] {
		if f.n.Dot(own) > 1-1e-7 {
			continue
		}
		if p := t.pose(f.n, limit, first); p.Foot > 0 {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out[1:], func(a, b Pose) int { return cmp.Compare(b.Foot, a.Foot) })
	return out[:min(len(out), mostPoses)]
}

// pose measures the part with a direction down.
func (t *Tree) pose(down geom.Vec3, limit, first float64) Pose {
	m := t.Mesh
	low, high := math.Inf(-1), math.Inf(1)
	for _, v := range m.Vertices {
		h := v.Dot(down)
		low, high = max(low, h), min(high, h)
	}
	p := Pose{Down: down, Height: low - high}
	least := math.Sin(limit + 1e-3) // facets of a curved face lean a little more
	for i := range m.Triangles {
		c := t.Normals[i].Dot(down)
		if c <= least {
			continue
		}
		x, y, z := m.Corners(i)
		area := float64(y.Sub(x).Cross(z.Sub(x)).Len() / 2)
		if min(x.Dot(down), y.Dot(down), z.Dot(down)) >= low-first {
			p.Foot += area
		} else {
			p.Over += area
		}
	}
	return p
}
