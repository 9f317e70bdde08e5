package eval

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/geom"
	"perch/compile/solve"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/unit"
)

// expr evaluates an expression in value position: a sketch or a part whose
// parameters all have defaults stands for itself.
func (e *evaluator) expr(x ast.Expr, s *scope) value.Value {
	if x == nil || !e.step(x.Span()) {
		return value.Bad{} // nil: a piece that did not parse
	}
	switch x := x.(type) {
	case *ast.Number:
		return e.number(x)
	case *ast.String:
		return value.Text(x.Value)
	case *ast.Ref:
		return e.settle(x, e.ref(x, s))
	case *ast.Member:
		return e.settle(x, e.member(x, s))
	case *ast.Call:
		return e.call(x, s)
	case *ast.Unary:
		return e.unary(x, s)
	case *ast.Binary:
		return e.binary(x, s)
	case *ast.Tuple:
		return e.tuple(x, s)
	case *ast.If:
		return e.choose(x, s)
	case *ast.Phrase:
		return e.phrase(x, s)
	case *ast.Combine:
		return e.combine(x, s)
	case *ast.Ask:
		return e.ask(x, s)
	}
	return value.Bad{}
}

// settle turns a callable that stands without parentheses into its value.
func (e *evaluator) settle(x ast.Expr, v value.Value) value.Value {
	switch f := v.(type) {
	case *sketchDef, *partDef:
		return e.invoke(&ast.Call{At: ast.At{Place: x.Span()}, Fn: x}, f.(callable), nil)
	case callable:
		return e.fault(x.Span(), value.Faultf(NotCallable, "`%s` stands for a function, not for a value", x.Span().Text()).Do("call it with its arguments: `%s`", f.form()))
	}
	return v
}

func (e *evaluator) number(x *ast.Number) value.Value {
	u, err := unit.Parse(x.Unit)
	if err != nil {
		return value.Bad{} // reported by the parser
	}
	n := value.Of(float64(x.Value*u.Factor), u.Dim)
	n.Any = x.Value == 0 && x.Unit == ""
	return n
}

func (e *evaluator) ref(x *ast.Ref, s *scope) value.Value {
	switch x.Name {
	case "true":
		return value.Flag(true)
	case "false":
		return value.Flag(false)
	}
	if b, ok := s.lookup(x.Name); ok {
		if e.standIn {
			e.hidden(x, b)
		}
		return b.value
	}
	if w, ok := check.Lookup(x.Name); ok && e.facts != nil {
		return e.word(w)
	}
	if q, ok := check.LookupQuery(x.Name); ok && e.facts != nil {
		return e.query(q, &check.Given{Limit: e.limit})
	}
	if c, ok := builtin.LookupConstant(x.Name); ok {
		return c.Value
	}
	switch x.Name {
	case builtin.MaterialWord:
		return e.printedIn(x)
	case workshop.Word, workshop.FitWord:
		return e.ofShop(x)
	case builtin.SizeWord:
		return value.Text(e.row)
	}
	if f, ok := builtin.LookupFunction(x.Name); ok {
		return &builtinFunc{f}
	}
	return e.unknown(x, s)
}

// hidden warns when a name of the file hides what a check could ask of the
// finished part.
func (e *evaluator) hidden(x *ast.Ref, b binding) {
	var asked string
	if w, ok := check.Lookup(x.Name); ok {
		asked = w.Doc
	} else if q, ok := check.LookupQuery(x.Name); ok {
		asked = q.Doc
	} else {
		return
	}
	e.report(diag.Diagnostic{
		Code: CheckHidden, Severity: diag.Warning, At: x.Span(),
		Message: fmt.Sprintf("`%s` here is the value of that name, not %s", x.Name, asked),
		Labels:  []diag.Label{{At: b.at, Text: "declared here"}},
		Notes:   []string{diag.Do("give the value another name if the check is about the finished part")},
	})
}

func (e *evaluator) unknown(x *ast.Ref, s *scope) value.Value {
	f := value.Faultf(NameUnknown, "nothing is called `%s` here", x.Name)
	if w, ok := check.Lookup(x.Name); ok {
		f.Why("%s is known in a check only, when the part is finished", w.Doc)
		return e.fault(x.Span(), f)
	}
	if slices.ContainsFunc(check.Queries, func(q check.Query) bool { return q.Name == x.Name }) && e.facts != nil {
		return e.fault(x.Span(), unasked(x.Name, x.Name))
	}
	names := append(s.visible(), builtin.Names()...)
	if e.facts != nil {
		for _, w := range check.Words {
			names = append(names, w.Name)
		}
	}
	if f.Notes = nearest(x.Name, names); len(f.Notes) == 0 {
		f.Do("declare it above, or correct the name")
	}
	return e.fault(x.Span(), f)
}

func (e *evaluator) member(x *ast.Member, s *scope) value.Value {
	v := e.expr(x.X, s)
	if value.IsBad(v) {
		return value.Bad{}
	}
	if b, ok := v.(*value.Body); ok && b.Tube != nil {
		v = tubeObject{b}
	}
	if p, ok := v.(printedIn); ok {
		return e.property(x, p)
	}
	o, ok := v.(value.Object)
	if !ok {
		f := value.Faultf(MemberUnknown, "%s has no `%s`", value.Describe(v), x.Name.Name)
		if v.Kind() == value.BodyKind {
			f.Why("only a plain cylinder knows its radius")
		}
		return e.fault(x.Name.Span(), f)
	}
	m, ok := o.Member(x.Name.Name)
	if !ok {
		f := value.Faultf(MemberUnknown, "%s has no `%s`", o.What(), x.Name.Name)
		if _, fits := o.(fitsObject); fits {
			f = value.Faultf(MemberUnknown, "there is no fit called `%s`", x.Name.Name)
		}
		f.Notes = nearest(x.Name.Name, o.Members())
		return e.fault(x.Name.Span(), f)
	}
	return m
}

// tubeObject gives a cylinder its members.
type tubeObject struct{ *value.Body }

// What implements value.Object.
func (tubeObject) What() string { return "cylinder" }

// Members implements value.Object.
func (tubeObject) Members() []string { return []string{"radius", "diameter"} }

// Member implements value.Object.
func (t tubeObject) Member(name string) (value.Value, bool) {
	r := t.Tube.Radius
	switch name {
	case "radius":
		return r, true
	case "diameter":
		return r.Apply(2*r.X, 2, r.Dim), true
	}
	return nil, false
}

func (e *evaluator) unary(x *ast.Unary, s *scope) value.Value {
	v := e.expr(x.X, s)
	if value.IsBad(v) {
		return value.Bad{}
	}
	if x.Op == "not" {
		if f, ok := v.(value.Flag); ok {
			return !f
		}
		return e.fault(x.X.Span(), value.Faultf(WrongOperand, "`not` takes a condition, this is %s", value.Describe(v)).
			Do("write a comparison after it, such as `not wall < 1mm`"))
	}
	switch n := v.(type) {
	case value.Number:
		return value.Neg(n)
	case value.Unknown:
		return value.Unknown{E: solve.Neg(n.E), Dim: n.Dim}
	}
	return e.fault(x.X.Span(), value.Faultf(WrongOperand, "a minus sign takes a number, this is %s", value.Describe(v)).
		Do("write a number after it, such as -3mm"))
}

func (e *evaluator) binary(x *ast.Binary, s *scope) value.Value {
	switch x.Op {
	case "and", "or":
		return e.logic(x, s)
	}
	a, b := e.expr(x.X, s), e.expr(x.Y, s)
	if value.IsBad(a) || value.IsBad(b) {
		return value.Bad{}
	}
	if isUnknown(a, b) && !isComparison(x.Op) {
		return e.arithUnknown(x, a, b)
	}
	if !e.settled(x.X, a, "what is compared") || !e.settled(x.Y, b, "what is compared") {
		return value.Bad{}
	}
	m, ok1 := a.(value.Number)
	n, ok2 := b.(value.Number)
	switch {
	case ok1 && ok2 && isComparison(x.Op):
		r, f := value.Compare(x.Op, m, n)
		if f != nil {
			return e.operatorFault(x, f, m, n)
		}
		return value.Flag(r)
	case ok1 && ok2:
		r, f := value.Arith(x.Op, m, n)
		if f != nil && f.Code == value.DivZero && x.Op == "/" {
			if name := e.zeroFactor(x.Y, s); name != "" {
				return e.dividedBy(x, f, name, n)
			}
			if k := len(e.frames); k > 0 && e.frames[k-1].std {
				f.Notes = nil
				f.Do("check the values that are given here: with these it would have to divide by 0")
			}
		}
		if f != nil {
			return e.operatorFault(x, f, m, n)
		}
		return r
	case (x.Op == "=" || x.Op == "!=") && a.Kind() == b.Kind() && (a.Kind() == value.FlagKind || a.Kind() == value.TextKind):
		return value.Flag((a == b) == (x.Op == "="))
	}
	wrong, at := a, x.X
	if ok1 {
		wrong, at = b, x.Y
	}
	f := value.Faultf(WrongOperand, "`%s` takes numbers, this is %s", x.Op, value.Describe(wrong))
	if o, ok := wrong.(fitObject); ok {
		f.Code = FitUnclear
		f.Do("%s", o.Instead())
	} else if ofBodies(wrong) {
		f.Do("%s", joinBodies)
	} else if wrong.Kind() == value.TextKind {
		f.Do("texts and numbers are put together by `text`, as in `text(\"r\", 57)`")
	} else {
		f.Do("write a number on both sides")
	}
	return e.fault(at.Span(), f)
}

const joinBodies = "join areas and bodies with `with`, take away with `less`, keep what they share with `within`"

// ofBodies reports whether v is a body or an area.
func ofBodies(v value.Value) bool {
	area, _ := builtin.AreaOf(v)
	return area != nil || v.Kind() == value.BodyKind
}

func isComparison(op string) bool {
	switch op {
	case "<", "<=", ">", ">=", "=", "!=":
		return true
	}
	return false
}

// operatorFault reports a fault of an operator, with what its sides are where
// these are not written out. A check on stand-in facts names no values.
func (e *evaluator) operatorFault(x *ast.Binary, f *value.Fault, a, b value.Number) value.Value {
	var labels []diag.Label
	for i, y := range []ast.Expr{x.X, x.Y} {
		n := []value.Number{a, b}[i]
		text := fmt.Sprintf("%s, %s", n, value.A(n.Dim))
		if e.standIn {
			text = value.A(n.Dim)
		}
		if _, literal := y.(*ast.Number); !literal {
			labels = append(labels, diag.Label{At: y.Span(), Text: text})
		}
	}
	if e.standIn {
		f.Message, _, _ = strings.Cut(f.Message, ": ")
	}
	return e.fault(x.OpAt, f, labels...)
}

func (e *evaluator) logic(x *ast.Binary, s *scope) value.Value {
	a, ok := e.condition(x.X, s)
	if !ok {
		return value.Bad{}
	}
	if bool(a) == (x.Op == "or") {
		return a
	}
	b, ok := e.condition(x.Y, s)
	if !ok {
		return value.Bad{}
	}
	return b
}

// condition evaluates what must be yes or no.
func (e *evaluator) condition(x ast.Expr, s *scope) (value.Flag, bool) {
	v := e.expr(x, s)
	if value.IsBad(v) {
		return false, false
	}
	f, ok := v.(value.Flag)
	if !ok {
		f := value.Faultf(WrongOperand, "a condition is wanted, this is %s", value.Describe(v))
		if ofBodies(v) {
			f.Do("%s", joinBodies)
		} else {
			f.Do("write a comparison, such as `wall >= 1.2mm`")
		}
		e.fault(x.Span(), f)
	}
	return f, ok
}

func (e *evaluator) tuple(x *ast.Tuple, s *scope) value.Value {
	if n := len(x.Elems); n < 2 || n > 3 {
		return e.fault(x.Span(), value.Faultf(WrongOperand, "a point has two or three coordinates, this has %d", n).
			Do("write it as (x, y) or (x, y, z)"))
	}
	p := make(value.Point, len(x.Elems))
	good := true
	for i, y := range x.Elems {
		v := e.expr(y, s)
		if !e.settled(y, v, "a coordinate") {
			good = false
			continue
		}
		n, ok := v.(value.Number)
		if !ok && !value.IsBad(v) {
			e.fault(y.Span(), value.Faultf(WrongOperand, "a coordinate is a number, this is %s", value.Describe(v)).
				Do("write a length, such as 3mm"))
		}
		p[i], good = n, good && ok
	}
	if !good {
		return value.Bad{}
	}
	return p
}

func (e *evaluator) choose(x *ast.If, s *scope) value.Value {
	c, ok := e.condition(x.Cond, s)
	switch {
	case !ok:
		return value.Bad{}
	case bool(c):
		return e.expr(x.Then, s)
	}
	return e.expr(x.Else, s)
}

// direction works out an axis; a written direction needs a length.
func (e *evaluator) direction(a *ast.Axis, s *scope) *builtin.Axis {
	if a == nil {
		return nil
	}
	out := &builtin.Axis{At: a.Span(), Name: a.Name, Negative: a.Negative}
	switch a.Name {
	case "x":
		out.Dir.X = 1
	case "y":
		out.Dir.Y = 1
	case "z":
		out.Dir.Z = 1
	default:
		out.Dir = e.written(a, s)
	}
	if a.Negative {
		out.Dir = out.Dir.Scale(-1)
	}
	return out
}

func (e *evaluator) written(a *ast.Axis, s *scope) (d geom.Vec3) {
	if a.Dir == nil {
		return d
	}
	v := e.expr(a.Dir, s)
	if value.IsBad(v) {
		return d
	}
	p, ok := v.(value.Point)
	if !ok || len(p) != 3 {
		e.fault(a.Span(), value.Faultf(builtin.AxisBad, "a direction has three coordinates, this is %s", value.Print(v)).
			Do("write x, y, z, or a direction such as (1, 0, 2)"))
		return d
	}
	dim := p[0].Dim
	for _, n := range p {
		if dim == unit.None {
			dim = n.Dim
		}
	}
	for _, n := range p {
		if n.Dim != dim && !n.Any {
			e.fault(a.Span(), value.Faultf(value.DimMismatch, "the coordinates of this direction are of different kinds: %s", value.Print(p)).
				Do("write plain numbers, such as (1, 0, 2)"))
			return d
		}
	}
	d = geom.Vec3{X: p[0].X, Y: p[1].X, Z: p[2].X}
	if d == (geom.Vec3{}) {
		e.fault(a.Span(), value.Faultf(builtin.AxisBad, "a direction cannot be (0, 0, 0)").Do("write x, y, z, or a direction such as (1, 0, 2)"))
		return d
	}
	return d.Unit()
}

// dividedBy reports a division by zero by the name that makes the divisor zero.
func (e *evaluator) dividedBy(x *ast.Binary, f *value.Fault, name string, divisor value.Number) value.Value {
	f.Message = fmt.Sprintf("`%s` is 0, and this divides by it", name)
	if _, bare := x.Y.(*ast.Ref); bare {
		f.Message = fmt.Sprintf("`%s` is %s, and this divides by it", name, divisor)
	}
	f.Notes = nil
	if n := len(e.frames); n > 0 && e.frames[n-1].std {
		return e.fault(x.Span(), f.Do("give `%s` a value above 0; if it was measured as 0, measure it again where it can be read", name))
	}
	return e.fault(x.Span(), f.Do("give `%s` another value, or decide with `if %s = 0 then … else …`", name, name))
}

// zeroFactor is the name of a factor of x that is zero, or "".
func (e *evaluator) zeroFactor(x ast.Expr, s *scope) string {
	switch x := x.(type) {
	case *ast.Ref:
		if n, ok := e.expr(x, s).(value.Number); ok && n.X == 0 {
			return x.Name
		}
	case *ast.Binary:
		switch x.Op {
		case "*":
			return cmp.Or(e.zeroFactor(x.X, s), e.zeroFactor(x.Y, s))
		case "/", "^":
			return e.zeroFactor(x.X, s)
		}
	}
	return ""
}
