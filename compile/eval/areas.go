package eval

import (
	"fmt"
	"slices"
	"strings"

	"perch/compile/builtin"
	"perch/compile/sketch"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
)

// solvedSketch is a sketch as others see it.
type solvedSketch struct {
	*drawing
	own   *value.Area
	fault *value.Fault // why there is no own area
	areas map[string]*value.Area
	names []string
}

// Kind implements value.Value.
func (*solvedSketch) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (s *solvedSketch) What() string { return "sketch " + s.decl.Name.Name }

// Members implements value.Object.
func (s *solvedSketch) Members() []string { return s.names }

// Member implements value.Object: named areas, what is drawn, and lets.
func (s *solvedSketch) Member(name string) (value.Value, bool) {
	if a, ok := s.areas[name]; ok {
		return a, true
	}
	b, ok := s.scope.names[name]
	if !ok {
		return nil, false
	}
	return s.settle(b.value), true
}

// OwnArea returns the area that the sketch is about.
func (s *solvedSketch) OwnArea() (*value.Area, *value.Fault) { return s.own, s.fault }

// finish works out the areas of the solved sketch.
func (d *drawing) finish() value.Value {
	s := &solvedSketch{drawing: d, areas: map[string]*value.Area{}}
	if !d.bound() {
		return value.Bad{}
	}
	stated := false
	for _, st := range d.decl.Body {
		a, ok := st.(*ast.Area)
		if !ok {
			continue
		}
		d.build(st)
		area := d.areas[a]
		if area == nil {
			return value.Bad{}
		}
		if a.Name.Name != "" {
			s.areas[a.Name.Name] = area
			continue
		}
		if stated {
			d.fault(a.Span(), value.Faultf(ManyAreas, "sketch %s has two areas without a name", d.decl.Name.Name).
				Do("give one of them a name: `area lid = …`"))
			return value.Bad{}
		}
		s.own, stated = area, true
	}
	s.names = append(s.names, d.scope.order...)
	if !stated {
		s.own, s.fault = d.onlyArea(s)
	}
	return s
}

// bound works out the borders of all closed shapes, so that an outline that
// does not close or crosses itself is told even when no area uses it.
func (d *drawing) bound() bool {
	good := true
	for _, of := range d.closed {
		b, faults := d.solved.Boundary(of)
		for _, x := range faults {
			d.e.report(x)
		}
		good = good && b != nil && !faults.HasErrors()
		d.borders[of] = b
	}
	return good
}

// onlyArea is the area of a sketch that states none: that of its one closed
// shape.
func (d *drawing) onlyArea(s *solvedSketch) (*value.Area, *value.Fault) {
	name := d.decl.Name.Name
	if len(s.areas) > 0 {
		return nil, value.Faultf(ManyAreas, "sketch %s has only areas with names", name).
			Do("write which one is meant: `%s.%s`", name, d.firstArea())
	}
	switch closed := d.closed; len(closed) {
	case 0:
		if way := d.onlyPath(); way != "" {
			return nil, value.Faultf(NoArea, "sketch %s bounds no area", name).
				Why("a path is open: an area is led along it").
				Do("write `sweep section along %s.%s`, or draw an outline in its place", name, way)
		}
		return nil, value.Faultf(NoArea, "sketch %s bounds no area", name).
			Why("it has no outline, circle or ready shape that is not a guide").
			Do("draw an outline")
	case 1:
		return &value.Area{Name: name, Area: sketch.AreaOf(d.borders[closed[0]])}, nil
	default:
		return nil, value.Faultf(ManyAreas, "sketch %s has %d closed shapes and does not say which is meant", name, len(closed)).
			Do("add a line such as `area %s less %s`, or draw helpers as `guide`", shapeName(closed[0]), shapeName(closed[1]))
	}
}

// onlyPath names a path of the sketch, "" when it has none.
func (d *drawing) onlyPath() string {
	for _, st := range d.decl.Body {
		if o, ok := st.(*ast.Outline); ok && o.Path {
			return o.Name.Name
		}
	}
	return ""
}

func shapeName(e sketch.Entity) string {
	if n := e.EntityName(); n != "" {
		return n
	}
	return "…"
}

func (d *drawing) firstArea() string {
	for _, st := range d.decl.Body {
		if a, ok := st.(*ast.Area); ok {
			return a.Name.Name
		}
	}
	return ""
}

// area works out one area statement.
func (d *drawing) area(st *ast.Area) {
	if d.solved == nil {
		d.fault(st.Span(), value.Faultf(Unsettled, "an area is known only when the sketch is solved").
			Do("use the outlines it is made of"))
		return
	}
	v := d.e.expr(st.Value, d.scope)
	if value.IsBad(v) {
		return
	}
	a, f := builtin.AreaOf(v)
	if f == nil && a == nil {
		f = value.Faultf(WrongOperand, "`area` takes an outline, a circle or a ready shape, this is %s", value.Describe(v)).
			Do("combine closed shapes with `less`, `with` and `within`")
	}
	if f != nil {
		d.fault(st.Value.Span(), f)
		return
	}
	name := d.decl.Name.Name
	if st.Name.Name != "" {
		name += "." + st.Name.Name
	}
	out := &value.Area{Name: name, Area: a.Area}
	d.areas[st] = out
	if st.Name.Name != "" {
		d.scope.set(st.Name.Name, st.Name.Span(), out)
	}
}

// combineAreas is left less, with or within the others.
func (e *evaluator) combineAreas(x *ast.Combine, left *value.Area, rights []value.Value) value.Value {
	others := make([]*sketch.Area, len(rights))
	for i, r := range rights {
		a, f := builtin.AreaOf(r)
		if f == nil && a == nil {
			f = value.Faultf(WrongOperand, "`%s` takes areas, this is %s", x.Op, value.Describe(r)).
				Do("name an outline, a circle, a ready shape or a sketch")
		}
		if f != nil {
			return e.fault(x.Right[i].Span(), f)
		}
		others[i] = a.Area
	}
	combine := map[string]func(*sketch.Area, ...*sketch.Area) *sketch.Area{
		"less": sketch.Less, "with": sketch.With, "within": sketch.Within,
	}[x.Op]
	e.idleAreas(x, left.Area, others)
	return &value.Area{Name: left.Name, Area: combine(left.Area, others...)}
}

// mostCompared keeps the search for idle areas short.
const mostCompared = 64

// idleAreas warns of areas that change nothing: a hole outside its outline.
func (e *evaluator) idleAreas(x *ast.Combine, left *sketch.Area, others []*sketch.Area) {
	if e.operations == nil || len(others) > mostCompared || e.inLibrary() {
		return
	}
	for i, o := range others {
		rest, message, why := sketch.Within(left, o), "takes nothing away", "`%s` does not reach into `%s`"
		switch x.Op {
		case "with":
			rest, message, why = sketch.Less(o, left), "adds nothing", "`%s` lies wholly inside `%s`"
		case "within":
			rest, message, why = sketch.Less(left, o), "takes nothing away", "`%s` covers all of `%s`"
		}
		rings, err := rest.Rings(e.opts.Tolerance)
		if err != nil || len(rings) > 0 {
			continue
		}
		name := oneLine(x.Right[i])
		e.report(diag.Diagnostic{
			Code: StepIdle, Severity: diag.Warning, At: x.Right[i].Span(),
			Message: fmt.Sprintf("`%s %s` %s", x.Op, name, message),
			Notes: []string{
				diag.Why(fmt.Sprintf(why, name, oneLine(x.Left))),
				diag.Do("move it, or take it out"),
			},
		})
	}
}

// oneLine is the text of an expression, its white space as single spaces.
func oneLine(x ast.Expr) string { return strings.Join(strings.Fields(x.Span().Text()), " ") }

// inLibrary reports whether the text that runs is one of the standard library.
func (e *evaluator) inLibrary() bool {
	return slices.ContainsFunc(e.frames, func(f frame) bool { return f.std })
}
