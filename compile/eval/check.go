package eval

import (
	"maps"
	"slices"
	"strings"

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
		text := strings.Join(strings.Fields(c.Span().Text()), " ")
		told = told || strings.Contains(text, "pieces")
		judge := func(f check.Facts) (check.Outcome, diag.List) { return p.e.judge(c, p.scope, f, false) }
		_, faults := p.e.judge(c, p.scope, check.Facts{Volume: 1, Surface: 1, Mass: 1, Size: geom.Vec3{X: 1, Y: 1, Z: 1}, Pieces: 1}, true)
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
func (e *evaluator) judge(cond ast.Expr, s *scope, f check.Facts, standIn bool) (check.Outcome, diag.List) {
	j := *e // a branch of the evaluator with diagnostics of its own
	j.standIn = standIn
	j.sources, j.scatters = slices.Clip(e.sources), maps.Clone(e.scatters)
	j.facts, j.diags, j.seen, j.frames, j.steps, j.stopped = &f, nil, map[seenKey]bool{}, nil, 0, false
	o, _ := j.outcome(cond, s)
	return o, j.diags
}

func (e *evaluator) outcome(x ast.Expr, s *scope) (check.Outcome, bool) {
	b, ok := x.(*ast.Binary)
	if !ok || !isComparison(b.Op) {
		pass, ok := e.condition(x, s)
		return check.Outcome{Pass: bool(pass)}, ok
	}
	v, w := e.expr(b.X, s), e.expr(b.Y, s)
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
