package mesh

import (
	"slices"

	"perch/compile/boxtree"
	"perch/compile/geom"
)

// Intersections returns pairs of triangles that cut through or lie on each
// other, at most limit of them (limit <= 0: all). Triangles may meet at
// corners and edges that they have in common by place; any other common point
// counts. The answer is exact for the given coordinates. The time is about
// n·log n for n triangles of ordinary shape.
func (m *Mesh) Intersections(limit int) (found [][2]int) {
	boxtree.New(m.boxes()).SelfPairs(func(x, y int32) bool {
		if a, b := int(min(x, y)), int(max(x, y)); m.meet(a, b) {
			found = append(found, [2]int{a, b})
		}
		return limit <= 0 || len(found) < limit
	})
	slices.SortFunc(found, func(x, y [2]int) int {
		if x[0] != y[0] {
			return x[0] - y[0]
		}
		return x[1] - y[1]
	})
	return found
}

// meet reports whether triangles x and y have a point in common beyond the
// corners and edges that they share.
func (m *Mesh) meet(x, y int) bool {
	var p, q [3]geom.Vec3
	p[0], p[1], p[2] = m.Corners(x)
	q[0], q[1], q[2] = m.Corners(y)
	shared := 0
	var i, j int // the first shared corner
	var own, other [3]bool
	for a := range 3 {
		for b := range 3 {
			if p[a] == q[b] {
				if shared == 0 {
					i, j = a, b
				}
				own[a], other[b] = true, true
				shared++
			}
		}
	}
	switch shared {
	case 0:
		for k := range 3 {
			if segmentMeets(p[k], p[(k+1)%3], q) || segmentMeets(q[k], q[(k+1)%3], p) {
				return true
			}
		}
		return false
	case 1:
		// A line from the shared corner leaves a triangle through the side
		// opposite that corner, so only these two sides need asking.
		return segmentMeets(p[(i+1)%3], p[(i+2)%3], q) || segmentMeets(q[(j+1)%3], q[(j+2)%3], p)
	case 2:
		a, b := lone(own), lone(other)
		return folded(p[(a+1)%3], p[(a+2)%3], p[a], q[b])
	}
	return true
}

func lone(used [3]bool) int { return slices.Index(used[:], false) }

// folded reports whether triangles a, b, c and a, b, d lie in one plane on the
// same side of a, b.
func folded(a, b, c, d geom.Vec3) bool {
	if orient(a, b, c, d) != 0 {
		return false
	}
	for drop := range 3 {
		if s := orient2(a, b, c, drop); s != 0 {
			return s == orient2(a, b, d, drop)
		}
	}
	return true // a, b, c is no triangle
}

// segmentMeets reports whether the closed segment p, q and the closed
// triangle t have a point in common.
func segmentMeets(p, q geom.Vec3, t [3]geom.Vec3) bool {
	sp, sq := orient(t[0], t[1], t[2], p), orient(t[0], t[1], t[2], q)
	if sp*sq > 0 {
		return false
	}
	if sp == 0 && sq == 0 {
		return segmentMeetsFlat(p, q, t)
	}
	var pos, neg bool
	for k := range 3 {
		switch orient(p, q, t[k], t[(k+1)%3]) {
		case 1:
			pos = true
		case -1:
			neg = true
		}
	}
	return !(pos && neg)
}

// segmentMeetsFlat is segmentMeets within the plane of the triangle.
func segmentMeetsFlat(p, q geom.Vec3, t [3]geom.Vec3) bool {
	drop := 0
	for drop < 3 && orient2(t[0], t[1], t[2], drop) == 0 {
		drop++
	}
	if drop == 3 {
		return false // no triangle; Check reports it
	}
	if within(p, t, drop) || within(q, t, drop) {
		return true
	}
	for k := range 3 {
		a, b := t[k], t[(k+1)%3]
		if orient2(p, q, a, drop)*orient2(p, q, b, drop) <= 0 && orient2(a, b, p, drop)*orient2(a, b, q, drop) <= 0 {
			// Four zeros mean one line; the ends were asked by within, and a
			// side lying inside the segment crosses it at the side's end,
			// which the other sides of the triangle report.
			if orient2(p, q, a, drop) != 0 || orient2(p, q, b, drop) != 0 {
				return true
			}
		}
	}
	return false
}

// within reports whether p lies in triangle t, its sides included.
func within(p geom.Vec3, t [3]geom.Vec3, drop int) bool {
	var pos, neg bool
	for k := range 3 {
		switch orient2(t[k], t[(k+1)%3], p, drop) {
		case 1:
			pos = true
		case -1:
			neg = true
		}
	}
	return !(pos && neg)
}
