package eval

import (
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/source"
)

// sketchDef is a declared sketch; as a value it is what it solves to.
type sketchDef struct {
	decl  *ast.Sketch
	scope *scope
}

// Kind implements value.Value.
func (*sketchDef) Kind() value.Kind     { return value.CallableKind }
func (f *sketchDef) Describe() string   { return "the " + f.what() }
func (f *sketchDef) what() string       { return "sketch " + f.decl.Name.Name }
func (f *sketchDef) form() string       { return form(f.decl.Name.Name, f.decl.Params) }
func (f *sketchDef) signature() *callee { return &callee{f.decl.Params, f.scope} }

func (f *sketchDef) run(e *evaluator, s *scope, at source.Span) value.Value {
	return e.fault(at, value.Faultf("sketch", "not there yet"))
}

func (e *evaluator) combineAreas(x *ast.Combine, left *value.Area, rights []value.Value) value.Value {
	return value.Bad{}
}
