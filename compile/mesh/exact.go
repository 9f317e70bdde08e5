package mesh

import (
	"math"
	"math/big"

	"perch/compile/exact"
	"perch/compile/geom"
)

// orientBound is 7ε + 56ε², ε = 2⁻⁵³: the sign of the rounded determinant is
// right when its size exceeds this times the sum of the sizes of its terms.
// Source: J. R. Shewchuk, Adaptive Precision Floating-Point Arithmetic and
// Fast Robust Geometric Predicates (1997), error bound A of ORIENT3D.
const orientBound = (7 + 56*0x1p-53) * 0x1p-53

// orient returns the sign of the volume of the tetrahedron a, b, c, d: +1
// when a, b, c are counter-clockwise seen from d, -1 when clockwise, 0 when
// the four lie in one plane. It is exact.
func orient(a, b, c, d geom.Vec3) int {
	u, v, w := a.Sub(d), b.Sub(d), c.Sub(d)
	vxwy, vywx := float64(v.X*w.Y), float64(v.Y*w.X)
	wxuy, wyux := float64(w.X*u.Y), float64(w.Y*u.X)
	uxvy, uyvx := float64(u.X*v.Y), float64(u.Y*v.X)
	det := float64(u.Z*(vxwy-vywx)) + float64(v.Z*(wxuy-wyux)) + float64(w.Z*(uxvy-uyvx))
	size := float64((math.Abs(vxwy)+math.Abs(vywx))*math.Abs(u.Z)) +
		float64((math.Abs(wxuy)+math.Abs(wyux))*math.Abs(v.Z)) +
		float64((math.Abs(uxvy)+math.Abs(uyvx))*math.Abs(w.Z))
	// Shewchuk's orient3d is positive when d lies below the plane; ours is
	// positive above it.
	if bound := float64(orientBound * size); det > bound && size > 1e-200 {
		return -1
	} else if -det > bound && size > 1e-200 {
		return 1
	}
	if whole(a) && whole(b) && whole(c) && whole(d) {
		return orientWhole(a, b, c, d)
	}
	return orientExact(a, b, c, d)
}

func orientExact(a, b, c, d geom.Vec3) int {
	p := integers(a, b, c, d)
	for i := range 3 {
		for k := range 3 {
			p[i][k].Sub(p[i][k], p[3][k])
		}
	}
	det := new(big.Int)
	for k := range 3 {
		det.Add(det, new(big.Int).Mul(p[0][k], minor(p[1], p[2], (k+1)%3, (k+2)%3)))
	}
	return -det.Sign()
}

// whole reports whether a point lies on a grid of whole numbers below 2⁴⁰, as
// those of a leaf of package solid do: their differences are exact, have 41
// bits, and a determinant of three has no more than 126.
func whole(p geom.Vec3) bool {
	const most = 1 << 40
	return math.Abs(p.X) < most && math.Abs(p.Y) < most && math.Abs(p.Z) < most &&
		p.X == math.Trunc(p.X) && p.Y == math.Trunc(p.Y) && p.Z == math.Trunc(p.Z)
}

func orientWhole(a, b, c, d geom.Vec3) int {
	p, q, r := whole3(a.Sub(d)), whole3(b.Sub(d)), whole3(c.Sub(d))
	var det exact.Int256
	for k := range 3 {
		i, j := (k+1)%3, (k+2)%3
		minor := exact.Mul64(q[i], r[j]).Sub(exact.Mul64(q[j], r[i]))
		det = det.Add(exact.Mul128(minor, exact.I128(p[k])))
	}
	return -det.Sign()
}

func whole3(v geom.Vec3) [3]int64 { return [3]int64{int64(v.X), int64(v.Y), int64(v.Z)} }

// orient2Bound is 3ε + 16ε², error bound A of ORIENT2D of the same source.
const orient2Bound = (3 + 16*0x1p-53) * 0x1p-53

// orient2 returns the sign of the area of a, b, c seen with axis drop (0 x,
// 1 y, 2 z) pointing at the viewer. It is exact.
func orient2(a, b, c geom.Vec3, drop int) int {
	i, j := (drop+1)%3, (drop+2)%3
	u, v := a.Sub(c), b.Sub(c)
	l, r := float64(axis(u, i)*axis(v, j)), float64(axis(u, j)*axis(v, i))
	det, size := l-r, math.Abs(l)+math.Abs(r)
	switch bound := float64(orient2Bound * size); {
	case det > bound && size > 1e-200:
		return 1
	case -det > bound && size > 1e-200:
		return -1
	case u == (geom.Vec3{}) || v == (geom.Vec3{}): // a difference is zero only between equals
		return 0
	}
	if whole(a) && whole(b) && whole(c) {
		p, q := whole3(u), whole3(v)
		return exact.Mul64(p[i], q[j]).Sub(exact.Mul64(p[j], q[i])).Sign()
	}
	return orient2Exact(a, b, c, i, j)
}

func orient2Exact(a, b, c geom.Vec3, i, j int) int {
	p := integers(a, b, c)
	for k := range 3 {
		p[0][k].Sub(p[0][k], p[2][k])
		p[1][k].Sub(p[1][k], p[2][k])
	}
	return minor(p[0], p[1], i, j).Sign()
}

// collinear reports exactly whether three points lie on one line.
func collinear(a, b, c geom.Vec3) bool {
	return orient2(a, b, c, 0) == 0 && orient2(a, b, c, 1) == 0 && orient2(a, b, c, 2) == 0
}

func minor(a, b [3]*big.Int, i, j int) *big.Int {
	x := new(big.Int).Mul(a[i], b[j])
	return x.Sub(x, new(big.Int).Mul(a[j], b[i]))
}

// integers scales points by one power of two so that all coordinates are
// whole numbers. Coordinates must be finite.
func integers(ps ...geom.Vec3) [][3]*big.Int {
	least := math.MaxInt
	each := func(do func(i, k int, mant int64, exp int)) {
		for i, p := range ps {
			for k, x := range [3]float64{p.X, p.Y, p.Z} {
				f, e := math.Frexp(x)
				do(i, k, int64(f*0x1p53), e-53)
			}
		}
	}
	each(func(_, _ int, mant int64, exp int) {
		if mant != 0 {
			least = min(least, exp)
		}
	})
	out := make([][3]*big.Int, len(ps))
	each(func(i, k int, mant int64, exp int) {
		n := big.NewInt(mant)
		if mant != 0 {
			n.Lsh(n, uint(exp-least))
		}
		out[i][k] = n
	})
	return out
}
