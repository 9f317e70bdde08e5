package mesh

import (
	"math"
	"math/big"

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

// orient2 returns the sign of the area of a, b, c seen with axis drop (0 x,
// 1 y, 2 z) pointing at the viewer. It is exact.
func orient2(a, b, c geom.Vec3, drop int) int {
	p := integers(a, b, c)
	i, j := (drop+1)%3, (drop+2)%3
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
