package solid

import (
	"math"
	"math/big"
	"math/bits"
	"slices"

	"perch/compile/exact"
)

// The grid. Leaves are rounded once to whole units of 1e-5 mm; a decimal grid
// keeps sizes written in decimals exact. maxCoord bounds every coordinate of
// a leaf, so that no predicate overflows: differences stay below 2^28,
// normals below 2^56, plane offsets below 2^84, homogeneous points below
// 2^200 and side tests below 2^255.
const (
	unitsPerMM = 1e5
	maxCoord   = 1 << 26
)

// plane is a·x + b·y + c·z + d = 0 with the first non-zero of a, b, c
// positive and no common divisor, so that equal planes are equal numbers.
type plane struct {
	a, b, c        int64
	d              exact.Int128
	fa, fb, fc, fd float64
	axis           int8 // 0, 1, 2 when it is x, y or z = integer, else -1
	small          bool // a·x+b·y+c·z+d of a grid point fits in an int64
	d64            int64
}

// point is a grid point, or the meeting point of three planes.
type point struct {
	f      [3]float64 // the float64 nearest to the true coordinates, so that f keeps order
	whole  [3]bool    // coordinate known to be exactly the integer f
	planes [3]int32   // planes known to hold the point, -1 for none
	h      int32      // index of the homogeneous coordinates, -1 for a grid point
}

type homogeneous struct{ x, y, z, w exact.Int256 } // w > 0

// space holds the planes and points of one build. Equal planes have one id
// and equal points have one id, however they are reached.
type space struct {
	planes  []plane
	byPlane planeMap
	pts     []point
	hom     []homogeneous
	triples tripleMap
	cells   tripleMap // first point in a unit cell
	chain   []int32   // next point in the same cell, -1 at the end
	base    *space    // of a fork: where it began
	exact   int       // how often the float filter did not decide
}

// planeMap finds planes by their coefficients, by open addressing.
type planeMap struct {
	ids []int32 // -1 for none
}

func (m *planeMap) grow(planes []plane, n int) {
	m.ids = make([]int32, n)
	for i := range m.ids {
		m.ids[i] = -1
	}
	for id := range planes {
		p := &planes[id]
		m.ids[m.find(planes, p.a, p.b, p.c, p.d)] = int32(id)
	}
}

// find returns the slot of a plane, or the one where it belongs.
func (m *planeMap) find(planes []plane, a, b, c int64, d exact.Int128) int {
	h := uint64(a)*0x9E3779B97F4A7C15 ^ uint64(b)*0xC2B2AE3D27D4EB4F ^ uint64(c)*0x165667B19E3779F9 ^ d.Lo*0xD6E8FEB86659FD93
	h = (h ^ h>>29) * 0xBF58476D1CE4E5B9
	mask := len(m.ids) - 1
	for i := int(h>>32) & mask; ; i = (i + 1) & mask {
		id := m.ids[i]
		if id < 0 {
			return i
		}
		if p := &planes[id]; p.a == a && p.b == b && p.c == c && p.d == d {
			return i
		}
	}
}

func newSpace() *space {
	s := &space{}
	s.byPlane.grow(nil, 1<<8)
	s.triples.grow(1 << 10)
	s.cells.grow(1 << 10)
	return s
}

// reserve makes room for so many more points and planes.
func (s *space) reserve(points, planes int) {
	s.pts, s.chain = slices.Grow(s.pts, points), slices.Grow(s.chain, points)
	if n := slots(len(s.pts) + points); n > len(s.cells.vals) {
		s.cells.resize(n)
	}
	s.reservePlanes(planes)
}

func (s *space) reservePlanes(planes int) {
	s.planes = slices.Grow(s.planes, planes)
	if n := slots(len(s.planes) + planes); n > len(s.byPlane.ids) {
		s.byPlane.grow(s.planes, n)
	}
}

// slots returns how many a map of n things takes.
func slots(n int) int { return 1 << bits.Len(uint(2*n)) }

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	if a < 0 {
		return -a
	}
	return a
}

// coefficients of a plane as they are stored, and the sign that the normal had
// against the stored one.
type coefficients struct {
	a, b, c int64
	d       exact.Int128
	sign    int8 // 0: no plane
}

// reduced makes the first of a, b, c that is not 0 positive and divides by the
// greatest common divisor.
func reduced(a, b, c int64, d exact.Int128) coefficients {
	sign := int8(1)
	if a < 0 || a == 0 && (b < 0 || b == 0 && c < 0) {
		a, b, c, d, sign = -a, -b, -c, d.Neg(), -1
	}
	if g := gcd(gcd(a, b), c); g > 1 {
		if q, ok := d.DivExact(g); ok {
			a, b, c, d = a/g, b/g, c/g, q
		} else if rem := remainder(d, g); rem != 0 {
			if g = gcd(g, rem); g > 1 {
				q, _ := d.DivExact(g)
				a, b, c, d = a/g, b/g, c/g, q
			}
		}
	}
	return coefficients{a, b, c, d, sign}
}

// holds reports whether the plane goes through a grid point.
func (r *coefficients) holds(p [3]int64) bool {
	return exact.Mul64(r.a, p[0]).Add(exact.Mul64(r.b, p[1])).Add(exact.Mul64(r.c, p[2])).Add(r.d).Sign() == 0
}

// addPlane returns the id of the plane and +1 when (a, b, c) is the stored
// normal, -1 when it is the opposite one.
func (s *space) addPlane(a, b, c int64, d exact.Int128) (int32, int8) {
	r := reduced(a, b, c, d)
	return s.addReduced(&r), r.sign
}

func (s *space) addReduced(r *coefficients) int32 {
	a, b, c, d := r.a, r.b, r.c, r.d
	slot := s.byPlane.find(s.planes, a, b, c, d)
	if id := s.byPlane.ids[slot]; id >= 0 {
		return id
	}
	p := plane{a: a, b: b, c: c, d: d, fa: float64(a), fb: float64(b), fc: float64(c), fd: d.Float(), axis: -1}
	switch {
	case a == 1 && b == 0 && c == 0:
		p.axis = 0
	case a == 0 && b == 1 && c == 0:
		p.axis = 1
	case a == 0 && b == 0 && c == 1:
		p.axis = 2
	}
	const lim = 1 << 34
	p.d64, p.small = d.Int64()
	p.small = p.small && p.d64 < 1<<61 && p.d64 > -1<<61 && a < lim && b < lim && b > -lim && c < lim && c > -lim
	id := int32(len(s.planes))
	s.planes = append(s.planes, p)
	s.byPlane.ids[slot] = id
	if 2*len(s.planes) > len(s.byPlane.ids) {
		s.byPlane.grow(s.planes, 2*len(s.byPlane.ids))
	}
	return id
}

func remainder(d exact.Int128, g int64) int64 {
	b := new(big.Int).Lsh(big.NewInt(d.Hi), 64)
	b.Add(b, new(big.Int).SetUint64(d.Lo))
	return b.Rem(b, big.NewInt(g)).Int64()
}

// through returns the plane through three grid points in counter-clockwise
// order; its sign is 0 when they lie on a line.
func through(a, b, c [3]int64) coefficients {
	ux, uy, uz := b[0]-a[0], b[1]-a[1], b[2]-a[2]
	vx, vy, vz := c[0]-a[0], c[1]-a[1], c[2]-a[2]
	nx, ny, nz := uy*vz-uz*vy, uz*vx-ux*vz, ux*vy-uy*vx
	if nx == 0 && ny == 0 && nz == 0 {
		return coefficients{}
	}
	d := exact.Mul64(nx, a[0]).Add(exact.Mul64(ny, a[1])).Add(exact.Mul64(nz, a[2])).Neg()
	return reduced(nx, ny, nz, d)
}

// addPlaneThrough returns the plane through three grid points in
// counter-clockwise order; ok is false when they lie on a line.
func (s *space) addPlaneThrough(a, b, c [3]int64) (id int32, sign int8, ok bool) {
	r := through(a, b, c)
	if r.sign == 0 {
		return 0, 0, false
	}
	return s.addReduced(&r), r.sign, true
}

// addGrid returns the point with the given integer coordinates.
func (s *space) addGrid(x, y, z int64) int32 {
	f := [3]float64{float64(x), float64(y), float64(z)}
	key := cellOf(f)
	for v := s.first(key); v >= 0; v = s.chain[v] {
		if p := &s.pts[v]; p.h < 0 && p.f == f {
			return v
		}
	}
	return s.insert(key, point{f: f, whole: [3]bool{true, true, true}, planes: [3]int32{-1, -1, -1}, h: -1})
}

func cellOf(f [3]float64) [3]int32 {
	return [3]int32{int32(math.Floor(f[0] + 0.5)), int32(math.Floor(f[1] + 0.5)), int32(math.Floor(f[2] + 0.5))}
}

// first returns the newest point in a cell, -1 for none.
func (s *space) first(key [3]int32) int32 {
	if v := s.cells.first(key); v >= 0 || s.base == nil {
		return v
	}
	return s.base.first(key)
}

func (s *space) insert(key [3]int32, p point) int32 {
	id := int32(len(s.pts))
	s.pts = append(s.pts, p)
	slot, found := s.cells.find(key)
	head := int32(-1)
	switch {
	case found:
		head = s.cells.vals[slot]
		s.cells.vals[slot] = id
	case s.base != nil:
		head = s.base.first(key)
		fallthrough
	default:
		s.cells.put(slot, key, id)
	}
	s.chain = append(s.chain, head)
	return id
}

// meet returns the point where three planes meet, or -1 when they share a
// line or have no common point.
func (s *space) meet(p, q, r int32) int32 {
	key, slot, id, found := s.findTriple(p, q, r)
	if !found {
		id = s.compute(key)
		s.triples.put(slot, key, id)
	}
	return id
}

// meetEdge is meet for planes of which q and r hold the points v and w, on
// both sides of p. Upright edges need no equations.
func (s *space) meetEdge(p, q, r, v, w int32) int32 {
	key, slot, id, found := s.findTriple(p, q, r)
	if found {
		return id
	}
	pl, a, b := &s.planes[p], &s.pts[v], &s.pts[w]
	id = -1
	if k := pl.axis; k >= 0 && a.h < 0 && b.h < 0 {
		f := a.f
		f[k] = b.f[k]
		if f == b.f { // it runs along the axis
			f[k] = -pl.fd
			id = s.addGrid(int64(f[0]), int64(f[1]), int64(f[2]))
		}
	}
	if id < 0 {
		id = s.compute(key)
	}
	s.triples.put(slot, key, id)
	return id
}

// findTriple looks for the meeting point of three planes. Where it is not known
// it returns the sorted key and the slot where it belongs.
func (s *space) findTriple(p, q, r int32) (key [3]int32, slot int, id int32, found bool) {
	key = [3]int32{p, q, r}
	if key[0] > key[1] {
		key[0], key[1] = key[1], key[0]
	}
	if key[1] > key[2] {
		key[1], key[2] = key[2], key[1]
	}
	if key[0] > key[1] {
		key[0], key[1] = key[1], key[0]
	}
	if slot, found = s.triples.find(key); found {
		return key, slot, s.triples.vals[slot], true
	}
	if s.base != nil {
		if n, found := s.base.triples.find(key); found {
			return key, slot, s.base.triples.vals[n], true
		}
	}
	return key, slot, -1, false
}

// compute solves the three plane equations by Cramer's rule.
func (s *space) compute(key [3]int32) int32 {
	p, q, r := &s.planes[key[0]], &s.planes[key[1]], &s.planes[key[2]]
	minor := func(a1, b2, a2, b1 int64) exact.Int128 { return exact.Mul64(a1, b2).Sub(exact.Mul64(a2, b1)) }
	bc0, bc1, bc2 := minor(q.b, r.c, r.b, q.c), minor(r.b, p.c, p.b, r.c), minor(p.b, q.c, q.b, p.c)
	w := exact.Mul128(bc0, exact.I128(p.a)).Add(exact.Mul128(bc1, exact.I128(q.a))).Add(exact.Mul128(bc2, exact.I128(r.a)))
	sign := w.Sign()
	if sign == 0 {
		return -1
	}
	ca0, ca1, ca2 := minor(q.c, r.a, r.c, q.a), minor(r.c, p.a, p.c, r.a), minor(p.c, q.a, q.c, p.a)
	ab0, ab1, ab2 := minor(q.a, r.b, r.a, q.b), minor(r.a, p.b, p.a, r.b), minor(p.a, q.b, q.a, p.b)
	det := func(m0, m1, m2 exact.Int128) exact.Int256 {
		return exact.Mul128(m0, p.d).Add(exact.Mul128(m1, q.d)).Add(exact.Mul128(m2, r.d))
	}
	h := homogeneous{det(bc0, bc1, bc2), det(ca0, ca1, ca2), det(ab0, ab1, ab2), w}
	if sign > 0 {
		h.x, h.y, h.z = h.x.Neg(), h.y.Neg(), h.z.Neg()
	} else {
		h.w = w.Neg()
	}
	pt := point{f: [3]float64{exact.Ratio(h.x, h.w), exact.Ratio(h.y, h.w), exact.Ratio(h.z, h.w)}, planes: key}
	for k, c := range [3]*exact.Int256{&h.x, &h.y, &h.z} {
		if r := math.Round(pt.f[k]); math.Abs(pt.f[k]-r) < 1e-6 && h.w.Mul64(int64(r)) == *c {
			pt.f[k], pt.whole[k] = r, true
		}
	}
	if pt.whole == [3]bool{true, true, true} {
		return s.addGrid(int64(pt.f[0]), int64(pt.f[1]), int64(pt.f[2]))
	}
	if id := s.known(&pt); id >= 0 {
		return id
	}
	pt.h = int32(len(s.hom))
	s.hom = append(s.hom, h)
	return s.insert(cellOf(pt.f), pt)
}

// known returns a point already in the space that equals the given one.
// Cells are centred on grid points, so a look into one cell is the rule.
func (s *space) known(pt *point) int32 {
	const near = 1e-4 // far above the error of f
	c := cellOf(pt.f)
	lo, hi := c, c
	for k := range 3 {
		frac := pt.f[k] + 0.5 - float64(c[k])
		if frac < near {
			lo[k]--
		} else if frac > 1-near {
			hi[k]++
		}
	}
	for x := lo[0]; x <= hi[0]; x++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for z := lo[2]; z <= hi[2]; z++ {
				for v := s.first([3]int32{x, y, z}); v >= 0; v = s.chain[v] {
					if s.equal(v, pt) {
						return v
					}
				}
			}
		}
	}
	return -1
}

func (s *space) equal(v int32, pt *point) bool {
	o := &s.pts[v]
	for k := range 3 {
		if math.Abs(o.f[k]-pt.f[k]) > 1e-4 {
			return false
		}
	}
	for _, p := range pt.planes {
		if s.side(v, p) != 0 {
			return false
		}
	}
	return true
}

// side returns the sign of the plane equation at a point.
func (s *space) side(v, p int32) int {
	o := &s.pts[v]
	if o.planes[0] == p || o.planes[1] == p || o.planes[2] == p {
		return 0
	}
	pl := &s.planes[p]
	if pl.axis >= 0 && o.whole[pl.axis] {
		return signOf(o.f[pl.axis] + pl.fd)
	}
	if o.h < 0 && pl.small {
		t := pl.a*int64(o.f[0]) + pl.b*int64(o.f[1]) + pl.c*int64(o.f[2]) + pl.d64
		return signOf(t)
	}
	t0, t1, t2 := float64(pl.fa*o.f[0]), float64(pl.fb*o.f[1]), float64(pl.fc*o.f[2])
	t := t0 + t1 + t2 + pl.fd
	// Every term carries at most 6 roundings of 2^-53: in the coordinate, the
	// coefficient, the product and the sums; fd has two of its own.
	e := (math.Abs(t0) + math.Abs(t1) + math.Abs(t2) + math.Abs(pl.fd)) * 1e-15
	if t > e {
		return 1
	}
	if t < -e {
		return -1
	}
	s.exact++
	if o.h < 0 {
		x, y, z := int64(o.f[0]), int64(o.f[1]), int64(o.f[2])
		return exact.Mul64(pl.a, x).Add(exact.Mul64(pl.b, y)).Add(exact.Mul64(pl.c, z)).Add(pl.d).Sign()
	}
	h := &s.hom[o.h]
	return h.x.Mul64(pl.a).Add(h.y.Mul64(pl.b)).Add(h.z.Mul64(pl.c)).Add(h.w.Mul128(pl.d)).Sign()
}

func signOf[T int64 | float64](t T) int {
	switch {
	case t > 0:
		return 1
	case t < 0:
		return -1
	}
	return 0
}

// direction returns the direction of the line where planes p and q meet,
// normal(p) × normal(q), with a relative error of 2^-50 in each component.
func (s *space) direction(p, q int32) [3]float64 {
	a, b := &s.planes[p], &s.planes[q]
	if a.axis >= 0 {
		return alongAxis(a.axis, b, 1)
	}
	if b.axis >= 0 {
		return alongAxis(b.axis, a, -1)
	}
	return [3]float64{
		exact.Mul64(a.b, b.c).Sub(exact.Mul64(a.c, b.b)).Float(),
		exact.Mul64(a.c, b.a).Sub(exact.Mul64(a.a, b.c)).Float(),
		exact.Mul64(a.a, b.b).Sub(exact.Mul64(a.b, b.a)).Float(),
	}
}

// alongAxis returns sign times the unit vector of an axis × the normal of q.
func alongAxis(axis int8, q *plane, sign float64) [3]float64 {
	switch axis {
	case 0:
		return [3]float64{0, -sign * q.fc, sign * q.fb}
	case 1:
		return [3]float64{sign * q.fc, 0, -sign * q.fa}
	}
	return [3]float64{-sign * q.fb, sign * q.fa, 0}
}

// order returns +1 when w lies after v along the line with direction d, -1
// when before, 0 when they are one point. Both lie on the line.
func (s *space) order(d *[3]float64, v, w int32) int {
	k, sign := longestAxis(d)
	return s.orderOn(k, sign, v, w)
}

// orderOn is order for the axis that a direction goes along most, and its sign
// there.
func (s *space) orderOn(k, sign int8, v, w int32) int {
	if v == w {
		return 0
	}
	return int(sign) * s.compare(v, w, int(k))
}

func longestAxis(d *[3]float64) (k, sign int8) {
	if math.Abs(d[1]) > math.Abs(d[0]) {
		k = 1
	}
	if math.Abs(d[2]) > math.Abs(d[k]) {
		k = 2
	}
	return k, int8(signOf(d[k]))
}

// compare returns the sign of w[k] - v[k].
func (s *space) compare(v, w int32, k int) int {
	a, b := &s.pts[v], &s.pts[w]
	// Rounding to the nearest keeps order.
	switch t := b.f[k] - a.f[k]; {
	case t > 0:
		return 1
	case t < 0:
		return -1
	case a.whole[k] && b.whole[k]:
		return 0
	}
	s.exact++
	an, aw := s.rational(v, k)
	bn, bw := s.rational(w, k)
	return new(big.Int).Mul(bn, aw).Cmp(new(big.Int).Mul(an, bw))
}

// rational returns coordinate k of v as a fraction with a positive
// denominator.
func (s *space) rational(v int32, k int) (num, den *big.Int) {
	o := &s.pts[v]
	if o.whole[k] {
		return big.NewInt(int64(o.f[k])), big.NewInt(1)
	}
	h := &s.hom[o.h]
	return [3]*exact.Int256{&h.x, &h.y, &h.z}[k].Big(), h.w.Big()
}

// turn returns the sign of (b - a) × (c - a) in the projection to the axes
// i, j: +1 when a, b, c turn to the left.
func (s *space) turn(a, b, c int32, i, j int) int {
	if a == b || b == c || a == c {
		return 0
	}
	p, q, r := &s.pts[a], &s.pts[b], &s.pts[c]
	ux, uy := q.f[i]-p.f[i], q.f[j]-p.f[j]
	vx, vy := r.f[i]-p.f[i], r.f[j]-p.f[j]
	if p.h < 0 && q.h < 0 && r.h < 0 {
		return signOf(int64(ux)*int64(vy) - int64(uy)*int64(vx))
	}
	t0, t1 := float64(ux*vy), float64(uy*vx)
	t := t0 - t1
	// Coordinates are off by at most 2^-53·2·maxCoord < 1.5e-8.
	e := float64((math.Abs(ux)+math.Abs(uy)+math.Abs(vx)+math.Abs(vy))*3.2e-8) + float64((math.Abs(t0)+math.Abs(t1))*1e-15) + 1e-14
	if t > e {
		return 1
	}
	if t < -e {
		return -1
	}
	s.exact++
	px, pw := s.rational(a, i)
	py, pv := s.rational(a, j)
	qx, qw := s.rational(b, i)
	qy, qv := s.rational(b, j)
	rx, rw := s.rational(c, i)
	ry, rv := s.rational(c, j)
	rat := func(n, d *big.Int) *big.Rat { return new(big.Rat).SetFrac(n, d) }
	sub := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Sub(x, y) }
	mul := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
	ax, ay := rat(px, pw), rat(py, pv)
	return mul(sub(rat(qx, qw), ax), sub(rat(ry, rv), ay)).Cmp(mul(sub(rat(qy, qv), ay), sub(rat(rx, rw), ax)))
}

// handed returns the sign of the determinant of the normals of p, q, r.
func (s *space) handed(p, q, r int32) int {
	a, b, c := &s.planes[p], &s.planes[q], &s.planes[r]
	x0, x1 := float64(b.fb*c.fc), float64(b.fc*c.fb)
	y0, y1 := float64(b.fc*c.fa), float64(b.fa*c.fc)
	z0, z1 := float64(b.fa*c.fb), float64(b.fb*c.fa)
	t := float64(a.fa*(x0-x1)) + float64(a.fb*(y0-y1)) + float64(a.fc*(z0-z1))
	e := float64(math.Abs(a.fa)*(math.Abs(x0)+math.Abs(x1))) + float64(math.Abs(a.fb)*(math.Abs(y0)+math.Abs(y1))) + float64(math.Abs(a.fc)*(math.Abs(z0)+math.Abs(z1)))
	if e < 1<<53 { // whole numbers that a float64 holds
		return signOf(t)
	}
	if e *= 4e-15; t > e {
		return 1
	} else if t < -e {
		return -1
	}
	s.exact++
	m0 := exact.Mul64(b.b, c.c).Sub(exact.Mul64(b.c, c.b))
	m1 := exact.Mul64(b.c, c.a).Sub(exact.Mul64(b.a, c.c))
	m2 := exact.Mul64(b.a, c.b).Sub(exact.Mul64(b.b, c.a))
	return exact.Mul128(m0, exact.I128(a.a)).Add(exact.Mul128(m1, exact.I128(a.b))).Add(exact.Mul128(m2, exact.I128(a.c))).Sign()
}

// axes returns the two coordinate axes onto which plane p projects without
// loss, ordered so that a counter-clockwise turn seen against its stored
// normal stays counter-clockwise.
func (s *space) axes(p int32) (i, j int) {
	pl := &s.planes[p]
	return projection([3]float64{pl.fa, pl.fb, pl.fc})
}

// tripleMap maps triples of numbers to points by open addressing.
type tripleMap struct {
	keys [][3]int32
	vals []int32
	n    int
}

const noValue = math.MinInt32

func (m *tripleMap) grow(n int) {
	m.keys, m.vals, m.n = make([][3]int32, n), make([]int32, n), 0
	for i := range m.vals {
		m.vals[i] = noValue
	}
}

func (m *tripleMap) find(k [3]int32) (slot int, found bool) {
	h := uint64(uint32(k[0]))*0x9E3779B97F4A7C15 ^ uint64(uint32(k[1]))*0xC2B2AE3D27D4EB4F ^ uint64(uint32(k[2]))*0x165667B19E3779F9
	h = (h ^ h>>29) * 0xBF58476D1CE4E5B9
	mask := len(m.keys) - 1
	for i := int(h^h>>32) & mask; ; i = (i + 1) & mask {
		if m.vals[i] == noValue {
			return i, false
		}
		if m.keys[i] == k {
			return i, true
		}
	}
}

// first returns the value of k, or -1.
func (m *tripleMap) first(k [3]int32) int32 {
	if slot, ok := m.find(k); ok {
		return m.vals[slot]
	}
	return -1
}

func (m *tripleMap) put(slot int, k [3]int32, v int32) {
	m.keys[slot], m.vals[slot] = k, v
	if m.n++; 2*m.n > len(m.keys) {
		m.resize(2 * len(m.keys))
	}
}

// resize moves what the map holds to n slots.
func (m *tripleMap) resize(n int) {
	old := *m
	m.grow(n)
	m.n = old.n
	for i, v := range old.vals {
		if v != noValue {
			j, _ := m.find(old.keys[i])
			m.keys[j], m.vals[j] = old.keys[i], v
		}
	}
}
