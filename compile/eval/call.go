package eval

import (
	"fmt"
	"strings"

	"perch/compile/builtin"
	"perch/compile/sketch"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// callable is a function of a let, a sketch, a part, or a builtin function.
type callable interface {
	value.Value
	what() string       // "function press", "sketch tooth"
	form() string       // how it is called: "press(d: length)"
	signature() *callee // nil for a builtin
	run(e *evaluator, s *scope, at source.Span) value.Value
}

// callee is what arguments are bound to.
type callee struct {
	params []ast.Param
	scope  *scope // where the text of the callee stands
}

func form(name string, params []ast.Param) string {
	words := make([]string, len(params))
	for i, p := range params {
		words[i] = p.Name.Name + ": " + p.Kind.Name
	}
	return name + "(" + strings.Join(words, ", ") + ")"
}

// letFunc is a one-line function.
type letFunc struct {
	decl  *ast.Let
	scope *scope
}

// Kind implements value.Value.
func (*letFunc) Kind() value.Kind     { return value.CallableKind }
func (f *letFunc) Describe() string   { return "the " + f.what() }
func (f *letFunc) what() string       { return "function " + f.decl.Name.Name }
func (f *letFunc) form() string       { return form(f.decl.Name.Name, f.decl.Params) }
func (f *letFunc) signature() *callee { return &callee{f.decl.Params, f.scope} }
func (f *letFunc) run(e *evaluator, s *scope, _ source.Span) value.Value {
	return e.expr(f.decl.Value, s)
}

// builtinFunc is a function of the table.
type builtinFunc struct{ *builtin.Function }

// Kind implements value.Value.
func (*builtinFunc) Kind() value.Kind     { return value.CallableKind }
func (f *builtinFunc) Describe() string   { return "the " + f.what() }
func (f *builtinFunc) what() string       { return "function " + f.Name }
func (f *builtinFunc) signature() *callee { return nil }
func (f *builtinFunc) form() string {
	words := make([]string, len(f.Params))
	for i, p := range f.Params {
		words[i] = p.Name
		if i >= len(f.Params)-f.Optional {
			words[i] = "[" + p.Name + "]"
		}
	}
	dots := ""
	if f.Variadic {
		dots = ", …"
	}
	return f.Name + "(" + strings.Join(words, ", ") + dots + ")"
}
func (f *builtinFunc) run(*evaluator, *scope, source.Span) value.Value { return value.Bad{} }

func (e *evaluator) call(x *ast.Call, s *scope) value.Value {
	var v value.Value
	switch fn := x.Fn.(type) {
	case *ast.Ref:
		if d := s.sketching(); d != nil {
			if f, ok := sketch.LookupFunction(fn.Name); ok && !callableNamed(s, fn.Name) {
				return d.call(x, f)
			}
		}
		v = e.ref(fn, s)
		if _, ok := v.(callable); !ok && !value.IsBad(v) {
			// A line called floor does not hide the function floor.
			if f, ok := builtin.LookupFunction(fn.Name); ok {
				v = &builtinFunc{f}
			}
		}
	case *ast.Member:
		v = e.member(fn, s)
	default:
		v = e.expr(x.Fn, s)
	}
	if value.IsBad(v) {
		e.args(x, s) // for the faults in them
		return value.Bad{}
	}
	f, ok := v.(callable)
	if !ok {
		return e.fault(x.Fn.Span(), value.Faultf(NotCallable, "%s takes no arguments", value.Describe(v)).
			Do("write an operator before the parenthesis if a product is meant: `a * (b + c)`"))
	}
	args := e.args(x, s)
	if b, ok := f.(*builtinFunc); ok {
		return e.callBuiltin(x, b, args)
	}
	return e.invoke(x, f, args)
}

func callableNamed(s *scope, name string) bool {
	b, _ := s.lookup(name)
	_, ok := b.value.(callable)
	return ok
}

// args evaluates the arguments of a call in their order.
func (e *evaluator) args(x *ast.Call, s *scope) []value.Value {
	args := make([]value.Value, len(x.Args))
	for i, a := range x.Args {
		args[i] = e.expr(a.Value, s)
	}
	return args
}

func (e *evaluator) callBuiltin(x *ast.Call, f *builtinFunc, args []value.Value) value.Value {
	var given []value.Value
	for i, a := range x.Args {
		if a.Name.Name != "" {
			return e.fault(a.Name.Span(), value.Faultf(ArgUnknown, "the arguments of %s have no names", f.Name).
				Do("write them in order: `%s`", f.form()))
		}
		if i >= len(f.Params) && !f.Variadic {
			return e.fault(a.Span(), value.Faultf(ArgTooMany, "%s takes %s", f.Name, count(len(f.Params), "argument")).
				Do("write `%s`", f.form()))
		}
		v, ok := e.plainArg(a, f.Params[min(i, len(f.Params)-1)], f, args[i])
		if !ok {
			return value.Bad{}
		}
		given = append(given, v)
	}
	if len(given) < len(f.Params)-f.Optional {
		return e.fault(x.Span(), value.Faultf(ArgMissing, "%s lacks its `%s`", f.Name, f.Params[len(given)].Name).
			Do("write `%s`", f.form()))
	}
	if isUnknown(given...) {
		return e.callUnknown(x, f, given)
	}
	v, fault := f.Call(given)
	if fault != nil {
		return e.fault(x.Span(), fault)
	}
	return e.known(x, f, given, v)
}

func (e *evaluator) plainArg(a ast.Arg, p builtin.Param, f *builtinFunc, v value.Value) (value.Value, bool) {
	if value.IsBad(v) {
		return nil, false
	}
	if p.Kind != "" {
		k, _ := builtin.LookupKind(p.Kind)
		t, fault := k.Take(f.Name+" takes", v)
		if fault != nil {
			e.fault(a.Span(), fault)
		}
		return t, fault == nil
	}
	if v.Kind() != value.NumberKind && !isUnknown(v) && !(f.Texts && v.Kind() == value.TextKind) {
		e.fault(a.Span(), value.Faultf(builtin.KindMismatch, "%s takes numbers, this is %s", f.Name, value.Describe(v)).
			Do("write `%s`", f.form()))
		return nil, false
	}
	return v, true
}

func count(n int, noun string) string {
	if n == 1 {
		return "one " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// invoke binds arguments and runs the callee in a scope of its own.
func (e *evaluator) invoke(x *ast.Call, f callable, args []value.Value) value.Value {
	if len(e.frames) >= maxDepth {
		e.stopped = true
		return e.fault(x.Span(), value.Faultf(TooDeep, "calls stand more than %d deep here", maxDepth).
			Do("shorten the chain of functions that call each other"))
	}
	if _, plain := f.(*letFunc); !plain {
		for i, a := range args {
			if !e.settled(x.Args[i].Value, a, "an argument of "+f.what()) {
				return value.Bad{}
			}
		}
	}
	c := f.signature()
	s := newScope(c.scope)
	if !e.bind(x, f, c, args, s) {
		return value.Bad{}
	}
	e.frames = append(e.frames, frame{at: x.Span(), name: strings.TrimPrefix(f.what(), "function "), std: c.scope.module.Standard, bare: len(x.Args) == 0})
	v := f.run(e, s, x.Span())
	e.frames = e.frames[:len(e.frames)-1]
	return v
}

// bind gives the parameters of c their values in s: positional arguments in
// order, named ones by name, then defaults.
func (e *evaluator) bind(x *ast.Call, f callable, c *callee, args []value.Value, s *scope) bool {
	given := make([]int, len(c.params)) // 1 + index of the argument
	ok, unknown := true, false
	for i, a := range x.Args {
		k := i
		if a.Name.Name != "" {
			if k = paramIndex(c.params, a.Name.Name); k < 0 {
				flt := value.Faultf(ArgUnknown, "%s has no parameter `%s`", f.what(), a.Name.Name)
				flt.Notes = nearest(a.Name.Name, paramNames(c.params))
				e.fault(a.Name.Span(), flt)
				ok, unknown = false, true // a misspelt one is not missing as well
				continue
			}
		}
		switch {
		case k >= len(c.params):
			e.fault(a.Span(), value.Faultf(ArgTooMany, "%s takes %s", f.what(), count(len(c.params), "argument")).
				Do("write `%s`", f.form()))
			return false
		case given[k] != 0:
			e.fault(a.Span(), value.Faultf(ArgTwice, "`%s` is given twice", c.params[k].Name.Name).Do("keep one of the two"),
				diag.Label{At: x.Args[given[k]-1].Span(), Text: "first given here"})
			ok = false
		}
		given[k] = i + 1
	}
	if !unknown && e.lacking(x, f, c.params, given) || !ok {
		return false
	}
	for k, p := range c.params {
		if given[k] != 0 {
			a := x.Args[given[k]-1]
			ok = e.bindOne(p, args[given[k]-1], a.Value.Span(), s) && ok
		} else {
			ok = e.bindOne(p, e.expr(p.Default, s), p.Default.Span(), s) && ok
		}
	}
	return ok
}

// lacking reports the parameters without a default that no argument gives.
func (e *evaluator) lacking(x *ast.Call, f callable, params []ast.Param, given []int) bool {
	var names, forms []string
	var labels []diag.Label
	for k, p := range params {
		if given[k] == 0 && p.Default == nil {
			names, forms = append(names, "`"+p.Name.Name+"`"), append(forms, p.Name.Name+": …")
			labels = append(labels, diag.Label{At: p.Span(), Text: "this parameter has no default"})
		}
	}
	if len(names) == 0 {
		return false
	}
	fault := value.Faultf(ArgMissing, "%s lacks its %s", f.what(), inWords(names))
	if len(x.Args) == 0 {
		fault.Do("write `%s(%s)` with what belongs there", strings.TrimSuffix(x.Fn.Span().Text(), "()"), strings.Join(forms, ", "))
	} else {
		fault.Do("add `%s` with what belongs there", strings.Join(forms, ", "))
	}
	e.fault(x.Span(), fault, labels...)
	return true
}

// inWords joins words as in a sentence: a, b and c.
func inWords(words []string) string {
	if n := len(words) - 1; n > 0 {
		return strings.Join(words[:n], ", ") + " and " + words[n]
	}
	return words[0]
}

// bindOne checks a value against the kind of its parameter.
func (e *evaluator) bindOne(p ast.Param, v value.Value, at source.Span, s *scope) bool {
	k, ok := builtin.LookupKind(p.Kind.Name)
	if !ok {
		f := value.Faultf(KindUnknown, "there is no kind of parameter called `%s`", p.Kind.Name)
		f.Notes = nearest(p.Kind.Name, builtin.Words())
		if len(f.Notes) == 0 {
			f.Do("the kinds are: %s", strings.Join(builtin.Words(), ", "))
		}
		e.fault(p.Kind.Span(), f)
		s.set(p.Name.Name, p.Name.Span(), value.Bad{})
		return false
	}
	t, fault := k.Take("`"+p.Name.Name+"` is", v)
	if fault != nil {
		if designation := diameterOf(v); designation != "" && p.Kind.Name == "length" {
			fault.Notes = []string{diag.Do("write the diameter of the thread as a length: `" + designation + "`")}
		}
		e.fault(at, fault, diag.Label{At: p.Span(), Text: "declared here"})
		t = value.Bad{}
	}
	s.set(p.Name.Name, p.Name.Span(), t)
	return !value.IsBad(t)
}

// diameterOf is the diameter in a text such as "M4", as it is written, or "".
func diameterOf(v value.Value) string {
	s, ok := v.(value.Text)
	if !ok || len(s) < 2 || s[0] != 'M' && s[0] != 'm' {
		return ""
	}
	digits, _, _ := strings.Cut(string(s[1:]), "x")
	if strings.Trim(digits, "0123456789.") != "" || digits == "" {
		return ""
	}
	return digits + "mm"
}

func paramIndex(params []ast.Param, name string) int {
	for i, p := range params {
		if p.Name.Name == name {
			return i
		}
	}
	return -1
}

func paramNames(params []ast.Param) []string {
	names := make([]string, len(params))
	for i, p := range params {
		names[i] = p.Name.Name
	}
	return names
}
