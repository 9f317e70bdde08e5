package solid

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
)

// ErrWrapLong says that an area reaches more than once round its cylinder.
var ErrWrapLong = errors.New("the area is longer than the way round")

// WrapArea bends an area round the z axis, without stretching it at the given
// radius, and makes it thick from radius in to radius out. x of the area runs
// round, counter-clockwise from the x axis; y runs along z. An area that
// reaches once round closes on itself. Build fails with ErrWrapLong.
func WrapArea(a Area, radius, in, out float64) *Body { return leafBody(&wrap{a, radius, in, out}) }

type wrap struct {
	area            Area
	radius, in, out float64 // mm
}

func (w *wrap) profile(tol float64) (Profile, error) { return w.area(tol) }

func (w *wrap) bounds(p Profile) geom.Box {
	b := geom.EmptyBox()
	for _, r := range p {
		for _, v := range r {
			b.Add(geom.Vec3{X: -w.out, Y: -w.out, Z: v.Y})
			b.Add(geom.Vec3{X: w.out, Y: w.out, Z: v.Y})
		}
	}
	return b
}

// columns is the way round in even steps.
type columns struct {
	n      int     // of a full turn
	step   float64 // in x of the area, mm
	origin float64 // x of column 0
	closed bool    // the area lies between the columns 0 and n and closes on itself
}

// nearColumn is how far from a column a corner may lie that is put on it, mm.
const nearColumn = 3e-5

func (w *wrap) columns(p Profile, tol float64) (columns, error) {
	c := columns{n: geom.FourFold(geom.Sides(w.out, tol))}
	round := float64(2 * math.Pi * w.radius)
	c.step = round / float64(c.n)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range p {
		for _, v := range r {
			lo, hi = min(lo, v.X), max(hi, v.X)
		}
	}
	switch over := hi - lo - round; {
	case over > nearColumn:
		return c, fmt.Errorf("%.4g mm against %.4g mm: %w", hi-lo, round, ErrWrapLong)
	case over > -nearColumn:
		c.origin, c.closed = lo, true
	}
	return c, nil
}

// at returns the column at x, or that left of it.
func (c columns) at(x float64) (k int, on bool) {
	f := (x - c.origin) / c.step
	if r := math.Round(f); math.Abs(f-r)*c.step < nearColumn {
		return int(r), true
	}
	return int(math.Floor(f)), false
}

// wrapSpot is a place of the area in a strip: on its left column when t = 0.
type wrapSpot struct {
	column int
	t, y   float64
}

// strip collects the border of the area between a column and the next: ways
// with the area on their left.
type strip struct {
	column int
	ways   [][2]wrapSpot
}

func (w *wrap) build(k *kernel, g *grid, p Profile, tol float64) error {
	c, err := w.columns(p, tol)
	if err != nil {
		return err
	}
	strips := c.strips(p)
	first := slices.Sorted(func(yield func(int) bool) {
		for s := range strips {
			if !yield(s) {
				return
			}
		}
	})
	if len(first) == 0 {
		return nil
	}
	b := &wrapBuild{wrap: w, columns: c, facets: newFacets(k, g)}
	for _, s := range first {
		b.sides(strips[s])
	}
	b.close(strips, first[0], first[len(first)-1])
	for _, s := range first {
		b.faces(strips[s])
	}
	return b.done()
}

// strips cuts the border at every column.
func (c columns) strips(p Profile) map[int]*strip {
	out := map[int]*strip{}
	for _, ring := range p {
		for i, a := range ring {
			c.cut(out, a, ring[(i+1)%len(ring)])
		}
	}
	return out
}

// cut puts the pieces of one side into their strips. Pieces along a column are
// left out: where they stand follows from the others.
func (c columns) cut(out map[int]*strip, a, b geom.Vec2) {
	put := func(s int, p, q wrapSpot) {
		if out[s] == nil {
			out[s] = &strip{column: s}
		}
		out[s].ways = append(out[s].ways, [2]wrapSpot{p, q})
	}
	spot := func(v geom.Vec2) wrapSpot {
		k, on := c.at(v.X)
		if on {
			return wrapSpot{k, 0, v.Y}
		}
		return wrapSpot{k, (v.X-c.origin)/c.step - float64(k), v.Y}
	}
	p, q := spot(a), spot(b)
	back := a.X > b.X
	if back {
		p, q = q, p
		a, b = b, a
	}
	for last := p; last != q; {
		next, s := q, last.column
		if end := s + 1; q.column > end || q.column == end && q.t > 0 {
			t := (c.origin + float64(float64(end)*c.step) - a.X) / (b.X - a.X)
			next = wrapSpot{end, 0, a.Y + float64(t*(b.Y-a.Y))}
		}
		if last.column == next.column && last.t == 0 && next.t == 0 {
			return // along a column
		}
		if back {
			put(s, next, last)
		} else {
			put(s, last, next)
		}
		last = next
	}
}

type wrapBuild struct {
	*wrap
	columns
	*facets
}

// point returns the grid point of a spot at a radius.
func (b *wrapBuild) point(s wrapSpot, radius float64) int32 {
	on := func(k int) geom.Vec2 {
		sin, cos := geom.SinCos(2*math.Pi*float64(((k%b.n)+b.n)%b.n)/float64(b.n) + b.origin/b.radius)
		return geom.Vec2{X: radius * cos, Y: radius * sin}
	}
	p := on(s.column)
	if s.t > 0 {
		p = p.Add(on(s.column + 1).Sub(p).Scale(s.t))
	}
	return b.facets.point(geom.Vec3{X: p.X, Y: p.Y, Z: s.y})
}

// sides adds the walls over the border within a strip.
func (b *wrapBuild) sides(s *strip) {
	for _, way := range s.ways {
		b.wall(way[0], way[1])
	}
}

func (b *wrapBuild) wall(p, q wrapSpot) {
	b.quad(b.point(p, b.in), b.point(q, b.in), b.point(q, b.out), b.point(p, b.out))
}

// close adds the ways along the columns: where the area lies on both sides of
// one, it is only cut there; where on one, it has a wall.
func (b *wrapBuild) close(strips map[int]*strip, first, last int) {
	for k := first; k <= last+1; k++ {
		left, right := strips[k-1], strips[k]
		if b.closed && k == 0 {
			left = strips[b.n-1]
		}
		if b.closed && k == b.n {
			break
		}
		ys := heights(left, right)
		inLeft, inRight := left.beside(ys, 1), right.beside(ys, 0)
		for i := 1; i < len(ys); i++ {
			low, high := ys[i-1], ys[i]
			if inRight[i-1] {
				right.ways = append(right.ways, [2]wrapSpot{{right.column, 0, high}, {right.column, 0, low}})
			}
			if inLeft[i-1] {
				left.ways = append(left.ways, [2]wrapSpot{{left.column + 1, 0, low}, {left.column + 1, 0, high}})
			}
			switch {
			case inLeft[i-1] && !inRight[i-1]:
				b.wall(wrapSpot{k, 0, low}, wrapSpot{k, 0, high})
			case inRight[i-1] && !inLeft[i-1]:
				b.wall(wrapSpot{k, 0, high}, wrapSpot{k, 0, low})
			}
		}
	}
}

// heights lists where the border in two neighbours meets the column between.
func heights(left, right *strip) []float64 {
	var ys []float64
	left.ends(1, func(y float64) { ys = append(ys, y) })
	right.ends(0, func(y float64) { ys = append(ys, y) })
	slices.Sort(ys)
	return slices.Compact(ys)
}

// ends calls do for every end of a way on the column left (0) or right (1) of
// the strip; a nil strip has none. Ways along the column do not count.
func (s *strip) ends(side int, do func(y float64)) {
	if s == nil {
		return
	}
	k := s.column + side
	for _, w := range s.ways {
		on := [2]bool{}
		for i, p := range w {
			on[i] = p.column == k && p.t == 0
		}
		for i, p := range w {
			if on[i] && !on[1-i] {
				do(p.y)
			}
		}
	}
}

// beside tells for each piece of a column between heights whether the area
// lies beside it in a strip: each way that ends there changes that above it.
func (s *strip) beside(ys []float64, side int) []bool {
	in := make([]bool, len(ys))
	s.ends(side, func(y float64) {
		i, _ := slices.BinarySearch(ys, y)
		in[i] = !in[i]
	})
	for i := 1; i < len(in); i++ {
		in[i] = in[i] != in[i-1]
	}
	return in
}

// faces adds the outer and the inner side of the area in a strip.
func (b *wrapBuild) faces(s *strip) {
	var outer, inner [][]int32
	for _, l := range s.loops() {
		var o, i []int32
		for _, p := range l {
			o, i = append(o, b.point(p, b.out)), append(i, b.point(p, b.in))
		}
		slices.Reverse(i)
		outer, inner = append(outer, o), append(inner, i)
	}
	b.add(outer...)
	b.add(inner...)
}

// loops links the ways of a strip. Where several go on from one spot, the
// sharpest turn to the left is taken, so that each loop is simple.
func (s *strip) loops() [][]wrapSpot {
	from := map[wrapSpot][]int{}
	for i, w := range s.ways {
		from[w[0]] = append(from[w[0]], i)
	}
	flat := func(p wrapSpot) geom.Vec2 { return geom.Vec2{X: float64(p.column-s.column) + p.t, Y: p.y} }
	used := make([]bool, len(s.ways))
	var out [][]wrapSpot
	for i := range s.ways {
		if used[i] {
			continue
		}
		var loop []wrapSpot
		for at := i; at >= 0 && !used[at]; {
			used[at] = true
			w := s.ways[at]
			loop = append(loop, w[0])
			in := flat(w[1]).Sub(flat(w[0]))
			best, most := -1, math.Inf(-1)
			for _, n := range from[w[1]] {
				if used[n] {
					continue
				}
				d := flat(s.ways[n][1]).Sub(flat(s.ways[n][0]))
				if turn := math.Atan2(in.Cross(d), in.Dot(d)); turn > most {
					best, most = n, turn
				}
			}
			at = best
		}
		out = append(out, loop)
	}
	return out
}
