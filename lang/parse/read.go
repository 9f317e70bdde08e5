package parse

import (
	"sort"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/token"
)

// read gives the tokens of one statement to a grammar. kind names the
// statement for messages. On a fault it reports it and returns false.
//
// A statement that is an unchanged piece of the text is read where it stands:
// no grammar takes the line end or brace behind it.
func read[G any](p *parser, g *participle.Parser[G], kind string, stmt []token.Token) (*G, bool) {
	if &stmt[0] == &p.toks[p.first] {
		p.lex.FastForward(lexer.RawCursor(p.first - 1))
		p.cur = newStream(p.lex, p.toks)
		return readFrom(p, g, kind, stmt, p.first)
	}
	lex := peeking(stmt)
	p.cur = newStream(lex, stmt)
	return readFrom(p, g, kind, stmt, 0)
}

// stream is the tokens that the latest statement is a part of, with a lexer
// over them.
type stream struct {
	lex   *lexer.PeekingLexer
	toks  []token.Token
	start lexer.Checkpoint // where the statement begins
	inner lexer.Checkpoint // where the latest inner list begins
}

func newStream(lex *lexer.PeekingLexer, toks []token.Token) stream {
	here := lex.MakeCheckpoint()
	return stream{lex, toks, here, here}
}

// moveTo moves the lexer to token i. Most lists are read in the order of the
// text, so the way leads from the one before.
func (s *stream) moveTo(i int) {
	from := s.inner
	if int(from.RawCursor()) > i {
		from = s.start
	}
	s.lex.LoadCheckpoint(from)
	s.lex.FastForward(lexer.RawCursor(i - 1))
	s.inner = s.lex.MakeCheckpoint()
}

// readInner gives a list in parentheses of the latest statement to a grammar.
func readInner[G any](p *parser, g *participle.Parser[G], kind string, inner []token.Token) (*G, bool) {
	offset := inner[0].Pos.Offset
	first := sort.Search(len(p.cur.toks), func(i int) bool { return p.cur.toks[i].Pos.Offset >= offset })
	p.cur.moveTo(first)
	return readFrom(p, g, kind, inner, first)
}

// parse reads a statement, by its own Parse where it has one.
func parse[G any](g *participle.Parser[G], lex *lexer.PeekingLexer) (*G, error) {
	tree := new(G)
	if p, ok := any(tree).(participle.Parseable); ok {
		return tree, must(lex, p.Parse(lex))
	}
	return g.ParseFromLexer(lex, participle.AllowTrailing(true))
}

// readFrom reads stmt, which begins at the token first of the current stream.
func readFrom[G any](p *parser, g *participle.Parser[G], kind string, stmt []token.Token, first int) (*G, bool) {
	tree, err := parse(g, p.cur.lex)
	at := int(p.cur.lex.RawCursor()) - first
	if e, ok := err.(participle.Error); ok {
		for at = 0; at < len(stmt) && stmt[at].Pos.Offset < e.Position().Offset; {
			at++
		}
	}
	if err == nil && at == len(stmt) {
		return tree, true
	}
	p.explain(kind, stmt, at)
	return nil, false
}

// peeking returns a lexer over toks and, if it is missing, the end behind them.
func peeking(toks []token.Token) *lexer.PeekingLexer {
	lex, err := lexer.Upgrade(&list{toks: toks})
	if err != nil {
		panic(err) // list never fails
	}
	return lex
}

// list hands out tokens that are already cut.
type list struct {
	toks []token.Token
	i    int
}

func (l *list) Next() (token.Token, error) {
	if l.i < len(l.toks) {
		l.i++
		return l.toks[l.i-1], nil
	}
	t := token.Token{Type: token.EOF}
	if n := len(l.toks); n > 0 {
		t.Pos.Offset = end(l.toks[n-1])
	}
	return t, nil
}

// sound checks the tokens of a statement before the grammar sees them, and
// drops commas that stand before a closing parenthesis.
func (p *parser) sound(stmt []token.Token) ([]token.Token, bool) {
	if len(stmt) > maxStatement {
		p.fault(diag.Diagnostic{
			Code: "statement-long", At: p.spanOf(stmt[0]),
			Message: "this statement is too long",
			Notes:   []string{diag.Do("divide it: give names to pieces of it with `let`")},
		})
		return nil, false
	}
	var open []token.Token
	trailing := false
	for i, t := range stmt {
		switch {
		case t.Type == token.Stray, t.Type == token.OpenString:
			p.strayToken(stmt, i)
			return nil, false
		case isOp(t, "("):
			open = append(open, t)
			if len(open) > maxDepth {
				p.fault(diag.Diagnostic{
					Code: "nesting-deep", At: p.spanOf(t),
					Message: "parentheses stand more than 200 deep here",
					Notes:   []string{diag.Do("give names to the inner pieces with `let`")},
				})
				return nil, false
			}
		case isOp(t, ")"):
			if len(open) == 0 {
				p.fault(diag.Diagnostic{
					Code: "paren-stray", At: p.spanOf(t),
					Message: "this `)` closes nothing",
					Notes:   []string{diag.Do("take it out, or add the `(` that is missing before it")},
				})
				return nil, false
			}
			open = open[:len(open)-1]
			trailing = trailing || i > 1 && isOp(stmt[i-1], ",")
		}
	}
	if len(open) > 0 {
		p.fault(diag.Diagnostic{
			Code: "paren-open", At: p.spanOf(open[len(open)-1]),
			Message: "this `(` is not closed",
			Notes:   []string{diag.Do("add the `)` that is missing")},
		})
		return nil, false
	}
	if !p.slips(stmt) {
		return nil, false
	}
	if trailing {
		stmt = withoutTrailing(stmt)
	}
	return stmt, true
}

func withoutTrailing(stmt []token.Token) []token.Token {
	out := make([]token.Token, 0, len(stmt))
	for i, t := range stmt {
		if isOp(t, ",") && i+1 < len(stmt) && isOp(stmt[i+1], ")") && i > 0 && !isOp(stmt[i-1], "(") && !isOp(stmt[i-1], ",") {
			continue
		}
		out = append(out, t)
	}
	return out
}

// mark gives Head, Sweep and Carry to the tokens of a statement that may hold
// bodies.
func mark(stmt []token.Token) []token.Token {
	for i := range stmt {
		t := &stmt[i]
		switch {
		case t.Type == token.Op && t.Value == ",":
			if clauseAt(stmt, i+1) {
				t.Type = token.Carry
			}
		case t.Type == token.Ident && (i == 0 || i == 1 && makes(stmt[0].Value) || !endsOperand(stmt[i-1])):
			if token.IsSweep(t.Value) && i+1 < len(stmt) && startsOperand(stmt[i+1]) && !isOp(stmt[i+1], "-") {
				t.Type = token.Sweep
			} else if headAt(stmt, i) {
				t.Type = token.Head
			}
		}
	}
	return stmt
}

// makes reports whether word begins a step that changes the body.
func makes(word string) bool { return word == "join" || word == "cut" || word == "trim" }

// endsOperand reports whether a word after t stands in the place of a clause
// word and not of an operand.
func endsOperand(t token.Token) bool {
	return t.Type == token.Ident && !token.Clause(t.Value) || t.Type == token.Number || t.Type == token.String || isOp(t, ")")
}

func startsOperand(t token.Token) bool {
	return isOperand(&t) || isPrefix(&t) || isOp(t, "(")
}

// headAt reports whether the word at i begins a body: a known head or, for a
// good message, another word before what can only be a body's clause.
func headAt(stmt []token.Token, i int) bool {
	if i+1 >= len(stmt) || stmt[i+1].Type != token.Ident {
		return false
	}
	next := stmt[i+1].Value
	if token.IsHead(stmt[i].Value) {
		return true
	}
	return !token.Clause(stmt[i].Value) && token.Clause(next) && !token.Placing(next) &&
		next != "to" && next != "through" && next != "about" && next != "along" && next != "by" &&
		i+2 < len(stmt) && startsOperand(stmt[i+2])
}

// clauseAt reports whether, after a comma, a clause of the same body goes on
// at i and not the next body of a list.
func clauseAt(stmt []token.Token, i int) bool {
	if i+1 >= len(stmt) || stmt[i].Type != token.Ident {
		return false
	}
	word, next := stmt[i].Value, stmt[i+1]
	switch {
	case token.IsHead(word), token.IsSweep(word):
		return false
	case token.Clause(word):
		return startsOperand(next)
	case next.Type == token.Number, next.Type == token.String:
		return true
	case next.Type == token.Ident:
		return !token.Clause(next.Value)
	case next.Value == "left", next.Value == "right": // the ends of a body along x
		return true
	}
	return false
}

func (p *parser) at1(toks []token.Token) ast.At { return ast.At{Place: p.spanAll(toks)} }

func (p *parser) endOf(stmt []token.Token) source.Span {
	n := end(stmt[len(stmt)-1])
	return source.Span{File: p.src, Start: n, End: n}
}
