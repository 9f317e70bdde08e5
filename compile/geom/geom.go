// Package geom holds the small vector types shared by sketches, solids and
// meshes. All lengths are in millimetres, all angles in radians.
package geom

import "math"

// Vec2 is a point or a direction in a sketch plane.
type Vec2 struct{ X, Y float64 }

// Add returns a + b. The conversions here and below keep a processor from
// fusing a sum with the product that a or b may be, whose digits would differ.
func (a Vec2) Add(b Vec2) Vec2 { return Vec2{float64(a.X) + float64(b.X), float64(a.Y) + float64(b.Y)} }

// Sub returns a - b.
func (a Vec2) Sub(b Vec2) Vec2 { return Vec2{float64(a.X) - float64(b.X), float64(a.Y) - float64(b.Y)} }

// Scale returns s·a.
func (a Vec2) Scale(s float64) Vec2 { return Vec2{float64(a.X * s), float64(a.Y * s)} }

// Dot returns the scalar product.
func (a Vec2) Dot(b Vec2) float64 { return float64(a.X*b.X) + float64(a.Y*b.Y) }

// Cross returns the z component of the vector product.
func (a Vec2) Cross(b Vec2) float64 { return float64(a.X*b.Y) - float64(a.Y*b.X) }

// Len returns the length.
func (a Vec2) Len() float64 { return math.Hypot(a.X, a.Y) }

// Unit returns a with length 1, or 0 when a is 0.
func (a Vec2) Unit() Vec2 {
	if l := a.Len(); l > 0 {
		return a.Scale(1 / l)
	}
	return Vec2{}
}

// Perp returns a turned a quarter turn to the left.
func (a Vec2) Perp() Vec2 { return Vec2{-a.Y, a.X} }

// Vec3 is a point or a direction in space.
type Vec3 struct{ X, Y, Z float64 }

// Add returns a + b.
func (a Vec3) Add(b Vec3) Vec3 {
	return Vec3{float64(a.X) + float64(b.X), float64(a.Y) + float64(b.Y), float64(a.Z) + float64(b.Z)}
}

// Sub returns a - b.
func (a Vec3) Sub(b Vec3) Vec3 {
	return Vec3{float64(a.X) - float64(b.X), float64(a.Y) - float64(b.Y), float64(a.Z) - float64(b.Z)}
}

// Scale returns s·a.
func (a Vec3) Scale(s float64) Vec3 {
	return Vec3{float64(s * a.X), float64(s * a.Y), float64(s * a.Z)}
}

// Dot returns the scalar product.
func (a Vec3) Dot(b Vec3) float64 {
	return float64(a.X*b.X) + float64(a.Y*b.Y) + float64(a.Z*b.Z)
}

// Cross returns the vector product.
func (a Vec3) Cross(b Vec3) Vec3 {
	return Vec3{
		float64(a.Y*b.Z) - float64(a.Z*b.Y),
		float64(a.Z*b.X) - float64(a.X*b.Z),
		float64(a.X*b.Y) - float64(a.Y*b.X),
	}
}

// Len returns the length.
func (a Vec3) Len() float64 { return math.Sqrt(a.Dot(a)) }

// Unit returns a divided by its length; the zero vector stays zero.
func (a Vec3) Unit() Vec3 {
	l := a.Len()
	if l == 0 {
		return a
	}
	return a.Scale(1 / l)
}

// Box is an axis-aligned box. An empty Box has Min > Max.
type Box struct{ Min, Max Vec3 }

// EmptyBox returns a box that holds nothing.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Vec3{inf, inf, inf}, Vec3{-inf, -inf, -inf}}
}

// Add grows the box to hold p.
func (b *Box) Add(p Vec3) {
	b.Min = Vec3{min(b.Min.X, p.X), min(b.Min.Y, p.Y), min(b.Min.Z, p.Z)}
	b.Max = Vec3{max(b.Max.X, p.X), max(b.Max.Y, p.Y), max(b.Max.Z, p.Z)}
}

// Empty reports whether the box holds nothing.
func (b Box) Empty() bool { return b.Min.X > b.Max.X }

// Size returns the extent along each axis.
func (b Box) Size() Vec3 {
	if b.Empty() {
		return Vec3{}
	}
	return b.Max.Sub(b.Min)
}

// Corners returns the eight corners, x changing fastest.
func (b Box) Corners() [8]Vec3 {
	var c [8]Vec3
	for i := range c {
		c[i] = b.Min
		if i&1 != 0 {
			c[i].X = b.Max.X
		}
		if i&2 != 0 {
			c[i].Y = b.Max.Y
		}
		if i&4 != 0 {
			c[i].Z = b.Max.Z
		}
	}
	return c
}

// Transform is a rigid motion, possibly with a mirror: p goes to R·p + T,
// where R is stored by rows.
type Transform struct {
	R [3]Vec3
	T Vec3
}

// Identity moves nothing.
func Identity() Transform {
	return Transform{R: [3]Vec3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}}
}

// Move returns the translation by d.
func Move(d Vec3) Transform { t := Identity(); t.T = d; return t }

// Turn returns the turn by angle (radians, right-handed) about the axis
// through point along dir. Turns by whole quarters about a coordinate axis
// are exact. Source: Rodrigues' rotation formula.
func Turn(point, dir Vec3, angle float64) Transform {
	u := dir.Unit()
	s, c := SinCos(angle)
	k := 1 - c
	r := [3]Vec3{
		{float64(float64(u.X*u.X)*k) + c, float64(float64(u.X*u.Y)*k) - float64(u.Z*s), float64(float64(u.X*u.Z)*k) + float64(u.Y*s)},
		{float64(float64(u.Y*u.X)*k) + float64(u.Z*s), float64(float64(u.Y*u.Y)*k) + c, float64(float64(u.Y*u.Z)*k) - float64(u.X*s)},
		{float64(float64(u.Z*u.X)*k) - float64(u.Y*s), float64(float64(u.Z*u.Y)*k) + float64(u.X*s), float64(float64(u.Z*u.Z)*k) + c},
	}
	t := Transform{R: r}
	t.T = point.Sub(t.Dir(point))
	return t
}

// MirrorPlane returns the mirror about the plane through point with the given
// normal.
func MirrorPlane(point, normal Vec3) Transform {
	n := normal.Unit()
	e := Identity().R
	var t Transform
	for i, a := range [3]float64{n.X, n.Y, n.Z} {
		t.R[i] = e[i].Sub(n.Scale(2 * a))
	}
	t.T = n.Scale(2 * n.Dot(point))
	return t
}

// Apply moves a point.
func (t Transform) Apply(p Vec3) Vec3 { return t.Dir(p).Add(t.T) }

// Dir turns a direction.
func (t Transform) Dir(d Vec3) Vec3 { return Vec3{t.R[0].Dot(d), t.R[1].Dot(d), t.R[2].Dot(d)} }

// Back undoes Apply for a motion that keeps lengths.
func (t Transform) Back(p Vec3) Vec3 { return t.BackDir(p.Sub(t.T)) }

// BackDir undoes Dir for a motion that keeps lengths.
func (t Transform) BackDir(d Vec3) Vec3 {
	return t.R[0].Scale(d.X).Add(t.R[1].Scale(d.Y)).Add(t.R[2].Scale(d.Z))
}

// Then returns the motion that does t first and u after it.
func (t Transform) Then(u Transform) Transform {
	var r Transform
	cols := [3]Vec3{
		u.Dir(Vec3{t.R[0].X, t.R[1].X, t.R[2].X}),
		u.Dir(Vec3{t.R[0].Y, t.R[1].Y, t.R[2].Y}),
		u.Dir(Vec3{t.R[0].Z, t.R[1].Z, t.R[2].Z}),
	}
	r.R = [3]Vec3{
		{cols[0].X, cols[1].X, cols[2].X},
		{cols[0].Y, cols[1].Y, cols[2].Y},
		{cols[0].Z, cols[1].Z, cols[2].Z},
	}
	r.T = u.Apply(t.T)
	return r
}

// Mirrors reports whether the motion turns a right hand into a left hand.
func (t Transform) Mirrors() bool { return t.R[0].Cross(t.R[1]).Dot(t.R[2]) < 0 }

// SinCos is math.Sincos made exact at whole quarter turns.
func SinCos(a float64) (sin, cos float64) {
	q := a / (math.Pi / 2)
	if r := math.Round(q); math.Abs(q-r) < 1e-12 {
		switch int64(math.Mod(math.Mod(r, 4)+4, 4)) {
		case 0:
			return 0, 1
		case 1:
			return 1, 0
		case 2:
			return 0, -1
		default:
			return -1, 0
		}
	}
	return math.Sincos(a)
}
