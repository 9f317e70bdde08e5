package value

import (
	"perch/compile/sketch"
	"perch/compile/solid"
)

// Area is a region of a drawing plane.
type Area struct {
	// Name is how messages call it: the name of a sketch.
	Name string
	*sketch.Area
}

// Profile returns the border as closed polygons, in mm: outer rings
// counter-clockwise, holes clockwise. Their chords leave the true curves by at
// most the tolerance in mm.
func (a *Area) Profile(tolerance float64) (solid.Profile, error) { return a.Rings(tolerance) }
