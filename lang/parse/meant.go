package parse

import (
	"strings"

	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
	"perch/lang/token"
	"perch/lang/unit"
)

// This file holds guesses at words that stand in the wrong order, or that are
// written for others.

// mirroredSign finds `=>` and `:=`.
func mirroredSign(c clue) (diag.Diagnostic, bool) {
	a, b := c.tok(-1), c.tok(0)
	switch {
	case !touching(a, b):
		a, b = b, c.tok(1)
		if !isOp(a, ":") || !isOp(b, "=") || !touching(a, b) {
			return diag.Diagnostic{}, false
		}
		return c.fixed(c.i, c.i+1, "`:=` is no sign here: a value is set by a single `=`", "=")
	case isOp(a, "=") && isOp(b, ">"):
		return c.fixed(c.i-1, c.i, "`=>` is no comparison", ">=")
	case isOp(a, "=") && isOp(b, "<"):
		return c.fixed(c.i-1, c.i, "`=<` is no comparison", "<=")
	}
	return diag.Diagnostic{}, false
}

// doubled finds the first word of a statement written twice: `let let wall`.
func doubled(c clue) (diag.Diagnostic, bool) {
	if c.i < 1 || c.i > 2 || len(c.stmt) < 2 || c.stmt[1].Value != c.stmt[0].Value || !isWord(&c.stmt[0]) && c.stmt[0].Type != token.Keyword {
		return diag.Diagnostic{}, false
	}
	return c.fixed(1, 1, "`"+c.stmt[0].Value+"` is written twice", "")
}

// nameOfWords finds a name of two words: `let wall thick = 3mm`.
func nameOfWords(c clue) (diag.Diagnostic, bool) {
	if !hasWord("let measure mating part sketch outline path", c.kind) || c.i != 2 || !isWord(&c.stmt[1]) {
		return diag.Diagnostic{}, false
	}
	last := 1
	for last+1 < len(c.stmt) && isWord(&c.stmt[last+1]) {
		last++
	}
	behind := token.Token{Type: token.EOF}
	if last+1 < len(c.stmt) {
		behind = c.stmt[last+1]
	}
	if last == 1 || !isOp(behind, "=") && !isOp(behind, "(") && behind.Type != token.EOF {
		return diag.Diagnostic{}, false
	}
	return c.fixed(1, last, "a name is one word", joinedWords(c.stmt[1:last+1]))
}

// joinedWords makes one name of several words.
func joinedWords(toks []token.Token) string {
	words := make([]string, len(toks))
	for i, t := range toks {
		words[i] = t.Value
	}
	return strings.Join(words, "_")
}

// numberedSize finds a size whose name begins with a digit.
func numberedSize(c clue) (diag.Diagnostic, bool) {
	if t := c.tok(0); c.kind == "row" && c.i == 0 && t.Type == token.Number && isOp(c.tok(1), ":") {
		return c.fixed(0, 0, "the name of a size begins with a letter", "s"+t.Value)
	}
	return diag.Diagnostic{}, false
}

// materialForm finds what is written between `material` and its name.
func materialForm(c clue) (diag.Diagnostic, bool) {
	t, next := c.tok(0), c.tok(1)
	switch {
	case c.kind != "material" || c.i != 1:
	case t.Type == token.String:
		return c.fixed(1, 1, "a material is a word without quotes", strings.ToLower(strings.Trim(t.Value, `"`)))
	case (isOp(t, "=") || isOp(t, ":")) && isWord(&next):
		d, ok := c.fixed(1, 1, "there must be no `"+t.Value+"` behind `material`", "")
		d.Notes = []string{diag.Do("write `material " + next.Value + "`")}
		return d, ok
	}
	return diag.Diagnostic{}, false
}

// kindFirst finds a parameter behind its kind: `length wide = 3mm`.
func kindFirst(c clue) (diag.Diagnostic, bool) {
	kind, name, before := c.tok(-1), c.tok(0), c.tok(-2)
	if !hasWord("sketch part let", c.kind) || !isWord(&kind) || name.Type != token.Ident || !isOp(before, "(") && !isOp(before, ",") {
		return diag.Diagnostic{}, false
	}
	d, _ := said("a parameter is written as its name, a colon and its kind", diag.Do("write `"+name.Value+": "+kind.Value+"`"))
	d.At = c.span(c.i - 1).To(c.span(c.i))
	d.Fixes = []diag.Fix{{Text: "write `" + name.Value + ": " + kind.Value + "`", Edits: []diag.Edit{{At: d.At, New: name.Value + ": " + kind.Value}}}}
	return d, true
}

// kindOf is the kind that a default tells a parameter to be.
func kindOf(t token.Token) string {
	switch {
	case t.Type == token.String:
		return "text"
	case hasWord("true false", t.Value):
		return "flag"
	case t.Type != token.Number:
		return "length"
	}
	u, err := unit.Parse(t.Value[token.UnitStart(t.Value):])
	switch {
	case err != nil || u.Dim == unit.Length:
	case u.Dim == unit.Angle:
		return "angle"
	case u.Dim == unit.None && strings.Contains(t.Value, "."):
		return "number"
	case u.Dim == unit.None:
		return "count"
	case u.Dim == unit.Mass:
		return "mass"
	}
	return "length"
}

// lackingThen finds a condition that runs into the value behind it.
func lackingThen(c clue) (diag.Diagnostic, bool) {
	if !endsOperand(c.tok(-1)) || !startsOperand(c.tok(0)) || c.i >= len(c.stmt) {
		return diag.Diagnostic{}, false
	}
	open := 0
	for _, t := range c.stmt[:c.i] {
		switch {
		case isKeyword(t, "if"):
			open++
		case isKeyword(t, "then"):
			open--
		}
	}
	if open <= 0 {
		return diag.Diagnostic{}, false
	}
	d, _ := said("this `if` has no `then` before what holds if so", diag.Do("write `then "+c.tok(0).Value+"`"))
	d.At = c.span(c.i)
	d.Fixes = []diag.Fix{{Text: "write `then` before it", Edits: []diag.Edit{{At: d.At.Before(), New: "then "}}}}
	return d, true
}

// unitOfFormula finds a unit behind what is no number: `tan(tilt) mm`.
func unitOfFormula(c clue) (diag.Diagnostic, bool) {
	u, before := c.tok(0), c.tok(-1)
	if !isWord(&u) || !endsOperand(before) || before.Type == token.Number || !unit.Known(u.Value) {
		if u, before = c.tok(-1), c.tok(-2); !isWord(&u) || !isOp(before, ")") || !unit.Known(u.Value) {
			return diag.Diagnostic{}, false
		}
		c.i--
	}
	d, _ := said("a unit belongs to a number, and this stands behind `"+before.Value+"`", diag.Do("write `* 1"+u.Value+"` if the formula is a plain number; else take the unit out"))
	d.At = c.span(c.i)
	return d, true
}

// turnedAround finds `turned 90deg around z`.
func turnedAround(c clue) (diag.Diagnostic, bool) {
	axis, around := c.tok(-1), c.tok(-2)
	if around.Value != "around" || !hasWord("x y z", axis.Value) {
		return diag.Diagnostic{}, false
	}
	for _, t := range c.stmt[:c.i-2] {
		if t.Value == "turned" {
			d, ok := c.fixed(c.i-2, c.i-2, "a body is turned about an axis; `around` puts it on a tube", "about")
			d.Notes = []string{diag.Do("write `about " + axis.Value + "`")}
			return d, ok
		}
	}
	return diag.Diagnostic{}, false
}

// walkedBody finds a direction of outlines in the place of a clause: `, up 8mm`.
func walkedBody(c clue) (diag.Diagnostic, bool) {
	by := c.tok(1).Value
	way := map[string]string{
		"right": "(" + by + ", 0, 0)", "left": "(-" + by + ", 0, 0)", "up": "(0, 0, " + by + ")", "down": "(0, 0, -" + by + ")", "ahead": "(0, " + by + ", 0)",
	}[c.tok(0).Value]
	if way == "" || !hasWord("join cut trim let mating", c.kind) || c.tok(1).Type != token.Number || c.tok(-1).Value == "closed" {
		return diag.Diagnostic{}, false
	}
	d, _ := said("`"+c.tok(0).Value+"` walks the line of an outline; a body is moved by `at`", diag.Do("write `at "+way+"`"))
	d.At = c.span(c.i)
	return d, true
}

// extentBare finds an `extrude` without its `by`: `extrude tooth 5mm along y`.
func extentBare(c clue) (diag.Diagnostic, bool) {
	for j, t := range c.stmt {
		if t.Value != "extrude" && t.Value != "loft" || j+2 >= len(c.stmt) {
			continue
		}
		at := behindSubject(c.stmt, j+1)
		if at < 0 || at >= len(c.stmt) || at > c.i {
			return diag.Diagnostic{}, false
		}
		for _, u := range c.stmt[at:] {
			if u.Value == "by" || u.Value == "from" || u.Value == "less" || u.Value == "with" {
				return diag.Diagnostic{}, false
			}
		}
		extent := c.stmt[at]
		if extent.Type != token.Number && (extent.Type != token.Ident || token.Clause(extent.Value)) {
			return diag.Diagnostic{}, false
		}
		d, _ := said("this does not say by how much `"+t.Value+"` goes: its `by` is missing", diag.Do("write `by "+extent.Value+"`"))
		d.At = c.span(at)
		d.Fixes = []diag.Fix{{Text: "write `by` before it", Edits: []diag.Edit{{At: d.At.Before(), New: "by "}}}}
		return d, true
	}
	return diag.Diagnostic{}, false
}

// behindSubject returns the index behind a name, with members and arguments,
// that begins at i; -1 where none does.
func behindSubject(stmt []token.Token, i int) int {
	if !isWord(&stmt[i]) || token.Clause(stmt[i].Value) {
		return -1
	}
	for i++; i < len(stmt); {
		switch {
		case isOp(stmt[i], ".") && i+1 < len(stmt):
			i += 2
		case isOp(stmt[i], "("):
			i = closing(stmt, i) + 1
		default:
			return i
		}
	}
	return i
}

// circled finds `in a circle` and its like.
func circled(c clue) (diag.Diagnostic, bool) {
	if c.tok(-1).Value != "a" || c.tok(-2).Value != "in" || c.i >= len(c.stmt) {
		return diag.Diagnostic{}, false
	}
	return c.strange(c.i, "copies of a body stand in a row or in a ring", []string{"row", "ring"}, "")
}

// copied finds words that are said for a row or a ring of copies.
func copied(c clue) (diag.Diagnostic, bool) {
	if !hasWord("join cut trim let mating", c.kind) {
		return diag.Diagnostic{}, false
	}
	for j := 1; j <= c.i && j < len(c.stmt); j++ {
		t, before := c.stmt[j], c.stmt[j-1]
		if t.Type != token.Ident || !hasWord("repeat repeated copies copied times pattern patterned array", t.Value) || !endsOperand(before) {
			continue
		}
		d, _ := said("`"+t.Value+"` does not make copies of a body", diag.Do("write `in a ring of 6 about z`, or `in a row of 3 every 9mm along x`"))
		d.At = c.span(j)
		return d, true
	}
	return diag.Diagnostic{}, false
}

// bareSize finds the sizes of a body without their words: `box 20mm, 10mm, 5mm`.
func bareSize(c clue) (diag.Diagnostic, bool) {
	head := c.tok(-1)
	if !hasWord("join cut trim let mating", c.kind) || c.tok(0).Type != token.Number || !token.IsHead(head.Value) {
		return diag.Diagnostic{}, false
	}
	word := map[string]string{"box": "width", "cylinder": "radius", "cone": "radius", "ball": "radius"}[head.Value]
	if word == "" {
		return diag.Diagnostic{}, false
	}
	d, _ := said("each size of a body has its word before it", diag.Do("write `"+head.Value+" "+word+" "+c.tok(0).Value+"`; `perch reference` lists what may be said of it"))
	d.At = c.span(c.i)
	return d, true
}

// measureFirst finds a measure of a sketch before what it measures:
// `length floor = 12mm`.
func measureFirst(c clue) (diag.Diagnostic, bool) {
	if c.kind != "general" || c.i != 2 || !isOp(c.tok(0), "=") || !hasWord("length radius diameter area perimeter", c.stmt[0].Value) || !isWord(&c.stmt[1]) {
		return diag.Diagnostic{}, false
	}
	return c.fixed(0, 1, "a measure stands behind what it measures", c.stmt[1].Value+"."+c.stmt[0].Value)
}

// spokenLine finds a line of a sketch that begins with a word said for
// another: `fillet b by 1mm`.
func spokenLine(c clue) (diag.Diagnostic, bool) {
	if c.kind != "general" || len(c.stmt) < 3 || !isWord(&c.stmt[1]) {
		return diag.Diagnostic{}, false
	}
	word := c.stmt[0].Value
	now, ok := spell.Other(word, starts[string(InSketch)])
	if !ok {
		return diag.Diagnostic{}, false
	}
	d, ok := c.fixed(0, 0, "`"+word+"` begins no line of a sketch", now)
	return d, ok
}

// trailingComma finds a comma at the end of a line, before another statement.
func trailingComma(c clue) (diag.Diagnostic, bool) {
	t := c.tok(-1)
	if c.i < len(c.stmt) || t.Value != "," || c.i < 2 {
		return diag.Diagnostic{}, false
	}
	d, ok := c.fixed(c.i-1, c.i-1, "a comma carries a line on, and the next one begins something new", "")
	d.Notes = []string{diag.Do("take the comma out, or write what follows it")}
	return d, ok
}

// asRelation rewrites `tangent(a, b)` as a relation, or returns "".
func asRelation(stmt []token.Token) string {
	if len(stmt) < 4 || !isWord(&stmt[0]) || !isOp(stmt[1], "(") || !isOp(stmt[len(stmt)-1], ")") {
		return ""
	}
	var names []string
	for i, t := range stmt[2 : len(stmt)-1] {
		if i%2 == 0 && !isWord(&t) || i%2 == 1 && !isOp(t, ",") {
			return ""
		}
		if i%2 == 0 {
			names = append(names, t.Value)
		}
	}
	switch len(names) {
	case 1:
		return names[0] + " " + stmt[0].Value
	case 2:
		return names[0] + " " + stmt[0].Value + " " + names[1]
	}
	return ""
}

// factorOf finds a name that was read as the unit of the number before it:
// `2pi`, `2side`.
func (p *parser) factorOf(number, word string, at source.Span) (diag.Diagnostic, bool) {
	named := word == "pi"
	for i, t := range p.toks {
		if t.Value == word && t.Type == token.Ident && (i == 0 || p.toks[i-1].Value != ".") {
			named = true
			break
		}
	}
	if !named {
		return diag.Diagnostic{}, false
	}
	now := number + " * " + word
	return diag.Diagnostic{
		Code: "unit-unknown", At: at,
		Message: "`" + word + "` is a name, and is read as the unit of the number before it",
		Notes:   []string{diag.Do("write `" + now + "`")},
		Fixes:   []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: at, New: now}}}},
	}, true
}
