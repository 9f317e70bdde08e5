package check

import (
	"perch/compile/mesh"
	"perch/lang/unit"
)

var wall = Query{
	Name: "wall", Dim: unit.Length, Doc: "the thinnest wall, measured across it on the mesh",
	Formula: "the shortest way through the body between two faces that look away from each other within 30 degrees; tapering edges are left out",
	Source:  "0.8 mm, two lines of a 0.4 mm nozzle, 1.2 mm where it carries: design tables of filament printing", Example: "wall >= 1.2mm",
	Change: "thicken the wall there", Find: thinnest(mesh.Walls, "no two faces of the part are the sides of a wall"),
}
