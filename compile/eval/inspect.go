package eval

import (
	"context"
	"maps"

	"perch/compile/sketch"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// Quantity is a value of the file with a name.
type Quantity struct {
	Kind string // "measure", "let", "sketch"
	Name string // "lead", "tooth.bore.radius"
	At   source.Span
	// Value is a Number, Flag, Text or Point.
	Value value.Value
	// Readings of a measure.
	Readings int
}

// Inspection is what a file comes to without its parts.
type Inspection struct {
	Quantities []Quantity // in the order of the file
	Sources    []Source   // what contributions count by
	Sketches   []Sketch   // those that need no arguments, in the order of the file
	Diags      diag.List
	Workshop   *workshop.Profile // the one in force
}

// Inspect evaluates the declarations of a file in one size, with the settings,
// and lists every measure, every let and every measure of a sketch that needs
// no arguments.
func Inspect(ctx context.Context, main *Module, o Options) (*Inspection, error) {
	if o.Tolerance == 0 {
		o.Tolerance = solid.DefaultTolerance
	}
	e := newEvaluator(ctx, main, o)
	e.openShop()
	env := &module{Module: main}
	e.file(env, nil, true)
	set := overrides{}
	maps.Copy(set, e.rowOf(env))
	maps.Copy(set, e.settings(env))
	if len(set) > 0 {
		again := &module{Module: main}
		e.steps = 0
		e.file(again, set, true)
		env = again
	}
	r := &Inspection{Quantities: e.quantities(env), Sources: e.sources, Workshop: e.shop}
	size := ""
	if len(o.Sizes) > 0 {
		size = o.Sizes[0]
	}
	r.Sketches = e.figures(sized{env, size})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r.Diags = e.diags
	r.Diags.Sort()
	return r, nil
}

// rowOf returns the values of the size that the options name.
func (e *evaluator) rowOf(base *module) overrides {
	if len(e.opts.Sizes) == 0 {
		return nil
	}
	var parts []*ast.Part
	sizes := map[string][]*ast.SizeRow{}
	for _, d := range e.main.File.Decls {
		switch d := d.(type) {
		case *ast.Part:
			parts = append(parts, d)
		case *ast.Sizes:
			e.sizeRows(d, sizes)
		}
	}
	e.choiceFaults(parts, sizes)
	for _, p := range parts {
		for _, row := range sizes[p.Name.Name] {
			if row.Name.Name == e.opts.Sizes[0] {
				return e.rowValues(base, p, row)
			}
		}
	}
	return nil
}

func (e *evaluator) quantities(env *module) []Quantity {
	var out []Quantity
	for _, d := range e.main.File.Decls {
		switch d := d.(type) {
		case *ast.Measure:
			out = appendQuantity(out, Quantity{Kind: "measure", Name: d.Name.Name, At: d.Name.Span(), Readings: len(d.Readings)}, env.scope.names[d.Name.Name].value)
		case *ast.Let:
			out = appendQuantity(out, Quantity{Kind: "let", Name: d.Name.Name, At: d.Name.Span()}, env.scope.names[d.Name.Name].value)
		case *ast.Sketch:
			def, ok := env.scope.names[d.Name.Name].value.(*sketchDef)
			if !ok || !complete(d.Params) {
				continue
			}
			v := e.settle(&ast.Ref{At: ast.At{Place: d.Name.Span()}, Name: d.Name.Name}, def)
			if s, ok := v.(*solvedSketch); ok {
				out = append(out, s.quantities()...)
			}
		}
	}
	return out
}

// appendQuantity adds q with its value, unless that is nothing to print.
func appendQuantity(list []Quantity, q Quantity, v value.Value) []Quantity {
	switch v.(type) {
	case value.Number, value.Flag, value.Text, value.Point:
		q.Value = v
		return append(list, q)
	}
	return list
}

// telling lists the members that say where an entity is or how large.
func telling(of sketch.Entity) []string {
	switch of.(type) {
	case *sketch.Point:
		return []string{"x", "y"}
	case *sketch.Line:
		return []string{"length"}
	case *sketch.Circle, *sketch.Arc:
		return []string{"radius"}
	}
	return []string{"width", "height", "radius"} // of ready shapes
}

// quantities lists the lets of a sketch and what its named entities measure.
func (s *solvedSketch) quantities() []Quantity {
	var out []Quantity
	for _, name := range s.names {
		b := s.scope.names[name]
		q := Quantity{Kind: "sketch", Name: s.decl.Name.Name + "." + name, At: b.at}
		n, ok := b.value.(*entity)
		if !ok {
			out = appendQuantity(out, q, s.settle(b.value))
			continue
		}
		for _, member := range telling(n.of) {
			if v, ok := n.Member(member); ok {
				m := q
				m.Name += "." + member
				out = appendQuantity(out, m, v)
			}
		}
	}
	return out
}
