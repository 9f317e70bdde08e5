package parse

import (
	"strings"

	"perch/lang/diag"
	"perch/lang/spell"
	"perch/lang/token"
)

// forms shows how each kind of statement is written.
var forms = map[string]string{
	"use":         "use tube, strap",
	"measure":     "measure lead = 4.2mm +- 0.1mm",
	"let":         "let wall = 2.4mm",
	"sketch":      "sketch tooth { … }",
	"part":        "part comb(teeth: count = 6) { … }",
	"sizes":       "sizes comb { thin: lead = 3.2mm }",
	"row":         "thin: lead = 3.2mm, teeth = 4",
	"join":        "join box width 40mm, depth 20mm, height 5mm",
	"cut":         "cut cylinder radius 3mm, along y",
	"trim":        "trim box width 40mm, depth 20mm, height 5mm",
	"mating":      "mating pipe = cylinder radius 90mm, along y",
	"material":    "material petg",
	"check":       "check wall >= 1.2mm",
	"point":       "point o at (0, 0)",
	"line":        "line ab from a to b",
	"arc":         "arc top from a to b, centre o",
	"circle":      "circle bore centre o, diameter 4mm",
	"outline":     "outline plate { from (0, 0) … close }",
	"rectangle":   "rectangle plate width 40mm, height 12mm",
	"slot":        "slot groove from p to q, width 5mm",
	"polygon":     "polygon hex sides 6, across flats 7mm",
	"round":       "round b, c by 3mm",
	"bevel":       "bevel d by 1mm",
	"area":        "area block less bore, mouth",
	"from":        "from a near (-5mm, 0)",
	"linesegment": "line right 40mm",
	"arcsegment":  "arc left, radius 6mm, through 90deg",
	"close":       "close",
	"general":     "floor horizontal, or floor.length = 12mm",
}

func form(kind string) string { return "`" + forms[kind] + "`" }

// wants says what must follow a word or an operator.
var wants = map[string]string{
	"width": "a length", "depth": "a length", "height": "a length", "length": "a length",
	"radius": "a length", "diameter": "a length", "by": "a length", "thick": "a length", "size": "a length",
	"corners": "a length", "flats": "a length", "sides": "the number of sides",
	"across": "`flats` or `corners`", "along": "x, y, z or a direction",
	"about": "x, y, z or a line", "turned": "an angle", "through": "an angle or a place",
	"at": "a place such as (0, 0)", "near": "a place such as (5mm, 0)",
	"centre": "a point or a place such as (0, 0)", "from": "a point or a place", "to": "a point or a place",
	"every": "a distance or an angle", "of": "a value", "around": "the tube's name",
	"join": "a body", "cut": "a body", "trim": "a body", "check": "a comparison",
	"mating": "a name", "material": "the name of a material",
	"use": "the name of a module", "measure": "a name", "let": "a name", "sketch": "a name", "part": "a name",
	"sizes": "the name of a part", "point": "a name", "arc": "a name", "circle": "a name",
	"outline": "a name", "rectangle": "a name", "slot": "a name", "polygon": "a name",
	"round": "the corners to round", "bevel": "the corners to bevel", "area": "an area",
	"less": "what is taken away", "with": "what is added", "within": "what it is kept within",
	"in": "`a row of …` or `a ring of …`", "a": "`row` or `ring`", "row": "`of` and a number", "ring": "`of` and a number",
	"mirrored": "`about x = …`", "extrude": "an area", "revolve": "an area",
	"if": "a condition", "then": "a value", "else": "a value", "and": "a condition", "or": "a condition", "not": "a condition",
	"+-": "the uncertainty", ":": "a kind such as length", ".": "a name", "(": "a value", ",": "more after the comma",
}

// explain reports that the statement stmt goes wrong at its token i, or at its
// end.
func (p *parser) explain(kind string, stmt []token.Token, i int) {
	d := diag.Diagnostic{Code: "syntax"}
	if i < len(stmt) {
		d.At = p.spanOf(stmt[i])
	} else {
		d.At = p.endOf(stmt)
	}
	found := ""
	if i < len(stmt) {
		found = stmt[i].Value
	}
	switch {
	case i < len(stmt) && stmt[i].Type == token.Keyword && i > 0 && !startsOperand(stmt[i]) && !endsOperand(stmt[i-1]):
		d.Message = "`" + found + "` is a reserved word, so it cannot stand here as a name"
		d.Notes = append(d.Notes, diag.Do("choose another name"))
	case i > 0 && expects(stmt[i-1]) != "":
		d.Message = "expected " + expects(stmt[i-1]) + " after `" + stmt[i-1].Value + "`"
	case i == len(stmt):
		d.Message = "this line ends too early"
	default:
		d.Message = "did not expect `" + found + "` here"
	}
	if f := forms[kind]; f != "" {
		d.Notes = append(d.Notes, diag.Do("write it as: "+form(kind)))
	}
	p.fault(d)
}

func expects(t token.Token) string {
	if w, ok := wants[t.Value]; ok && t.Type != token.String {
		return w
	}
	if precedence(&t) > 0 {
		return "a value"
	}
	return ""
}

// incomplete reports that a statement lacks something.
func (p *parser) incomplete(kind string, stmt []token.Token, todo string) {
	p.fault(diag.Diagnostic{
		Code: "statement-incomplete", At: p.spanAll(stmt),
		Message: todo,
		Notes:   []string{diag.Do("write it as: " + form(kind))},
	})
}

// starts lists the words that begin a line, by the block they stand in.
var starts = map[string][]string{
	"top":     {"use", "measure", "let", "sketch", "part", "sizes"},
	"part":    {"join", "cut", "trim", "mating", "material", "check", "let"},
	"sketch":  {"point", "line", "arc", "circle", "outline", "rectangle", "slot", "polygon", "round", "bevel", "area", "guide", "let"},
	"guide":   {"point", "line", "arc", "circle", "outline", "rectangle", "slot", "polygon"},
	"outline": {"from", "line", "arc", "close"},
}

// unknownStart reports a line that begins with none of the words of its block.
func (p *parser) unknownStart(where string, stmt []token.Token) {
	at := 0
	if where == "guide" {
		at = 1
	}
	word := stmt[at].Value
	d := diag.Diagnostic{Code: "statement-unknown", At: p.spanOf(stmt[at])}
	switch where {
	case "top":
		d.Message = "`" + word + "` begins no declaration"
	case "part":
		d.Message = "`" + word + "` is no step of a part"
	case "outline":
		d.Message = "`" + word + "` is no segment of an outline"
	default:
		d.Message = "`" + word + "` begins no line of a sketch"
	}
	if s, ok := spell.Nearest(word, starts[where]); ok {
		d.Notes = append(d.Notes, diag.Do("did you mean `"+s+"`?"))
		d.Fixes = []diag.Fix{{Text: "write `" + s + "`", Edits: []diag.Edit{{At: d.At, New: s}}}}
	} else {
		d.Notes = append(d.Notes, diag.Do("begin the line with one of "+strings.Join(starts[where], ", ")))
	}
	p.fault(d)
}

// strayToken reports a character that the language does not know, or a text
// without its closing quote.
func (p *parser) strayToken(stmt []token.Token, i int) {
	t := stmt[i]
	if t.Type == token.OpenString {
		p.fault(diag.Diagnostic{
			Code: "text-open", At: p.spanOf(t),
			Message: "this text has no closing quote",
			Notes:   []string{diag.Do("add a `\"` at its end, on the same line")},
		})
		return
	}
	d := diag.Diagnostic{Code: "character-stray", At: p.spanOf(t), Message: "`" + t.Value + "` has no meaning here"}
	if s, ok := instead[t.Value]; ok {
		d.Notes = append(d.Notes, diag.Do(s))
	} else {
		d.Notes = append(d.Notes, diag.Do("take it out"))
	}
	p.fault(d)
}

// instead says what to write for a character that is often tried.
var instead = map[string]string{
	"±": "write `+-` before the uncertainty",
	"×": "write `*` to multiply",
	"·": "write `*` to multiply",
	"÷": "write `/` to divide",
	"−": "write `-`, the plain minus",
	"–": "write `-`, the plain minus",
	"°": "write `deg` right after the number",
	"≤": "write `<=`",
	"≥": "write `>=`",
	"≠": "write `!=`",
	"“": "write straight quotes: `\"`",
	"”": "write straight quotes: `\"`",
	"„": "write straight quotes: `\"`",
	"'": "write texts in double quotes: `\"`",
	";": "end the line instead: every statement stands on its own line",
	"[": "write round brackets: `(`",
	"]": "write round brackets: `)`",
	"!": "write `not`, or `!=` for unequal",
	"&": "write `and`",
	"|": "write `or`",
	"%": "write the share as a number: 0.2 for 20 %",
}

func hasWord(list, word string) bool {
	for _, w := range strings.Fields(list) {
		if w == word {
			return true
		}
	}
	return false
}
