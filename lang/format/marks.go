package format

import (
	"reflect"

	"perch/lang/ast"
	"perch/lang/source"
)

// kind is what a statement is, as far as columns care.
type kind int

const (
	other    kind = iota
	equals        // a measure or a let: `=` in a column
	equation      // the same with its comparison
	check
	entity // of a sketch
	segment
	verb // join, cut, trim
	sizeRow
	entry  // of a workshop: `=` in a column
	header // of a sketch, a part, a table of sizes, a workshop
)

// marks is what the tree knows about tokens, by their byte offset.
type marks struct {
	kinds  map[int]kind // of the statement that begins there
	calls  map[int]bool // where a name ends that its parentheses follow tightly
	binary map[int]bool // operators with two sides
	joins  map[int]bool // where a `cut` begins that stands among `join` and `trim`
}

func read(file *ast.File) *marks {
	m := &marks{map[int]kind{}, map[int]bool{}, map[int]bool{}, map[int]bool{}}
	for _, d := range file.Decls {
		m.walk(reflect.ValueOf(d))
	}
	return m
}

var fileType = reflect.TypeFor[*source.File]()

func (m *marks) walk(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() && v.Type() != fileType {
			m.note(v)
			m.walk(v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			m.walk(v.Index(i))
		}
	case reflect.Struct:
		m.note(v)
		for i := range v.NumField() {
			m.walk(v.Field(i))
		}
	}
}

func (m *marks) note(v reflect.Value) {
	set := func(n ast.Node, k kind) { m.kinds[n.Span().Start] = k }
	params := func(name ast.Ident, p []ast.Param) {
		if p != nil {
			m.calls[name.Place.End] = true
		}
	}
	switch n := v.Interface().(type) {
	case *ast.Measure:
		set(n, equals)
	case *ast.Let:
		params(n.Name, n.Params)
		if n.Params == nil {
			set(n, equals)
		}
	case *ast.Sketch:
		params(n.Name, n.Params)
		set(n, header)
	case *ast.Part:
		params(n.Name, n.Params)
		set(n, header)
		m.steps(n)
	case *ast.Sizes:
		set(n, header)
	case *ast.Workshop:
		set(n, header)
	case ast.Entry:
		set(n, entry)
	case ast.SizeRow:
		set(n, sizeRow)
	case *ast.Point, *ast.Line, *ast.Arc, *ast.Circle, *ast.Shape:
		set(n.(ast.Node), entity)
	case ast.Seg:
		set(n, segment)
	case *ast.Equation:
		set(n, equation)
	case *ast.Check:
		set(n, check)
	case *ast.Call:
		m.calls[n.Fn.Span().End] = true
	case *ast.Binary:
		m.binary[n.OpAt.Start] = true
	}
}

// steps notes the verbs of a part, and whether its cuts must be widened.
func (m *marks) steps(p *ast.Part) {
	wide := false
	for _, s := range p.Steps {
		if s, ok := s.(*ast.Make); ok {
			wide = wide || s.Verb.Name != "cut"
		}
	}
	for _, s := range p.Steps {
		if s, ok := s.(*ast.Make); ok {
			m.kinds[s.Verb.Place.Start] = verb
			m.joins[s.Verb.Place.Start] = wide && s.Verb.Name == "cut"
		}
	}
}
