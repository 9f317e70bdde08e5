package surface

import (
	"math"

	"perch/compile/geom"
)

// circleFit finds the circle through points, best in the sense that the sum
// of (d² - r²)² over the distances d is least. Source: I. Kåsa, A circle
// fitting procedure and its error analysis, IEEE Trans. Instrum. Meas. 25
// (1976). Points that lie on one circle give that circle.
type circleFit struct {
	o          geom.Vec2 // the first point, from which sums are taken
	n          float64
	x, y       float64
	xx, xy, yy float64
	xz, yz, z  float64 // z = x² + y²
	c          geom.Vec2
	r          float64
}

func (f *circleFit) add(p geom.Vec2) {
	if f.n == 0 {
		f.o = p
	}
	p = p.Sub(f.o)
	z := p.Dot(p)
	f.n++
	f.x, f.y, f.z = f.x+p.X, f.y+p.Y, f.z+z
	f.xx, f.xy, f.yy = f.xx+float64(p.X*p.X), f.xy+float64(p.X*p.Y), f.yy+float64(p.Y*p.Y)
	f.xz, f.yz = f.xz+float64(p.X*z), f.yz+float64(p.Y*z)
}

// fit works out c and r; it reports false for points on a line, and then
// leaves both.
func (f *circleFit) fit() bool {
	if f.n < 3 {
		return false
	}
	mx, my, mz := f.x/f.n, f.y/f.n, f.z/f.n
	xx, xy, yy := f.xx-float64(mx*f.x), f.xy-float64(mx*f.y), f.yy-float64(my*f.y)
	xz, yz := f.xz-float64(mx*f.z), f.yz-float64(my*f.z)
	det := float64(xx*yy) - float64(xy*xy)
	if det <= 1e-12*float64(xx+yy)*float64(xx+yy) {
		return false
	}
	cx := (float64(xz*yy) - float64(yz*xy)) / (2 * det)
	cy := (float64(yz*xx) - float64(xz*xy)) / (2 * det)
	r2 := mz - 2*(float64(cx*mx)+float64(cy*my)) + float64(cx*cx) + float64(cy*cy)
	if !(r2 > 0) {
		return false
	}
	f.c, f.r = geom.Vec2{X: cx, Y: cy}.Add(f.o), math.Sqrt(r2)
	return true
}

// Circle fits a circle to points in the plane; ok is false for points on a
// line and for fewer than three.
func Circle(points []geom.Vec2) (centre geom.Vec2, radius float64, ok bool) {
	var f circleFit
	for _, p := range points {
		f.add(p)
	}
	ok = f.fit()
	return f.c, f.r, ok
}

// across returns two unit vectors square to a direction and to each other.
func across(axis geom.Vec3) (u, v geom.Vec3) {
	u = geom.Vec3{Z: 1}
	if math.Abs(axis.Z) > 0.9 {
		u = geom.Vec3{X: 1}
	}
	u = u.Sub(axis.Scale(u.Dot(axis))).Unit()
	return u, axis.Cross(u)
}

// fitBall is circleFit in space: the centre solves three linear equations, by
// Cramer's rule.
func fitBall(ps []geom.Vec3) (c geom.Vec3, r float64, ok bool) {
	if len(ps) < 4 {
		return c, 0, false
	}
	var mean geom.Vec3
	for _, p := range ps {
		mean = mean.Add(p)
	}
	mean = mean.Scale(1 / float64(len(ps)))
	var row [3]geom.Vec3
	var rhs geom.Vec3
	square := 0.0
	for _, p := range ps {
		q := p.Sub(mean)
		z := q.Dot(q)
		square += z
		row[0] = row[0].Add(q.Scale(q.X))
		row[1] = row[1].Add(q.Scale(q.Y))
		row[2] = row[2].Add(q.Scale(q.Z))
		rhs = rhs.Add(q.Scale(z / 2))
	}
	det := row[0].Dot(row[1].Cross(row[2]))
	size := row[0].X + row[1].Y + row[2].Z
	if det <= 1e-9*size*size*size {
		return c, 0, false
	}
	c = geom.Vec3{
		X: rhs.Dot(row[1].Cross(row[2])) / det,
		Y: row[0].Dot(rhs.Cross(row[2])) / det,
		Z: row[0].Dot(row[1].Cross(rhs)) / det,
	}
	r = math.Sqrt(square/float64(len(ps)) + c.Dot(c))
	return c.Add(mean), r, true
}
