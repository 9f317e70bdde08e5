package parse

// Block is a place where statements stand.
type Block string

// Blocks.
const (
	Top       Block = "top"     // a file
	InPart    Block = "part"    // the braces of a part
	InSketch  Block = "sketch"  // the braces of a sketch
	InOutline Block = "outline" // the braces of an outline
)

// Statement is a kind of line. The parser takes no line that begins otherwise,
// but relations and equations in a sketch, the rows of sizes and the entries
// of a workshop; its messages show the forms.
type Statement struct {
	Block Block
	Word  string // that it begins with
	Form  string // how it is written
	Doc   string
}

// Statements lists every kind of line, in the order of the reference.
var Statements = []Statement{
	{Top, "use", "use tube, strap", "brings in modules of the library; `use dims from \"dims.perch\"` a file in or below the design's folder"},
	{Top, "measure", "measure lead = 4.2mm +- 0.1mm", "what an instrument read: one value with its uncertainty, or several readings; `within` gives the limit of the instrument"},
	{Top, "let", "let wall = 2.4mm", "names a value, or, with parameters, a function of one line"},
	{Top, "sketch", "sketch tooth { … }", "a profile, drawn roughly and pinned by relations and equations in any order; it may take parameters"},
	{Top, "part", "part comb(teeth: count = 6) { … }", "a body made in steps; it may take parameters, and stand for its body in other parts"},
	{Top, "sizes", "sizes comb { thin: lead = 3.2mm }", "a table of variants of one part: each row sets parameters, lets and measures; `long: thin with teeth = 4` goes on from a row above"},
	{Top, "workshop", "workshop { nozzle = 0.4mm }", "the printer, the fits and the plastics of the maker, in a file of its own called workshop.perch"},

	{InPart, "join", "join box width 40mm, depth 20mm, height 5mm", "adds bodies; a part begins with it"},
	{InPart, "cut", "cut cylinder radius 3mm, along y", "takes bodies away; they may be endless"},
	{InPart, "trim", "trim box width 40mm, depth 20mm, height 5mm", "keeps only what lies within the bodies"},
	{InPart, "engrave", "engrave \"183\" on front, size 5mm, depth 0.6mm", "cuts a text or an area into a side of the part so far, or round a tube: `engrave label around pipe at 20deg`"},
	{InPart, "emboss", "emboss \"183\" on top, size 5mm, height 0.6mm", "raises it there"},
	{InPart, "mating", "mating pipe = cylinder radius 90mm, along y", "names a body that is not printed: it shapes the part, and the part is checked against it"},
	{InPart, "material", "material petg", "what the part is printed in"},
	{InPart, "print", "print turned 90deg about x", "how the part lies on the bed: turned so, as a body is turned, several turns one after the other; then it is set down in the middle of the bed. Files to print, plates and the checks of printing (fits bed, first layer, overhang, bridge, loose islands, and how layers lie under load) go by it; everything else, mating bodies, drawings, pictures and other checks, by the part as drawn. Where the part stands for its body in another part it says nothing"},
	{InPart, "check", "check wall >= 1.2mm", "what must be true of the finished part"},
	{InPart, "caution", "caution optics, overhead", "where the part is used; shows the cautions for it"},
	{InPart, "let", "let half = wide / 2", "names a value or a body within the part"},

	{InSketch, "point", "point o at (0, 0)", "a point; `at` fixes its place, `near` only says which of several solutions is meant"},
	{InSketch, "line", "line ab from a to b", "a straight line between two points"},
	{InSketch, "arc", "arc top from a to b, centre o", "an arc between two points, counter-clockwise unless `clockwise` is said; without its centre it goes where the other lines lead it, through a point by `p on top`"},
	{InSketch, "circle", "circle bore centre o, diameter 4mm", "a circle; its radius or diameter may be left to the relations, or be `near`"},
	{InSketch, "outline", "outline plate { from (0, 0) … close }", "a closed chain of lines and arcs"},
	{InSketch, "path", "path way { from (0, 0) … }", "a chain of lines and arcs that may stay open, to lead an area along: `sweep section along hook.way`"},
	{InSketch, "rectangle", "rectangle plate width 40mm, height 12mm", "a rectangle with its sides along x and y: about its `centre`, or between opposite corners, `rectangle plate from p to q`"},
	{InSketch, "slot", "slot groove from p to q, width 5mm", "a slot with round ends, between the centres of these"},
	{InSketch, "polygon", "polygon hex sides 6, across flats 7mm", "a regular polygon"},
	{InSketch, "round", "round b, c by 3mm", "rounds corners of outlines"},
	{InSketch, "bevel", "bevel d by 1mm", "bevels corners of outlines"},
	{InSketch, "area", "area block less bore, mouth", "what of the closed shapes is solid; with a name, `area rim = block less bore`, one of several areas"},
	{InSketch, "guide", "guide line axis from a to b", "draws something that bounds no area and only helps to place other lines"},
	{InSketch, "let", "let half = wide / 2", "names a value within the sketch"},

	{InOutline, "from", "from a near (-5mm, 0)", "where the outline begins"},
	{InOutline, "line", "line right 40mm", "a straight segment: walked by a direction (right, left, up, down, ahead) and a length, at an angle (`line 12mm at 30deg`), or to a point (`line floor to b near (5mm, 0)`)"},
	{InOutline, "arc", "arc left, radius 6mm, through 90deg", "an arc that runs on smoothly to one side, or to a point about a centre (`arc crown to d, centre o`), or without one through a third point (`arc crown to d` here and `p on crown` below)"},
	{InOutline, "close", "close", "a straight segment back to the start"},
}

// begins holds the words that begin a line, by block.
var begins = func() map[Block]map[string]bool {
	m := map[Block]map[string]bool{Top: {}, InPart: {}, InSketch: {}, InOutline: {}}
	for _, s := range Statements {
		m[s.Block][s.Word] = true
	}
	return m
}()

// starts lists the words that begin a line, by the block they stand in.
var starts = func() map[string][]string {
	m := map[string][]string{"guide": {"point", "line", "arc", "circle", "outline", "path", "rectangle", "slot", "polygon"}}
	for _, s := range Statements {
		m[string(s.Block)] = append(m[string(s.Block)], s.Word)
	}
	return m
}()

// forms shows how each kind of statement, or piece of one, is written.
var forms = func() map[string]string {
	m := map[string]string{
		"row":     "thin: lead = 3.2mm, teeth = 4",
		"entry":   "nozzle = 0.4mm",
		"general": "floor horizontal` or `floor.length = 12mm",
		"args":    "slot(pipe, width: 20mm)",
		"tuple":   "(0, 0, 3mm)",
	}
	for _, s := range Statements {
		key := s.Word
		if s.Block == InOutline && (key == "line" || key == "arc") {
			key += "segment"
		}
		if m[key] == "" {
			m[key] = s.Form
		}
	}
	return m
}()
