package resolve

import (
	"slices"
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
)

// sketch binds a sketch. Its statements hold together in any order, so its
// names are collected first.
func (r *resolver) sketch(d *ast.Sketch) {
	params := r.params(r.top, d.Params)
	s := newScope(params)
	s.extra, s.hasOwn = Measures, true
	s.lose(d.Gaps)
	for _, p := range d.Params {
		s.put(p.Name) // a sketch's own names must differ from its parameters
	}
	for _, stmt := range d.Body {
		r.sketchNames(s, stmt)
	}
	for _, stmt := range d.Body { // corners are declared where nothing else of the name is
		if o, ok := stmt.(*ast.Outline); ok {
			s.lose(o.Gaps)
			corner(s, &o.Start)
			for i := range o.Segs {
				corner(s, o.Segs[i].To)
			}
		}
	}
	for _, stmt := range d.Body {
		r.sketchStmt(s, stmt)
	}
}

// corner declares the corner of an outline, unless the name is a point already.
func corner(s *scope, p *ast.PointRef) {
	if p == nil {
		return
	}
	if ref, ok := p.Name.(*ast.Ref); ok {
		s.put(ast.Ident{At: ref.At, Name: ref.Name})
	}
}

// placed declares an end of a line or an arc whose place is written with it.
func placed(s *scope, p *ast.PointRef) {
	if p != nil && p.Place != nil {
		corner(s, p)
	}
}

// sketchNames declares what a statement names.
func (r *resolver) sketchNames(s *scope, stmt ast.SketchStmt) {
	switch x := stmt.(type) {
	case *ast.Point:
		r.declare(s, x.Name)
	case *ast.Line:
		r.declare(s, x.Name)
		placed(s, &x.From)
		placed(s, &x.To)
	case *ast.Arc:
		r.declare(s, x.Name)
		placed(s, &x.From)
		placed(s, &x.To)
		placed(s, x.Centre)
	case *ast.Circle:
		r.declare(s, x.Name)
		placed(s, &x.Centre)
	case *ast.Outline:
		r.declare(s, x.Name)
		for _, seg := range x.Segs {
			r.declare(s, seg.Name)
		}
	case *ast.Shape:
		r.declare(s, x.Name)
		placed(s, x.From)
		placed(s, x.To)
		placed(s, x.Centre)
	case *ast.Area:
		r.declare(s, x.Name)
	case *ast.Let:
		r.inside(s, x.Name)
	}
}

func (r *resolver) sketchStmt(s *scope, stmt ast.SketchStmt) {
	switch x := stmt.(type) {
	case *ast.Point:
		r.place(s, x.Place)
	case *ast.Line:
		r.point(s, &x.From)
		r.point(s, &x.To)
	case *ast.Arc:
		r.point(s, &x.From)
		r.point(s, &x.To)
		r.point(s, x.Centre)
		r.size(s, x.Size)
	case *ast.Circle:
		r.point(s, &x.Centre)
		r.size(s, x.Size)
	case *ast.Outline:
		r.outline(s, x)
	case *ast.Shape:
		r.point(s, x.From)
		r.point(s, x.To)
		r.point(s, x.Centre)
		r.clauseWords(x.Kind, x.Clauses)
		r.clauses(s, x.Clauses)
	case *ast.Corners:
		r.exprs(s, x.Points)
		r.expr(s, x.By)
	case *ast.Relation:
		r.relation(s, x)
	case *ast.Equation:
		r.expr(s, x.Left)
		r.expr(s, x.Right)
	case *ast.Area:
		r.expr(s, x.Value)
	case *ast.Let:
		r.expr(r.params(s, x.Params), x.Value)
	}
}

func (r *resolver) outline(s *scope, x *ast.Outline) {
	r.point(s, &x.Start)
	for i := range x.Segs {
		seg := &x.Segs[i]
		r.expr(s, seg.Length)
		r.expr(s, seg.Angle)
		r.expr(s, seg.Through)
		r.size(s, seg.Size)
		r.point(s, seg.Centre)
		r.point(s, seg.To)
	}
}

func (r *resolver) relation(s *scope, x *ast.Relation) {
	if !r.known[Relations][x.Word.Name] {
		if r.relationWritten(x) {
			return
		}
		list := r.env.Words(Relations)
		r.unknown("relation-unknown", x.Word.Place, "unknown relation `"+x.Word.Name+"`", x.Word.Name, list,
			"the relations are "+strings.Join(list, ", "))
		return
	}
	r.exprs(s, x.Subjects)
	r.exprs(s, x.Objects)
	r.expr(s, x.About)
	if x.Axis != nil {
		r.expr(s, x.Axis.Dir)
	}
}

// relationWritten finds a relation that is written as it is spoken, `a is
// horizontal`, or before what it is about, `horizontal a`.
func (r *resolver) relationWritten(x *ast.Relation) bool {
	ref := func(list []ast.Expr) *ast.Ref {
		if len(list) == 1 {
			if r, ok := list[0].(*ast.Ref); ok {
				return r
			}
		}
		return nil
	}
	subject, object := ref(x.Subjects), ref(x.Objects)
	var now string
	d := diag.Diagnostic{Code: "relation-unknown", At: x.Word.Place}
	switch {
	case subject != nil && object != nil && slices.Contains([]string{"is", "are", "be"}, x.Word.Name) && r.known[Relations][object.Name]:
		d.Message = "a relation has no `" + x.Word.Name + "`"
		now = subject.Name + " " + object.Name
	case subject != nil && r.known[Relations][subject.Name] && len(x.Objects) <= 1:
		d.Message = "the word of a relation stands behind what it is about"
		d.At = subject.Place
		now = x.Word.Name + " " + subject.Name
		if object != nil {
			now += " " + object.Name
		}
	default:
		return false
	}
	d.Notes = []string{diag.Do("write `" + now + "`")}
	d.Fixes = []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: x.Place, New: now}}}}
	r.diags.Add(d)
	return true
}

func (r *resolver) point(s *scope, p *ast.PointRef) {
	if p == nil {
		return
	}
	r.expr(s, p.Name)
	r.expr(s, p.Tuple)
	r.place(s, p.Place)
}

func (r *resolver) place(s *scope, p *ast.Place) {
	if p != nil {
		r.expr(s, p.Pos)
	}
}

func (r *resolver) size(s *scope, z *ast.Size) {
	if z != nil {
		r.expr(s, z.Value)
	}
}
