package diag

import (
	"strconv"
	"strings"
)

// Stage is the step of a build that reports a code.
type Stage string

// Stages in the order of a build.
const (
	Parse   Stage = "parse"   // reading the text
	Resolve Stage = "resolve" // binding names and words
	Build   Stage = "build"   // everything after
)

// Entry documents one code.
type Entry struct {
	Code    Code
	Stage   Stage
	Doc     string  // one line: what it means
	Example Example // a part file that produces it
}

// Example is the text of a part file: Before, then Again as often as Times
// says, then After. In Again, {n} is the count from 1 and {m} the one before.
// Texts that only show a limit would not bear writing out.
type Example struct {
	Before string
	Again  string
	Times  int
	After  string
	Beside []Beside // files in the same folder
	Flags  []string // of the command: --size huge
	// Told says when the message is met, where no short text brings it about.
	Told string
}

// Beside is a file that stands beside an example.
type Beside struct{ Name, Text string }

// Text returns the whole text.
func (e Example) Text() string {
	var b strings.Builder
	b.WriteString(e.Before)
	for n := 1; n <= e.Times; n++ {
		b.WriteString(strings.NewReplacer("{n}", strconv.Itoa(n), "{m}", strconv.Itoa(n-1)).Replace(e.Again))
	}
	b.WriteString(e.After)
	return b.String()
}

// with returns the example with flags of the command.
func (e Example) with(flags ...string) Example {
	e.Flags = flags
	return e
}

// beside returns the example with a file in its folder.
func (e Example) beside(name, text string) Example {
	e.Beside = append(e.Beside, Beside{name, text})
	return e
}

// told is the example of a cause that no short text brings about.
func told(when string) Example { return Example{Told: when} }

// small is a part file without a fault.
var small = text("let a = 1mm", "", "part p {", "    join ball radius a", "}")

func text(lines ...string) Example { return Example{Before: strings.Join(lines, "\n") + "\n"} }

// Codes lists every code, by stage and then by name. A test compiles each
// example of the first two stages and expects its code.
var Codes = []Entry{
	{"axis-differs", Parse, "a range begins along one axis and ends along another",
		text("part p {", "    join box width 3mm, depth 3mm, from z = 0 to x = 3mm", "}")},
	{"block-missing", Parse, "the braces after a sketch, part, sizes or outline are missing",
		text("part p")},
	{"block-open", Parse, "a block is not closed",
		text("part p {", "    join ball radius 3mm")},
	{"brace-stray", Parse, "a brace stands where no block belongs, or closes nothing",
		text("let a = 3mm", "}")},
	{"character-stray", Parse, "a character that has no meaning in the language",
		text("measure a = 5mm ± 1mm")},
	{"clause-twice", Parse, "the same thing is said twice of one body or curve",
		text("sketch s {", "    circle c centre (0, 0), radius 2mm, diameter 4mm", "}")},
	{"clause-unknown", Parse, "a clause that does not belong to the body, shape or curve",
		text("sketch s {", "    circle c centre (0, 0), radius 2mm, clockwise", "}")},
	{"compare-chain", Parse, "two comparisons in one chain",
		text("part p(a: length = 1mm) {", "    check 0 < a < 3mm", "}")},
	{"file-too-large", Parse, "the file is larger than 16 MB",
		Example{Again: "# a line of a file that is far too large\n", Times: 420000}},
	{"nesting-deep", Parse, "parentheses stand more than 200 deep",
		Example{Before: "let a = ", Again: "(", Times: 201, After: "1\n"}},
	{"not-text", Parse, "the file holds a zero byte",
		text("let a = 3mm\x00")},
	{"not-utf8", Parse, "the file is not UTF-8 text",
		text("let a = 3mm # Gr\xf6\xdfe")},
	{"number-too-large", Parse, "a number beyond what can be held",
		text("let a = 1e999mm")},
	{"outline-empty", Parse, "an outline without a line in it",
		text("sketch s {", "    outline o {", "    }", "}")},
	{"outline-order", Parse, "an outline does not begin with `from`, or begins twice",
		text("sketch s {", "    outline o {", "        line right 3mm", "        close", "    }", "}")},
	{"paren-open", Parse, "a parenthesis is not closed",
		text("let a = (1 + 2")},
	{"paren-stray", Parse, "a parenthesis closes nothing",
		text("let a = 1 + 2)")},
	{"statement-incomplete", Parse, "a line leaves out what it cannot do without",
		text("sketch s {", "    circle c radius 3mm", "}")},
	{"statement-long", Parse, "a statement of more than 20000 words and signs",
		Example{Before: "let a = 1", Again: " + 1", Times: 10000, After: "\n"}},
	{"statement-unknown", Parse, "a line begins with a word that begins no line there",
		text("part p {", "    joint ball radius 3mm", "}")},
	{"syntax", Parse, "a line is not written as it should be",
		text("part p {", "    join box width, depth 3mm", "}")},
	{"text-escape", Parse, "a backslash in a text before a character that needs none",
		text(`let a = "a\q"`)},
	{"text-open", Parse, "a text without its closing quote",
		text(`let a = "abc`)},
	{"too-many-faults", Parse, "more than 100 faults in one file; the rest is not read",
		Example{Again: "let a =\n", Times: 101}},
	{"tuple-empty", Parse, "parentheses with nothing between them",
		text("let a = ()")},
	{"tuple-name", Parse, "a named argument in parentheses that follow no function",
		text("let a = (x: 3)")},
	{"unit-fraction", Parse, "a fraction of a unit that reads as a division by a length",
		text("let screw = 1/4in")},
	{"unit-unknown", Parse, "a unit that is not known",
		text("let a = 3inches")},

	{"head-unknown", Resolve, "a body is said to be made by a word that makes none",
		text("part p {", "    join cilinder radius 3mm, height 2mm", "}")},
	{"kind-unknown", Resolve, "a parameter of an unknown kind",
		text("let f(d: lenght) = d")},
	{"material-unknown", Resolve, "a material that is not known",
		text("part p {", "    join ball radius 3mm", "    material pteg", "}")},
	{"module-name", Resolve, "a name that a module does not declare",
		text("use tube", "let r = tube.radius_from_grith(570mm)")},
	{"module-unknown", Resolve, "a module that the library does not have",
		text("use tub")},
	{"name-early", Resolve, "a name is used before it is declared",
		text("let a = b + 1mm", "let b = 2mm")},
	{"name-hides", Resolve, "a name inside a declaration would hide one of the whole file",
		text("let wall = 2mm", "part p {", "    let wall = 3mm", "    join ball radius wall", "}")},
	{"name-itself", Resolve, "a name is used in its own declaration",
		text("let a = a + 1mm")},
	{"name-twice", Resolve, "a name is declared twice",
		text("let a = 1mm", "let a = 2mm")},
	{"name-unknown", Resolve, "a name that is declared nowhere",
		text("let a = wall + 1mm")},
	{"relation-unknown", Resolve, "a relation that is not known",
		text("sketch s {", "    line a from (0, 0) to (1mm, 0)", "    line b from (0, 1mm) to (1mm, 1mm)", "    a paralel b", "}")},
	{"sizes-base", Resolve, "a size builds on one that does not stand above it",
		text("part p(a: length = 2mm) {", "    join ball radius a", "}", "sizes p {", "    long: thin with a = 3mm", "}")},
	{"sizes-part", Resolve, "sizes of a part that the file does not have",
		text("sizes comb {", "    thin: lead = 3mm", "}")},
	{"sizes-setting", Resolve, "a size sets something that cannot be set",
		text("part p(a: length) {", "    join ball radius a", "}", "sizes p {", "    thin: b = 3mm", "}")},

	{"across-axis", Build, "the area of a revolve reaches across its axis",
		text("sketch s { rectangle r width 4mm, height 2mm, centre (1mm, 0) }", "part p { join revolve s }")},
	{"align-bad", Build, "lettering is aligned by a word that tells no side",
		text("part p {", "    join extrude lettering(\"183\", 5mm, \"centre\") by 2mm", "}")},
	{"area-empty", Build, "nothing is left of an area",
		text("sketch s { rectangle r width 4mm, height 2mm, centre (0, 0)", "    area r less r", "}", "part p { join extrude s by 2mm }")},
	{"area-fault", Build, "an area cannot be worked out as written",
		told("an area has more corners than can be worked out, more than a million, or lies farther out than 1.3 m: look for curves without number or for a wrong unit")},
	{"area-none", Build, "a sketch without a closed shape is used as an area",
		text("sketch s { point a at (0, 0) }", "part p { join extrude s by 2mm }")},
	{"area-unclear", Build, "a sketch with several closed shapes does not say which is its area",
		text("sketch s {", "    circle a centre (0, 0), radius 1mm", "    circle b centre (5mm, 0), radius 1mm", "}", "part p { join extrude s by 2mm }")},
	{"arg-missing", Build, "a function, sketch or part lacks an argument",
		text("let fit(d: length) = d + 0.2mm", "let a = fit()")},
	{"arg-too-many", Build, "more arguments than parameters",
		text("let a = sin(30deg, 2)")},
	{"arg-twice", Build, "an argument or a setting is given twice",
		text("let fit(d: length) = d + 0.2mm", "let a = fit(3mm, d: 2mm)")},
	{"arg-unknown", Build, "an argument with a name that no parameter has",
		text("let fit(d: length) = d + 0.2mm", "let a = fit(3mm, dd: 3mm)")},
	{"ask-unknown", Build, "a check asks what cannot be asked of a part",
		text("part p {", "    join ball radius 3mm", "    check tip speed > 3mm", "}")},
	{"axis-bad", Build, "a direction that is none, or that does not suit the body",
		text("part p { join cylinder radius 3mm, length 4mm, along (0, 0, 0) }")},
	{"caution", Build, "a caution for where the part is used (remark)",
		text("part p {", "    join ball radius 3mm", "    caution overhead", "}")},
	{"caution-unknown", Build, "a caution that is not known",
		text("part p {", "    join ball radius 3mm", "    caution optcs", "}")},
	{"check-cannot-tell", Build, "what a check asks cannot be told of this part (warning)",
		text("part p {", "    join ball radius 3mm", "    check gap >= 1mm", "}")},
	{"check-failed", Build, "a check of the finished part does not hold",
		text("part p {", "    join box width 3mm, depth 3mm, height 3mm", "    check mass > 1kg", "}")},
	{"check-word-hidden", Build, "a name of the file hides a word of checks (warning)",
		text("part p(depth: length = 3mm) {", "    join box width 3mm, depth depth, height 3mm", "    check depth <= 3mm", "}")},
	{"clause-missing", Build, "a body lacks a size",
		text("part p { join box width 3mm, height 3mm }")},
	{"corner-operand", Build, "what is rounded or bevelled is no corner of an outline",
		text("sketch s {", "    circle k centre (0, 0), radius 1mm", "    round k by 1mm", "}")},
	{"dim-mismatch", Build, "quantities of different kinds are added, compared or set equal",
		text("let a = 3mm + 30deg")},
	{"div-zero", Build, "division by zero",
		text("let a = 3mm / 0")},
	{"domain", Build, "a function has no value for its argument",
		text("let a = sqrt(-4mm^2)")},
	{"end-unknown", Build, "an end that a body does not have",
		text("sketch s {", "    circle k centre (0, 0), radius 5mm", "}", "part p {", "    join extrude s by 4mm, bevel left 1mm", "}")},
	{"endless-body", Build, "a body without an end is to be printed",
		text("part p { join cylinder radius 3mm }")},
	{"equation-known", Build, "an equation between known values that does not hold",
		text("sketch s {", "    circle k centre (0, 0), radius 1mm", "    k.radius = 2mm", "}")},
	{"filter-unheld", Build, "a solar filter is held by friction, or by one retainer, alone",
		text("part cell {", "    let retainers = 1", "    join cylinder diameter 110mm, height 40mm, in a ring of retainers about z", "    caution filter", "}")},
	{"fit-unclear", Build, "a fit as a length, without saying on diameter or per side",
		text("part p {", "    join cylinder diameter 3mm + fit.snug, height 4mm", "}")},
	{"internal", Build, "a fault of Perch itself, not of the part file",
		told("Perch itself has a fault: no part file should bring it about. Report it with the part file; nothing was written")},
	{"kind-mismatch", Build, "a value of the wrong kind for a parameter, a clause or a function",
		text("part p { join box width 3, depth 3mm, height 3mm }")},
	{"lettering-fine", Build, "lettering with strokes finer than the printer lays (warning)",
		text("part p {", "    join box width 20mm, depth 20mm, height 10mm", "    engrave \"183\" on front, size 2mm", "}")},
	{"mark-air", Build, "a mark lies partly over nothing, since its side is not flat there (warning)",
		text("part p {", "    join cylinder diameter 20mm, height 20mm", "    engrave \"HI\" on front", "}")},
	{"mark-large", Build, "a mark reaches beyond the side it lies on (warning)",
		text("part p {", "    join box width 20mm, depth 20mm, height 10mm", "    engrave \"focuser\" on front, size 9mm", "}")},
	{"mark-nowhere", Build, "a mark is put where there is no place for it",
		text("part p {", "    mating bar = cylinder radius 9mm, along z", "    join cylinder radius 9mm, height 20mm", "    engrave \"183\" around bar at 0deg, at (0, 5mm, 3mm)", "}")},
	{"material-nowhere", Build, "`material` is asked outside a part",
		text("let limit = material.strain_limit", "", "part p {", "    join ball radius 3mm * limit", "}")},
	{"mating-overlap", Build, "a part reaches into a mating body (warning)",
		text("part p {", "    mating tube = cylinder radius 3mm, height 20mm", "    join box width 20mm, depth 20mm, height 5mm at (2mm, 0, 0)", "    cut tube turned 90deg about x", "}")},
	{"measure-negative", Build, "an uncertainty below zero",
		text("measure a = 3mm +- -0.1mm")},
	{"measure-operand", Build, "a measure of things that have none",
		text("sketch s {", "    point o at (0, 0)", "    angle(o) = 30deg", "}")},
	{"member-unknown", Build, "a value has no member of that name",
		text("let a = 3mm", "let b = a.radius")},
	{"name-unused", Build, "something is declared and nowhere used (warning)",
		text("let wall = 2mm", "part p {", "    join ball radius 3mm", "}")},
	{"no-allowance", Build, "a body that cannot grow or shrink by a fit",
		text("part p {", "    join cone radius 3mm to 2mm, height 4mm less fit.snug", "}")},
	{"no-body", Build, "a part makes nothing, or cuts before it has anything",
		text("part p { cut box width 3mm, depth 3mm, height 3mm }")},
	{"no-part", Build, "there is no part to build (warning)",
		text("let a = 3mm")},
	{"no-tube", Build, "`around` is given something that is no plain cylinder",
		text("part p { join ball radius 3mm around 3mm at 30deg }")},
	{"not-callable", Build, "a value is called like a function, or a function used like a value",
		text("let a = sin")},
	{"not-entity", Build, "something drawn is wanted, and this is something else",
		text("let wall = 2mm", "sketch s { circle k centre wall, radius 1mm }")},
	{"not-finite", Build, "a result is too large to hold",
		text("let a = 1e200 * 1e200")},
	{"not-known", Build, "a fact about a material that no source gives",
		text("part p {", "    join ball radius 3mm * material.strain_limit", "    material tpu", "}")},
	{"not-settled", Build, "a value must be known that the sketch is still being solved for",
		text("sketch s {", "    circle c centre (0, 0), radius near 3mm", "    c.radius = if c.radius > 2mm then 2mm else 3mm", "}")},
	{"not-whole", Build, "a count that is not a whole number",
		text("part p { join ball radius 3mm in a row of 2.5 every 9mm along x }")},
	{"outline-backward", Build, "a line comes out against the direction it was walked in",
		text("sketch s {", "    outline o {", "        from (0, 0)", "        line right to b", "        line up 3mm", "        close", "    }", "    b.x = -4mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"outline-crosses", Build, "an outline crosses itself",
		text("sketch s {", "    outline o {", "        from (0, 0)", "        line to (4mm, 4mm)", "        line to (4mm, 0)", "        line to (0, 4mm)", "        close", "    }", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"outline-flat", Build, "an outline that goes round nothing",
		text("sketch s {", "    outline o {", "        from (0, 0)", "        line to (4mm, 0)", "        close", "    }", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"outline-open", Build, "an outline does not close",
		text("sketch s {", "    outline o {", "        from (0, 0)", "        line right 3mm", "        line up 4mm", "    }", "}")},
	{"outline-step", Build, "a segment of an outline cannot follow what stands before it",
		text("sketch s {", "    outline o {", "        from (0, 0)", "        line ahead 3mm", "        line up 4mm", "        close", "    }", "}")},
	{"part-empty", Build, "nothing is left of a part",
		text("part p {", "    join ball radius 3mm", "    cut box width 9mm, depth 9mm, from z = -9mm to z = 9mm", "}")},
	{"part-loose", Build, "a part comes in several pieces (warning)",
		text("part p { join ball radius 1mm in a row of 2 every 9mm along x }")},
	{"part-too-large", Build, "a part is larger than what can be built",
		text("part p {", "    join box width 1mm, depth 1mm, height 1mm, in a row of 3 every 1m along x", "}")},
	{"part-unbuilt", Build, "a body could not be built for another reason",
		told("a body could not be built for a reason that has no code of its own: take the steps of the part out one by one, from the last, to find the one at fault")},
	{"part-unknown", Build, "a part that the file does not have was asked for", told("a program that builds with Perch asks for a part that the file does not have")},
	{"path-bad", Build, "an area is to be swept along something that is no path",
		text("sketch s { circle k centre (0, 0), radius 2mm }", "part p {", "    join sweep s along z", "}")},
	{"polygon-sides", Build, "a polygon of fewer than 3 or more than 1000 sides",
		text("sketch s { polygon h sides 2, across flats 3mm }")},
	{"power", Build, "a power or a root that has no unit or no value",
		text("let a = 3mm ^ 0.5")},
	{"reading-apart", Build, "a reading far from the others of its measure (warning)",
		text("measure lead = 4.1mm, 4.2mm, 41mm")},
	{"refused", Build, "the file itself refuses a value, by refuse(\"…\")",
		text("use fastener", "let a = fastener.hole(7mm)")},
	{"relation-operand", Build, "a relation of things that it does not go with",
		text("sketch s {", "    circle k centre (0, 0), radius 1mm", "    k horizontal", "}")},
	{"setting-kind", Build, "a setting or a size gives a value of another kind",
		text("let a = 3mm", "part p { join ball radius a }", "sizes p { big: a = 3deg }").with("--all-sizes")},
	{"setting-not-value", Build, "a setting from the command line is no value",
		small.with("--set", "a=3mm\nlet b = 2")},
	{"setting-over-size", Build, "a setting from the command line takes the place of what sizes say (warning)",
		text("part p(wide: length = 3mm) { join ball radius wide }", "sizes p {", "    small: wide = 2mm", "    big: wide = 5mm", "}").with("--all-sizes", "--set", "wide=3mm")},
	{"setting-unknown", Build, "a setting names nothing that can be set", small.with("--set", "nothing=3mm")},
	{"shape-tight", Build, "no room for a bevel, a rounding or a wall",
		text("sketch s {", "    circle k centre (0, 0), radius 5mm", "}", "part p {", "    join extrude s by 4mm, bevel top 9mm", "}")},
	{"shape-unused", Build, "a shape is drawn that the area of its sketch leaves out (warning)",
		text("sketch s {", "    rectangle plate width 9mm, height 9mm, centre (0, 0)", "    circle hole centre (0, 0), diameter 3mm", "    area plate", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sign-missing", Build, "a sign that the font has none for",
		text("part p {", "    join box width 20mm, depth 20mm, height 10mm", "    engrave \"★\" on front", "}")},
	{"size-not-above-0", Build, "a size, a distance or a count is zero or less",
		text("part p { join ball radius 0mm }")},
	{"size-too-large", Build, "a size or a place beyond 1200 mm",
		text("part p { join ball radius 3m }")},
	{"size-too-small", Build, "a size below 0.001 mm",
		text("part p { join ball radius 0.1um }")},
	{"size-unknown", Build, "a size that the file does not have was asked for", small.with("--size", "huge")},
	{"sketch-check", Build, "an inequality in a sketch does not hold",
		text("sketch s {", "    point a at (0, 0)", "    point b near (3mm, 0)", "    line l from a to b", "    circle k centre (0, 0), radius 1mm", "    l horizontal", "    b.x = 3mm", "    l.length > 5mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-circular", Build, "something in a sketch is drawn with itself",
		text("sketch s {", "    circle a centre (0, 0), radius b.radius", "    circle b centre (0, 0), radius a.radius", "}")},
	{"sketch-conflict", Build, "lines of a sketch that cannot all hold",
		text("sketch s {", "    point a at (0, 0)", "    point b near (3mm, 0)", "    circle k centre a, radius 1mm", "    distance(a, b) = 3mm", "    distance(a, b) = 4mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-corner", Build, "no room to round or bevel a corner",
		text("sketch s {", "    outline o {", "        from a at (0, 0)", "        line right 4mm to b", "        line up 4mm", "        line left 4mm", "        close", "    }", "    round b by 9mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-flat", Build, "a line, a circle or an arc of no size",
		text("sketch s {", "    line l from (0, 0) to (0, 0)", "    circle k centre (0, 0), radius 1mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-free", Build, "something in a sketch can still move (warning)",
		text("sketch s {", "    circle k centre (0, 0), radius near 3mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-redundant", Build, "a line of a sketch follows from others (warning)",
		text("sketch s {", "    point a at (0, 0)", "    point b near (3mm, 0)", "    line l from a to b", "    circle k centre a, radius 1mm", "    l horizontal", "    b.x = 3mm", "    l.length = 3mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-side", Build, "a side of a line or a mirror that is not as drawn, or that the drawing does not tell (warning)",
		text("sketch s {", "    point a at (0, 0)", "    point b at (6mm, 0)", "    point c near (3mm, 0)", "    circle k centre c, radius 1mm", "    distance(a, c) = 5mm", "    distance(b, c) = 5mm", "}", "part p {", "    join extrude s by 2mm", "}")},
	{"sketch-weak", Build, "a sketch in which a small error of one dimension moves something far (remark)",
		told("a long drawing has no overall dimension, such as a band of hundreds of triangles that is given by their sides alone")},
	{"step-idle", Build, "a join, a cut or a trim that changes nothing (warning)",
		text("part p {", "    join box width 3mm, depth 3mm, height 3mm", "    cut ball radius 1mm at (9mm, 0, 0)", "}")},
	{"taper-too-far", Build, "an extrusion whose walls lean too far",
		text("sketch s {", "    circle k centre (0, 0), radius 5mm", "}", "part p {", "    join extrude s by 1mm, taper 85deg", "}")},
	{"text-long", Build, "a line of lettering is too long",
		Example{Before: "part p {\n    join box width 20mm, depth 20mm, height 10mm\n    engrave \"", Again: "x", Times: 201, After: "\" on front\n}\n"}},
	{"thread-short", Build, "a thread is shorter than what it needs",
		text("part p {", "    join thread size \"M6\", height 1mm, bevel ends 0.9mm", "}")},
	{"thread-swapped", Build, "a thread is cut, or a tap is joined (warning)",
		text("part p {", "    join box width 20mm, depth 20mm, height 10mm", "    cut thread size \"M6\", from z = 0 to z = 10mm", "}")},
	{"thread-unknown", Build, "a thread designation that is not known",
		text("part p {", "    join thread size \"M7.5\", height 10mm", "}")},
	{"too-deep", Build, "more than 100 calls within calls", Example{Before: "let f0(x: length) = x\n", Again: "let f{n}(x: length) = f{m}(x) + 1mm\n", Times: 101, After: "let a = f101(3mm)\n"}},
	{"too-many-copies", Build, "a part of more than 20000 plain shapes",
		text("part p { join ball radius 3mm in a row of 1000000 every 0.001mm along x }")},
	{"too-many-faces", Build, "a part of more than 4 million faces",
		text("part p { join ball radius 500mm in a row of 1000 every 1mm along x }")},
	{"too-much-work", Build, "more than 2 million operations", Example{Before: "let f0(x: length) = x\n", Again: "let f{n}(x: length) = f{m}(x) + f{m}(x)\n", Times: 21, After: "let a = f21(3mm)\n"}},
	{"use-cycle", Build, "files use each other in a circle",
		text("use me from \"example.perch\"")},
	{"use-missing", Build, "a file to use that is not there",
		text("use dims from \"none.perch\"")},
	{"use-outside", Build, "a file to use that lies outside the folder of the design",
		text("use dims from \"../dims.perch\"")},
	{"use-too-many", Build, "more files than any design has",
		told("a design brings in more than 1000 files by `use`, which no design needs: look for files that a program has written")},
	{"use-unreadable", Build, "a file to use that cannot be read",
		told("what stands behind `from` is a folder, or a file that may not be read")},
	{"warned", Build, "the file itself warns of a value, by warn(…)",
		text("let a = warn(3mm, 3mm > 2mm, \"rather thick\")", "part p {", "    join ball radius a", "}")},
	{"workshop-entry", Build, "an entry that no workshop has",
		text("workshop {", "    nozle = 0.4mm", "}")},
	{"workshop-misplaced", Build, "a workshop in a file that a design uses", text("use shop from \"shop.perch\"", "let a = 3mm").beside("shop.perch", "workshop {\n    nozzle = 0.4mm\n}\n")},
	{"workshop-missing", Build, "a file called workshop.perch states no workshop (warning)", text("let a = 3mm").beside("workshop.perch", "let b = 3mm\n")},
	{"workshop-only", Build, "something else than values in the file of a workshop",
		text("workshop {", "    nozzle = 0.4mm", "}", "", "part p {", "    join ball radius 3mm", "}")},
	{"workshop-value", Build, "a value that an entry of a workshop cannot take",
		text("workshop {", "    nozzle = 0.4g", "}")},
	{"wrong-operand", Build, "an operator or a step takes another kind of value",
		text("let a = 1 + \"text\"")},
}

// Lookup returns the entry of a code.
func Lookup(c Code) (Entry, bool) {
	for _, e := range Codes {
		if e.Code == c {
			return e, true
		}
	}
	return Entry{}, false
}
