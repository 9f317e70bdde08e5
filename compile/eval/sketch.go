package eval

import (
	"fmt"
	"strings"
	"sync"

	"perch/compile/builtin"
	"perch/compile/geom"
	"perch/compile/sketch"
	"perch/compile/solve"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// Codes of faults in sketches.
const (
	WaitsForItself diag.Code = "sketch-circular"
	NotEntity      diag.Code = "not-entity"
	NoArea         diag.Code = "area-none"
	ManyAreas      diag.Code = "area-unclear"
	KnownEquation  diag.Code = "equation-known"
	RelationBad    diag.Code = "relation-operand"
	MeasureBad     diag.Code = "measure-operand"
	StepBad        diag.Code = "outline-step"
	CornerBad      diag.Code = "corner-operand"
	SidesBad       diag.Code = "polygon-sides"
)

// sketchDef is a declared sketch; as a value it is what it solves to.
type sketchDef struct {
	decl  *ast.Sketch
	scope *scope

	mu   sync.Mutex // checks of several parts may ask at the same time
	done map[string]value.Value
}

// Kind implements value.Value.
func (*sketchDef) Kind() value.Kind     { return value.CallableKind }
func (f *sketchDef) Describe() string   { return "the " + f.what() }
func (f *sketchDef) what() string       { return "sketch " + f.decl.Name.Name }
func (f *sketchDef) form() string       { return form(f.decl.Name.Name, f.decl.Params) }
func (f *sketchDef) signature() *callee { return &callee{f.decl.Params, f.scope} }

// run solves the sketch, or takes what it came to for the same arguments.
func (f *sketchDef) run(e *evaluator, s *scope, _ source.Span) value.Value {
	key := argsKey(f.decl.Params, s)
	f.mu.Lock()
	v, ok := f.done[key]
	f.mu.Unlock()
	if ok {
		return v
	}
	v = e.draw(f, s)
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.done == nil {
		f.done = map[string]value.Value{}
	}
	f.done[key] = v
	return v
}

// argsKey is the same for the same arguments.
func argsKey(params []ast.Param, s *scope) string {
	var b strings.Builder
	for _, p := range params {
		switch v := s.names[p.Name.Name].value.(type) {
		case value.Number:
			fmt.Fprintf(&b, "%x;", v.X)
		case value.Flag, value.Text:
			fmt.Fprintf(&b, "%q;", fmt.Sprint(v))
		default:
			fmt.Fprintf(&b, "%p;", v) // areas and bodies: the same one
		}
	}
	return b.String()
}

// draw fills a sketch from its text and solves it. What is drawn comes first,
// in its written order, because relations look at where things start.
func (e *evaluator) draw(f *sketchDef, params *scope) value.Value {
	d := &drawing{
		e: e, decl: f.decl, scope: newScope(params), board: sketch.New(f.decl.Name.Name, f.decl.Name.Span()),
		state: map[ast.SketchStmt]progress{}, declares: map[string]ast.SketchStmt{}, points: map[string]*pointDecl{},
		areas: map[*ast.Area]*value.Area{}, borders: map[sketch.Entity]sketch.Boundary{},
	}
	d.scope.later, d.scope.drawing = d.ensure, d
	d.collect()
	for _, st := range f.decl.Body {
		if drawn(st) {
			d.build(st)
		}
	}
	for _, st := range f.decl.Body {
		if _, area := st.(*ast.Area); !area {
			d.build(st)
		}
	}
	if d.bad || e.stopped || f.decl.Partial {
		return value.Bad{}
	}
	solved, faults, err := d.board.Solve(e.ctx)
	if err != nil {
		e.stopped = true
		return value.Bad{}
	}
	for _, x := range faults {
		e.report(x)
	}
	if solved == nil {
		return value.Bad{}
	}
	d.solved = solved
	return d.finish()
}

// drawn reports whether a statement draws something.
func drawn(st ast.SketchStmt) bool {
	switch st.(type) {
	case *ast.Point, *ast.Line, *ast.Arc, *ast.Circle, *ast.Outline, *ast.Shape:
		return true
	}
	return false
}

// drawing is a sketch on the way from its text to its solution.
type drawing struct {
	e        *evaluator
	decl     *ast.Sketch
	scope    *scope
	board    *sketch.Sketch
	solved   *sketch.Solved
	state    map[ast.SketchStmt]progress
	points   map[string]*pointDecl     // every named point
	declares map[string]ast.SketchStmt // what sets a name that is not a point
	closed   []sketch.Entity           // outlines and circles that are not guides
	borders  map[sketch.Entity]sketch.Boundary
	areas    map[*ast.Area]*value.Area
	bad      bool // a statement had a fault: it cannot be solved
}

type progress uint8

const (
	untouched progress = iota
	underway
	finished
)

// pointDecl is a named point before and after it is drawn.
type pointDecl struct {
	name  ast.Ident
	place *ast.Place
	state progress
}

// fault reports a fault that keeps the sketch from being solved.
func (d *drawing) fault(at source.Span, f *value.Fault, labels ...diag.Label) {
	d.bad = true
	d.e.fault(at, f, labels...)
}

// collect notes every named point, with the place written for it, and which
// statement sets every other name.
func (d *drawing) collect() {
	for _, st := range d.decl.Body {
		switch st := st.(type) {
		case *ast.Point:
			d.namePoint(st.Name, st.Place)
		case *ast.Line:
			d.declare(st.Name, st)
			d.placedPoint(&st.From)
			d.placedPoint(&st.To)
		case *ast.Arc:
			d.declare(st.Name, st)
			d.placedPoint(&st.From)
			d.placedPoint(&st.To)
			d.placedPoint(st.Centre)
		case *ast.Circle:
			d.declare(st.Name, st)
			d.placedPoint(&st.Centre)
		case *ast.Shape:
			d.declare(st.Name, st)
			d.placedPoint(st.From)
			d.placedPoint(st.To)
			d.placedPoint(st.Centre)
		case *ast.Outline:
			d.declare(st.Name, st)
			d.placedPoint(&st.Start)
			for i := range st.Segs {
				d.declare(st.Segs[i].Name, st)
				d.placedPoint(st.Segs[i].To)
				d.placedPoint(st.Segs[i].Centre)
			}
		case *ast.Let:
			d.declare(st.Name, st)
		case *ast.Area:
			d.declare(st.Name, st)
		}
	}
	for _, st := range d.decl.Body { // corners are declared where nothing else of the name is
		if o, ok := st.(*ast.Outline); ok {
			d.corner(&o.Start)
			for i := range o.Segs {
				d.corner(o.Segs[i].To)
			}
		}
	}
}

func (d *drawing) declare(n ast.Ident, st ast.SketchStmt) {
	if n.Name == "" {
		return
	}
	if _, ok := d.declares[n.Name]; !ok {
		d.declares[n.Name] = st
		d.scope.pending = append(d.scope.pending, n.Name)
	}
}

func (d *drawing) placedPoint(p *ast.PointRef) {
	if p != nil && p.Place != nil {
		d.corner(p)
	}
}

// corner notes the point that a reference names, unless the name is taken by
// something else.
func (d *drawing) corner(p *ast.PointRef) {
	if p == nil {
		return
	}
	if ref, ok := p.Name.(*ast.Ref); ok && d.declares[ref.Name] == nil {
		d.namePoint(ast.Ident{At: ref.At, Name: ref.Name}, p.Place)
	}
}

func (d *drawing) namePoint(n ast.Ident, place *ast.Place) {
	if p := d.points[n.Name]; p != nil {
		if p.place == nil {
			p.place = place
		}
		return
	}
	d.points[n.Name] = &pointDecl{name: n, place: place}
	d.scope.pending = append(d.scope.pending, n.Name)
}

// ensure draws what a name stands for.
func (d *drawing) ensure(name string) bool {
	p, st := d.points[name], d.declares[name]
	switch {
	case p != nil && p.state == underway:
		d.waits(name, p.name.Span())
	case p != nil:
		p.state = underway
		if of := d.newPoint(p); of != nil {
			d.add(p.name, of)
		}
		p.state = finished
	case st == nil:
		return false
	case d.state[st] == underway:
		d.waits(name, st.Span())
	default:
		d.build(st)
	}
	if _, ok := d.scope.names[name]; !ok {
		d.bad = true
		d.scope.set(name, d.decl.Name.Span(), value.Bad{}) // its fault is known
	}
	return true
}

func (d *drawing) waits(name string, at source.Span) {
	d.fault(at, value.Faultf(WaitsForItself, "`%s` is used to draw what it is drawn with", name).
		Why("each of the two waits for the other").
		Do("leave one of the sizes or places out, and write it as an equation"))
}

// newPoint draws a named point.
func (d *drawing) newPoint(p *pointDecl) *sketch.Point {
	if p.place == nil {
		return d.board.UnplacedPoint(p.name.Name, p.name.Span())
	}
	x, y, ok := d.coordinates(p.place.Pos)
	if !ok {
		return nil
	}
	if !p.place.Near {
		return d.board.FixedPoint(p.name.Name, x, y, p.name.Span())
	}
	cx, ok1 := x.Constant()
	cy, ok2 := y.Constant()
	if !ok1 || !ok2 {
		d.fault(p.place.Pos.Span(), value.Faultf(Unsettled, "a suggested place must be known, this follows from the sketch").
			Do("write numbers: the place need not be exact"))
		return nil
	}
	return d.board.FreePoint(p.name.Name, geom.Vec2{X: cx, Y: cy}, p.name.Span())
}

// build carries out a statement once. Areas wait for the solution.
func (d *drawing) build(st ast.SketchStmt) {
	if d.state[st] != untouched || !d.e.step(st.Span()) {
		return
	}
	d.state[st] = underway
	switch st := st.(type) {
	case *ast.Point:
		d.scope.lookup(st.Name.Name)
	case *ast.Line:
		d.line(st)
	case *ast.Arc:
		d.arc(st)
	case *ast.Circle:
		d.circle(st)
	case *ast.Outline:
		d.outline(st)
	case *ast.Shape:
		d.shape(st)
	case *ast.Corners:
		d.corners(st)
	case *ast.Relation:
		d.relation(st)
	case *ast.Equation:
		d.equation(st)
	case *ast.Let:
		d.e.let(st, d.scope)
	case *ast.Area:
		d.area(st)
	}
	d.state[st] = finished
}

// add gives something drawn its name.
func (d *drawing) add(n ast.Ident, of sketch.Entity) {
	if n.Name != "" {
		d.scope.set(n.Name, n.Span(), &entity{d: d, of: of})
	}
}

// bounding notes a closed shape.
func (d *drawing) bounding(of sketch.Entity, guide bool) {
	if !guide {
		d.closed = append(d.closed, of)
	}
}

// ---- expressions

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

// ---- entities as values

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
	switch n.of.(type) {
	case *sketch.Circle, *sketch.Outline:
		return n.d.inside(n.of)
	}
	return nil, nil
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

// settle turns an unknown into a number once the sketch is solved.
func (d *drawing) settle(v value.Value) value.Value {
	u, ok := v.(value.Unknown)
	if !ok {
		return v
	}
	if c, ok := u.E.Constant(); ok {
		return value.Of(c, u.Dim)
	}
	if d.solved == nil {
		return v
	}
	return value.Of(d.solved.Value(u.E), u.Dim)
}

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
	return &value.Area{Name: left.Name, Area: combine(left.Area, others...)}
}
