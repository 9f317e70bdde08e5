package sketch

import (
	"math"
	"sync"

	"perch/compile/geom"
	"perch/compile/region"
)

// Area is a part of the plane bounded by lines and arcs. It is immutable and
// independent of the sketch it came from.
type Area struct {
	border Boundary // of a leaf
	op     areaOp
	args   []*Area
	by     float64                               // of opGrow, mm
	sharp  bool                                  // of opGrow
	drawn  func(tolerance float64) [][]geom.Vec2 // of opDrawn
	turn   float64                               // of opMoved, radians, about the origin and before the move
	move   geom.Vec2                             // of opMoved, mm

	mu   sync.Mutex
	drew map[float64]outcome // by tolerance, what Rings found
}

// outcome is what Rings returns.
type outcome struct {
	rings [][]geom.Vec2
	err   error
}

type areaOp uint8

const (
	opLeaf areaOp = iota
	opWith
	opLess
	opWithin
	opGrow
	opDrawn
	opMoved
)

// AreaOf returns the area inside a boundary.
func AreaOf(b Boundary) *Area { return &Area{border: b} }

// Drawn returns the area that closed rings go round, given as polygons for a
// chord tolerance in mm. Rings may run either way and may overlap; a hole runs
// against the ring around it.
func Drawn(rings func(tolerance float64) [][]geom.Vec2) *Area {
	return &Area{op: opDrawn, drawn: rings}
}

// Moved returns the area turned about the origin by an angle in radians,
// counter-clockwise, and then moved.
func Moved(a *Area, turn float64, by geom.Vec2) *Area {
	return &Area{op: opMoved, args: []*Area{a}, turn: turn, move: by}
}

// Grown returns the area with its border moved outward by a distance in mm,
// inward when it is negative, by arcs about outer corners or, with sharp set,
// keeping them.
func Grown(a *Area, by float64, sharp bool) *Area {
	return &Area{op: opGrow, args: []*Area{a}, by: by, sharp: sharp}
}

// Less returns what is in a and in none of the others.
func Less(a *Area, others ...*Area) *Area { return combineAreas(opLess, a, others) }

// With returns what is in any of the areas.
func With(a *Area, others ...*Area) *Area { return combineAreas(opWith, a, others) }

// Within returns what is in all of the areas.
func Within(a *Area, others ...*Area) *Area { return combineAreas(opWithin, a, others) }

func combineAreas(op areaOp, a *Area, others []*Area) *Area {
	if len(others) == 0 {
		return a
	}
	return &Area{op: op, args: append([]*Area{a}, others...)}
}

// Rings returns the border as closed polygons in mm: outer rings
// counter-clockwise, holes clockwise. Rings do not cross; they may touch at
// corners. Chords are inscribed and leave the curves by at most tolerance.
// No rings: nothing is left. The error tells when an area is too large or too
// fine to be worked out. Rings are worked out once and shared: they must not be
// changed.
func (a *Area) Rings(tolerance float64) ([][]geom.Vec2, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if o, ok := a.drew[tolerance]; ok {
		return o.rings, o.err
	}
	if a.drew == nil {
		a.drew = map[float64]outcome{}
	}
	rings, err := a.work(tolerance)
	a.drew[tolerance] = outcome{rings, err}
	return rings, err
}

// work finds the rings.
func (a *Area) work(tolerance float64) ([][]geom.Vec2, error) {
	if a.op == opGrow || a.op == opMoved {
		rings, _, err := a.single(tolerance, nil)
		return rings, err
	}
	var rings [][][]geom.Vec2
	var meet meetings // of a border with itself there are none
	if a.op != opLeaf {
		meet = meetings{}
		meet.of(a)
	}
	inside, err := a.collect(tolerance, meet, &rings)
	if err != nil {
		return nil, err
	}
	return region.Combine(rings, inside)
}

// circle is the circle of an arc, to about 1e-6 mm.
type circle struct{ x, y, r int64 }

func circleOf(c *Curve) circle {
	const perMM = 1e6
	return circle{int64(math.Round(c.Centre.X * perMM)), int64(math.Round(c.Centre.Y * perMM)), int64(math.Round(c.Radius * perMM))}
}

// meetings lists, for each circle, the ends of the arcs on it. Where arcs of
// several borders lie on one circle, each has corners where the others end, so
// that their chords coincide.
type meetings map[circle][]geom.Vec2

// of adds the arcs of an area that is combined with others.
func (m meetings) of(a *Area) {
	switch a.op {
	case opLeaf:
		for i := range a.border {
			if c := &a.border[i]; c.Round {
				k := circleOf(c)
				m[k] = append(m[k], c.A, c.B)
			}
		}
	case opWith, opLess, opWithin:
		for _, b := range a.args {
			m.of(b)
		}
	}
}

// on returns the ends on the circle of c.
func (m meetings) on(c *Curve) []geom.Vec2 {
	if !c.Round || m == nil {
		return nil
	}
	return m[circleOf(c)]
}

// single returns the rings of an area that is no combination.
func (a *Area) single(tolerance float64, meet meetings) (rings [][]geom.Vec2, ok bool, err error) {
	switch a.op {
	case opLeaf:
		return [][]geom.Vec2{a.border.ring(tolerance, meet.on)}, true, nil
	case opGrow:
		// Chords of the border and arcs about its corners share the tolerance.
		if rings, err = a.args[0].Rings(tolerance / 2); err != nil {
			return nil, true, err
		}
		corners := region.Round
		if a.sharp {
			corners = region.Sharp
		}
		rings, err = region.Offset(rings, a.by, corners, tolerance/2)
		return rings, true, err
	case opDrawn:
		return a.drawn(tolerance), true, nil
	case opMoved:
		rings, err = a.args[0].Rings(tolerance)
		return a.motion(rings), true, err
	}
	return nil, false, nil
}

// motion carries rings along with opMoved.
func (a *Area) motion(rings [][]geom.Vec2) [][]geom.Vec2 {
	sin, cos := geom.SinCos(a.turn)
	out := make([][]geom.Vec2, len(rings))
	for i, r := range rings {
		out[i] = make([]geom.Vec2, len(r))
		for j, p := range r {
			out[i][j] = geom.Vec2{X: float64(cos*p.X) - float64(sin*p.Y), Y: float64(sin*p.X) + float64(cos*p.Y)}.Add(a.move)
		}
	}
	return out
}

// collect lists the rings of the leaves and returns the membership of a point
// as a function of that in each leaf.
func (a *Area) collect(tolerance float64, meet meetings, rings *[][][]geom.Vec2) (func(in []bool) bool, error) {
	if own, ok, err := a.single(tolerance, meet); ok {
		n := len(*rings)
		*rings = append(*rings, own)
		return func(in []bool) bool { return in[n] }, err
	}
	var args []func(in []bool) bool
	for _, b := range a.args {
		f, err := b.collect(tolerance, meet, rings)
		if err != nil {
			return nil, err
		}
		args = append(args, f)
	}
	return func(in []bool) bool {
		first := args[0](in)
		switch a.op {
		case opLess:
			if !first {
				return false
			}
			for _, f := range args[1:] {
				if f(in) {
					return false
				}
			}
			return true
		case opWith:
			for _, f := range args {
				if f(in) {
					return true
				}
			}
			return false
		}
		for _, f := range args {
			if !f(in) {
				return false
			}
		}
		return true
	}, nil
}

// Surface returns the size of the area in mm²: exact for a single boundary,
// else from chords within 1e-4 mm.
func (a *Area) Surface() (float64, error) {
	if a.op == opLeaf {
		return a.border.Surface(), nil
	}
	rings, err := a.Rings(1e-4)
	s := 0.0
	for _, r := range rings {
		s += float64(signedArea(r))
	}
	return s, err
}

// Perimeter returns the length of the border in mm, holes included, as exact
// as Surface.
func (a *Area) Perimeter() (float64, error) {
	if a.op == opLeaf {
		return a.border.Perimeter(), nil
	}
	rings, err := a.Rings(1e-4)
	s := 0.0
	for _, r := range rings {
		for i, p := range r {
			s += r[(i+1)%len(r)].Sub(p).Len()
		}
	}
	return s, err
}

// Extent returns the least and the greatest x and y of the area in mm, from
// chords within 1e-4 mm; both are zero for an area with nothing in it.
func (a *Area) Extent() (least, most geom.Vec2, err error) {
	rings, err := a.Rings(1e-4)
	first := true
	for _, r := range rings {
		for _, p := range r {
			if first {
				least, most, first = p, p, false
			}
			least = geom.Vec2{X: min(least.X, p.X), Y: min(least.Y, p.Y)}
			most = geom.Vec2{X: max(most.X, p.X), Y: max(most.Y, p.Y)}
		}
	}
	return least, most, err
}
