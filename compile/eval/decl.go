package eval

import (
	"fmt"

	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/unit"
)

// override is a value set from outside in place of the written one.
type override struct {
	value value.Value
	at    source.Span
}

// overrides by name; nil has none.
type overrides map[string]override

// file evaluates the declarations of a module in their order into a scope.
// With eager, sketches that need no arguments are solved at once, so that
// their faults show even when no part uses them.
func (e *evaluator) file(m *module, set overrides, eager bool) {
	s := &scope{names: map[string]binding{}, module: m}
	m.scope = s
	for _, d := range m.File.Decls {
		if !e.step(d.Span()) {
			return
		}
		switch d := d.(type) {
		case *ast.Use:
			e.use(m, d)
		case *ast.Measure:
			e.noteBareMeasure(d)
			v := e.measure(d, s)
			s.set(d.Name.Name, d.Name.Span(), e.setOver(d.Name, v, set))
		case *ast.Let:
			e.topLet(d, s, set)
		case *ast.Sketch:
			def := &sketchDef{decl: d, scope: s}
			s.set(d.Name.Name, d.Name.Span(), def)
			if eager && complete(d.Params) {
				e.settle(&ast.Ref{At: ast.At{Place: d.Name.Span()}, Name: d.Name.Name}, def)
			}
		case *ast.Part:
			s.set(d.Name.Name, d.Name.Span(), &partDef{d, s})
		case *ast.Workshop:
			e.misplaced(m, d)
		}
	}
}

// setOver returns a measure, or the value set in its place.
func (e *evaluator) setOver(name ast.Ident, read value.Value, set overrides) value.Value {
	if _, ok := set[name.Name]; !ok {
		return read
	}
	return e.remeasured(read, e.overridden(name, read, set))
}

// complete reports whether every parameter has a default.
func complete(params []ast.Param) bool {
	for _, p := range params {
		if p.Default == nil {
			return false
		}
	}
	return true
}

// use binds modules by name. A module that the session could not load is left
// out of Uses, and its fault is known: its name is Bad.
func (e *evaluator) use(m *module, d *ast.Use) {
	for _, n := range d.Names {
		var v value.Value = value.Bad{}
		if used := m.Uses[n.Name]; used != nil {
			if loaded := e.module(used); loaded != nil {
				v = loaded
			}
		}
		m.scope.set(n.Name, n.Span(), v)
	}
}

// module evaluates a used module once. A cycle is the loader's to report; here
// it only must not turn round forever.
func (e *evaluator) module(m *Module) *module {
	if done, ok := e.modules[m]; ok {
		if done.running {
			return nil
		}
		return done
	}
	done := &module{Module: m, running: true}
	e.modules[m] = done
	frames := e.frames
	e.frames = nil
	e.file(done, nil, false)
	e.frames = frames
	done.running = false
	return done
}

// let binds a value or a one-line function.
func (e *evaluator) let(d *ast.Let, s *scope) {
	if d.Params != nil {
		s.set(d.Name.Name, d.Name.Span(), &letFunc{d, s})
		return
	}
	e.noteBare(d)
	s.set(d.Name.Name, d.Name.Span(), e.expr(d.Value, s))
}

func (e *evaluator) topLet(d *ast.Let, s *scope, set overrides) {
	if _, ok := set[d.Name.Name]; !ok || d.Params != nil {
		e.let(d, s)
		return
	}
	v := e.expr(d.Value, s)
	s.set(d.Name.Name, d.Name.Span(), e.overridden(d.Name, v, set))
}

// overridden returns the value set from outside for a name, if there is one
// and it is of the kind of the written value.
func (e *evaluator) overridden(name ast.Ident, written value.Value, set overrides) value.Value {
	o, ok := set[name.Name]
	if !ok || value.IsBad(o.value) {
		return written
	}
	if value.IsBad(written) {
		return o.value
	}
	if n, ok := o.value.(value.Number); ok {
		if w, ok := written.(value.Number); ok {
			if n = n.As(w.Dim); n.Dim == w.Dim || w.Any {
				return n
			}
		}
	} else if o.value.Kind() == written.Kind() {
		return o.value
	}
	f := value.Faultf(SettingKind, "`%s` is %s, this is %s", name.Name, describeWith(written), describeWith(o.value))
	if n, ok := o.value.(value.Number); ok && n.Dim == unit.None {
		f.Do("give it a unit")
	}
	e.fault(o.at, f, diag.Label{At: name.Span(), Text: fmt.Sprintf("%s is declared here", name.Name)})
	return value.Bad{}
}

func describeWith(v value.Value) string {
	if n, ok := v.(value.Number); ok {
		return value.Describe(v) + " (" + n.String() + ")"
	}
	return value.Describe(v)
}
