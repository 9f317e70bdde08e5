package eval

import (
	"fmt"
	"strings"
	"sync"

	"perch/compile/geom"
	"perch/compile/sketch"
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

	mu    sync.Mutex // checks of several parts may ask at the same time
	done  map[string]value.Value
	drawn []solvedAs // in the order of solving
}

// solvedAs is a solved sketch with the name by which it is asked for.
type solvedAs struct {
	name string
	of   *solvedSketch
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
	if _, again := f.done[key]; again {
		return f.done[key] // solved meanwhile for someone else
	}
	f.done[key] = v
	if of, ok := v.(*solvedSketch); ok {
		f.drawn = append(f.drawn, solvedAs{f.decl.Name.Name + argsWords(f.decl.Params, s), of})
	}
	return v
}

// argsWords lists arguments as they are written; "" where there are none.
func argsWords(params []ast.Param, s *scope) string {
	var words []string
	for _, p := range params {
		words = append(words, p.Name.Name+": "+value.Print(s.names[p.Name.Name].value))
	}
	if words == nil {
		return ""
	}
	return "(" + strings.Join(words, ", ") + ")"
}

// argsKey is the same for the same arguments.
func argsKey(params []ast.Param, s *scope) string {
	var b strings.Builder
	for _, p := range params {
		switch v := s.names[p.Name.Name].value.(type) {
		case value.Number:
			fmt.Fprintf(&b, "%x", v.X)
			for _, u := range v.U { // the same value, measured otherwise, is another
				fmt.Fprintf(&b, ",%d:%x", u.Source, u.C)
			}
			b.WriteByte(';')
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
	for _, st := range f.decl.Body { // before measures ask for areas and perimeters
		if _, corners := st.(*ast.Corners); corners {
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
	paths    []*sketch.Outline
	closed   []sketch.Entity // outlines and circles that are not guides
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
	guide bool
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
			d.points[st.Name.Name].guide = st.Guide
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
			d.add(p.name, of, p.guide)
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
func (d *drawing) add(n ast.Ident, of sketch.Entity, guide bool) {
	if guide {
		of.MarkGuide()
	}
	if n.Name != "" {
		d.scope.set(n.Name, n.Span(), &entity{d: d, of: of})
	}
}

// bounding notes a closed shape.
func (d *drawing) bounding(of sketch.Entity, guide bool) {
	if guide {
		of.MarkGuide()
		return
	}
	d.closed = append(d.closed, of)
}
