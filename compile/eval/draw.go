package eval

import (
	"math"
	"strings"

	"perch/compile/builtin"
	"perch/compile/sketch"
	"perch/compile/solve"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/unit"
)

// This file carries out the statements of a sketch on its drawing board.

const fullTurn = 2 * math.Pi

func (d *drawing) line(st *ast.Line) {
	a, b := d.point(&st.From), d.point(&st.To)
	if a != nil && b != nil {
		d.add(st.Name, d.board.NewLine(st.Name.Name, a, b, whereNamed(st.Name, st.Span())), st.Guide)
	}
}

// whereNamed is the place of a name, or that of the statement without one.
func whereNamed(n ast.Ident, at source.Span) source.Span {
	if n.Name != "" {
		return n.Span()
	}
	return at
}

// sizeOf evaluates `radius r` or `diameter d`; near is a suggestion of it.
func (d *drawing) sizeOf(z *ast.Size) (r *solve.Expr, near float64, ok bool) {
	if z == nil {
		return nil, 0, true
	}
	half := 1.0
	if z.Word == "diameter" {
		half = 0.5
	}
	if z.Near {
		n, ok := d.known(z.Value, "length", "a suggested "+z.Word+" is")
		return nil, float64(half * n.X), ok
	}
	if r = d.size(z.Value, "`"+z.Word+"`"); r == nil {
		return nil, 0, false
	}
	return solve.Scale(half, r), 0, true
}

// likelySize is where a radius starts that nothing is known of, mm.
const likelySize = 5

func (d *drawing) circle(st *ast.Circle) {
	c := d.point(&st.Centre)
	r, near, ok := d.sizeOf(st.Size)
	if c == nil || !ok {
		return
	}
	at := whereNamed(st.Name, st.Span())
	var of *sketch.Circle
	if r != nil {
		of = d.board.CircleOf(st.Name.Name, c, r, at)
	} else {
		if !(near > 0) {
			near = likelySize
		}
		of = d.board.CircleNear(st.Name.Name, c, near, at)
	}
	if r != nil {
		d.board.SizeGiven(of, st.Size.Word == "diameter", st.Size.Span())
	}
	d.add(st.Name, of, st.Guide)
	d.bounding(of, st.Guide)
}

func (d *drawing) arc(st *ast.Arc) {
	a, b := d.point(&st.From), d.point(&st.To)
	c, ok1 := d.optional(st.Centre)
	r, _, ok2 := d.sizeOf(st.Size)
	if a == nil || b == nil || !ok1 || !ok2 {
		return
	}
	at := whereNamed(st.Name, st.Span())
	if c == nil {
		c = d.board.FreePoint("", d.board.StartOf(a).Add(d.board.StartOf(b)).Scale(0.5), at)
	}
	of := d.board.NewArc(st.Name.Name, a, b, c, r, st.Clockwise, at)
	if r != nil {
		d.board.SizeGiven(of, st.Size.Word == "diameter", st.Size.Span())
	}
	d.add(st.Name, of, st.Guide)
}

// optional returns the point of a reference that may be missing.
func (d *drawing) optional(r *ast.PointRef) (*sketch.Point, bool) {
	if r == nil {
		return nil, true
	}
	p := d.point(r)
	return p, p != nil
}

func (d *drawing) outline(st *ast.Outline) {
	start := d.point(&st.Start)
	if start == nil {
		return
	}
	o := d.board.NewOutline(st.Name.Name, start, whereNamed(st.Name, st.Span()))
	d.scope.set(st.Name.Name, st.Name.Span(), &entity{d: d, of: o})
	if st.Path {
		o.Path = true
		d.paths = append(d.paths, o)
	} else {
		d.bounding(o, st.Guide)
	}
	if st.Partial {
		d.bad = true
	}
	for i := range st.Segs {
		if !d.segment(o, &st.Segs[i]) {
			d.bad = true
			return
		}
	}
	if n := len(st.Segs); !st.Path && (n == 0 || st.Segs[n-1].Kind != "close") {
		if err := o.Close(false, "", st.Span()); err != nil {
			last, begins := st.Start.Span(), diag.Label{At: st.Start.Span(), Text: "it begins here"}
			if n > 0 {
				last = st.Segs[n-1].Span()
			}
			d.fault(last, value.Faultf(sketch.CodeOpen, "%v", err).Do("end it with `close` after this line, or lead this line back to where it began"), begins)
		}
	}
}

// segment adds one segment of an outline.
func (d *drawing) segment(o *sketch.Outline, g *ast.Seg) bool {
	at := whereNamed(g.Name, g.Span())
	if g.Kind == "close" {
		return d.step(g.Span(), o.Close(true, g.Name.Name, at))
	}
	st := sketch.Step{Name: g.Name.Name, At: at, Clockwise: g.Clockwise}
	if ref := g.To; ref != nil {
		st.ToNew = d.walkedTo(ref)
		if st.To = d.point(ref); st.To == nil {
			return false
		}
	}
	if g.Kind == "arc" {
		if !d.bend(g, &st) {
			return false
		}
		a, err := o.Arc(st)
		if err == nil {
			d.bendSizes(g, a, &st)
			d.add(g.Name, a, false)
		}
		return d.step(g.Span(), err)
	}
	if !d.walk(g, &st) {
		return false
	}
	l, err := o.Line(st)
	if err == nil {
		if g.Length != nil {
			d.board.LengthGiven(l, st.Length, g.Length.Span())
		}
		if g.Angle != nil {
			d.board.DirectionGiven(l, st.Angle, g.Angle.Span())
		}
		d.add(g.Name, l, false)
	}
	return d.step(g.Span(), err)
}

// bendSizes notes the sizes of a round segment.
func (d *drawing) bendSizes(g *ast.Seg, a *sketch.Arc, st *sketch.Step) {
	if st.Radius != nil {
		d.board.SizeGiven(a, g.Size.Word == "diameter", g.Size.Span())
	}
	if st.Through != nil {
		d.board.SweepGiven(a, st.Through, g.Through.Span())
	}
}

// walkedTo reports whether a point is drawn by the segment that reaches it, so
// that the segment tells where it starts.
func (d *drawing) walkedTo(r *ast.PointRef) bool {
	ref, ok := r.Name.(*ast.Ref)
	if !ok {
		return false
	}
	p := d.points[ref.Name]
	return p != nil && p.state == untouched && p.place == nil
}

// step reports a segment that cannot be drawn.
func (d *drawing) step(at source.Span, err error) bool {
	if err != nil {
		d.fault(at, value.Faultf(StepBad, "%v", err).Do("see how the segments follow each other"))
	}
	return err == nil
}

func (d *drawing) walk(g *ast.Seg, st *sketch.Step) bool {
	st.Dir = g.Dir
	if ref, ok := g.Length.(*ast.Ref); ok && d.points[ref.Name] != nil {
		d.fault(ref.Span(), value.Faultf(builtin.KindMismatch, "`%s` is a point, and a line says how far it goes or where it ends", ref.Name).
			Do("leave `%s` out if the line begins there: it goes on from where the one before it ended", ref.Name))
		return false
	}
	if g.Length != nil {
		if st.Length = d.size(g.Length, "how far this line goes"); st.Length == nil {
			return false
		}
	}
	if g.Angle != nil {
		if st.Angle = d.measure(g.Angle, "angle", "a direction is"); st.Angle == nil {
			return false
		}
	}
	return true
}

func (d *drawing) bend(g *ast.Seg, st *sketch.Step) (ok bool) {
	st.Turn = g.Dir
	if st.Radius, _, ok = d.sizeOf(g.Size); !ok {
		return false
	}
	if st.Centre, ok = d.optional(g.Centre); !ok {
		return false
	}
	if g.Through == nil {
		return true
	}
	if st.Through = d.measure(g.Through, "angle", "`through` is"); st.Through == nil {
		return false
	}
	if c, known := st.Through.Constant(); known && !(c > 0 && c < fullTurn) {
		d.fault(g.Through.Span(), value.Faultf(builtin.SizeNotAbove0, "an arc goes through more than 0 and less than 360 deg, this is %s", value.Angle(c)).
			Do("give an angle between; the side it turns to is told by left and right"))
		return false
	}
	return true
}

// ---- ready shapes

// clauses of a shape by word.
type clauses map[string]*ast.Clause

func (d *drawing) shape(st *ast.Shape) {
	c := clauses{}
	for i := range st.Clauses {
		c[st.Clauses[i].Word.Name] = &st.Clauses[i]
	}
	var n *entity
	switch st.Kind {
	case "rectangle":
		n = d.rectangle(st, c)
	case "slot":
		n = d.slot(st, c)
	default:
		n = d.polygon(st, c)
	}
	if n == nil {
		return
	}
	d.scope.set(st.Name.Name, st.Name.Span(), n)
	d.bounding(n.of, st.Guide)
}

// sizeIn is the size of a clause; a missing one is a fault.
func (d *drawing) sizeIn(st *ast.Shape, c clauses, word string) *solve.Expr {
	cl := c[word]
	if cl == nil || len(cl.Args) == 0 {
		d.fault(source.Span{File: st.Span().File, Start: st.Span().Start, End: st.Span().Start + len(st.Kind)},
			value.Faultf(builtin.ClauseMissing, "this %s has no %s", st.Kind, word).Do("add `%s` and a length", word))
		return nil
	}
	return d.size(cl.Args[0], "`"+word+"`")
}

// centreOf is the centre of a shape, the origin when none is written.
func (d *drawing) centreOf(st *ast.Shape) *sketch.Point {
	if st.Centre != nil {
		return d.point(st.Centre)
	}
	return d.board.FixedPoint("", solve.Const(0), solve.Const(0), st.Span())
}

func lengthOf(name string, e *solve.Expr) extra {
	return extra{name, sketch.Measure{Expr: e, Dim: unit.Length}}
}

func pointOf(name string, p *sketch.Point) extra { return extra{name, sketch.Measure{Entity: p}} }

func (d *drawing) rectangle(st *ast.Shape, c clauses) *entity {
	if st.From != nil {
		return d.betweenCorners(st, c)
	}
	centre := d.centreOf(st)
	w, h := d.sizeIn(st, c, "width"), d.sizeIn(st, c, "height")
	corners, ok := d.cornersOf(c)
	if centre == nil || w == nil || h == nil || !ok {
		return nil
	}
	of := d.board.Rectangle(st.Name.Name, centre, w, h, corners, whereNamed(st.Name, st.Span()))
	d.board.SidesGiven(of, w, h, c["width"].Args[0].Span(), c["height"].Args[0].Span())
	return &entity{d: d, of: of, shape: []extra{lengthOf("width", w), lengthOf("height", h), pointOf("centre", centre)}}
}

// betweenCorners draws a rectangle from one corner to the opposite one.
func (d *drawing) betweenCorners(st *ast.Shape, c clauses) *entity {
	if st.Centre != nil || c["width"] != nil || c["height"] != nil {
		d.fault(st.Span(), value.Faultf(builtin.ClauseTwice, "the place of this rectangle is told twice").
			Do("write `from p to q`, two opposite corners, or its width, height and centre"))
		return nil
	}
	a, b := d.point(st.From), d.point(st.To)
	corners, ok := d.cornersOf(c)
	if a == nil || b == nil || !ok {
		return nil
	}
	half := solve.Const(0.5)
	centre := d.board.FixedPoint("", solve.Mul(half, solve.Add(a.X, b.X)), solve.Mul(half, solve.Add(a.Y, b.Y)), st.Span())
	w, h := solve.Abs(solve.Sub(b.X, a.X)), solve.Abs(solve.Sub(b.Y, a.Y))
	of := d.board.Rectangle(st.Name.Name, centre, w, h, corners, whereNamed(st.Name, st.Span()))
	return &entity{d: d, of: of, shape: []extra{lengthOf("width", w), lengthOf("height", h), pointOf("centre", centre)}}
}

// cornersOf reads the radius of the corners of a rectangle, nil for none.
func (d *drawing) cornersOf(c clauses) (*solve.Expr, bool) {
	cl := c["corners"]
	if cl == nil {
		return nil, true
	}
	by := d.measure(cl.Args[0], "length", "`corners` is")
	if by == nil {
		return nil, false
	}
	switch k, ok := by.Constant(); {
	case ok && k == 0:
		return nil, true
	case ok && k < 0:
		d.fault(cl.Args[0].Span(), builtin.SizeFault("`corners`", k))
		return nil, false
	}
	return by, true
}

func (d *drawing) slot(st *ast.Shape, c clauses) *entity {
	if st.From == nil || st.To == nil {
		d.fault(st.Span(), value.Faultf(builtin.ClauseMissing, "this slot lacks an end").
			Do("write `from p to q`, the centres of its round ends"))
		return nil
	}
	a, b := d.point(st.From), d.point(st.To)
	w := d.sizeIn(st, c, "width")
	if a == nil || b == nil || w == nil {
		return nil
	}
	of := d.board.SlotShape(st.Name.Name, a, b, w, whereNamed(st.Name, st.Span()))
	d.board.WidthGiven(of, w, c["width"].Args[0].Span())
	return &entity{d: d, of: of, shape: []extra{lengthOf("width", w), pointOf("start", a), pointOf("end", b)}}
}

// Sides of a regular polygon; more would be a circle.
const leastSides, mostSides = 3, 1000

func (d *drawing) polygon(st *ast.Shape, c clauses) *entity {
	centre := d.centreOf(st)
	sides := c["sides"]
	if sides == nil {
		d.fault(st.Span(), value.Faultf(builtin.ClauseMissing, "this polygon does not say how many sides it has").Do("add `sides 6`"))
		return nil
	}
	n, ok := d.known(sides.Args[0], "count", "`sides` is")
	if ok && (n.X < leastSides || n.X > mostSides) {
		d.fault(sides.Args[0].Span(), value.Faultf(SidesBad, "a polygon has from %d to %d sides, this is %s", leastSides, mostSides, n).
			Do("give a number between, or draw a circle"))
		ok = false
	}
	if !ok {
		return nil
	}
	k, _ := n.Whole()
	radius := d.cornerRadius(st, c, k)
	// A side lies level at the bottom, unless it is turned.
	turned := solve.Const(math.Pi/float64(k) - math.Pi/2)
	if cl := c["turned"]; cl != nil {
		a := d.measure(cl.Args[0], "angle", "`turned` takes")
		if a == nil {
			return nil
		}
		turned = solve.Add(turned, a)
	}
	if centre == nil || radius == nil {
		return nil
	}
	of := d.board.Polygon(st.Name.Name, centre, k, radius, turned, whereNamed(st.Name, st.Span()))
	switch across := c["across"]; {
	case across == nil:
		d.board.AcrossGiven(of, false, solve.Scale(2, radius), c["radius"].Args[0].Span())
	case across.Second.Name == "corners":
		d.board.AcrossGiven(of, false, solve.Scale(2, radius), across.Args[0].Span())
	default:
		d.board.AcrossGiven(of, true, sketch.FlatsOf(radius, k), across.Args[0].Span())
	}
	return &entity{d: d, of: of, shape: []extra{lengthOf("radius", radius), pointOf("centre", centre)}}
}

// cornerRadius is the radius of the circle through the corners of a polygon.
func (d *drawing) cornerRadius(st *ast.Shape, c clauses, sides int) *solve.Expr {
	across, radius := c["across"], c["radius"]
	switch {
	case across != nil && radius != nil:
		d.fault(radius.Span(), value.Faultf(builtin.ClauseTwice, "the size of this polygon is told twice").Do("keep one of the two"))
		return nil
	case radius != nil:
		return d.size(radius.Args[0], "`radius`")
	case across == nil:
		d.fault(st.Span(), value.Faultf(builtin.ClauseMissing, "this polygon has no size").
			Do("add `across flats`, `across corners` or `radius` and a length"))
		return nil
	}
	w := d.size(across.Args[0], "`across "+across.Second.Name+"`")
	switch {
	case w == nil:
		return nil
	case across.Second.Name == "corners":
		return sketch.AcrossCorners(w)
	}
	return sketch.AcrossFlats(w, sides)
}

func (d *drawing) corners(st *ast.Corners) {
	points, ok := d.operands(st.Points)
	by := d.size(st.By, "this size")
	if !ok || by == nil {
		return
	}
	for i, o := range points {
		at := st.Points[i].Span()
		p, ok := o.(*sketch.Point)
		if !ok {
			d.fault(at, value.Faultf(CornerBad, "a corner is a point, this is %s", sortOf(o)).Do("name the corner of an outline"))
			continue
		}
		if err := d.board.RoundCorner(p, by, st.Bevel, at); err != nil && !d.bad { // else its outline may lack what was told
			d.fault(at, value.Faultf(CornerBad, "%v", err).Do("name a corner of an outline, each once"))
		}
	}
}

// ---- relations and equations

func (d *drawing) relation(st *ast.Relation) {
	r := sketch.Sentence{Mode: st.Mode.Name, At: st.Span()}
	var ok1, ok2 bool
	r.Subjects, ok1 = d.operands(st.Subjects)
	r.Objects, ok2 = d.operands(st.Objects)
	if !d.about(st, &r) || !ok1 || !ok2 {
		return
	}
	if err := d.board.Relate(st.Word.Name, r); err != nil {
		f := value.Faultf(RelationBad, "%v", err)
		for _, rel := range sketch.Relations() {
			if rel.Word == st.Word.Name {
				f.Why("%s", rel.Doc)
				f.Do("name what it goes with, as in `%s`", lineWith(rel.Example, rel.Word))
			}
		}
		d.fault(st.Span(), f)
	}
}

// lineWith is the line of an example that holds a word.
func lineWith(example, word string) string {
	for _, line := range strings.Split(example, "\n") {
		if strings.Contains(" "+line+" ", " "+word+" ") {
			return strings.TrimSpace(line)
		}
	}
	return word
}

// about reads what `mirrors` mirrors about.
func (d *drawing) about(st *ast.Relation, r *sketch.Sentence) bool {
	switch {
	case st.About == nil && st.Word.Name == "mirrors":
		d.fault(st.Span(), value.Faultf(RelationBad, "`mirrors` does not say about what").Do("add `about x = 0`, `about y = 0`, or `about` and a line"))
		return false
	case st.About == nil:
		return true
	case st.Axis != nil && st.Axis.Name != "x" && st.Axis.Name != "y":
		d.fault(st.Axis.Span(), value.Faultf(builtin.AxisBad, "a sketch has x and y only").Do("write `about x = 0` or `about y = 0`"))
		return false
	case st.Axis != nil:
		r.Axis, r.About = st.Axis.Name, d.measure(st.About, "length", "`about` takes")
		return r.About != nil
	}
	o := d.operand(st.About)
	if o == nil {
		return false
	}
	l, ok := o.(*sketch.Line)
	if !ok {
		d.fault(st.About.Span(), value.Faultf(NotEntity, "a mirror is a line, this is %s", sortOf(o)).
			Do("name a line, or write `about x = 0`"))
	}
	r.AboutLine = l
	return ok
}

// equation asks for an equation between measures, or expects a comparison.
func (d *drawing) equation(st *ast.Equation) {
	a, b := d.e.expr(st.Left, d.scope), d.e.expr(st.Right, d.scope)
	if value.IsBad(a) || value.IsBad(b) {
		d.bad = true
		return
	}
	m, ok1 := standIn(a)
	n, ok2 := standIn(b)
	if !ok1 || !ok2 {
		wrong, at := a, st.Left
		if ok1 {
			wrong, at = b, st.Right
		}
		d.fault(at.Span(), value.Faultf(WrongOperand, "an equation is between numbers and measures, this is %s", value.Describe(wrong)).
			Do("write a measure of it, such as its length, radius or x"))
		return
	}
	opAt := source.Span{File: st.Span().File, Start: st.Left.Span().End, End: st.Right.Span().Start}
	holds, f := value.Compare(st.Op, m, n)
	if f != nil {
		if isUnknown(a, b) {
			f = dimsOnly(f)
		}
		d.fault(trimmed(opAt), f)
		return
	}
	if !isUnknown(a, b) {
		if !holds {
			d.fault(st.Span(), value.Faultf(KnownEquation, "this does not hold: %s %s %s", m, st.Op, n).
				Why("both sides are known, nothing in the sketch can change them").
				Do("correct one of the two, or name a measure of the sketch"))
		}
		return
	}
	dim := m.As(n.Dim).Dim
	p, _ := value.Lift(a, dim)
	q, _ := value.Lift(b, dim)
	if st.Op != "=" {
		d.board.Inequality(p.E, st.Op, q.E, dim, st.Span())
		return
	}
	kind := sketch.AnyOther
	switch dim {
	case unit.Length:
		kind = sketch.LengthOf
	case unit.Angle:
		kind = sketch.AngleOf
	}
	d.board.Equation(p.E, q.E, kind, st.Span())
}

// trimmed is the span without the blanks round it.
func trimmed(s source.Span) source.Span {
	for s.Start < s.End && s.File.Text[s.Start] == ' ' {
		s.Start++
	}
	for s.End > s.Start && s.File.Text[s.End-1] == ' ' {
		s.End--
	}
	return s
}

// call works out a measure that is called, such as distance(a, b).
func (d *drawing) call(x *ast.Call, f *sketch.Function) value.Value {
	var args []sketch.Entity
	good := true
	for _, a := range x.Args {
		o := d.operand(a.Value)
		args, good = append(args, o), good && o != nil
	}
	if !good {
		return value.Bad{}
	}
	e, err := f.Apply(d.board, args)
	if err != nil {
		d.fault(x.Span(), value.Faultf(MeasureBad, "%v", err).Do("write it as in `%s`", f.Example))
		return value.Bad{}
	}
	return d.settle(value.Unknown{E: e, Dim: f.Dim})
}
