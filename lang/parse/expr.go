package parse

import (
	"math"
	"strconv"
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/token"
	"perch/lang/unit"
)

// Precedence of the binary operators, lowest first; `not` stands between `and`
// and the comparisons, the sign between * and ^.
const (
	precOr = iota + 1
	precAnd
	precCompare
	precSum
	precProduct
	precPower
)

func precedence(t *token.Token) int {
	switch t.Type {
	case token.Keyword:
		switch t.Value {
		case "or":
			return precOr
		case "and":
			return precAnd
		}
	case token.Op:
		switch t.Value {
		case "=", "!=", "<", "<=", ">", ">=":
			return precCompare
		case "+", "-":
			return precSum
		case "*", "/":
			return precProduct
		case "^":
			return precPower
		}
	}
	return 0
}

// reader reads one expression whose tokens the grammar has delimited: operands
// and operators are known to alternate.
type reader struct {
	p      *parser
	toks   []token.Token
	i      int
	asking bool // two words in a row are an ast.Ask
}

// condition lowers what a check states.
func (p *parser) condition(c *condition) ast.Expr {
	r := reader{p: p, toks: c.toks, asking: true}
	return r.binary(precOr)
}

// value lowers an expression.
func (p *parser) value(v *value) ast.Expr {
	if v == nil {
		return nil
	}
	r := reader{p: p, toks: v.toks}
	return r.binary(precOr)
}

func (p *parser) values(list []*value) []ast.Expr {
	out := make([]ast.Expr, 0, len(list))
	for _, v := range list {
		out = append(out, p.value(v))
	}
	return out
}

var none token.Token

func (r *reader) peek() *token.Token {
	if r.i < len(r.toks) {
		return &r.toks[r.i]
	}
	return &none
}

func (r *reader) next() token.Token {
	t := *r.peek()
	r.i++
	return t
}

func covering(a, b ast.Node) ast.At { return ast.At{Place: a.Span().To(b.Span())} }

func (r *reader) binary(least int) ast.Expr {
	left := r.unary(least)
	for compared := false; ; {
		prec := precedence(r.peek())
		if prec == 0 || prec < least {
			return left
		}
		op := r.next()
		if prec == precCompare && compared {
			r.p.fault(diag.Diagnostic{
				Code: "compare-chain", At: r.p.spanOf(op),
				Message: "two comparisons cannot stand in one chain",
				Notes:   []string{diag.Do("write them apart, joined by `and`: `a < b and b < c`")},
			})
		}
		compared = compared || prec == precCompare
		right := r.binary(prec + 1)
		if op.Value == "/" {
			r.p.fraction(left, right, op)
		}
		left = &ast.Binary{At: covering(left, right), Op: op.Value, OpAt: r.p.spanOf(op), X: left, Y: right}
	}
}

// fraction reports a number in fractions of an inch, or of another length, that
// reads as a division by one: `1/4in`.
func (p *parser) fraction(left, right ast.Expr, op token.Token) {
	a, ok1 := left.(*ast.Number)
	b, ok2 := right.(*ast.Number)
	if !ok1 || !ok2 || a.Unit != "" || b.Value <= 1 || a.Value != math.Trunc(a.Value) || b.Value != math.Trunc(b.Value) {
		return
	}
	u, err := unit.Parse(b.Unit)
	at := a.Place.To(b.Place)
	if err != nil || u.Dim != unit.Length || a.Place.End != op.Pos.Offset || b.Place.Start != end(op) {
		return
	}
	now := strconv.FormatFloat(math.Round(a.Value/b.Value*1e6)/1e6, 'f', -1, 64) + b.Unit
	p.fault(diag.Diagnostic{
		Code: "unit-fraction", At: at,
		Message: "`" + at.Text() + "` is " + a.Place.Text() + " divided by " + b.Place.Text() + ", since a unit belongs to the number before it",
		Notes:   []string{diag.Do("write `" + now + "`; if the division is meant, put spaces round the `/`")},
		Fixes:   []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: at, New: now}}}},
	})
}

func (r *reader) unary(least int) ast.Expr {
	t := r.peek()
	switch {
	case t.Type == token.Op && t.Value == "-":
		return r.prefix(r.unary)
	case t.Type == token.Keyword && t.Value == "not":
		return r.prefix(func(int) ast.Expr { return r.binary(precCompare) })
	}
	return r.power()
}

func (r *reader) prefix(operand func(least int) ast.Expr) ast.Expr {
	op := r.next()
	x := operand(precPower)
	return &ast.Unary{At: ast.At{Place: r.p.spanOf(op).To(x.Span())}, Op: op.Value, X: x}
}

// power reads a base and its exponent; powers group from the right.
func (r *reader) power() ast.Expr {
	base := r.postfix()
	if t := r.peek(); t.Type != token.Op || t.Value != "^" {
		return base
	}
	op := r.next()
	exponent := r.unary(precPower)
	return &ast.Binary{At: covering(base, exponent), Op: "^", OpAt: r.p.spanOf(op), X: base, Y: exponent}
}

func (r *reader) postfix() ast.Expr {
	x := r.primary()
	for {
		t := r.peek()
		if t.Type != token.Op {
			return x
		}
		switch t.Value {
		case ".":
			r.next()
			name := r.p.ident(r.next())
			x = &ast.Member{At: covering(x, name), X: x, Name: name}
		case "(":
			inner, all := r.parens()
			x = &ast.Call{At: ast.At{Place: x.Span().To(all)}, Fn: x, Args: r.p.args(inner)}
		default:
			return x
		}
	}
}

func (r *reader) primary() ast.Expr {
	t := r.peek()
	switch {
	case t.Type == token.Number:
		return r.p.number(r.next())
	case t.Type == token.String:
		return r.p.text(r.next())
	case t.Type == token.Op: // the parenthesis
		inner, all := r.parens()
		return r.p.tuple(inner, all)
	case t.Type == token.Keyword && t.Value == "if":
		return r.conditional()
	}
	t2 := r.next()
	if r.asking && isWord(r.peek()) {
		return r.ask(t2)
	}
	return &ast.Ref{At: ast.At{Place: r.p.spanOf(t2)}, Name: t2.Value}
}

// ask reads the words behind the first, and the values they bring in.
func (r *reader) ask(first token.Token) ast.Expr {
	x := &ast.Ask{At: ast.At{Place: r.p.spanOf(first)}, Words: []ast.Ident{r.p.ident(first)}}
	for isWord(r.peek()) {
		link := isLink(r.peek())
		word := r.p.ident(r.next())
		if !link {
			x.Words = append(x.Words, word)
			x.Place = x.Place.To(word.Place)
			continue
		}
		r.asking = false
		v := r.unary(precPower)
		r.asking = true
		x.Links = append(x.Links, ast.Link{At: covering(word, v), Word: word, Value: v})
		x.Place = x.Place.To(v.Span())
	}
	return x
}

func (r *reader) conditional() ast.Expr {
	at := r.p.spanOf(r.next())
	x := &ast.If{Cond: r.binary(precOr)}
	r.next() // then
	x.Then = r.binary(precOr)
	r.next() // else
	x.Else = r.binary(precOr)
	x.Place = at.To(x.Else.Span())
	return x
}

// parens passes over a pair of parentheses; it returns the tokens within and
// the span of the whole.
func (r *reader) parens() (inner []token.Token, all source.Span) {
	open := r.i
	shut := closing(r.toks, open)
	r.i = shut + 1
	return r.toks[open+1 : shut : shut], r.p.spanOf(r.toks[open]).To(r.p.spanOf(r.toks[shut]))
}

// args reads what stands between the parentheses of a call.
func (p *parser) args(inner []token.Token) []ast.Arg {
	if len(inner) == 0 {
		return nil
	}
	if isPlain(inner) {
		return p.plainArgs(inner)
	}
	g, ok := readInner(p, argsGrammar, "args", inner)
	if !ok {
		return nil
	}
	var out []ast.Arg
	for _, a := range g.List {
		out = append(out, ast.Arg{At: ast.At{Place: p.spanAll(a.Tokens)}, Name: p.ident(a.Name), Value: p.argument(a.Value)})
	}
	return out
}

// isPlain reports whether a list holds no bodies and no names, so that it is
// operands and operators only.
func isPlain(toks []token.Token) bool {
	operand := true // expected next
	for i := 0; i < len(toks); i++ {
		t := &toks[i]
		switch {
		case t.Type == token.Op && t.Value == "(":
			if !operand && toks[i-1].Type != token.Ident {
				return false
			}
			i = closing(toks, i)
			operand = false
		case t.Type == token.Op && t.Value == ",":
			if operand {
				return false
			}
			operand = true
		case t.Type == token.Op && t.Value == ".":
			if operand || i+1 == len(toks) || toks[i+1].Type != token.Ident {
				return false
			}
			operand = true
		case precedence(t) > 0:
			if operand && t.Value != "-" {
				return false
			}
			operand = true
		case t.Type == token.Ident || t.Type == token.Number || t.Type == token.String:
			if !operand {
				return false
			}
			operand = false
		default:
			return false
		}
	}
	return !operand
}

// closing returns the index of the parenthesis that closes the one at i.
func closing(toks []token.Token, i int) int {
	for depth := 0; ; i++ {
		if toks[i].Type != token.Op {
			continue
		}
		switch toks[i].Value {
		case "(":
			depth++
		case ")":
			if depth--; depth == 0 {
				return i
			}
		}
	}
}

// plainArgs reads a list that isPlain.
func (p *parser) plainArgs(inner []token.Token) []ast.Arg {
	r := reader{p: p, toks: inner}
	var out []ast.Arg
	for {
		x := r.binary(precOr)
		out = append(out, ast.Arg{At: ast.At{Place: x.Span()}, Value: x})
		if r.i >= len(r.toks) {
			return out
		}
		r.next()
	}
}

// tuple reads what stands between parentheses that follow no name: a grouped
// expression, or a tuple when there are several. A comma behind `less` goes on
// with what is taken away, as it does without the parentheses.
func (p *parser) tuple(inner []token.Token, all source.Span) ast.Expr {
	elems := p.elems(inner, all)
	if len(elems) == 1 {
		return grouped(elems[0], all)
	}
	return &ast.Tuple{At: ast.At{Place: all}, Elems: elems}
}

func (p *parser) elems(inner []token.Token, all source.Span) []ast.Expr {
	var out []ast.Expr
	switch {
	case len(inner) == 0:
		p.fault(diag.Diagnostic{
			Code: "tuple-empty", At: all,
			Message: "nothing stands between these parentheses",
			Notes:   []string{diag.Do("write the coordinates or the value they should hold, such as `(0, 0)`")},
		})
	case len(inner) > 1 && isWord(&inner[0]) && isOp(inner[1], ":"):
		p.fault(diag.Diagnostic{
			Code: "tuple-name", At: p.spanOf(inner[0]),
			Message: "`" + inner[0].Value + ":` names an argument, but these parentheses follow no function",
			Notes:   []string{diag.Do("leave the name out, or put the function's name before the `(`")},
		})
	case isPlain(inner):
		for _, a := range p.plainArgs(inner) {
			out = append(out, a.Value)
		}
	default:
		if g, ok := readInner(p, tupleGrammar, "tuple", inner); ok {
			for _, b := range g.List {
				out = append(out, p.body(b))
			}
		}
	}
	return out
}

// grouped widens a node by the parentheses around it, so that spans of what
// contains it stay balanced.
func grouped(x ast.Expr, all source.Span) ast.Expr {
	switch x := x.(type) {
	case *ast.Number:
		x.Place = all
	case *ast.String:
		x.Place = all
	case *ast.Ref:
		x.Place = all
	case *ast.Member:
		x.Place = all
	case *ast.Call:
		x.Place = all
	case *ast.Unary:
		x.Place = all
	case *ast.Binary:
		x.Place = all
	case *ast.Tuple:
		x.Place = all
	case *ast.If:
		x.Place = all
	case *ast.Ask:
		x.Place = all
	case *ast.Phrase:
		x.Place = all
	case *ast.Combine:
		x.Place = all
	}
	return x
}

func (p *parser) number(t token.Token) ast.Expr {
	n := token.UnitStart(t.Value)
	at := p.spanOf(t)
	x := &ast.Number{At: ast.At{Place: at}, Unit: t.Value[n:], UnitAt: source.Span{File: p.src, Start: at.Start + n, End: at.End}}
	v, err := strconv.ParseFloat(t.Value[:n], 64)
	if err != nil || math.IsInf(v, 0) {
		p.fault(diag.Diagnostic{
			Code: "number-too-large", At: at,
			Message: "this number is too large",
			Notes:   []string{diag.Do("write a size that a printer can make")},
		})
	}
	x.Value = v
	if _, err := unit.Parse(x.Unit); err != nil {
		p.badUnit(x, err)
	}
	return x
}

func (p *parser) badUnit(x *ast.Number, err error) {
	d := diag.Diagnostic{Code: "unit-unknown", At: x.UnitAt, Message: err.Error()}
	if bad, ok := err.(*unit.UnknownError); ok {
		d.Message = "unknown unit `" + bad.Word + "`"
		if f, ok := p.factorOf(x.Place.Text()[:x.UnitAt.Start-x.Place.Start], bad.Word, x.Place); ok && x.Unit == bad.Word {
			p.fault(f)
			return
		}
		if bad.Suggest != "" {
			at := source.Span{File: p.src, Start: x.UnitAt.Start + strings.Index(x.Unit, bad.Word)}
			at.End = at.Start + len(bad.Word)
			d.At = at
			d.Notes = append(d.Notes, diag.Do("did you mean `"+bad.Suggest+"`?"))
			d.Fixes = []diag.Fix{{Text: "write `" + bad.Suggest + "`", Edits: []diag.Edit{{At: at, New: bad.Suggest}}}}
		} else {
			if bad.Word == "%" {
				d.Notes = append(d.Notes, diag.Do("write a share as a plain number: `0.05` for 5 %, and `0.05 * lead` for 5 % of a value"))
			} else {
				d.Notes = append(d.Notes, diag.Do("the units are "+strings.Join(unit.Words(), ", ")+", and products of them such as g/cm^3"))
			}
		}
	} else {
		d.Notes = append(d.Notes, diag.Do("write a unit that a workshop uses, such as mm, mm^2 or g/cm^3"))
	}
	p.fault(d)
}

// text lowers a string.
func (p *parser) text(t token.Token) ast.Expr {
	return &ast.String{At: ast.At{Place: p.spanOf(t)}, Value: p.unescape(t)}
}

func (p *parser) unescape(t token.Token) string {
	raw := t.Value[1 : len(t.Value)-1]
	if !strings.Contains(raw, `\`) {
		return raw
	}
	var b strings.Builder
	for i := 0; i < len(raw); i++ {
		if raw[i] != '\\' {
			b.WriteByte(raw[i])
			continue
		}
		i++
		switch raw[i] {
		case '"', '\\':
			b.WriteByte(raw[i])
		case 'n':
			b.WriteByte('\n')
		default:
			start := t.Pos.Offset + i
			p.fault(diag.Diagnostic{
				Code: "text-escape", At: source.Span{File: p.src, Start: start, End: start + 1},
				Message: "unknown mark after `\\` in a text",
				Notes:   []string{diag.Do("write `\\\"` for a quote, `\\\\` for a backslash, `\\n` for a new line")},
			})
		}
	}
	return b.String()
}
