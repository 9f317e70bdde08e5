package parse

import (
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/token"
)

// This file finds slips that the grammar would read as something else: a
// decimal comma as the end of a value, a hyphen in a name as a minus.

// slips reports the slips of a statement and returns whether there were none.
func (p *parser) slips(stmt []token.Token) bool {
	n := p.told()
	for i := range stmt {
		if stmt[i].Value == "," && i > 0 && i+1 < len(stmt) && p.decimal(stmt, i) {
			at := p.spanOf(stmt[i-1]).To(p.spanOf(stmt[i+1]))
			p.replace(at, "a decimal fraction is written with a point", stmt[i-1].Value+"."+stmt[i+1].Value)
		}
	}
	if p.told() > n {
		return false
	}
	for i := 0; i < len(stmt); i++ {
		k := hyphened(stmt[i:])
		if k == 0 {
			continue
		}
		if declaresAt(stmt, i, i+k) {
			p.hyphens(stmt, i, i+k)
		}
		i += k - 1
	}
	return p.told() == n
}

// replace reports what is to be written otherwise.
func (p *parser) replace(at source.Span, message, now string) {
	p.fault(diag.Diagnostic{
		Code: "syntax", At: at, Message: message,
		Notes: []string{diag.Do("write `" + now + "`")},
		Fixes: []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: at, New: now}}}},
	})
}

// decimal reports whether the comma at i stands in a number: `3,5mm`. Where a
// list may go on with a number, the number before must lack the unit that the
// one behind has; in parentheses it must also be one that no place or argument
// could begin with.
func (p *parser) decimal(stmt []token.Token, i int) bool {
	whole, part := stmt[i-1], stmt[i+1]
	if whole.Type != token.Number || part.Type != token.Number || !touching(whole, stmt[i]) || !touching(stmt[i], part) ||
		strings.Trim(whole.Value, "0123456789") != "" {
		return false
	}
	unit := token.UnitStart(part.Value) < len(part.Value)
	depth := 0
	for j := i - 1; j >= 0; j-- {
		switch {
		case isOp(stmt[j], ")"):
			depth++
		case isOp(stmt[j], "(") && depth > 0:
			depth--
		case isOp(stmt[j], "("):
			call := j > 0 && isWord(&stmt[j-1]) && touching(stmt[j-1], stmt[j])
			return unit && !call && strings.Trim(whole.Value, "0") != ""
		}
	}
	return unit || !isKeyword(stmt[0], "measure")
}

// hyphened returns how many tokens at the start of stmt are words joined by
// hyphens without spaces; 0 when there is no hyphen.
func hyphened(stmt []token.Token) int {
	if stmt[0].Type != token.Ident {
		return 0
	}
	k := 1
	for k+1 < len(stmt) && isOp(stmt[k], "-") && touching(stmt[k-1], stmt[k]) && touching(stmt[k], stmt[k+1]) &&
		hasType(stmt[k+1], token.Ident, token.Keyword, token.Number) {
		k += 2
	}
	if k == 1 {
		return 0
	}
	return k
}

func hasType(t token.Token, kinds ...token.Kind) bool {
	for _, k := range kinds {
		if t.Type == k {
			return true
		}
	}
	return false
}

// declaresAt reports whether a name, and no difference, must stand from i to
// end: behind the word of a declaration, before the colon of a parameter or of
// a size, or before the `=` of what a size sets.
func declaresAt(stmt []token.Token, i, end int) bool {
	if i > 0 && hasWord(namers+" sizes", stmt[i-1].Value) &&
		(i == 1 || i == 2 && stmt[0].Value == "guide") {
		return true
	}
	if end >= len(stmt) {
		return false
	}
	row := len(stmt) > 1 && stmt[0].Type == token.Ident && isOp(stmt[1], ":")
	return isOp(stmt[end], ":") || row && isOp(stmt[end], "=")
}

// hyphens reports a name with hyphens. That of a part is not reported again
// where its sizes are listed.
func (p *parser) hyphens(stmt []token.Token, i, end int) {
	name := joinedName(stmt[i:end])
	if i == 1 && stmt[0].Value == "sizes" && p.hyphen[name] {
		p.quiet++
		return
	}
	if p.hyphen == nil {
		p.hyphen = map[string]bool{}
	}
	p.hyphen[name] = true
	p.replace(p.spanAll(stmt[i:end]), "a name has no hyphen, which is read as a minus", strings.ReplaceAll(name, "-", "_"))
}

func joinedName(toks []token.Token) string {
	var b strings.Builder
	for _, t := range toks {
		b.WriteString(t.Value)
	}
	return b.String()
}

// loseParts notes the pieces of a name with hyphens as missing: where it is
// used they are read as names of their own.
func (p *parser) loseParts(g *ast.Gaps, stmt []token.Token) {
	for i := 1; i < len(stmt) && i <= 2; i++ {
		k := hyphened(stmt[i:])
		for _, t := range stmt[i : i+k] {
			if t.Type == token.Ident {
				g.Lost = append(g.Lost, p.ident(t))
			}
		}
		if k > 0 {
			name := p.ident(stmt[i])
			name.Name = strings.ReplaceAll(joinedName(stmt[i:i+k]), "-", "_") // what it is told to be
			g.Lost = append(g.Lost, name)
			return
		}
	}
}

// loseWords notes the name at i as missing and, where it was written as
// several words, the name that they make.
func (p *parser) loseWords(g *ast.Gaps, stmt []token.Token, i int) {
	n := i
	for n < len(stmt) && isWord(&stmt[n]) {
		n++
	}
	if n == i || n < len(stmt) && token.Clause(stmt[i].Value) && (isOp(stmt[n], "(") || stmt[n].Type == token.Number) {
		return // `circle centre (0, 0)` has no name
	}
	g.Lost = append(g.Lost, p.ident(stmt[i]))
	if n > i+1 && hasWord("let measure mating part sketch", stmt[0].Value) && (n == len(stmt) || isOp(stmt[n], "=") || isOp(stmt[n], "(")) {
		name := p.ident(stmt[i])
		name.Name = joinedWords(stmt[i:n])
		g.Lost = append(g.Lost, name)
	}
}

// first is the word that a statement begins with.
func first(stmt []token.Token) string {
	if len(stmt) == 0 {
		return ""
	}
	return stmt[0].Value
}
