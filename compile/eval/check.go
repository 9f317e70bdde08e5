package eval

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/geom"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
	"perch/lang/unit"
)

// inquiry is what a condition has asked of the finished part so far.
type inquiry struct {
	facts   *check.Facts // inside a check, what its words mean
	standIn bool         // the facts are not those of a finished part
	limit   float64      // the right side of the comparison, NaN for none
	asks    check.Asks
	asked   *check.Query // the last query, with what it found
	found   check.Finding
	missing string // what was asked for and nobody knows
}

// conditions turns the checks of a part into conditions on its facts. Each is
// tried on stand-in facts first, so that a slip in it shows before a long
// build.
func (p *steps) conditions() []check.Check {
	var conds []ast.Expr
	for _, c := range p.checks {
		conds = apart(conds, c.Cond)
	}
	var out []check.Check
	told := false // the number of pieces
	for _, c := range conds {
		text := oneLine(c)
		told = told || strings.Contains(text, "pieces")
		for i := range p.mating {
			m := &p.mating[i]
			m.Checked = m.Checked || slices.Contains(strings.FieldsFunc(text, notOfName), m.Name)
		}
		judge := func(f check.Facts) (check.Outcome, diag.List) {
			o, _, faults := p.judge(c, f, false)
			return o, faults
		}
		_, asks, faults := p.judge(c, check.StandIn, true)
		for _, d := range faults {
			if !ofValues(d.Code) {
				p.e.report(d)
				p.bad = p.bad || d.Severity == diag.Error
			}
		}
		out = append(out, check.Check{At: c.Span(), Text: text, Judge: judge, Asks: asks})
	}
	if !told {
		out = append(out, check.OnePiece(p.decl.Name.Name, p.decl.Name.Span()))
	}
	return out
}

func notOfName(r rune) bool { return r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) }

// apart appends a condition, or its sides when these must both hold, so that
// each is judged by itself.
func apart(conds []ast.Expr, x ast.Expr) []ast.Expr {
	if b, ok := x.(*ast.Binary); ok && b.Op == "and" {
		return apart(apart(conds, b.X), b.Y)
	}
	return append(conds, x)
}

// ofValues reports whether a fault hangs on the values, not on their kinds.
func ofValues(c diag.Code) bool {
	switch c {
	case value.DivZero, value.NotFinite, value.PowerBad, builtin.Domain, builtin.NotWhole:
		return true
	}
	return false
}

// judge works a condition out on the facts of the finished part, and tells
// what it asks about. Checks of several parts may be judged at the same time.
func (p *steps) judge(cond ast.Expr, f check.Facts, standIn bool) (check.Outcome, check.Asks, diag.List) {
	j, e := *p.e, p.e // a branch of the evaluator with diagnostics of its own
	j.material, j.operations = p.material, nil
	j.sources, j.scatters = slices.Clone(e.sources), maps.Clone(e.scatters)
	j.diags, j.seen, j.frames, j.steps, j.stopped = nil, map[seenKey]bool{}, nil, 0, false
	if !standIn {
		j.bare = nil
	}
	j.inquiry = inquiry{facts: &f, standIn: standIn, limit: math.NaN()}
	o, _ := j.outcome(cond, p.scope)
	o.Asked, o.Found, o.Unknown = j.asked, j.found, cmp.Or(j.missing, j.found.Unknown)
	if m, ok := o.Margin(); ok {
		o.Causes = check.CausesOf(m, func(k int) string { return j.sources[k].Name })
	}
	return o, j.asks, j.diags
}

func (e *evaluator) outcome(x ast.Expr, s *scope) (check.Outcome, bool) {
	b, ok := x.(*ast.Binary)
	if !ok || !isComparison(b.Op) {
		pass, ok := e.condition(x, s)
		return check.Outcome{Pass: bool(pass)}, ok
	}
	left, right, op := b.X, b.Y, b.Op
	if figure(left) && !figure(right) { // `3mm <= gap` asks for gap >= 3mm
		left, right, op = right, left, mirrored[op]
	}
	w := e.expr(right, s)
	if n, ok := w.(value.Number); ok {
		e.limit = n.X
	}
	v := e.expr(left, s)
	m, ok1 := v.(value.Number)
	n, ok2 := w.(value.Number)
	if !ok1 || !ok2 {
		if value.IsBad(v) || value.IsBad(w) {
			return check.Outcome{}, false
		}
		pass, ok := e.condition(x, s)
		return check.Outcome{Pass: bool(pass)}, ok
	}
	pass, f := value.Compare(op, m, n)
	if f != nil {
		if left != b.X {
			m, n = n, m
		}
		e.operatorFault(b, f, m, n)
		return check.Outcome{}, false
	}
	return check.Outcome{Pass: pass, Op: op, Value: m.As(n.Dim), Limit: n.As(m.Dim)}, true
}

// mirrored comparisons hold with their sides changed over.
var mirrored = map[string]string{"<": ">", "<=": ">=", ">": "<", ">=": "<=", "=": "=", "!=": "!="}

// figure reports whether an expression is a plain number.
func figure(x ast.Expr) bool {
	if u, ok := x.(*ast.Unary); ok {
		x = u.X
	}
	_, ok := x.(*ast.Number)
	return ok
}

// word returns what a word of checks means for the finished part.
func (e *evaluator) word(w check.Word) value.Value {
	e.asks = max(e.asks, check.AsksPart)
	return value.Of(w.Of(*e.facts), w.Dim)
}

// AskUnknown is the code of a check that asks what cannot be asked.
const AskUnknown diag.Code = "ask-unknown"

// ask answers what a check asks of the finished part in words.
func (e *evaluator) ask(x *ast.Ask, s *scope) value.Value {
	words := make([]string, len(x.Words))
	for i, w := range x.Words {
		words[i] = w.Name
	}
	links := make([]string, len(x.Links))
	for i, l := range x.Links {
		links[i] = l.Word.Name
	}
	name := strings.Join(words, " ")
	q, ok := check.LookupQuery(name, links...)
	if !ok || e.facts == nil {
		return e.fault(x.Span(), unasked(name, oneLine(x)))
	}
	g := &check.Given{Limit: e.limit}
	good := true
	for _, l := range x.Links {
		b, ok := e.brought(q, l, s)
		good = good && ok
		g.Values = append(g.Values, b)
	}
	if !good {
		return value.Bad{}
	}
	return e.query(q, g)
}

// unasked is the fault of a question that does not exist: it names how
// questions of that name are put, or all.
func unasked(name, text string) *value.Fault {
	f := value.Faultf(AskUnknown, "a check cannot ask `%s`", text)
	var same []string
	for i := range check.Queries {
		if check.Queries[i].Name == name {
			write := "`" + check.Queries[i].Phrase() + "`"
			if strings.Contains(write, "TEMPERATURE") || strings.Contains(write, "MASS") {
				write += ", as in `" + check.Queries[i].Example + "`"
			}
			same = append(same, write)
		}
	}
	if len(same) > 0 {
		return f.Do("write %s", strings.Join(same, " or "))
	}
	if now, ok := check.Linked(name); ok {
		return f.Do("write `%s`", now)
	}
	if q, ok := check.Nearest(name); ok {
		return f.Do("did you mean `%s`?", q.Phrase())
	}
	if q, ok := check.Beginning(name); ok {
		return f.Do("did you mean `%s`?", q.Phrase())
	}
	return f.Do("ask one of: %s", strings.Join(check.Phrases(), ", "))
}

// brought evaluates the value behind a link.
func (e *evaluator) brought(q *check.Query, l ast.Link, s *scope) (check.Brought, bool) {
	out := check.Brought{Word: l.Word.Name}
	v := e.expr(l.Value, s)
	if value.IsBad(v) {
		return out, false
	}
	link := q.Link(out.Word)
	switch v := v.(type) {
	case *value.Body:
		if link.Takes == check.Body {
			out.Body = v
			e.asks = check.AsksNeighbour
			return out, true
		}
	case value.Point:
		if p, ok := spotOf(v); ok && link.Takes == check.Place {
			out.Point = p
			return out, true
		}
	case value.Number:
		for _, d := range link.Dims {
			if n := v.As(d); link.Takes == check.Quantity && n.Dim == d {
				out.X = n
				return out, true
			}
		}
	}
	is := describeWith(v)
	if p, ok := v.(value.Point); ok && link.Takes == check.Place {
		is = fmt.Sprintf("a point of %s", count(len(p), "coordinate"))
		if len(p) == 3 {
			is = "not one of three lengths"
		}
	}
	f := value.Faultf(WrongOperand, "`%s %s` takes %s, this is %s", q.Name, out.Word, link.Kind(), is)
	switch link.Takes {
	case check.Body:
		f.Do("name a mating body of the part")
	case check.Place:
		f.Do("write three lengths in parentheses: `(0, 0, 20mm)`")
	default:
		f.Do("write it as in `%s`", q.Example)
	}
	e.fault(l.Value.Span(), f)
	return out, false
}

// spotOf returns a point of three lengths.
func spotOf(p value.Point) (geom.Vec3, bool) {
	if len(p) != 3 {
		return geom.Vec3{}, false
	}
	var x [3]float64
	for i, n := range p {
		if n = n.As(unit.Length); n.Dim != unit.Length {
			return geom.Vec3{}, false
		}
		x[i] = n.X
	}
	return geom.Vec3{X: x[0], Y: x[1], Z: x[2]}, true
}

// query puts a query to the finished part.
func (e *evaluator) query(q *check.Query, g *check.Given) value.Value {
	f := check.Finding{Value: 1}
	if e.facts.Part != nil {
		f = e.facts.Part.Ask(q, g)
	}
	e.asks = max(e.asks, check.AsksPart)
	e.asked, e.found = q, f
	switch {
	case f.Unknown != "":
		return value.Bad{}
	case q.Flag:
		return value.Flag(f.Value != 0)
	}
	return value.Of(f.Value, q.Dim)
}

// Codes of cautions.
const (
	Cautioned      diag.Code = "caution"
	CautionUnknown diag.Code = "caution-unknown"
	FilterUnheld   diag.Code = "filter-unheld"
)

// retainers is the name by which a part tells how many retainers, besides
// friction, hold the filter in it.
const retainers = "retainers"

// holdsFilter is the caution of a part that holds a solar filter.
const holdsFilter = "filter"

// saying is a caution that a part states.
type saying struct {
	word string
	at   source.Span
	text string
}

func (s saying) diagnostic() diag.Diagnostic {
	return diag.Diagnostic{Code: Cautioned, Severity: diag.Info, At: s.at, Message: s.text}
}

// held refuses a filter that nothing but friction holds: it falls or blows off,
// and what stands behind it looks into the Sun.
func (p *steps) held() {
	said := slices.IndexFunc(p.said, func(c saying) bool { return c.word == holdsFilter })
	if said < 0 {
		return
	}
	n, told := 0, false
	at := p.decl.Name.Span()
	if b, ok := p.scope.lookup(retainers); ok {
		if x, ok := b.value.(value.Number); ok {
			n, told = x.Whole()
			at = b.at
		}
	}
	if why := check.HeldBy(n, told); why != "" {
		p.bad = true
		p.e.fault(at, value.Faultf(FilterUnheld, "part %s is refused: %s", p.decl.Name.Name, why).
			Why("a filter that falls or blows off lets the Sun into the telescope: eye damage is instant and painless").
			Do("hold it by two retainers or more that do not hang on each other, such as screws, and say so: `let retainers = 3`"))
		return
	}
	p.e.report(p.said[said].diagnostic())
}

// meant proposes the word that was meant, or tells all there are.
func meant(word string, words []string) string {
	if s, ok := spell.Nearest(word, words); ok {
		return "did you mean `" + s + "`?"
	}
	return "the cautions are: " + strings.Join(words, ", ")
}

// caution shows the cautions that a part asks for.
func (p *steps) caution(st *ast.Caution) {
	var words []string
	for _, c := range check.Cautions {
		words = append(words, c.Word)
	}
	for _, w := range st.Words {
		i := slices.Index(words, w.Name)
		if i < 0 {
			p.e.fault(w.Span(), value.Faultf(CautionUnknown, "there is no caution called `%s`", w.Name).Do("%s", meant(w.Name, words)))
			p.bad = true
			continue
		}
		c := saying{w.Name, w.Span(), check.Cautions[i].Text}
		p.said = append(p.said, c)
		if w.Name != holdsFilter { // which is looked at when all steps are known
			p.e.report(c.diagnostic())
		}
	}
}
