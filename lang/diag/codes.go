package diag

import "strings"

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
// says, then After. Texts that only show a limit would not bear writing out.
type Example struct {
	Before string
	Again  string
	Times  int
	After  string
}

// Text returns the whole text.
func (e Example) Text() string { return e.Before + strings.Repeat(e.Again, e.Times) + e.After }

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
