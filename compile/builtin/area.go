package builtin

import (
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
