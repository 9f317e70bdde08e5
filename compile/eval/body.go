package eval

import (
	"fmt"

	"perch/compile/builtin"
	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// phrase makes a body from its head and clauses, or places one.
func (e *evaluator) phrase(x *ast.Phrase, s *scope) value.Value {
	c := e.phraseCall(x, s)
	if x.Head.Name == "" {
		return e.placed(x, c)
	}
	h, ok := builtin.LookupHead(x.Head.Name)
	if !ok {
		return e.headUnknown(x)
	}
	if b, ok := c.Make(h); ok {
		return b
	}
	return value.Bad{}
}

// phraseCall evaluates what is said in a phrase.
func (e *evaluator) phraseCall(x *ast.Phrase, s *scope) *builtin.Call {
	c := &builtin.Call{At: x.Span(), Head: x.Head.Name, Tolerance: e.opts.Tolerance, Report: e.report}
	if x.Head.Name != "" {
		c.At = x.Head.Span()
	}
	if x.Subject != nil {
		c.Subject = builtin.Arg{At: x.Subject.Span(), Value: e.expr(x.Subject, s)}
	}
	h, ok := builtin.LookupHead(x.Head.Name)
	led := ok && h.Along
	for i := range x.Clauses {
		c.Clauses = append(c.Clauses, e.clause(&x.Clauses[i], s, led))
	}
	if led {
		e.paths(x, c, s)
	}
	return c
}

// paths makes values of what stands behind `along` where that is no axis.
func (e *evaluator) paths(x *ast.Phrase, c *builtin.Call, s *scope) {
	for i := range x.Clauses {
		if a := x.Clauses[i].Axis; a != nil && a.Dir != nil && c.Clauses[i].Word == "along" {
			v := e.expr(a.Dir, s)
			c.Clauses[i].Args = append(c.Clauses[i].Args, builtin.Arg{At: a.Dir.Span(), Value: v})
		}
	}
}

func (e *evaluator) headUnknown(x *ast.Phrase) value.Value {
	var names []string
	for _, h := range builtin.All.Heads {
		names = append(names, h.Name)
	}
	f := value.Faultf(HeadUnknown, "there is no body called `%s`", x.Head.Name)
	f.Notes = nearest(x.Head.Name, names)
	return e.fault(x.Head.Span(), f)
}

func (e *evaluator) placed(x *ast.Phrase, c *builtin.Call) value.Value {
	if value.IsBad(c.Subject.Value) {
		return value.Bad{}
	}
	b, ok := c.Subject.Value.(*value.Body)
	if !ok {
		f := value.Faultf(WrongOperand, "`%s` places a body, this is %s", x.Clauses[0].Word.Name, value.Describe(c.Subject.Value))
		if _, fit := c.Subject.Value.(fitObject); fit {
			return e.fault(c.Subject.At, f.Do("place the body before it takes the fit: `cut pin at (0, 0, 3mm) with fit.snug`"))
		}
		return e.fault(c.Subject.At, f.Do("name a body before it"))
	}
	if b, ok = c.Place(b, nil); ok {
		return b
	}
	return value.Bad{}
}

// clause evaluates a clause; led tells that `along` a path may be meant.
func (e *evaluator) clause(c *ast.Clause, s *scope, led bool) *builtin.Clause {
	out := &builtin.Clause{At: c.Span(), Word: c.Word.Name, WordAt: c.Word.Span(), Second: c.Second.Name}
	for _, a := range c.Args {
		arg := builtin.Arg{At: a.Span(), Value: e.expr(a, s)}
		if t, ok := a.(*ast.Tuple); ok {
			for _, x := range t.Elems {
				arg.Parts = append(arg.Parts, x.Span())
			}
		}
		out.Args = append(out.Args, arg)
	}
	if !(c.Axis != nil && c.Axis.Dir != nil && led) {
		out.Axis = e.direction(c.Axis, s)
	}
	return out
}

// combine joins bodies, or areas, with less, with and within.
func (e *evaluator) combine(x *ast.Combine, s *scope) value.Value {
	left := e.expr(x.Left, s)
	rights := make([]value.Value, len(x.Right))
	good := !value.IsBad(left)
	for i, y := range x.Right {
		rights[i] = e.expr(y, s)
		good = good && !value.IsBad(rights[i])
	}
	if !good {
		return value.Bad{}
	}
	if b, ok := left.(*value.Body); ok {
		return e.combineBodies(x, b, rights)
	}
	switch a, f := builtin.AreaOf(left); {
	case f != nil:
		return e.fault(x.Left.Span(), f)
	case a != nil:
		return e.combineAreas(x, a, rights)
	}
	return e.fault(x.Left.Span(), value.Faultf(WrongOperand, "`%s` takes bodies or areas, this is %s", x.Op, value.Describe(left)).
		Do("name a body, a sketch, an outline, a circle or a ready shape"))
}

func (e *evaluator) combineBodies(x *ast.Combine, left *value.Body, rights []value.Value) value.Value {
	if f, ok := rights[0].(fitObject); ok {
		return e.fitted(x, left, f)
	}
	bodies := make([]*value.Body, len(rights))
	for i, r := range rights {
		b, ok := r.(*value.Body)
		if !ok {
			return e.fault(x.Right[i].Span(), value.Faultf(WrongOperand, "`%s` takes bodies, this is %s", x.Op, value.Describe(r)).
				Do("make an area thick first: `extrude … by 4mm`"))
		}
		bodies[i] = b
	}
	out := combined(x.Op, left, bodies)
	e.noteOperation(out.Solid, x.Op, x.Span())
	if f := builtin.Limits(out); f != nil {
		return e.fault(x.Span(), f)
	}
	return out
}

// noteOperation keeps the text of an operation on bodies. What the library
// does is no matter of the maker.
func (e *evaluator) noteOperation(b *solid.Body, word string, at source.Span) Operation {
	o := Operation{b, word, at}
	if e.operations != nil && !e.inLibrary() {
		e.operations[b] = o
	}
	return o
}

// combined is left less, with or within the others. What stays of a tube when
// something is taken from it is still that tube.
func combined(op string, left *value.Body, others []*value.Body) *value.Body {
	out := &value.Body{Leaves: left.Leaves, Facets: left.Facets, Endless: left.Endless}
	solids := make([]*solid.Body, len(others))
	for i, b := range others {
		solids[i] = b.Solid
		out.Leaves += b.Leaves
		out.Facets += b.Facets
		switch op {
		case "with":
			out.Endless = out.Endless || b.Endless
		case "within":
			out.Endless = out.Endless && b.Endless
		}
	}
	switch op {
	case "less":
		out.Solid, out.Tube = solid.Cut(left.Solid, solids...), left.Tube
	case "with":
		out.Solid = solid.Join(append([]*solid.Body{left.Solid}, solids...)...)
		out.Offset = builtin.JoinedOffset(append([]*value.Body{left}, others...), func(b []*value.Body) *value.Body {
			return combined(op, b[0], b[1:])
		})
	default:
		out.Solid = solid.Trim(left.Solid, solids...)
	}
	return out
}

// steps runs the steps of a part.
type steps struct {
	e        *evaluator
	decl     *ast.Part
	scope    *scope
	body     *value.Body
	bad      bool // a step had a fault: there is no body
	mating   []Mating
	material *builtin.Material
	named    *ast.Material // the step that named it, or nil
	assumed  bool          // neither a step nor the workshop named it
	printed  *ast.Print    // the step that lays the part on the bed, or nil
	turn     *geom.Transform
	checks   []*ast.Check
	said     []saying // cautions
	done     []Operation
}

func (p *steps) run() {
	for _, st := range p.decl.Steps {
		if !p.e.step(st.Span()) {
			p.bad = true
			return
		}
		switch st := st.(type) {
		case *ast.Let:
			p.e.let(st, p.scope)
		case *ast.Mating:
			p.mate(st)
		case *ast.Make:
			p.make(st)
		case *ast.Check:
			p.checks = append(p.checks, st)
		case *ast.Print:
			p.print(st)
		case *ast.Caution:
			p.caution(st)
		}
	}
	p.bad = p.bad || p.decl.Partial
	if p.body == nil && !p.bad {
		p.bad = true
		p.e.fault(p.decl.Name.Span(), value.Faultf(NoBody, "part %s makes nothing", p.decl.Name.Name).
			Do("begin with `join` and a body"))
	}
}

// solidOf evaluates an expression that must be a body.
func (p *steps) solidOf(x ast.Expr, verb string) (*value.Body, bool) {
	v := p.e.expr(x, p.scope)
	if value.IsBad(v) {
		return nil, false
	}
	b, ok := v.(*value.Body)
	if !ok {
		f := value.Faultf(WrongOperand, "`%s` takes a body, this is %s", verb, value.Describe(v))
		if a, _ := builtin.AreaOf(v); a != nil {
			f.Do("make it thick first: `extrude … by 4mm`")
		} else {
			f.Do("write a body, such as `box width 40mm, depth 20mm, height 5mm`")
		}
		p.e.fault(x.Span(), f)
	}
	return b, ok
}

func (p *steps) mate(st *ast.Mating) {
	b, ok := p.solidOf(st.Body, "mating")
	if !ok {
		p.scope.set(st.Name.Name, st.Name.Span(), value.Bad{})
		return
	}
	p.mating = append(p.mating, Mating{Name: st.Name.Name, Body: b, At: st.Name.Span()})
	p.scope.set(st.Name.Name, st.Name.Span(), b)
}

func (p *steps) make(st *ast.Make) {
	verb := st.Verb.Name
	var b *value.Body
	var ok bool
	mark, isMark := builtin.LookupMark(verb)
	if isMark {
		b, ok = p.mark(mark, st)
	} else {
		b, ok = p.solidOf(st.Body, verb)
		p.threadSwapped(verb, st.Body)
	}
	switch {
	case !ok:
		p.bad = true
		return
	case b == nil: // lettering without a sign
		return
	case p.body == nil && verb != "join":
		if !p.bad {
			p.e.fault(st.Span(), value.Faultf(NoBody, "there is nothing to %s yet", verb).Do("begin the part with `join` and a body"))
		}
		p.bad = true
		return
	case b.Endless && verb == "join":
		p.e.fault(st.Body.Span(), value.Faultf(EndlessBody, "this body is endless and cannot be printed").
			Why("a cylinder without a length goes on as far as the part needs, to cut it").
			Do("give the cylinder a `height` or a `length`"))
		p.bad = true
		return
	case p.body == nil:
		p.body = b
		p.done = append(p.done, Operation{b.Solid, verb, st.Span()})
		return
	}
	op := map[string]string{"join": "with", "cut": "less", "trim": "within", "engrave": "less", "emboss": "with"}[verb]
	next := combined(op, p.body, []*value.Body{b})
	if f := builtin.Limits(next); f != nil {
		p.e.fault(st.Span(), f)
		p.bad = true
		return
	}
	p.body = next
	p.done = append(p.done, p.e.noteOperation(next.Solid, verb, st.Span()))
}

// threadSwapped warns of a thread that is cut and of a tap that is joined:
// either has its allowance on the wrong side, and does not go together.
func (p *steps) threadSwapped(verb string, x ast.Expr) {
	ph, ok := x.(*ast.Phrase)
	for ok && ph.Head.Name == "" {
		ph, ok = ph.Subject.(*ast.Phrase)
	}
	if !ok {
		return
	}
	d := diag.Diagnostic{Code: ThreadSwapped, Severity: diag.Warning, At: ph.Head.Span()}
	switch {
	case verb == "cut" && ph.Head.Name == "thread":
		d.Message = "a thread that is cut leaves a hole too tight for its screw: its allowance is taken off"
		d.Notes = []string{diag.Do("use `tap` to cut a thread in a hole: `cut tap size …`")}
	case verb == "join" && ph.Head.Name == "tap":
		d.Message = "a tap that is joined makes a screw too thick for its hole: its allowance is added"
		d.Notes = []string{diag.Do("use `thread` to make a screw: `join thread size …`")}
	default:
		return
	}
	p.e.report(d)
}

// mark makes what a mark joins or cuts.
func (p *steps) mark(h *builtin.Head, st *ast.Make) (*value.Body, bool) {
	if p.body == nil {
		if !p.bad {
			p.e.fault(st.Span(), value.Faultf(NoBody, "there is nothing to %s yet", h.Name).Do("begin the part with `join` and a body"))
		}
		return nil, false
	}
	c := p.e.phraseCall(st.Body.(*ast.Phrase), p.scope)
	if value.IsBad(c.Subject.Value) {
		return nil, false
	}
	c.SoFar = func() (*mesh.Mesh, error) { return p.e.marked(p.body.Solid) }
	b, ok := c.Mark(h)
	if b != nil && c.Capitals > 0 {
		p.e.fine(c.Subject.At, c.Capitals)
	}
	return b, ok
}

// markTolerance is enough for the middle of a side, mm: flat sides stand
// exactly where they are anyway, and rounds reach to corners of their chords.
const markTolerance = 0.05

// marked builds a body that is marked, to find where its sides lie. The build
// is kept under the place of the mark among all, so that a change elsewhere
// does not cost it again.
func (e *evaluator) marked(b *solid.Body) (*mesh.Mesh, error) {
	o := solid.Options{Tolerance: max(markTolerance, e.opts.Tolerance)}
	bodies := e.opts.Bodies
	if bodies == nil {
		bodies = solid.NewCache(0)
	}
	e.marks++
	name := fmt.Sprintf("%s mark %d", e.main.File.Source.Path, e.marks)
	if e.nudge.sign != 0 {
		name += fmt.Sprintf(" shift %s %+g", e.nudge.source.Name, e.nudge.sign)
	}
	return bodies.Build(e.ctx, name, b, o)
}

// choose finds the step that names the material, wherever it stands, so that
// every other step can ask for it; without one the material is the default.
func (p *steps) choose() {
	byDefault := p.e.shop.Look("material")
	p.material, _ = p.e.shop.Material(string(byDefault.Value.(value.Text)))
	p.assumed = byDefault.Assumed()
	for _, st := range p.decl.Steps {
		if m, ok := st.(*ast.Material); ok {
			p.printIn(m)
		}
	}
}

func (p *steps) printIn(st *ast.Material) {
	if p.named != nil {
		p.e.fault(st.Span(), value.Faultf(builtin.ClauseTwice, "the material is told twice").Do("keep one of the two"),
			diag.Label{At: p.named.Span(), Text: "first told here"})
		return
	}
	m, ok := p.e.shop.Material(st.Name.Name)
	if !ok {
		p.e.fault(st.Name.Span(), noMaterial(st.Name.Name, p.e.shop.MaterialNames()))
		return
	}
	p.named, p.material, p.assumed = st, m, false
}

// print takes the step that lays the part on the bed.
func (p *steps) print(st *ast.Print) {
	if p.printed != nil {
		p.e.fault(st.Span(), value.Faultf(builtin.ClauseTwice, "how the part is printed is told twice").
			Do("keep one of the two; several turns stand in one step: `print turned 90deg about x, turned 45deg about z`"),
			diag.Label{At: p.printed.Span(), Text: "first told here"})
		p.bad = true
		return
	}
	p.printed = st
	c := &builtin.Call{At: st.Span(), Head: "print", Tolerance: p.e.opts.Tolerance, Report: p.e.report}
	for i := range st.Turns {
		c.Clauses = append(c.Clauses, p.e.clause(&st.Turns[i], p.scope, false))
	}
	turn, ok := c.Turns()
	if !ok {
		p.bad = true
		return
	}
	p.turn = &turn
}

// partDef is a declared part; as a body it is what its steps make.
type partDef struct {
	decl  *ast.Part
	scope *scope
}

// Kind implements value.Value.
func (*partDef) Kind() value.Kind     { return value.CallableKind }
func (f *partDef) Describe() string   { return "the " + f.what() }
func (f *partDef) what() string       { return "part " + f.decl.Name.Name }
func (f *partDef) form() string       { return form(f.decl.Name.Name, f.decl.Params) }
func (f *partDef) signature() *callee { return &callee{f.decl.Params, f.scope} }

// run makes the body of the part; its checks are about the part when it is
// built itself and say nothing here.
func (f *partDef) run(e *evaluator, s *scope, _ source.Span) value.Value {
	p := &steps{e: e, decl: f.decl, scope: s}
	if outer := e.material; outer == nil { // else what is built says what it is printed in
		p.choose()
		e.material = p.material
		defer func() { e.material = outer }()
	}
	if p.run(); p.bad {
		return value.Bad{}
	}
	return p.body
}
