package region

import (
	"cmp"
	"math/bits"
	"slices"
)

// snap splits and bends the sides so that they meet in their ends only.
//
// A grid point is hot when it is an end of a side or the rounded crossing of
// two. Each side is led through the middle of every hot pixel it passes; by
// the theorem of snap rounding the pieces do not cross.
//
// Before that, each side is led through the ends that it comes close to:
// rounding to the grid parts a corner from a slanting side that it lay on.
func (o *overlay) snap() {
	o.lead(o.ends(), side.nearby)
	o.lead(o.hot(), side.pixels)
}

// lead splits the sides at some of the points; via appends those that a side
// goes through, on its way from a to b, its ends included.
func (o *overlay) lead(points []point, via func(s side, points, via []point) []point) {
	pieces := make([]side, 0, len(o.sides))
	var way []point
	for _, s := range o.sides {
		way = via(s, points, way[:0])
		for i := 1; i < len(way); i++ {
			pieces = append(pieces, o.piece(s, way[i-1], way[i]))
		}
	}
	o.sides = pieces
	o.merge()
}

// piece returns a part of side s from p to q.
func (o *overlay) piece(s side, p, q point) side {
	if p.compare(q) > 0 {
		return side{q, p, turned(s.windings)}
	}
	return side{p, q, s.windings}
}

// ends returns the ends of the sides in order of x, then y.
func (o *overlay) ends() []point {
	var ends []point
	for _, s := range o.sides {
		ends = append(ends, s.a, s.b)
	}
	slices.SortFunc(ends, point.compare)
	return slices.Compact(ends)
}

// hot returns the hot points in order of x, then y.
func (o *overlay) hot() []point {
	hot := o.ends()
	var active []int
	for i, s := range o.sides { // in order of a
		keep := active[:0]
		for _, j := range active {
			t := o.sides[j]
			if t.b.x < s.a.x {
				continue
			}
			keep = append(keep, j)
			if max(s.a.y, s.b.y) < min(t.a.y, t.b.y) || max(t.a.y, t.b.y) < min(s.a.y, s.b.y) {
				continue
			}
			if p, ok := s.crossing(t); ok {
				hot = append(hot, p)
			}
		}
		active = append(keep, i)
	}
	slices.SortFunc(hot, point.compare)
	return slices.Compact(hot)
}

// crossing returns the rounded place where two sides cross properly.
func (s side) crossing(t side) (point, bool) {
	t1, t2 := turn(s.a, s.b, t.a), turn(s.a, s.b, t.b)
	if (t1 > 0) == (t2 > 0) || t1 == 0 || t2 == 0 {
		return point{}, false
	}
	s1, s2 := turn(t.a, t.b, s.a), turn(t.a, t.b, s.b)
	if (s1 > 0) == (s2 > 0) || s1 == 0 || s2 == 0 {
		return point{}, false
	}
	// at the share s1/(s1-s2) of the way from s.a to s.b
	num, den := magnitude(s1), magnitude(s1)+magnitude(s2)
	return point{
		s.a.x + share(s.b.x-s.a.x, num, den),
		s.a.y + share(s.b.y-s.a.y, num, den),
	}, true
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return uint64(-v)
	}
	return uint64(v)
}

// share returns d·num/den rounded to the nearest integer, halves up, for
// num < den < 2^63 and |d| < 2^31.
func share(d int64, num, den uint64) int64 {
	if d < 0 { // ⌊x + ½⌋ of a negative x
		q, exact := quotient(magnitude(d), num, den)
		if exact {
			return -(q - 1)
		}
		return -q
	}
	q, _ := quotient(uint64(d), num, den)
	return q
}

// quotient returns ⌊(2·d·num + den) / 2·den⌋, and whether that is exact.
func quotient(d, num, den uint64) (q int64, exact bool) {
	hi, lo := bits.Mul64(2*d, num)
	lo, carry := bits.Add64(lo, den, 0)
	quo, rem := bits.Div64(hi+carry, lo, 2*den)
	return int64(quo), rem == 0
}

// nearby appends the points within 1.5 grid steps of the side, more than
// rounding can part: half a diagonal for the point and as much for the side.
func (s side) nearby(points, via []point) []point {
	d := s.b.sub(s.a)
	dd := d.dot(d)
	near := 2.25 * float64(dd)
	lo, hi := min(s.a.y, s.b.y)-1, max(s.a.y, s.b.y)+1
	from, _ := slices.BinarySearchFunc(points, point{s.a.x - 1, lo}, point.compare)
	via = append(via, s.a)
	for _, c := range points[from:] {
		if c.x > s.b.x+1 {
			break
		}
		if c.y < lo || c.y > hi {
			continue
		}
		v := c.sub(s.a)
		if t := d.dot(v); t <= 0 || t >= dd {
			continue
		}
		if k := float64(d.cross(v)); float64(k*k) <= near {
			via = append(via, c)
		}
	}
	slices.SortFunc(via[1:], func(p, q point) int {
		return cmp.Or(cmp.Compare(d.dot(p.sub(s.a)), d.dot(q.sub(s.a))), p.compare(q))
	})
	return append(via, s.b)
}

// pixels appends the hot points whose pixels the side passes. A pixel is the
// unit square about its point, with its left and lower edges but without its
// right and upper ones.
func (s side) pixels(hot, via []point) []point {
	d := s.b.sub(s.a)
	reach := abs(d.x) + abs(d.y)
	lo, hi := min(s.a.y, s.b.y), max(s.a.y, s.b.y)
	from, _ := slices.BinarySearchFunc(hot, point{s.a.x, lo}, point.compare)
	for _, c := range hot[from:] {
		if c.x > s.b.x {
			break
		}
		if c.y < lo || c.y > hi {
			continue
		}
		if c == s.a || c == s.b || passes(d, c.sub(s.a), reach) {
			via = append(via, c)
		}
	}
	if d.y < 0 { // points above each other come from above
		slices.SortFunc(via, func(p, q point) int { return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(q.y, p.y)) })
	}
	return via
}

// passes reports whether the line through the origin along d passes the pixel
// about c, which lies in the box of the side; reach is |d.x| + |d.y|.
//
// Twice the turns of the corners of the pixel are 2k ± d.x ± d.y.
func passes(d, c point, reach int64) bool {
	k := d.cross(c)
	if abs(k) <= (reach-1)/2 {
		return true // corners lie on both sides
	}
	// It may touch one corner; only the lower left one is part of the pixel.
	return d.x > 0 && d.y < 0 && k == (d.x-d.y)/2 && (d.x-d.y)%2 == 0
}

func abs(v int64) int64 {
	if v < 0 {
		return -v
	}
	return v
}
