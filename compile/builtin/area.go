package builtin

import (
	"perch/compile/geom"
	"perch/compile/sketch"
	"perch/compile/value"
)

// Functions that return areas.

var areaParams = []Param{{"area", "area"}, {"by", "length"}}

// moving makes a function that moves the border of an area outward, or with
// in set inward.
func moving(name, doc, example string, in, sharp bool) Function {
	return Function{
		Name: name, Params: areaParams, Doc: doc, Example: example,
		Call: func(args []value.Value) (value.Value, *value.Fault) {
			a, by := args[0].(*value.Area), args[1].(value.Number)
			if !(by.X >= 0 && by.X <= MaxSize) {
				return nil, value.Faultf(SizeNotAbove0, "an area is %s by a length from 0 up to 1200 mm, this is %s", name, by).
					Do("use %s for the other way", map[bool]string{true: "grown", false: "shrunk"}[in])
			}
			d := by.X
			if in {
				d = -d
			}
			return &value.Area{Name: a.Name, Area: sketch.Grown(a.Area, d, sharp)}, nil
		},
	}
}

var (
	grownFunc       = moving("grown", "an area with its border moved outward, round about its corners: what keeps that distance", "abs(grown(plate, 1mm).surface - (264 - 4 + pi) * 1mm^2) < 0.01mm^2", false, false)
	shrunkFunc      = moving("shrunk", "an area with its border moved inward", "shrunk(plate, 1mm).surface = 144mm^2", true, false)
	grownSharpFunc  = moving("grown_sharp", "an area with its border moved outward, its corners kept; one sharper than 29 deg is cut off at four times the distance", "grown_sharp(plate, 1mm).surface = 264mm^2", false, true)
	shrunkSharpFunc = moving("shrunk_sharp", "an area with its border moved inward, the corners of its notches kept", "shrunk_sharp(plate, 1mm).surface = 144mm^2", true, true)
)

var movedFunc = Function{
	Name: "moved", Params: []Param{{"area", "area"}, {"x", "length"}, {"y", "length"}},
	Doc: "an area moved in its plane", Example: "moved(plate, 3mm, 2mm).surface = 200mm^2",
	Call: func(args []value.Value) (value.Value, *value.Fault) {
		a, x, y := args[0].(*value.Area), args[1].(value.Number), args[2].(value.Number)
		for _, n := range []value.Number{x, y} {
			if !(n.X >= -MaxSize && n.X <= MaxSize) {
				return nil, value.Faultf(SizeTooLarge, "%s is too far out", n).Why("an area lies within 1200 mm of the origin").Do("check the unit")
			}
		}
		return movedArea(a, 0, geom.Vec2{X: x.X, Y: y.X}), nil
	},
}

var rotatedFunc = Function{
	Name: "rotated", Params: []Param{{"area", "area"}, {"by", "angle"}},
	Doc: "an area turned about the origin of its plane, counter-clockwise", Example: "abs(rotated(plate, 30deg).surface - 200mm^2) < 0.001mm^2",
	Call: func(args []value.Value) (value.Value, *value.Fault) {
		a, by := args[0].(*value.Area), args[1].(value.Number)
		if !by.Finite() {
			return nil, value.Faultf(value.NotFinite, "the angle is %s", by).Do("check the formula it comes from")
		}
		return movedArea(a, by.X, geom.Vec2{}), nil
	},
}

// movedArea returns the area turned about the origin, by radians, and moved.
func movedArea(a *value.Area, turn float64, by geom.Vec2) *value.Area {
	return &value.Area{Name: a.Name, Area: sketch.Moved(a.Area, turn, by)}
}
