package parse

import (
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/token"
)

// This file lowers bodies, areas and their clauses.

func (p *parser) body(b *body) ast.Expr {
	left := p.item(b.First)
	for _, c := range b.Rest {
		x := &ast.Combine{Op: c.Op.Value, Left: left}
		for _, i := range c.Items {
			x.Right = append(x.Right, p.item(i))
		}
		x.Place = left.Span().To(p.spanAll(c.Tokens))
		left = x
	}
	return left
}

func (p *parser) argument(a *argument) ast.Expr {
	left := p.item(a.First)
	for _, s := range a.Rest {
		x := &ast.Combine{Op: s.Op.Value, Left: left, Right: []ast.Expr{p.item(s.Item)}}
		x.Place = left.Span().To(p.spanAll(s.Tokens))
		left = x
	}
	return left
}

func (p *parser) item(i *item) ast.Expr {
	at := p.at1(i.Tokens)
	if i.If != nil {
		return &ast.If{At: at, Cond: p.value(i.If.Cond), Then: p.argument(i.If.Then), Else: p.argument(i.If.Else)}
	}
	x := &ast.Phrase{At: at}
	switch {
	case i.Head.Value != "":
		x.Head = p.ident(i.Head)
	case i.Sweep.Value != "":
		x.Head = p.ident(i.Sweep)
		x.Subject = p.subject(i.Subject)
	default:
		x.Subject = p.value(i.Value)
		if len(i.Clauses) == 0 {
			return x.Subject
		}
	}
	x.Clauses = p.clauses(i.Clauses)
	return x
}

func (p *parser) subject(s *subject) ast.Expr {
	left := p.value(s.First)
	for _, w := range s.Rest {
		x := &ast.Combine{Op: w.Op.Value, Left: left, Right: p.values(w.Items)}
		x.Place = left.Span().To(p.spanAll(w.Tokens))
		left = x
	}
	return left
}

// clauses lowers a list of clauses. `through` after a comma still belongs to
// the turn before it.
func (p *parser) clauses(list []*clause) []ast.Clause {
	out := make([]ast.Clause, 0, len(list))
	for _, g := range list {
		c := p.clause(g)
		if n := len(out); c.Word.Name == "through" && n > 0 && out[n-1].Word.Name == "turned" && len(out[n-1].Args) == 1 {
			out[n-1].Args = append(out[n-1].Args, c.Args...)
			out[n-1].Place = out[n-1].Place.To(c.Place)
			continue
		}
		out = append(out, c)
	}
	return out
}

func (p *parser) clause(g *clause) ast.Clause {
	c := ast.Clause{At: p.at1(g.Tokens)}
	add := func(list ...*value) {
		for _, v := range list {
			if v != nil {
				c.Args = append(c.Args, p.value(v))
			}
		}
	}
	switch {
	case g.Axial != nil:
		c.Word, c.Axis = p.ident(g.Axial.Word), p.axis(g.Axial.Axis)
	case g.FromTo != nil:
		c.Word, c.Axis = p.ident(g.FromTo.Word), p.axisName(g.FromTo.A)
		p.sameAxis(g.FromTo)
		add(g.FromTo.From, g.FromTo.To)
	case g.Turned != nil:
		c.Word, c.Axis = p.ident(g.Turned.Word), p.axis(g.Turned.Axis)
		add(g.Turned.Angle, g.Turned.Through)
	case g.Mirrored != nil:
		c.Word, c.Axis = p.ident(g.Mirrored.Word), p.axisName(g.Mirrored.Axis)
		add(g.Mirrored.At)
	case g.In != nil && g.In.Row != nil:
		r := g.In.Row
		c.Word, c.Axis = p.ident(r.Word), p.axis(r.Axis)
		add(r.Count, r.Pitch)
	case g.In != nil:
		r := g.In.Ring
		c.Word, c.Axis = p.ident(r.Word), p.axis(r.Axis)
		add(r.Count, r.First, r.Last)
		if r.First != nil && r.Last != nil {
			p.fault(diag.Diagnostic{
				Code: "clause-twice", At: p.spanAll(r.Last.toks),
				Message: "`every` stands twice in this ring",
				Notes:   []string{diag.Do("keep one of the two angles")},
			})
		}
	case g.Around != nil:
		c.Word = p.ident(g.Around.Word)
		add(g.Around.Tube, g.Around.Angle)
	case g.Across != nil:
		c.Word, c.Second = p.ident(g.Across.Word), p.ident(g.Across.Second)
		add(g.Across.Value)
	case g.Rim != nil:
		c.Word, c.Second = p.ident(g.Rim.Word), p.ident(g.Rim.Second)
		add(g.Rim.Value)
	case g.Side != nil:
		c.Word, c.Second = p.ident(g.Side.Word), p.ident(g.Side.Second)
	case g.Ranged != nil:
		c.Word = p.ident(g.Ranged.Word)
		add(g.Ranged.From, g.Ranged.To)
	default:
		c.Word = p.ident(g.Plain.Word)
		add(g.Plain.Value)
	}
	return c
}

func (p *parser) sameAxis(g *fromTo) {
	if g.A.Value == g.B.Value {
		return
	}
	p.fault(diag.Diagnostic{
		Code: "axis-differs", At: p.spanOf(g.B),
		Message: "this range begins along " + g.A.Value + " and ends along " + g.B.Value,
		Labels:  []diag.Label{{At: p.spanOf(g.A), Text: "it begins here"}},
		Notes:   []string{diag.Do("write both ends along the same axis: `from z = 0 to z = 5mm`")},
	})
}

func (p *parser) axis(a *axis) *ast.Axis {
	if a == nil {
		return nil
	}
	return &ast.Axis{At: p.at1(a.Tokens), Name: a.Name.Value, Negative: a.Minus, Dir: p.value(a.Dir)}
}

func (p *parser) axisName(t token.Token) *ast.Axis {
	return &ast.Axis{At: ast.At{Place: p.spanOf(t)}, Name: t.Value}
}
