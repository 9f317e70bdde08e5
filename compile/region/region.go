// Package region joins, cuts and intersects areas of a plane that are bounded
// by polygons. Corners are rounded to a grid of 1e-5 mm; on it every decision
// is exact, so that touching, coincident and crossing sides are ordinary
// input. Where sides cross, they are bent by at most half a grid step to meet
// in a grid point, in such a way that no new crossing can arise (snap
// rounding: J. D. Hobby, "Practical segment intersection with finite precision
// output", Computational Geometry 13 (1999) 199-214; L. J. Guibas and
// D. H. Marimont, "Rounding arrangements dynamically", 1998).
package region

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
)

// PerMM is the number of grid steps in a millimetre.
const PerMM = 1e5

// maxCoord bounds coordinates on the grid: differences of two fit 31 bits, so
// that all predicates fit an int64.
const maxCoord = 1<<30 - 1

// MaxCorners bounds the corners of all rings together.
const MaxCorners = 1 << 20

// Errors of Combine.
var (
	ErrTooLarge = errors.New("a corner lies more than 10 m from the origin")
	ErrTooFine  = errors.New("there are too many corners")
)

// point is a place on the grid.
type point struct{ x, y int64 }

func (p point) compare(q point) int {
	switch {
	case p.x < q.x:
		return -1
	case p.x > q.x:
		return 1
	}
	return cmp.Compare(p.y, q.y)
}

func (p point) sub(q point) point { return point{p.x - q.x, p.y - q.y} }

func (p point) cross(q point) int64 { return p.x*q.y - p.y*q.x }

func (p point) dot(q point) int64 { return p.x*q.x + p.y*q.y }

// turn is positive when a, b, c turn to the left, zero when they are in line.
func turn(a, b, c point) int64 { return b.sub(a).cross(c.sub(a)) }

// side is a piece of the border of regions. It runs from a to b, a before b,
// and has each region on its left by so much more often than on
// its right.
type side struct {
	a, b     point
	windings []winding // of the regions that differ, ascending
}

// winding is by how much more often a region lies on the left of a side than
// on its right.
type winding struct{ region, by int32 }

// overlay holds the rings of all regions on the grid.
type overlay struct {
	regions int
	sides   []side
	corners map[point]corner
}

// corner remembers where a grid point came from.
type corner struct {
	exact geom.Vec2
	order int // of first mention
}

// Combine returns the border of the set of points for which inside holds.
// Each region is given by closed rings in mm and holds the points that its
// rings go round: a ring may run either way, a hole runs against the ring
// around it. inside is told, for each region, whether a point lies in it; it
// must not hold on to its argument, and nothing may be inside that lies in no
// region.
//
// Outer rings come out counter-clockwise, holes clockwise, outer rings first;
// each is simple. Rings touch at corners at most, and no corner is needless.
// Corners that are not cut keep their coordinates to the last bit.
func Combine(regions [][][]geom.Vec2, inside func(in []bool) bool) ([][]geom.Vec2, error) {
	o, err := place(regions)
	if err != nil {
		return nil, err
	}
	o.snap()
	return o.trace(inside), nil
}

// place rounds the rings to the grid.
func place(regions [][][]geom.Vec2) (*overlay, error) {
	o := &overlay{regions: len(regions), corners: map[point]corner{}}
	count := 0
	for r, rings := range regions {
		for _, ring := range rings {
			if count += len(ring); count > MaxCorners {
				return nil, ErrTooFine
			}
			if err := o.add(r, ring); err != nil {
				return nil, err
			}
		}
	}
	o.merge()
	return o, nil
}

func (o *overlay) add(region int, ring []geom.Vec2) error {
	grid := make([]point, len(ring))
	for i, v := range ring {
		p, ok := onGrid(v)
		if !ok {
			return fmt.Errorf("(%g, %g) mm: %w", v.X, v.Y, ErrTooLarge)
		}
		if _, known := o.corners[p]; !known {
			o.corners[p] = corner{exact: v, order: len(o.corners)}
		}
		grid[i] = p
	}
	one := []winding{{int32(region), 1}, {int32(region), -1}}
	for i, a := range grid {
		b := grid[(i+1)%len(grid)]
		switch a.compare(b) {
		case -1:
			o.sides = append(o.sides, side{a, b, one[:1:1]})
		case 1:
			o.sides = append(o.sides, side{b, a, one[1:]})
		}
	}
	return nil
}

func onGrid(v geom.Vec2) (point, bool) {
	x, y := math.Round(v.X*PerMM), math.Round(v.Y*PerMM)
	if !(math.Abs(x) <= maxCoord && math.Abs(y) <= maxCoord) {
		return point{}, false
	}
	return point{int64(x), int64(y)}, true
}

// merge sorts the sides and joins those that coincide; those that have the
// same on both sides go.
func (o *overlay) merge() {
	slices.SortFunc(o.sides, func(s, t side) int {
		if c := s.a.compare(t.a); c != 0 {
			return c
		}
		return s.b.compare(t.b)
	})
	kept := o.sides[:0]
	for i := 0; i < len(o.sides); {
		s := o.sides[i]
		for i++; i < len(o.sides) && o.sides[i].a == s.a && o.sides[i].b == s.b; i++ {
			s.windings = sum(s.windings, o.sides[i].windings)
		}
		if len(s.windings) > 0 {
			kept = append(kept, s)
		}
	}
	o.sides = kept
}

// sum adds two lists of windings; what comes to nothing goes.
func sum(a, b []winding) []winding {
	out := make([]winding, 0, len(a)+len(b))
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].region < b[0].region:
			out, a = append(out, a[0]), a[1:]
		case len(a) == 0 || b[0].region < a[0].region:
			out, b = append(out, b[0]), b[1:]
		default:
			if by := a[0].by + b[0].by; by != 0 {
				out = append(out, winding{a[0].region, by})
			}
			a, b = a[1:], b[1:]
		}
	}
	return out
}

// turned returns the windings of a side seen the other way round.
func turned(w []winding) []winding {
	out := slices.Clone(w)
	for i := range out {
		out[i].by = -out[i].by
	}
	return out
}

// float returns a grid point in mm: as it was given, or on the grid.
func (o *overlay) float(p point) geom.Vec2 {
	if c, ok := o.corners[p]; ok {
		return c.exact
	}
	return geom.Vec2{X: float64(p.x) / PerMM, Y: float64(p.y) / PerMM}
}
