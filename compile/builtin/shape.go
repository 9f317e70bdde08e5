package builtin

// Shape is a ready shape of a sketch with what may be said of it.
type Shape struct {
	Word    string
	Clauses []Form
}

// Shapes lists the ready shapes; their statements stand in package parse, and
// package sketch draws them.
var Shapes = []Shape{
	{"rectangle", []Form{
		{"width", "width LENGTH", "the extent along x"},
		{"height", "height LENGTH", "the extent along y"},
		{"centre", "centre POINT", "the middle; the origin when it is not told"},
		{"corners", "corners LENGTH", "the radius of its corners; square when it is not told"},
	}},
	{"slot", []Form{
		{"from", "from POINT to POINT", "the centres of its round ends"},
		{"to", "to POINT", "belongs to `from`"},
		{"width", "width LENGTH", "the width, twice the radius of its ends"},
	}},
	{"polygon", []Form{
		{"sides", "sides COUNT", "the number of sides, 3 to 1000"},
		{"centre", "centre POINT", "the middle; the origin when it is not told"},
		{"across", "across flats LENGTH` or `across corners LENGTH", "the width between opposite sides, or corners"},
		{"radius", "radius LENGTH", "the distance of its corners from the middle"},
		{"turned", "turned ANGLE", "turns it; flat at the bottom when it is not told"},
	}},
}
