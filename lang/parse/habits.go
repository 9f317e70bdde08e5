package parse

import (
	"strings"

	"perch/lang/diag"
	"perch/lang/spell"
	"perch/lang/token"
)

// This file holds guesses for what is written from habit: forms of other
// notations, words of spoken language, and pieces that are easily left out.

// fixed makes a diagnostic whose remedy is one edit.
func (c clue) fixed(from, to int, message, now string, why ...string) (diag.Diagnostic, bool) {
	d := diag.Diagnostic{Message: message, At: c.span(from).To(c.span(to))}
	for _, w := range why {
		d.Notes = append(d.Notes, diag.Why(w))
	}
	if now == "" {
		d.Notes = append(d.Notes, diag.Do("take it out"))
		d.Fixes = []diag.Fix{{Text: "take it out", Edits: []diag.Edit{{At: d.At}}}}
	} else {
		d.Notes = append(d.Notes, diag.Do("write `"+now+"`"))
		d.Fixes = []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: d.At, New: now}}}}
	}
	return d, true
}

// plusMinus finds `+/-`.
func plusMinus(c clue) (diag.Diagnostic, bool) {
	for k := -2; k <= 0; k++ {
		if isOp(c.tok(k), "+") && isOp(c.tok(k+1), "/") && isOp(c.tok(k+2), "-") {
			return c.fixed(c.i+k, c.i+k+2, "an uncertainty stands behind `+-`", "+-")
		}
	}
	return diag.Diagnostic{}, false
}

// slashes finds a comment of another notation.
func slashes(c clue) (diag.Diagnostic, bool) {
	for k := -1; k <= 0; k++ {
		a, b := c.tok(k), c.tok(k+1)
		if isOp(a, "/") && (isOp(b, "/") || isOp(b, "*")) && touching(a, b) {
			d, ok := c.fixed(c.i+k, c.i+k+1, "a comment begins with `#`", "#")
			return d, ok
		}
	}
	return diag.Diagnostic{}, false
}

// nearNothing finds a place that is only suggested, without the point that is
// to be found near it.
func nearNothing(c clue) (diag.Diagnostic, bool) {
	word, near := c.tok(-2), c.tok(-1)
	if near.Value != "near" && near.Value != "at" || !isOp(c.tok(0), "(") || !hasWord("centre from to", word.Value) {
		return diag.Diagnostic{}, false
	}
	if near.Value == "at" {
		return c.fixed(c.i-1, c.i-1, "`at` fixes a point that has a name; a bare place needs no `at`", "")
	}
	d, _ := said("a place that is only near belongs to a point with a name",
		diag.Why("the place is found by solving the sketch, so other lines must be able to speak of the point"),
		diag.Do("give the point a name: `"+word.Value+" o near (…)`; or, if the place is exact, leave `near` out"))
	d.At = c.span(c.i - 1)
	return d, true
}

// nameless finds an entity of a sketch without its name: `circle centre (0, 0)`.
func nameless(c clue) (diag.Diagnostic, bool) {
	if !hasWord("point line arc circle rectangle slot polygon", c.kind) {
		return diag.Diagnostic{}, false
	}
	at := 1
	if c.stmt[0].Value == "guide" {
		at = 2
	}
	if at >= len(c.stmt) || !hasWord("centre from at near radius diameter width height sides across", c.stmt[at].Value) || c.i > at+1 {
		return diag.Diagnostic{}, false
	}
	d, _ := said("this "+c.kind+" has no name", diag.Do("write a name after `"+c.kind+"`: "+form(c.kind)))
	d.At = c.span(at - 1)
	return d, true
}

// rangeAxis finds the end of a range without its axis: `from z = 0 to 3mm`.
func rangeAxis(c clue) (diag.Diagnostic, bool) {
	if c.tok(-1).Value != "to" || !startsOperand(c.tok(0)) {
		return diag.Diagnostic{}, false
	}
	for j := c.i - 2; j > 1; j-- {
		if isOp(c.stmt[j], "=") && c.stmt[j-2].Value == "from" {
			axis := c.stmt[j-1].Value
			d, _ := said("the end of this range does not name its axis", diag.Do("write `to "+axis+" = "+c.tok(0).Value+"`"))
			d.At = c.span(c.i)
			d.Fixes = []diag.Fix{{Text: "write `" + axis + " =` before it", Edits: []diag.Edit{{At: d.At.Before(), New: axis + " = "}}}}
			return d, true
		}
	}
	return diag.Diagnostic{}, false
}

// colon finds `radius: 3mm` and `radius = 3mm`.
func colon(c clue) (diag.Diagnostic, bool) {
	sign := c.tok(0)
	word := c.tok(-1)
	if !isOp(sign, ":") && !isOp(sign, "=") || !token.Clause(word.Value) || !hasWord("join cut trim mating let area circle rectangle slot polygon arc", c.kind) {
		return diag.Diagnostic{}, false
	}
	d, ok := c.fixed(c.i, c.i, "there must be no `"+sign.Value+"` between `"+word.Value+"` and its value", "")
	d.Notes = []string{diag.Do("write `" + word.Value + " " + firstOf(c.tok(1).Value, "3mm") + "`")}
	return d, ok
}

func firstOf(s, otherwise string) string {
	if s != "" {
		return s
	}
	return otherwise
}

// letKind finds `let a: length = 3mm`.
func letKind(c clue) (diag.Diagnostic, bool) {
	if c.kind != "let" && c.kind != "measure" || c.i != 2 || !isOp(c.tok(0), ":") || !isOp(c.tok(2), "=") {
		return diag.Diagnostic{}, false
	}
	return c.fixed(2, 3, "a "+c.kind+" does not say its kind: the value tells", "")
}

// spoken finds the small words of a spoken sentence in a relation: `a is
// parallel to b`.
func spoken(c clue) (diag.Diagnostic, bool) {
	if c.kind != "general" {
		return diag.Diagnostic{}, false
	}
	for j, t := range c.stmt {
		if t.Type == token.Ident && hasWord("is are be", t.Value) && j > 0 {
			d, ok := c.fixed(j, j, "a relation has no `"+t.Value+"`", "")
			d.Notes = []string{diag.Do("write it without the small words: `a parallel b`, `a horizontal`")}
			return d, ok
		}
	}
	for j := 2; j <= c.i && j < len(c.stmt); j++ {
		t, word, object := c.stmt[j], c.stmt[j-1], "b"
		if !hasWord("to with from and at", t.Value) || word.Type != token.Ident {
			continue
		}
		if j+1 < len(c.stmt) {
			object = c.stmt[j+1].Value
		}
		d, ok := c.fixed(j, j, "`"+t.Value+"` has no place in a relation", "")
		d.Notes = []string{diag.Do("write `" + c.stmt[j-2].Value + " " + word.Value + " " + object + "`")}
		return d, ok
	}
	return diag.Diagnostic{}, false
}

// lackingComma finds two values side by side where a list goes on.
func lackingComma(c clue) (diag.Diagnostic, bool) {
	a, b := c.tok(-1), c.tok(0)
	if c.kind == "row" && isOp(b, "=") && a.Type == token.Ident && endsOperand(c.tok(-2)) && !isOp(c.tok(-2), ")") {
		c.i-- // the name was read as a clause of the value before
		a, b = c.tok(-1), c.tok(0)
	}
	list := c.kind == "tuple" || c.kind == "args" || c.kind == "measure" || c.kind == "use" || c.kind == "caution" || c.kind == "row"
	if !list || !endsOperand(a) || !isOperand(&b) || c.i < 1 {
		return diag.Diagnostic{}, false
	}
	if c.kind == "measure" && hasWord("within", b.Value) || c.kind == "use" && b.Type == token.String {
		return diag.Diagnostic{}, false
	}
	d, _ := said("a comma is missing between `"+a.Value+"` and `"+b.Value+"`", diag.Do("write `"+a.Value+", "+b.Value+"`"))
	d.At = c.span(c.i)
	d.Fixes = []diag.Fix{{Text: "put a comma in", Edits: []diag.Edit{{At: c.span(c.i - 1).After(), New: ","}}}}
	return d, true
}

// usedFile finds a file that is named without its quotes, or without the name
// that the design gives it.
func usedFile(c clue) (diag.Diagnostic, bool) {
	if c.kind != "use" {
		return diag.Diagnostic{}, false
	}
	file := ""
	for _, t := range c.stmt[1:] {
		file += t.Value
		if t.Value == "from" {
			file = ""
		}
	}
	file = strings.TrimSuffix(strings.Trim(file, `"`), ".perch")
	switch t := c.tok(0); {
	case t.Type == token.String && c.i == 1, isOp(t, ".") && c.i == 2, c.tok(-1).Value == "from":
		name := file[strings.LastIndexByte(file, '/')+1:]
		if c.tok(-1).Value == "from" {
			name = c.stmt[1].Value
		}
		d, _ := said("a file of your own is named in quotes, behind the name that stands for it here",
			diag.Do("write `use "+name+" from \""+file+".perch\"`"))
		d.At = c.span(1).To(c.span(len(c.stmt) - 1))
		return d, true
	}
	return diag.Diagnostic{}, false
}

// lackingElse finds an `if` that does not say what holds otherwise.
func lackingElse(c clue) (diag.Diagnostic, bool) {
	if t := c.tok(0); c.want(-1) != "" || t.Type != token.EOF && !isOp(t, ",") && !isOp(t, ")") && t.Type != token.Carry {
		return diag.Diagnostic{}, false
	}
	var open []int // the places of those without
	then := map[int]bool{}
	for j, t := range c.stmt[:c.i] {
		switch {
		case isKeyword(t, "if"):
			open = append(open, j)
		case isKeyword(t, "then") && len(open) > 0:
			then[open[len(open)-1]] = true
		case isKeyword(t, "else") && len(open) > 0:
			open = open[:len(open)-1]
		}
	}
	if len(open) == 0 {
		return diag.Diagnostic{}, false
	}
	at, what := open[len(open)-1], "what holds otherwise: it has no `else`"
	if !then[at] {
		what = "what holds if so: it has no `then`"
	}
	d, _ := said("this `if` does not say "+what, diag.Do("write it as in `if a > b then a else b`"))
	d.At = c.span(at)
	return d, true
}

// lackingEvery finds a row that goes on without its distance.
func lackingEvery(c clue) (diag.Diagnostic, bool) {
	for j := c.i - 1; j > 0; j-- {
		switch c.stmt[j].Value {
		case "every":
			return diag.Diagnostic{}, false
		case "row":
			if c.stmt[j-1].Value != "a" || c.tok(0).Value != "along" || j+3 > c.i {
				return diag.Diagnostic{}, false
			}
			count, axis := c.p.spanAll(c.stmt[j+2:c.i]).Text(), firstOf(c.tok(1).Value, "x")
			return said("this row does not say how far apart its bodies stand",
				diag.Do("write `in a row of "+count+" every 10mm along "+axis+"`"))
		}
	}
	return diag.Diagnostic{}, false
}

// lacking says what a line that ends too early leaves out.
func lacking(c clue) (diag.Diagnostic, bool) {
	if c.i < len(c.stmt) && !isOp(c.tok(0), ",") {
		return diag.Diagnostic{}, false
	}
	said := func(message, todo string) (diag.Diagnostic, bool) { return said(message, diag.Do(todo)) }
	from, row, ring, mirrored, range1 := -1, -1, -1, -1, -1
	words := map[string]int{}
	for j, t := range c.stmt[:c.i] {
		words[t.Value] = j
		switch {
		case t.Value == "from" && j+2 < c.i && isOp(c.stmt[j+2], "="):
			range1 = j
		case t.Value == "from":
			from = j
		case t.Value == "row":
			row = j
		case t.Value == "ring":
			ring = j
		case t.Value == "mirrored":
			mirrored = j
		}
	}
	after := func(j int, word string) bool { k, ok := words[word]; return ok && k > j }
	switch {
	case c.kind == "line" && from < 0:
		return said("this line does not say where it begins and ends", "write it as: "+form("line"))
	case (c.kind == "line" || c.kind == "arc") && !after(from, "to"):
		return said("this "+c.kind+" has no end", "say where it ends: `to b`")
	case c.kind == "rectangle" && from >= 0 && !after(from, "to"):
		return said("this rectangle has no second corner", "say where it lies, opposite the first: `to q`")
	case c.kind == "slot" && from >= 0 && !after(from, "to"):
		return said("this slot has no end", "say where it ends: `to (20mm, 0)`")
	case range1 >= 0 && !after(range1, "to"):
		axis := c.stmt[range1+1].Value
		return said("this range has no end", "say where it ends: `to "+axis+" = 5mm`")
	case row >= 0 && !after(row, "every"):
		return said("this row does not say how far apart its bodies stand", "write `every 9mm along x` after the number")
	case row >= 0 && !after(row, "along"):
		return said("this row does not say along which axis it runs", "write `along x` after the distance")
	case ring >= 0 && !after(ring, "about"):
		return said("this ring does not say about which axis it goes", "write `about z` after the number")
	case mirrored >= 0:
		return said("this does not say about which plane it is mirrored", "write `mirrored about x = 0`")
	case words["across"] > 0:
		return said("`across` does not say across what", "write `across flats 7mm` or `across corners 8mm`")
	case (c.kind == "round" || c.kind == "bevel") && !after(0, "by"):
		return said("this does not say by how much", "write it as: "+form(c.kind))
	}
	return diag.Diagnostic{}, false
}

// shown is an example for a word that wants more behind it, where the form of
// the whole statement would not show it.
var shown = map[string]string{
	"at": "ball radius 3mm at (0, 0, 5mm)", "turned": "turned 30deg about z", "mirrored": "mirrored about x = 0",
	"in": "in a row of 3 every 9mm along x", "a": "in a row of 3 every 9mm along x",
	"row": "in a row of 3 every 9mm along x", "ring": "in a ring of 6 about z", "every": "in a row of 3 every 9mm along x",
	"of": "in a row of 3 every 9mm along x", "along": "along y", "about": "turned 30deg about z", "around": "around pipe at 90deg",
	"from": "from z = 0 to z = 5mm", "to": "from z = 0 to z = 5mm", "by": "extrude tooth by 12mm", "centre": "centre (0, 0, 5mm)",
	"extrude": "extrude tooth by 12mm", "revolve": "revolve section about z", "less": "plate less hole", "with": "plate with rib",
	"within": "plate within rim", "across": "across flats 7mm", "through": "turned 30deg about z through (5mm, 0, 0)",
}

// example returns the note that shows how a statement goes on after word.
func (c clue) example(word string) string {
	if s := shown[word]; s != "" && hasWord("join cut trim mating let area", c.kind) {
		return diag.Do("write it as in `" + s + "`")
	}
	if token.Clause(word) && !hasWord("at near", word) && strings.HasSuffix(wants[word], "length") {
		return diag.Do("write its size after it: `" + word + " 12mm`")
	}
	return ""
}

// habit explains a line that begins as none of its block does, where the reason
// shows.
func (p *parser) habit(where string, stmt []token.Token) (diag.Diagnostic, bool) {
	c := clue{p: p, kind: where, stmt: stmt}
	first, next := stmt[0], token.Token{Type: token.EOF}
	if len(stmt) > 1 {
		next = stmt[1]
	}
	switch {
	case isOp(first, "/"):
		if d, ok := slashes(c); ok {
			return d, true
		}
	case where != "outline" && where != "guide" && where != "sketch" && first.Type == token.Ident && isOp(next, ":") && len(stmt) > 2 && isOp(stmt[2], "="):
		d, ok := c.fixed(1, 2, "a value is declared by `let`, and set by `=`", "=")
		d.Notes = []string{diag.Do("write `let " + first.Value + " = …`")}
		d.Fixes = []diag.Fix{{Text: "write `let " + first.Value + " =`", Edits: []diag.Edit{{At: c.span(0).To(c.span(2)), New: "let " + first.Value + " ="}}}}
		return d, ok
	case where != "outline" && where != "guide" && first.Type == token.Ident && isOp(next, "="):
		if where == "sketch" {
			break
		}
		d, _ := said("a value is declared by `let`", diag.Do("write `let "+first.Value+" = …`"))
		d.At = c.span(0)
		d.Fixes = []diag.Fix{{Text: "write `let` before it", Edits: []diag.Edit{{At: d.At.Before(), New: "let "}}}}
		return d, true
	case where == "part" && hasWord("bevel round chamfer fillet", first.Value):
		word := "bevel"
		if hasWord("round fillet", first.Value) {
			word = "round"
		}
		d, _ := said("edges are not "+map[string]string{"bevel": "bevelled", "round": "rounded"}[word]+" by a step of their own",
			diag.Why("corners belong to the sketch, rims to the body that is extruded"),
			diag.Do("write it there: `"+word+" b by 1mm` in the sketch, or `extrude plate by 4mm, "+word+" top 1mm`"))
		d.At = c.span(0)
		return d, true
	case first.Type == token.Ident && len(stmt) == 1 && hasWord(strings.Join(starts[where], " "), first.Value) && wants[first.Value] != "":
		d, _ := said("expected "+wants[first.Value]+" after `"+first.Value+"`", diag.Do("write it as: "+form(first.Value)))
		d.At = c.span(1)
		return d, true
	}
	return diag.Diagnostic{}, false
}

// looseNumber finds a place without its parentheses, which reads as a list of
// bodies: `ball radius 3mm at 3mm, 4mm, 5mm`.
func (p *parser) looseNumber(b *body, i int) (diag.Diagnostic, bool) {
	if i == 0 || len(b.Tokens) == 0 || len(b.Tokens) > 2 || b.Tokens[len(b.Tokens)-1].Type != token.Number {
		return diag.Diagnostic{}, false
	}
	return diag.Diagnostic{
		Code: "syntax", At: p.spanAll(b.Tokens),
		Message: "expected a body after the comma, this is a number",
		Notes:   []string{diag.Do("if it is a coordinate, write the place in parentheses: `at (3mm, 4mm, 5mm)`; if a size, write its word before it: `height 5mm`")},
	}, true
}

// clausesOf lists the words that begin a clause, for the statements whose
// clauses the grammar names.
var clausesOf = map[string][]string{
	"circle": {"centre", "radius", "diameter"}, "arc": {"centre", "radius", "diameter", "through", "clockwise"},
	"arcsegment": {"centre", "radius", "diameter", "through", "to", "clockwise"},
}

// strangeClause finds a word behind a comma that begins none of the clauses
// its statement may have: `circle bore centre o, diamter 4mm`.
func strangeClause(c clue) (diag.Diagnostic, bool) {
	word, of := c.tok(0), strings.TrimSuffix(c.kind, "segment")
	words := clausesOf[c.kind]
	if words == nil || !isWord(&word) || !isOp(c.tok(-1), ",") {
		return diag.Diagnostic{}, false
	}
	return c.strange(c.i, "`"+word.Value+"` does not belong to `"+of+"`", words, "what may be said of `"+of+"`: "+strings.Join(words, ", "))
}

// strange makes the diagnostic of a word that is none of those that may stand
// in its place.
func (c clue) strange(i int, message string, words []string, otherwise string) (diag.Diagnostic, bool) {
	d := diag.Diagnostic{Message: message, At: c.span(i)}
	if s, ok := spell.Nearest(c.stmt[i].Value, words); ok {
		d.Notes = []string{diag.Do("did you mean `" + s + "`?")}
		d.Fixes = []diag.Fix{{Text: "write `" + s + "`", Edits: []diag.Edit{{At: d.At, New: s}}}}
		return d, true
	}
	d.Notes = []string{diag.Do(otherwise)}
	return d, otherwise != ""
}

// pairs lists the words that may stand behind the first of a pair.
var pairs = map[string][]string{
	"across": {"flats", "corners"}, "on": {"front", "back", "left", "right", "top", "bottom"},
	"bevel": {"bottom", "top", "front", "back", "left", "right", "ends"},
}

// strangePair finds the misspelt half of a pair of words: `across flat 7mm`.
func strangePair(c clue) (diag.Diagnostic, bool) {
	first, word := c.tok(-1).Value, c.tok(0)
	switch {
	case hasWord("flats corners", first) && c.tok(-2).Type == token.Ident && startsOperand(word):
		if s, ok := spell.Nearest(c.tok(-2).Value, []string{"across"}); ok && s == "across" {
			return c.strange(c.i-2, "`"+c.tok(-2).Value+"` does not belong to `"+c.kind+"`", []string{s}, "")
		}
	case c.kind == "round" || c.kind == "bevel" || !isWord(&word):
	case first == "round" || first == "closed":
		first = "bevel"
		fallthrough
	case pairs[first] != nil && (first != "on" || hasWord("engrave emboss", c.kind)):
		return c.strange(c.i, "expected "+either(pairs[first])+" after `"+c.tok(-1).Value+"`, this is `"+word.Value+"`", pairs[first], "write one of these words")
	}
	return diag.Diagnostic{}, false
}

// either joins words as the ones to choose from.
func either(words []string) string {
	last := len(words) - 1
	return "`" + strings.Join(words[:last], "`, `") + "` or `" + words[last] + "`"
}

// placeOfName finds a point and its place with nothing between them:
// `from a (0, 0)`.
func placeOfName(c clue) (diag.Diagnostic, bool) {
	name := c.tok(-1)
	if !isOp(c.tok(0), "(") || name.Type != token.Ident || hasWord("at near from to centre", name.Value) || !hasWord("from to centre point", c.tok(-2).Value) {
		return diag.Diagnostic{}, false
	}
	return said("nothing says how the point `"+name.Value+"` and this place belong together",
		diag.Do("write `"+name.Value+" at (…)` where the place is exact, `"+name.Value+" near (…)` where it only leads the solving"))
}

// aroundTube finds a tube without the angle at which a body lies on it, or one
// that has no name.
func aroundTube(c clue) (diag.Diagnostic, bool) {
	tube := c.tok(-1)
	if c.tok(-2).Value != "around" || !isWord(&tube) || c.tok(0).Value == "at" {
		return diag.Diagnostic{}, false
	}
	if token.IsHead(tube.Value) {
		d, _ := said("`around` takes the name of a tube, this begins a body",
			diag.Do("name it in a line above, `mating pipe = cylinder radius 57mm, along y`, and write `around pipe at 90deg`"))
		d.At = c.span(c.i - 1)
		return d, true
	}
	d, _ := said("this does not say at which angle round `"+tube.Value+"`", diag.Do("write `around "+tube.Value+" at 90deg`"))
	d.At = c.span(c.i - 1)
	return d, true
}

// unquoted finds a reserved word that is meant as a text to letter.
func unquoted(c clue) (diag.Diagnostic, bool) {
	t := c.tok(0)
	if !token.Marks(c.kind) || c.i != 1 || t.Type != token.Keyword {
		return diag.Diagnostic{}, false
	}
	return c.fixed(c.i, c.i, "a text stands in quotes", `"`+t.Value+`"`, "`"+t.Value+"` is a reserved word and names no text or area")
}

// cautionList finds what is written between cautions, or round one.
func cautionList(c clue) (diag.Diagnostic, bool) {
	t := c.tok(0)
	switch {
	case c.kind != "caution":
	case t.Value == "and" && t.Type == token.Keyword:
		d, ok := c.fixed(c.i, c.i, "several cautions are listed with commas", "")
		d.Notes = []string{diag.Do("write `" + c.tok(-1).Value + ", " + c.tok(1).Value + "`")}
		d.Fixes = []diag.Fix{{Text: "put a comma in", Edits: []diag.Edit{{At: c.span(c.i - 1).After().To(d.At), New: ","}}}}
		return d, ok
	case t.Type == token.String:
		return c.fixed(c.i, c.i, "a caution is a word without quotes", strings.Trim(t.Value, `"`))
	}
	return diag.Diagnostic{}, false
}

// entryForm finds what does not belong to an entry of a workshop.
func entryForm(c clue) (diag.Diagnostic, bool) {
	t := c.tok(0)
	switch {
	case c.kind != "entry":
	case c.i == 0 && hasWord("let measure check material", t.Value):
		d, ok := c.fixed(0, 0, "an entry of a workshop begins with its name, without `"+t.Value+"`", "")
		return d, ok
	case isOp(t, ":"):
		return c.fixed(c.i, c.i, "an entry of a workshop is set by `=`", "=")
	}
	return diag.Diagnostic{}, false
}

// linking finds a small word that brings nothing into a check.
func linking(c clue) (diag.Diagnostic, bool) {
	t, name := c.tok(0), c.tok(1)
	if c.kind != "check" || !hasWord("with within in on into by less", t.Value) || !isWord(&name) || c.i < 2 {
		return diag.Diagnostic{}, false
	}
	now := c.stmt[1].Value
	for _, w := range c.stmt[2:c.i] {
		now += " " + w.Value
	}
	d, ok := c.fixed(c.i, c.i, "a check does not ask by `"+t.Value+"`", "to")
	d.Notes = []string{diag.Do("write `" + now + " to " + name.Value + "`")}
	return d, ok
}
