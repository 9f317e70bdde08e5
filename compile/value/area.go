package value

import (
	"perch/compile/sketch"
	"perch/compile/solid"
	"perch/lang/unit"
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

// What implements Object.
func (a *Area) What() string { return "area " + a.Name }

// Members implements Object.
func (*Area) Members() []string { return []string{"surface", "perimeter", "width", "height"} }

// Member implements Object: the size of the area, the length of its
// border, and how far it reaches along x and along y.
func (a *Area) Member(name string) (Value, bool) {
	switch name {
	case "surface":
		s, err := a.Surface()
		return Of(s, unit.AreaDim), err == nil
	case "perimeter":
		s, err := a.Perimeter()
		return Of(s, unit.Length), err == nil
	case "width", "height":
		least, most, err := a.Extent()
		if name == "width" {
			return Of(most.X-least.X, unit.Length), err == nil
		}
		return Of(most.Y-least.Y, unit.Length), err == nil
	}
	return nil, false
}
