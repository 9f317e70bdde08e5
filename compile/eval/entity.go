package eval

import (
	"strings"

	"perch/compile/builtin"
	"perch/compile/sketch"
	"perch/compile/solve"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
)

// This file evaluates what a sketch mentions: measures, places and entities, and
// shows entities as values.

// measure evaluates an expression that must be of a kind ("length"), known or
// not.
func (d *drawing) measure(x ast.Expr, kind, subject string) *solve.Expr {
	v := d.e.expr(x, d.scope)
	if value.IsBad(v) {
		d.bad = true
		return nil
	}
	k, _ := builtin.LookupKind(kind)
	t, f := k.Take(subject, v)
	if f != nil {
		d.fault(x.Span(), f)
		return nil
	}
	u, _ := value.Lift(t, k.Dim)
	return u.E
}

// known evaluates an expression that must be known now.
func (d *drawing) known(x ast.Expr, kind, subject string) (value.Number, bool) {
	v := d.e.expr(x, d.scope)
	if value.IsBad(v) {
		d.bad = true
		return value.Number{}, false
	}
	if !d.e.settled(x, v, strings.TrimSuffix(strings.TrimSuffix(subject, " takes"), " is")) {
		d.bad = true
		return value.Number{}, false
	}
	k, _ := builtin.LookupKind(kind)
	t, f := k.Take(subject, v)
	if f != nil {
		d.fault(x.Span(), f)
		return value.Number{}, false
	}
	return t.(value.Number), true
}

// size is measure for what must be above zero where it is known.
func (d *drawing) size(x ast.Expr, subject string) *solve.Expr {
	m := d.measure(x, "length", subject+" is")
	if m == nil {
		return nil
	}
	if c, ok := m.Constant(); ok {
		if f := builtin.SizeFault(subject, c); f != nil {
			d.fault(x.Span(), f)
			return nil
		}
	}
	return m
}

// coordinates evaluates a written place.
func (d *drawing) coordinates(x ast.Expr) (px, py *solve.Expr, ok bool) {
	if x == nil {
		d.bad = true
		return nil, nil, false
	}
	t, tuple := x.(*ast.Tuple)
	if !tuple || len(t.Elems) != 2 {
		d.fault(x.Span(), value.Faultf(WrongOperand, "a place in a sketch has two coordinates").Do("write it as (x, y), such as (0, 3mm)"))
		return nil, nil, false
	}
	px = d.measure(t.Elems[0], "length", "a coordinate is")
	py = d.measure(t.Elems[1], "length", "a coordinate is")
	return px, py, px != nil && py != nil
}

// point returns the point that a reference means; a written place is a
// point of its own.
func (d *drawing) point(r *ast.PointRef) *sketch.Point {
	if r.Tuple != nil {
		x, y, ok := d.coordinates(r.Tuple)
		if !ok {
			return nil
		}
		return d.board.FixedPoint("", x, y, r.Span())
	}
	o := d.operand(r.Name)
	if o == nil {
		return nil
	}
	p, ok := o.(*sketch.Point)
	if !ok {
		d.fault(r.Name.Span(), value.Faultf(NotEntity, "a point is wanted here, `%s` is %s", r.Name.Span().Text(), sortOf(o)).
			Do("name a point, or write a place such as (0, 3mm)"))
	}
	return p
}

// operand evaluates an expression that must be something drawn here.
func (d *drawing) operand(x ast.Expr) sketch.Entity {
	v := d.e.expr(x, d.scope)
	if value.IsBad(v) {
		d.bad = true
		return nil
	}
	n, ok := v.(*entity)
	switch {
	case !ok:
		d.fault(x.Span(), value.Faultf(NotEntity, "something drawn in this sketch is wanted here, `%s` is %s", x.Span().Text(), value.Describe(v)).
			Do("name a point, a line, an arc or a circle of this sketch"))
		return nil
	case n.d != d:
		d.fault(x.Span(), value.Faultf(NotEntity, "`%s` is drawn in another sketch", x.Span().Text()).
			Do("draw it here as well, with the measures of the other sketch"))
		return nil
	}
	return n.of
}

func (d *drawing) operands(list []ast.Expr) ([]sketch.Entity, bool) {
	var out []sketch.Entity
	good := true
	for _, x := range list {
		o := d.operand(x)
		out, good = append(out, o), good && o != nil
	}
	return out, good
}

// sortOf names the sort of an entity: "a line", "an arc".
func sortOf(e sketch.Entity) string {
	if s := e.Sort(); s[0] == 'a' || s[0] == 'o' {
		return "an " + s
	}
	return "a " + e.Sort()
}

// entity is something drawn: an object whose members are measures, unknown
// until the sketch is solved.
type entity struct {
	d     *drawing
	of    sketch.Entity
	shape []extra // what a ready shape has besides
}

// extra is a member of a ready shape, beside those of any outline.
type extra struct {
	name string
	sketch.Measure
}

// Kind implements value.Value.
func (*entity) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (n *entity) What() string {
	if name := n.of.EntityName(); name != "" {
		return n.of.Sort() + " " + name
	}
	return n.of.Sort()
}

// Members implements value.Object.
func (n *entity) Members() []string {
	var names []string
	for _, m := range n.shape {
		names = append(names, m.name)
	}
	return append(names, n.d.board.Members(n.of)...)
}

// Member implements value.Object.
func (n *entity) Member(name string) (value.Value, bool) {
	m, ok := n.d.board.Member(n.of, name)
	for _, x := range n.shape {
		if x.name == name {
			m, ok = x.Measure, true
		}
	}
	switch {
	case !ok:
		return nil, false
	case m.Expr == nil:
		return &entity{d: n.d, of: m.Entity}, true
	}
	return n.d.settle(value.Unknown{E: m.Expr, Dim: m.Dim}), true
}

// OwnArea returns the area inside a closed shape.
func (n *entity) OwnArea() (*value.Area, *value.Fault) {
	if n.d.solved == nil {
		return nil, nil
	}
	switch of := n.of.(type) {
	case *sketch.Outline:
		if of.Path {
			return nil, value.Faultf(NoArea, "a path bounds no area").Do("draw an outline, or lead an area along it: `sweep … along …`")
		}
		return n.d.inside(n.of)
	case *sketch.Circle:
		return n.d.inside(n.of)
	}
	return nil, nil
}

// Course returns the pieces of a path.
func (n *entity) Course() ([]sketch.Curve, bool, *value.Fault) {
	o, ok := n.of.(*sketch.Outline)
	if !ok || !o.Path || n.d.solved == nil {
		return nil, false, nil
	}
	way, closed, faults := n.d.solved.Course(o)
	if faults.HasErrors() {
		return nil, false, &value.Fault{Code: faults[0].Code, Message: faults[0].Message, Notes: faults[0].Notes}
	}
	return way, closed, nil
}

// Course returns the pieces of the only path of a sketch.
func (s *solvedSketch) Course() ([]sketch.Curve, bool, *value.Fault) {
	if len(s.paths) != 1 {
		return nil, false, nil
	}
	return (&entity{d: s.drawing, of: s.paths[0]}).Course()
}

// inside returns the area that a closed shape bounds.
func (d *drawing) inside(of sketch.Entity) (*value.Area, *value.Fault) {
	b, ok := d.borders[of]
	if !ok {
		var faults diag.List
		if b, faults = d.solved.Boundary(of); b == nil && len(faults) > 0 {
			return nil, &value.Fault{Code: faults[0].Code, Message: faults[0].Message, Notes: faults[0].Notes}
		}
	}
	return &value.Area{Name: of.EntityName(), Area: sketch.AreaOf(b)}, nil
}

// settle turns an unknown into a number once the sketch is solved. Its
// uncertainty is that of the measurements that the sketch was drawn with.
func (d *drawing) settle(v value.Value) value.Value {
	u, ok := v.(value.Unknown)
	if !ok {
		return v
	}
	if c, ok := u.E.Constant(); ok {
		return value.Tied(c, u.Dim, u.E.Ties())
	}
	if d.solved == nil {
		return v
	}
	return value.Tied(d.solved.Value(u.E), u.Dim, d.solved.Ties(u.E))
}
