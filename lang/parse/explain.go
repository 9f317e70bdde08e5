package parse

import (
	"strings"

	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
	"perch/lang/token"
	"perch/lang/unit"
)

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
	"mating": "a name", "caution": "a word such as `optics` or `overhead`", "material": "the name of a material", "print": "a turn such as `turned 90deg about x`",
	"use": "the name of a module", "measure": "a name", "let": "a name", "sketch": "a name", "part": "a name",
	"sizes": "the name of a part", "point": "a name", "arc": "a name", "circle": "a name",
	"outline": "a name", "path": "a name", "rectangle": "a name", "slot": "a name", "polygon": "a name",
	"round": "the corners to round", "bevel": "the corners to bevel", "area": "an area",
	"less": "what is taken away", "with": "what is added", "within": "what it is kept within",
	"in": "`a row of …` or `a ring of …`", "a": "`row` or `ring`", "row": "`of` and a number", "ring": "`of` and a number",
	"mirrored": "`about x = …`", "extrude": "an area", "revolve": "an area", "loft": "an area", "sweep": "an area", "wrap": "an area",
	"engrave": "a text or an area", "emboss": "a text or an area", "on": "a side: front, back, left, right, top or bottom",
	"if": "a condition", "then": "a value", "else": "a value", "and": "a condition", "or": "a condition", "not": "a condition",
	"+-": "the uncertainty", ":": "a kind such as length", ".": "a name", "(": "a value", ",": "more",
}

// explain reports that the statement stmt goes wrong at its token i, or at its
// end. The first of the guesses that fits gives the words.
func (p *parser) explain(kind string, stmt []token.Token, i int) {
	c := clue{p: p, kind: kind, stmt: stmt, i: i}
	if t := c.tok(0); t.Type == token.Keyword && p.reserved[t.Value] && !isOp(c.tok(-1), ".") {
		p.quiet++
		return // told of where it was declared
	}
	for _, guess := range guesses {
		if d, ok := guess(c); ok {
			d.Code = "syntax"
			if !d.At.Valid() {
				d.At = c.span(i)
			}
			if f := forms[kind]; f != "" && len(d.Notes) == 0 {
				d.Notes = append(d.Notes, diag.Do("write it as: "+form(kind)))
			}
			p.fault(d)
			return
		}
	}
}

// clue is the place where the grammar stopped.
type clue struct {
	p    *parser
	kind string
	stmt []token.Token
	i    int
}

// tok returns the token k places after the one where the grammar stopped.
func (c clue) tok(k int) token.Token {
	if j := c.i + k; j >= 0 && j < len(c.stmt) {
		return c.stmt[j]
	}
	return token.Token{Type: token.EOF}
}

// span returns the place of token i, or that behind the statement.
func (c clue) span(i int) source.Span {
	if i < len(c.stmt) {
		return c.p.spanOf(c.stmt[i])
	}
	return c.p.endOf(c.stmt)
}

// want says what must follow the token k places after the one where the
// grammar stopped, or "". Some words want something only behind others.
func (c clue) want(k int) string {
	t := c.tok(k)
	switch {
	case isOp(t, "=") && c.kind == "mating":
		return "a body"
	case isOp(t, ":") && c.kind == "row":
		return "what this size sets"
	}
	if t.Type == token.EOF || t.Type == token.String {
		return ""
	}
	if behind, ok := wantsBehind[t.Value]; ok && c.tok(k-1).Value != behind {
		return ""
	}
	if w := wants[t.Value]; w != "" {
		return w
	}
	if precedence(&t) > 0 {
		return "a value"
	}
	return ""
}

var wantsBehind = map[string]string{"a": "in", "row": "a", "ring": "a"}

func touching(a, b token.Token) bool { return end(a) == b.Pos.Offset }

func said(message string, notes ...string) (diag.Diagnostic, bool) {
	return diag.Diagnostic{Message: message, Notes: notes}, true
}

// guesses in the order they are tried; the last fits always.
var guesses = []func(clue) (diag.Diagnostic, bool){
	plusMinus, slashes, doubled, mirroredSign, nameOfWords, numberedSize, materialForm, measureFirst, spokenLine, extentBare, copied, bareSize, circled, walkedBody, turnedAround, trailingComma, usedFile, unquoted, cautionList, entryForm, linking, strangeClause, strangePair, aroundTube, placeOfName, spacedUnit, barePoint, doubleEqual, nameless, nearNothing, lackingElse, lackingThen, lackingEvery, rangeAxis, letKind, colon,
	spoken, reservedName, takenAsValue, missingEqual, kindFirst, missingKind, lackingComma, unitOfFormula, looseWord, expected, lacking, early, unexpected,
}

// spacedUnit finds a space between a number and its unit.
func spacedUnit(c clue) (diag.Diagnostic, bool) {
	for j := max(1, c.i-1); j <= c.i && j < len(c.stmt); j++ {
		n, u := c.stmt[j-1], c.stmt[j]
		if n.Type != token.Number || !isWord(&u) || token.UnitStart(n.Value) < len(n.Value) {
			continue
		}
		if !unit.Known(u.Value) {
			_, err := unit.Parse(u.Value)
			bad, ok := err.(*unit.UnknownError)
			if !ok || bad.Suggest == "" || len(u.Value) < 4 || token.Clause(u.Value) {
				continue
			}
			u.Value = bad.Suggest
		}
		d, _ := said("a unit stands right after its number, without a space", diag.Do("write `"+n.Value+u.Value+"`"))
		d.At = c.p.spanOf(n).To(c.p.spanOf(c.stmt[j]))
		d.Fixes = []diag.Fix{{Text: "take out the space", Edits: []diag.Edit{{At: d.At, New: n.Value + u.Value}}}}
		return d, true
	}
	return diag.Diagnostic{}, false
}

func barePoint(c clue) (diag.Diagnostic, bool) {
	point, m := c.tok(0), c.tok(1)
	if point.Type == token.Number && isOp(c.tok(-1), ".") {
		point, m = c.tok(-1), c.tok(0)
	}
	if !isOp(point, ".") || m.Type != token.Number || !touching(point, m) {
		return diag.Diagnostic{}, false
	}
	d, _ := said("a number begins with a digit", diag.Do("write `0."+m.Value+"`"))
	d.At = c.p.spanOf(point).To(c.p.spanOf(m))
	return d, true
}

func doubleEqual(c clue) (diag.Diagnostic, bool) {
	if isOp(c.tok(0), "=") && isOp(c.tok(-1), "=") {
		return said("equality is written with a single `=`", diag.Do("take one of them out"))
	}
	return diag.Diagnostic{}, false
}

func reservedName(c clue) (diag.Diagnostic, bool) {
	t, before := c.tok(0), c.tok(-1)
	if t.Type != token.Keyword || startsOperand(t) || c.i == 0 || precedence(&before) > 0 || hasWord("then else if", before.Value) {
		return diag.Diagnostic{}, false
	}
	named := hasWord("let measure sketch part sizes point line arc circle outline path rectangle slot polygon round bevel mating area from to use", before.Value)
	if !named && !isOp(before, ",") && !isOp(before, "(") && !isOp(before, ".") {
		return diag.Diagnostic{}, false
	}
	if hasWord("let measure", before.Value) || isOp(c.tok(1), ":") {
		if c.p.reserved == nil {
			c.p.reserved = map[string]bool{}
		}
		c.p.reserved[t.Value] = true
	}
	return said("`"+t.Value+"` is a reserved word, so it cannot be a name",
		diag.Do("choose another name, such as `my_"+t.Value+"`; `perch reference` lists the reserved words"))
}

// takenAsValue finds a word that was meant to begin the next clause but was
// read as the value that is missing before it: `width depth 3mm`.
func takenAsValue(c clue) (diag.Diagnostic, bool) {
	word, taken := c.tok(-2), c.tok(-1)
	if !startsOperand(c.tok(0)) || !token.Clause(taken.Value) || hasWord("mirrored in across along about", word.Value) ||
		!token.Clause(word.Value) && !token.IsSweep(word.Value) {
		return diag.Diagnostic{}, false
	}
	d, _ := said("expected "+wants[word.Value]+" after `"+word.Value+"`",
		diag.Why("`"+taken.Value+"` was read as the name of that value"),
		diag.Do("write the value between `"+word.Value+"` and `"+taken.Value+"`"))
	d.At = c.p.spanOf(taken)
	return d, true
}

func missingEqual(c clue) (diag.Diagnostic, bool) {
	name, before := c.tok(-1), c.tok(-2)
	switch {
	case !isWord(&name):
	case c.kind == "row" && c.i == 1:
		return said("expected `:` after the name of this size, `" + name.Value + "`")
	case hasWord("let measure mating", before.Value), c.kind == "row" && (isOp(before, ":") || isOp(before, ",")):
		return said("expected `=` after `" + name.Value + "`")
	}
	return diag.Diagnostic{}, false
}

func missingKind(c clue) (diag.Diagnostic, bool) {
	name, before := c.tok(-1), c.tok(-2)
	if c.kind != "sketch" && c.kind != "part" && c.kind != "let" || !isWord(&name) ||
		!isOp(before, "(") && !isOp(before, ",") || isOp(c.tok(0), ":") {
		return diag.Diagnostic{}, false
	}
	for _, t := range c.stmt[:c.i] {
		if isOp(t, "=") && c.kind == "let" {
			return diag.Diagnostic{}, false
		}
	}
	d, _ := said("the parameter `"+name.Value+"` does not say of what kind it is", diag.Do("write its kind after it: `"+name.Value+": "+kindOf(c.tok(1))+"`"))
	d.At = c.span(c.i - 1)
	return d, true
}

// looseWord finds a word that follows a value and begins no clause.
func looseWord(c clue) (diag.Diagnostic, bool) {
	for _, k := range []int{-1, 0} {
		word, before := c.tok(k), c.tok(k-1)
		if word.Type != token.Ident || !endsOperand(before) || c.want(k) != "" || c.want(k-1) != "" {
			continue
		}
		if k == -1 && startsOperand(c.tok(0)) {
			continue
		}
		at := c.span(c.i + k)
		if s, ok := spell.Nearest(word.Value, joining); ok && len(word.Value) > 2 {
			d, _ := said("`"+word.Value+"` cannot follow `"+before.Value+"`", diag.Do("did you mean `"+s+"`?"))
			d.At, d.Fixes = at, []diag.Fix{{Text: "write `" + s + "`", Edits: []diag.Edit{{At: at, New: s}}}}
			return d, true
		}
		d, _ := said("`"+word.Value+"` stands behind `"+before.Value+"` with nothing to join them",
			diag.Do("put an operator or a comma between them, or take one of them out"))
		d.At = at
		return d, true
	}
	return diag.Diagnostic{}, false
}

// joining lists the words that may stand between two values.
var joining = strings.Fields("at near from to centre radius diameter clockwise through by about along turned mirrored in around " +
	"width depth height length across sides corners every of less with within and or then else")

func expected(c clue) (diag.Diagnostic, bool) {
	if w := c.want(-1); w != "" {
		d, _ := said("expected " + w + " after `" + c.tok(-1).Value + "`")
		if s := c.example(c.tok(-1).Value); s != "" {
			d.Notes = []string{s}
		}
		return d, true
	}
	return diag.Diagnostic{}, false
}

func early(c clue) (diag.Diagnostic, bool) {
	if c.i < len(c.stmt) {
		return diag.Diagnostic{}, false
	}
	return said("something is missing after `" + c.tok(-1).Value + "`")
}

func unexpected(c clue) (diag.Diagnostic, bool) {
	return said("did not expect `" + c.tok(0).Value + "` here")
}

// incomplete reports that a statement lacks something.
func (p *parser) incomplete(kind string, stmt []token.Token, todo string) {
	p.fault(diag.Diagnostic{
		Code: "statement-incomplete", At: p.spanAll(stmt),
		Message: todo,
		Notes:   []string{diag.Do("write it as: " + form(kind))},
	})
}

// unknownStart reports a line that begins with none of the words of its block.
func (p *parser) unknownStart(where string, stmt []token.Token) {
	at := 0
	if where == "guide" {
		at = 1
	}
	word := stmt[at].Value
	if d, ok := p.habit(where, stmt); ok {
		d.Code = "statement-unknown"
		p.fault(d)
		return
	}
	if where == "outline" && hasWord(strings.Join(directions, " "), word) {
		at := p.spanOf(stmt[0]).Before()
		p.fault(diag.Diagnostic{
			Code: "statement-unknown", At: p.spanOf(stmt[0]),
			Message: "a segment begins with its word, and `" + word + "` is only its direction",
			Notes:   []string{diag.Do("write `line " + word + " …`")},
			Fixes:   []diag.Fix{{Text: "write `line` before it", Edits: []diag.Edit{{At: at, New: "line "}}}},
		})
		return
	}
	if stmt[at].Type == token.Keyword && where != "top" {
		p.fault(diag.Diagnostic{
			Code: "statement-unknown", At: p.spanOf(stmt[at]),
			Message: "`" + word + "` is a reserved word and begins no line here",
			Notes:   []string{diag.Do("if it is meant as a name, choose another one; else begin the line with one of " + strings.Join(starts[where], ", "))},
		})
		return
	}
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
	if t.Type == token.OpenString && i > 0 && stmt[i-1].Type == token.Number && end(stmt[i-1]) == t.Pos.Offset {
		p.fault(diag.Diagnostic{
			Code: "text-open", At: p.spanOf(stmt[i-1]).To(p.spanOf(t)),
			Message: "a quote begins a text; it is no inch mark",
			Notes:   []string{diag.Do("write inches with their unit: `" + stmt[i-1].Value + "in`")},
		})
		return
	}
	if t.Type == token.OpenString {
		p.fault(diag.Diagnostic{
			Code: "text-open", At: p.spanOf(t),
			Message: "this text has no closing quote",
			Notes:   []string{diag.Do("add a `\"` at its end, on the same line")},
		})
		return
	}
	d := diag.Diagnostic{Code: "character-stray", At: p.spanOf(t), Message: "`" + t.Value + "` has no meaning here"}
	if unseen := invisible[t.Value]; unseen != "" {
		d.Message = "here stands " + unseen
		d.Notes = []string{diag.Why("it came with text that was pasted from a page")}
		d.Fixes = []diag.Fix{{Text: "write a plain space", Edits: []diag.Edit{{At: d.At, New: " "}}}}
		if t.Value == "\u200b" {
			d.Fixes = []diag.Fix{{Text: "take it out", Edits: []diag.Edit{{At: d.At}}}}
		}
	}
	if t.Value == "[" && isKeyword(stmt[0], "measure") {
		d.Notes = []string{diag.Do("write readings one after the other, without brackets: `4.1mm, 4.2mm`")}
		p.fault(d)
		return
	}
	if t.Value == ";" && within(stmt, i) {
		d.Notes = []string{diag.Do("write a comma: `,`")}
		d.Fixes = []diag.Fix{{Text: "write `,`", Edits: []diag.Edit{{At: d.At, New: ","}}}}
		p.fault(d)
		return
	}
	if now := typed[t.Value]; now != "" {
		d.Fixes = []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: d.At, New: now}}}}
	}
	if s, ok := instead[t.Value]; ok {
		d.Notes = append(d.Notes, diag.Do(s))
	} else {
		d.Notes = append(d.Notes, diag.Do("take it out"))
	}
	p.fault(d)
}

// within reports whether token i stands in parentheses.
func within(stmt []token.Token, i int) bool {
	depth := 0
	for _, t := range stmt[:i] {
		switch {
		case isOp(t, "("):
			depth++
		case isOp(t, ")"):
			depth--
		}
	}
	return depth > 0
}

// invisible names characters that look like a space or like nothing.
var invisible = map[string]string{
	"\u00a0": "a space that does not break", "\u202f": "a narrow space that does not break", "\u2009": "a thin space",
	"\u3000": "a wide space", "\u200b": "a space without width",
}

// typed holds what may be put in place of a character without a look.
var typed = map[string]string{
	"±": "+-", "×": "*", "·": "*", "÷": "/", "−": "-", "–": "-", "≤": "<=", "≥": ">=", "≠": "!=", "“": `"`, "”": `"`, "„": `"`,
}

// instead says what to write for a character that is often tried.
var instead = map[string]string{
	"±":      "write `+-` before the uncertainty",
	"×":      "write `*` to multiply",
	"·":      "write `*` to multiply",
	"÷":      "write `/` to divide",
	"−":      "write `-`, the plain minus",
	"–":      "write `-`, the plain minus",
	"°":      "write `deg` right after the number",
	"≤":      "write `<=`",
	"≥":      "write `>=`",
	"≠":      "write `!=`",
	"“":      "write straight quotes: `\"`",
	"”":      "write straight quotes: `\"`",
	"„":      "write straight quotes: `\"`",
	"\u00a0": "take it out and type a plain space", "\u202f": "take it out and type a plain space", "\u2009": "take it out and type a plain space",
	"\u3000": "take it out and type a plain space", "\u200b": "take it out: nothing is seen of it",
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
