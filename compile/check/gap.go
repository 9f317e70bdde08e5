package check

import (
	"perch/compile/mesh"
	"perch/lang/unit"
)

var gap = Query{
	Name: "gap", Dim: unit.Length, Doc: "the narrowest gap between two faces of the part",
	Formula: "the shortest way through the air between two faces that look at each other within 30 degrees",
	Source:  "plane geometry; below 0.2 mm filament closes a gap, common practice", Example: "gap >= 0.4mm",
	Change: "widen the gap there, or close it", Find: thinnest(mesh.Gaps, "no two faces of the part look at each other"),
}
