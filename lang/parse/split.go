package parse

import (
	"strings"

	"perch/lang/diag"
	"perch/lang/token"
)

// This file finds where statements end.

func (p *parser) peek() token.Token { return p.toks[p.at] }

func isOp(t token.Token, value string) bool { return t.Type == token.Op && t.Value == value }

func isKeyword(t token.Token, value string) bool { return t.Type == token.Keyword && t.Value == value }

func (p *parser) skipNewlines() {
	for p.peek().Type == token.Newline {
		p.at++
	}
}

// statement takes the tokens of one statement, line ends left out. It stops
// before the line end, brace or end of text that ends the statement. An open
// parenthesis, a comma or an operator at the end of a line carries on, unless
// the next line plainly begins something new.
func (p *parser) statement() []token.Token {
	var stmt []token.Token
	start, joined := p.at, false
	p.first = start
	depth := 0
	for ; ; p.at++ {
		t := p.peek()
		switch {
		case t.Type == token.EOF, isOp(t, "{"), isOp(t, "}"):
			return p.cut(stmt, start, joined)
		case t.Type == token.Newline:
			if depth <= 0 && !token.CarriesOn(p.toks[p.at-1]) || p.startsAnew(p.at+1) {
				return p.cut(stmt, start, joined)
			}
			if !joined {
				joined = true
				stmt = append(stmt, p.toks[start:p.at]...)
			}
			for p.toks[p.at+1].Type == token.Newline {
				p.at++
			}
			continue
		case isOp(t, "("):
			depth++
		case isOp(t, ")"):
			depth--
		}
		if joined {
			stmt = append(stmt, t)
		}
	}
}

// cut returns the statement: a piece of the token list as long as it stands on
// one line.
func (p *parser) cut(stmt []token.Token, start int, joined bool) []token.Token {
	if joined {
		return stmt
	}
	return p.toks[start:p.at:p.at]
}

// startsAnew reports whether the line whose first token is at i, or the next
// one that is not empty, begins a statement whatever stood before.
func (p *parser) startsAnew(i int) bool {
	for p.toks[i].Type == token.Newline {
		i++
	}
	t := p.toks[i]
	switch t.Type {
	case token.EOF:
		return true
	case token.Op:
		return t.Value == "}" || t.Value == "{"
	case token.Keyword:
		return token.Declares(t.Value)
	case token.Ident:
		return token.Opens(t.Value) && p.toks[i+1].Type == token.Ident
	}
	return false
}

// block takes a body in braces, calling each for every statement in it, with
// the tokens up to the statement's end. When next is an open brace, each may
// take the inner block itself. head is the statement that stands before the
// brace. Where the brace is missing, which was told, the lines are read all
// the same, and nothing is said of their end.
func (p *parser) block(head []token.Token, each func(stmt []token.Token)) (closing token.Token) {
	open := p.peek()
	opened, n := isOp(open, "{"), p.told()
	if opened {
		p.at++
	}
	for {
		p.skipNewlines()
		t := p.peek()
		switch {
		case isOp(t, "}"):
			p.at++
			p.ended = ending{t, p.told() == n}
			return t
		case t.Type == token.EOF, t.Type == token.Keyword && token.Declares(t.Value) && t.Value != "let", p.full:
			if opened {
				p.unclosedBlock(head, open, t)
			}
			return p.toks[p.at-1]
		case isOp(t, "{"):
			p.strayBlock()
			continue
		}
		stmt := p.statement()
		if len(stmt) > 0 {
			each(stmt)
		}
		if isOp(p.peek(), "{") {
			p.strayBlock()
		}
	}
}

func (p *parser) unclosedBlock(head []token.Token, open, found token.Token) {
	if p.full {
		return
	}
	p.unclosed++
	d := diag.Diagnostic{
		Code: "block-open", At: p.spanOf(open),
		Message: "this `{` is not closed before the end of the file",
		Notes:   []string{diag.Do("add the `}` that ends `" + firstWords(head, 2) + "`")},
	}
	if found.Type != token.EOF {
		d.Message = "this `{` is not closed before the next `" + found.Value + "`"
		d.Labels = []diag.Label{{At: p.spanOf(found), Text: "`" + found.Value + "` begins here"}}
		d.Notes = []string{
			diag.Why("`" + found.Value + "` stands only at the top level of a file"),
			diag.Do("add the `}` that ends `" + firstWords(head, 2) + "` before it"),
		}
	}
	p.fault(d)
}

// indented reports whether the next line stands further in than the statement
// head, so that it belongs to its block.
func (p *parser) indented(head []token.Token) bool {
	i := p.at
	for p.toks[i].Type == token.Newline {
		i++
	}
	return p.toks[i].Type != token.EOF && p.column(p.toks[i]) > p.column(head[0])
}

// column is how far in its line a token stands, in bytes.
func (p *parser) column(t token.Token) int {
	return t.Pos.Offset - 1 - strings.LastIndexByte(p.src.Text[:t.Pos.Offset], '\n')
}

// outside reports whether the lines that follow stand outside of the latest
// block by a brace too many: they are indented, as no declaration is.
func (p *parser) outside() bool {
	return p.ended.brace.Value != "" && p.column(p.peek()) > 0
}

// endedEarly reports the brace that ended a block before its lines did, unless
// it was told of in the block, and passes over these lines.
func (p *parser) endedEarly() {
	if p.ended.sound {
		p.fault(diag.Diagnostic{
			Code: "brace-stray", At: p.spanOf(p.ended.brace),
			Message: "this `}` ends the block before the lines below it",
			Labels:  []diag.Label{{At: p.spanOf(p.peek()), Text: "this stands outside of it"}},
			Notes:   []string{diag.Do("take it out; or begin what follows with a declaration, such as `part comb {`")},
		})
	} else {
		p.quiet++
	}
	p.ended = ending{}
	p.file.Partial = true
	for depth := 0; ; p.at++ {
		t := p.peek()
		switch {
		case t.Type == token.EOF, t.Type == token.Keyword && token.Declares(t.Value) && p.column(t) == 0:
			return
		case isOp(t, "{"):
			depth++
		case isOp(t, "}"):
			if depth--; depth < 0 {
				p.at++
				return
			}
		}
	}
}

// strayBlock reports a block where none belongs and passes over it.
func (p *parser) strayBlock() {
	p.fault(diag.Diagnostic{
		Code: "brace-stray", At: p.spanOf(p.peek()),
		Message: "no block belongs here",
		Notes:   []string{diag.Why("`{` stands only after `sketch`, `part`, `sizes`, `workshop`, `outline` and `path`")},
	})
	p.skipBlock()
}

// skipBlock passes over a block, or what of it stands before the next
// declaration.
func (p *parser) skipBlock() {
	depth := 0
	for ; ; p.at++ {
		t := p.peek()
		switch {
		case t.Type == token.EOF, t.Type == token.Keyword && token.Declares(t.Value) && t.Value != "let":
			return
		case isOp(t, "{"):
			depth++
		case isOp(t, "}"):
			if depth--; depth <= 0 {
				p.at++
				return
			}
		}
	}
}

// firstWords returns the first n tokens of a statement as text.
func firstWords(stmt []token.Token, n int) string {
	s := ""
	for i := 0; i < n && i < len(stmt); i++ {
		if i > 0 {
			s += " "
		}
		s += stmt[i].Value
	}
	return s
}
