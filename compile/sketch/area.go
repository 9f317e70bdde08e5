package sketch

import (
	"perch/compile/geom"
	"perch/compile/region"
)

// Area is a part of the plane bounded by lines and arcs. It is immutable and
// independent of the sketch it came from.
type Area struct {
	border Boundary // of a leaf
	op     areaOp
	args   []*Area
}

type areaOp uint8

const (
	opLeaf areaOp = iota
	opWith
	opLess
	opWithin
)

// AreaOf returns the area inside a boundary.
func AreaOf(b Boundary) *Area { return &Area{border: b} }

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
// fine to be worked out.
func (a *Area) Rings(tolerance float64) ([][]geom.Vec2, error) {
	if a.op == opLeaf {
		return [][]geom.Vec2{a.border.Ring(tolerance)}, nil
	}
	var rings [][][]geom.Vec2
	inside := a.collect(tolerance, &rings)
	return region.Combine(rings, inside)
}

// collect lists the rings of the leaves and returns the membership of a point
// as a function of that in each leaf.
func (a *Area) collect(tolerance float64, rings *[][][]geom.Vec2) func(in []bool) bool {
	if a.op == opLeaf {
		n := len(*rings)
		*rings = append(*rings, [][]geom.Vec2{a.border.Ring(tolerance)})
		return func(in []bool) bool { return in[n] }
	}
	var args []func(in []bool) bool
	for _, b := range a.args {
		args = append(args, b.collect(tolerance, rings))
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
	}
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
		s += signedArea(r)
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
