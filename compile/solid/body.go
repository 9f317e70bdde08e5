// Package solid builds bodies. A Body is an expression: leaves (extruded and
// revolved areas and the plain shapes made from them), placed rigidly, under
// join, cut and trim. Build evaluates the whole expression at once by an
// exact arrangement and returns a closed, oriented 2-manifold mesh.
//
// The way of a build, file by file: body.go is the expression; flatten.go
// lists its leaves in one frame; place.go puts each on an integer grid (leaf.go
// and the files of the shapes round it once) and finds what an earlier build
// knows of it (cache.go); space.go holds planes and points and answers every geometric question
// by exact signs; contact.go finds the faces that meet; section.go cuts a
// face by a plane; arrange.go divides every touched face into cells and asks
// locate.go and member.go which cells bound the result; region.go joins cells
// to whole flat regions; triangulate.go cuts these into triangles; weld.go
// makes the mesh a 2-manifold and drops what is finer than the grid.
package solid

import (
	"math"

	"perch/compile/geom"
)

// Profile is an area as closed polygons, in mm: outer rings counter-clockwise,
// holes clockwise. Rings do not cross; they may touch at corners.
type Profile [][]geom.Vec2

// Area yields the profile of an area for a chord tolerance in mm. It is
// called once a build.
type Area func(tolerance float64) (Profile, error)

// Body is an immutable expression over leaves; the zero Body is empty.
type Body struct {
	op   op
	args []*Body        // of opJoin, opCut, opTrim and, one, of opPlace
	t    geom.Transform // of opPlace
	leaf shape          // of opLeaf
}

type op uint8

const (
	opJoin op = iota // union of args; no args: nothing
	opCut            // args[0] less the others
	opTrim           // what all args share
	opPlace
	opLeaf
)

// Join returns everything in any of the bodies.
func Join(bodies ...*Body) *Body { return combine(opJoin, bodies) }

// Cut returns what is in a and in none of the tools.
func Cut(a *Body, tools ...*Body) *Body { return combine(opCut, append([]*Body{a}, tools...)) }

// Trim returns what is in a and in every one of the others.
func Trim(a *Body, others ...*Body) *Body { return combine(opTrim, append([]*Body{a}, others...)) }

func combine(o op, args []*Body) *Body {
	if len(args) == 1 {
		return args[0]
	}
	return &Body{op: o, args: args}
}

// Placed returns the body moved by t, which may turn, move and mirror.
func (b *Body) Placed(t geom.Transform) *Body {
	if b.op == opPlace {
		return &Body{op: opPlace, args: b.args, t: b.t.Then(t)}
	}
	return &Body{op: opPlace, args: []*Body{b}, t: t}
}

// Leaves returns how many leaves the expression has, counting copies, and
// stops counting beyond limit.
func (b *Body) Leaves(limit int) int {
	if b.op == opLeaf {
		return 1
	}
	n := 0
	for _, a := range b.args {
		n += a.Leaves(limit - n)
		if n > limit {
			break
		}
	}
	return n
}

// shape is a leaf before it is placed and rounded.
type shape interface {
	// profile returns the area the shape is made from.
	profile(tolerance float64) (Profile, error)
	// bounds returns a box round the shape in its own frame.
	bounds(p Profile) geom.Box
	// build rounds the shape to the grid and adds it to the kernel.
	build(k *kernel, g *grid, p Profile, tolerance float64) error
}

func leafBody(s shape) *Body { return &Body{op: opLeaf, leaf: s} }

// ExtrudeArea sweeps an area drawn in x, y along z from z0 to z1 > z0.
func ExtrudeArea(a Area, z0, z1 float64) *Body { return leafBody(&prism{area: a, z0: z0, z1: z1}) }

// Extrude is ExtrudeArea with a ready profile.
func Extrude(p Profile, z0, z1 float64) *Body { return ExtrudeArea(fixed(p), z0, z1) }

// RevolveArea turns an area drawn in (radius, z), radius >= 0, about the z
// axis from the x axis counter-clockwise through angle (radians; 2π or more
// is a full turn).
func RevolveArea(a Area, angle float64) *Body { return leafBody(&turned{area: a, angle: angle}) }

// Revolve is RevolveArea with a ready profile.
func Revolve(p Profile, angle float64) *Body { return RevolveArea(fixed(p), angle) }

func fixed(p Profile) Area { return func(float64) (Profile, error) { return p, nil } }

// Box returns the box between two opposite corners.
func Box(lo, hi geom.Vec3) *Body {
	return Extrude(Profile{{{X: lo.X, Y: lo.Y}, {X: hi.X, Y: lo.Y}, {X: hi.X, Y: hi.Y}, {X: lo.X, Y: hi.Y}}}, lo.Z, hi.Z)
}

// Cylinder returns the upright cylinder about the z axis.
func Cylinder(radius, z0, z1 float64) *Body { return ExtrudeArea(disc(radius), z0, z1) }

// EndlessCylinder returns the cylinder of the given radius about the axis
// through point along dir. It reaches past everything else in the body it is
// built with.
func EndlessCylinder(point, dir geom.Vec3, radius float64) *Body {
	return leafBody(&prism{area: disc(radius), endless: true}).Placed(FrameAt(point, dir))
}

// Cone returns the cone or frustum about the z axis with radius r0 at z0 and
// r1 at z1; one of the radii may be 0.
func Cone(r0, r1, z0, z1 float64) *Body {
	p := []geom.Vec2{{X: 0, Y: z0}}
	if r0 > 0 {
		p = append(p, geom.Vec2{X: r0, Y: z0})
	}
	if r1 > 0 {
		p = append(p, geom.Vec2{X: r1, Y: z1})
	}
	p = append(p, geom.Vec2{X: 0, Y: z1})
	return Revolve(Profile{p}, 2*math.Pi)
}

// Ball returns the ball about the origin. Its meridian has an even number of
// chords, so that the equator is a ring of corners.
func Ball(radius float64) *Body {
	return RevolveArea(func(tol float64) (Profile, error) {
		n := geom.FourFold(geom.Sides(radius, tol)) / 2 // chords from pole to pole
		p := make([]geom.Vec2, 0, n+1)
		for i := 0; i <= n; i++ {
			s, c := geom.SinCos(math.Pi * float64(i) / float64(n))
			p = append(p, geom.Vec2{X: radius * s, Y: -radius * c})
		}
		p[0].X, p[n].X = 0, 0
		return Profile{p}, nil
	}, 2*math.Pi)
}

func disc(radius float64) Area {
	return func(tol float64) (Profile, error) {
		return Profile{Circle(geom.Vec2{}, radius, geom.FourFold(geom.Sides(radius, tol)))}, nil
	}
}

// Circle returns a regular polygon of n corners on a circle, the first at
// angle 0, counter-clockwise.
func Circle(centre geom.Vec2, radius float64, n int) []geom.Vec2 {
	p := make([]geom.Vec2, n)
	for i := range p {
		s, c := geom.SinCos(2 * math.Pi * float64(i) / float64(n))
		p[i] = geom.Vec2{X: centre.X + float64(radius*c), Y: centre.Y + float64(radius*s)}
	}
	return p
}

// FrameAt returns the motion that takes the z axis to the axis through point
// along dir. The x axis is kept level where that is possible: for a
// horizontal dir, y goes to the upward direction and x to the left of dir
// seen from behind; for a vertical dir, x stays x.
func FrameAt(point, dir geom.Vec3) geom.Transform {
	z := dir.Unit()
	var x geom.Vec3
	if math.Hypot(z.X, z.Y) < 1e-9 {
		z = geom.Vec3{Z: math.Copysign(1, z.Z)}
		x = geom.Vec3{X: 1}
	} else {
		x = geom.Vec3{X: -z.Y, Y: z.X}.Unit()
	}
	y := z.Cross(x)
	return geom.Transform{
		R: [3]geom.Vec3{{X: x.X, Y: y.X, Z: z.X}, {X: x.Y, Y: y.Y, Z: z.Y}, {X: x.Z, Y: y.Z, Z: z.Z}},
		T: point,
	}
}
