package eval

import (
	"cmp"
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
)

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
		judge := func(f check.Facts) (check.Outcome, diag.List) { return p.judge(c, f, false) }
		_, faults := p.judge(c, check.Facts{Volume: 1, Surface: 1, Mass: 1, Size: geom.Vec3{X: 1, Y: 1, Z: 1}, Pieces: 1}, true)
		for _, d := range faults {
			if !ofValues(d.Code) {
				p.e.report(d)
				p.bad = p.bad || d.Severity == diag.Error
			}
		}
		out = append(out, check.Check{At: c.Span(), Text: text, Judge: judge})
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

// judge works a condition out on the facts of the finished part. Checks of
// several parts may be judged at the same time.
func (p *steps) judge(cond ast.Expr, f check.Facts, standIn bool) (check.Outcome, diag.List) {
	j, e := *p.e, p.e // a branch of the evaluator with diagnostics of its own
	j.material, j.missing = p.material, ""
	j.standIn = standIn
	j.sources, j.scatters = slices.Clip(e.sources), maps.Clone(e.scatters)
	j.operations = nil
	if !standIn {
		j.bare = nil
	}
	j.facts, j.diags, j.seen, j.frames, j.steps, j.stopped = &f, nil, map[seenKey]bool{}, nil, 0, false
	j.limit, j.asked, j.found = math.NaN(), nil, check.Finding{}
	o, _ := j.outcome(cond, p.scope)
	o.Asked, o.Found, o.Unknown = j.asked, j.found, cmp.Or(j.missing, j.found.Unknown)
	return o, j.diags
}

func (e *evaluator) outcome(x ast.Expr, s *scope) (check.Outcome, bool) {
	b, ok := x.(*ast.Binary)
	if !ok || !isComparison(b.Op) {
		pass, ok := e.condition(x, s)
		return check.Outcome{Pass: bool(pass)}, ok
	}
	w := e.expr(b.Y, s)
	if n, ok := w.(value.Number); ok {
		e.limit = n.X
	}
	v := e.expr(b.X, s)
	m, ok1 := v.(value.Number)
	n, ok2 := w.(value.Number)
	if !ok1 || !ok2 {
		if value.IsBad(v) || value.IsBad(w) {
			return check.Outcome{}, false
		}
		pass, ok := e.condition(x, s)
		return check.Outcome{Pass: bool(pass)}, ok
	}
	pass, f := value.Compare(b.Op, m, n)
	if f != nil {
		e.operatorFault(b, f, m, n)
		return check.Outcome{}, false
	}
	return check.Outcome{Pass: pass, Op: b.Op, Value: m.As(n.Dim), Limit: n.As(m.Dim)}, true
}

// AskUnknown is the code of a check that asks what cannot be asked.
const AskUnknown diag.Code = "ask-unknown"

// ask answers what a check asks of the finished part in words.
func (e *evaluator) ask(x *ast.Ask, s *scope) value.Value {
	words := make([]string, len(x.Words))
	for i, w := range x.Words {
		words[i] = w.Name
	}
	link := ""
	if len(x.Links) == 1 {
		link = x.Links[0].Word.Name
	}
	q, ok := check.LookupQuery(strings.Join(words, " "), link)
	if !ok || len(x.Links) > 1 || e.facts == nil {
		return e.fault(x.Span(), value.Faultf(AskUnknown, "a check cannot ask `%s`", oneLine(x)).
			Do("ask one of: %s", strings.Join(check.Phrases(), ", ")))
	}
	if link == "" {
		return e.query(q, nil)
	}
	v := e.expr(x.Links[0].Value, s)
	if value.IsBad(v) {
		return value.Bad{}
	}
	b, ok := v.(*value.Body)
	if !ok {
		return e.fault(x.Links[0].Value.Span(), value.Faultf(WrongOperand, "`%s %s` takes a body, this is %s", q.Name, link, value.Describe(v)).
			Do("name a mating body of the part"))
	}
	return e.query(q, b)
}

// query puts a query to the finished part.
func (e *evaluator) query(q *check.Query, to *value.Body) value.Value {
	f := check.Finding{Value: 1}
	if e.facts.Part != nil {
		f = q.Find(e.facts.Part, to, e.limit)
	}
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
)

// caution shows the cautions that a part asks for.
func (p *steps) caution(st *ast.Caution) {
	var words []string
	for _, c := range check.Cautions {
		words = append(words, c.Word)
	}
	for _, w := range st.Words {
		i := slices.Index(words, w.Name)
		if i < 0 {
			p.e.fault(w.Span(), value.Faultf(CautionUnknown, "there is no caution called `%s`", w.Name).Do("the cautions are: %s", strings.Join(words, ", ")))
			p.bad = true
			continue
		}
		p.e.report(diag.Diagnostic{Code: Cautioned, Severity: diag.Info, At: w.Span(), Message: check.Cautions[i].Text})
	}
}
