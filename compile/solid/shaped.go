package solid

import (
	"errors"
	"math"

	"perch/compile/geom"
)

// Rim is how the edge round an end of an extrusion is broken. Size 0 leaves
// it sharp.
type Rim struct {
	Size  float64 // mm, along the wall and across the end
	Round bool    // by a quarter circle; else bevelled at 45 degrees
}

// Shaping tells how an extrusion differs from a straight one.
type Shaping struct {
	// Taper is the angle of the walls against the direction of the extrusion,
	// in radians: positive, and the area shrinks away from the end where it is
	// as drawn.
	Taper float64
	// DrawnAtEnd says that the area is as drawn at z1 and not at z0.
	DrawnAtEnd bool
	Start, End Rim // at z0 and at z1
}

// ErrRims says that the rims of an extrusion leave no wall between them.
var ErrRims = errors.New("the rims are higher than the body")

// ExtrudeShaped is ExtrudeArea with walls that taper and rims that are broken.
// Corners stay sharp. Build fails with ErrRims, ErrCloses or ErrMeets when
// there is no such body.
func ExtrudeShaped(a Area, z0, z1 float64, s Shaping) *Body {
	if (s == Shaping{}) {
		return ExtrudeArea(a, z0, z1)
	}
	return leafBody(&shaped{a, z0, z1, s})
}

// CheckShaped returns the error that building ExtrudeShaped of a ready
// profile would end with, nil for none.
func CheckShaped(p Profile, z0, z1 float64, s Shaping, tolerance float64) error {
	if (s == Shaping{}) {
		return nil
	}
	e := &shaped{fixed(p), z0, z1, s}
	levels, err := e.levels(tolerance)
	if err == nil {
		_, err = e.front(p, levels)
	}
	return err
}

type shaped struct {
	area   Area
	z0, z1 float64
	Shaping
}

func (e *shaped) profile(tol float64) (Profile, error) { return e.area(tol) }

func (e *shaped) bounds(p Profile) geom.Box {
	b := (&prism{z0: e.z0, z1: e.z1}).bounds(p)
	if out := -math.Tan(e.Taper) * (e.z1 - e.z0); out > 0 && !b.Empty() {
		// Corners of a right angle or more; sharper ones reach farther.
		far := geom.Vec3{X: 4 * out, Y: 4 * out}
		b.Add(b.Min.Sub(far))
		b.Add(b.Max.Add(far))
	}
	return b
}

// level is a height and how far inside the drawn border the walls are there.
type level struct{ z, depth float64 }

// levels lists the heights at which the walls change their slope.
func (e *shaped) levels(tol float64) ([]level, error) {
	h := e.z1 - e.z0
	if e.Start.Size+e.End.Size > h-1e-9 && e.Start.Size+e.End.Size > 0 {
		return nil, ErrRims
	}
	slope := math.Tan(e.Taper)
	var out []level
	add := func(up, rim float64) {
		way := up
		if e.DrawnAtEnd {
			way = h - up
		}
		out = append(out, level{e.z0 + up, float64(slope*way) + rim})
	}
	for _, s := range e.Start.steps(tol) {
		add(s[0], s[1])
	}
	end := e.End.steps(tol)
	for i := len(end) - 1; i >= 0; i-- {
		add(h-end[i][0], end[i][1])
	}
	out[0].z, out[len(out)-1].z = e.z0, e.z1
	return out, nil
}

// steps lists distances from the end with how far the rim draws in there.
func (r Rim) steps(tol float64) [][2]float64 {
	switch {
	case r.Size == 0:
		return [][2]float64{{0, 0}}
	case !r.Round:
		return [][2]float64{{0, r.Size}, {r.Size, 0}}
	}
	n := (geom.Sides(r.Size, tol) + 3) / 4
	out := make([][2]float64, n+1)
	for i := range out {
		s, c := geom.SinCos(math.Pi / 2 * float64(i) / float64(n))
		out[i] = [2]float64{r.Size * (1 - c), r.Size * (1 - s)}
	}
	return out
}

func (e *shaped) front(p Profile, levels []level) (*front, error) {
	least, most := 0.0, 0.0
	for _, l := range levels {
		least, most = min(least, l.depth), max(most, l.depth)
	}
	return newFront(p, least, most)
}

func (e *shaped) build(k *kernel, g *grid, p Profile, tol float64) error {
	levels, err := e.levels(tol)
	if err != nil {
		return err
	}
	f, err := e.front(p, levels)
	if err != nil {
		return err
	}
	b := newFacets(k, g)
	ids := func(p Profile, z float64) [][]int32 {
		out := make([][]int32, len(p))
		for r, ring := range p {
			for _, v := range ring {
				out[r] = append(out[r], b.point(geom.Vec3{X: v.X, Y: v.Y, Z: z}))
			}
		}
		return out
	}
	slab := func(lo, hi level) {
		i := f.find(lo.depth, hi.depth)
		below, above := ids(f.rings(i, lo.depth), lo.z), ids(f.rings(i, hi.depth), hi.z)
		for r := range below {
			b.band(below[r], above[r])
		}
	}
	cap := func(at, other level, up bool) {
		loops := ids(f.rings(f.find(at.depth, other.depth), at.depth), at.z)
		if !up {
			for _, l := range loops {
				reverse(l)
			}
		}
		b.add(loops...)
	}
	last := len(levels) - 1
	cap(levels[0], levels[1], false)
	for n := range last {
		lo, hi := levels[n], levels[n+1]
		from := lo
		for _, d := range f.between(lo.depth, hi.depth) {
			at := level{lo.z + (hi.z-lo.z)*(d-lo.depth)/(hi.depth-lo.depth), d}
			slab(from, at)
			from = at
		}
		slab(from, hi)
	}
	cap(levels[last], levels[last-1], true)
	return b.done()
}
