package parse

import (
	"slices"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/spell"
	"perch/lang/token"
)

// sketchBlock reads the block of a sketch.
func (p *parser) sketchBlock(d *ast.Sketch, head []token.Token) token.Token {
	return p.block(head, func(stmt []token.Token) {
		n := p.told()
		var s ast.SketchStmt
		if good, ok := p.sound(stmt); ok {
			s = p.sketchStmt(good)
		}
		outline, isOutline := s.(*ast.Outline)
		if startsOutline(stmt) {
			if isOutline {
				p.outlineBlock(outline, stmt, true)
			} else if p.opensBlock() || p.indented(stmt) {
				o := &ast.Outline{}
				p.outlineBlock(o, stmt, false)
				d.Lost = append(d.Lost, cornersOf(o)...)
			}
		}
		if isOutline && outline != nil {
			// Faults within an outline leave the outline, with its gaps.
			d.Body = append(d.Body, outline)
			return
		}
		if p.told() > n || s == nil {
			p.lose(&d.Gaps, stmt)
			return
		}
		d.Body = append(d.Body, s)
	})
}

// cornersOf lists the names that an outline declares within it.
func cornersOf(o *ast.Outline) []ast.Ident {
	out := slices.Clone(o.Lost)
	add := func(p *ast.PointRef) {
		if p == nil {
			return
		}
		if ref, ok := p.Name.(*ast.Ref); ok {
			out = append(out, ast.Ident{At: ref.At, Name: ref.Name})
		}
	}
	add(&o.Start)
	for _, s := range o.Segs {
		out = append(out, s.Name)
		add(s.To)
	}
	return out
}

func startsOutline(stmt []token.Token) bool {
	i := 0
	if stmt[0].Value == "guide" {
		i = 1
	}
	return i < len(stmt) && (stmt[i].Value == "outline" || stmt[i].Value == "path") && stmt[i].Type == token.Ident
}

// opensBlock moves to the brace that follows, perhaps on the next line.
func (p *parser) opensBlock() bool {
	at := p.at
	p.skipNewlines()
	if isOp(p.peek(), "{") {
		return true
	}
	p.at = at
	return false
}

// sketchStmt reads one statement of a sketch; which one is settled by its
// first words, because all but a few words may be names.
func (p *parser) sketchStmt(stmt []token.Token) ast.SketchStmt {
	first, named := stmt[0], len(stmt) > 1 && (stmt[1].Type == token.Ident || stmt[1].Type == token.Keyword && stmt[1].Value != "less")
	guide := first.Value == "guide" && named
	word := first.Value
	if guide {
		word = stmt[1].Value
		named = len(stmt) > 2
	}
	if !begins[InSketch][word] {
		word = ""
	}
	if isKeyword(first, "let") {
		if l := p.let(stmt); l != nil {
			return l
		}
		return nil
	}
	if !named || first.Type != token.Ident {
		if len(stmt) == 1 || stmt[1].Type == token.Number || first.Type == token.Keyword {
			p.unknownStart("sketch", stmt)
			return nil
		}
		return p.general(stmt)
	}
	switch word {
	case "point":
		return p.point(stmt)
	case "line":
		return p.line(stmt)
	case "arc":
		return p.arc(stmt)
	case "circle":
		return p.circle(stmt)
	case "outline", "path":
		if g, ok := read(p, outlineGrammar, word, stmt); ok {
			return &ast.Outline{At: p.at1(g.Tokens), Guide: g.Guide, Path: g.Path, Name: p.ident(g.Name)}
		}
		return nil
	case "rectangle", "slot", "polygon":
		return p.shape(word, stmt)
	case "round", "bevel":
		if g, ok := read(p, cornersGrammar, word, stmt); ok {
			return &ast.Corners{At: p.at1(g.Tokens), Bevel: word == "bevel", Points: p.values(g.Points), By: p.value(g.By)}
		}
		return nil
	case "area":
		if g, ok := read(p, areaGrammar, "area", stmt); ok {
			return &ast.Area{At: p.at1(g.Tokens), Name: p.ident(g.Name), Value: p.body(g.Value)}
		}
		return nil
	}
	if guide {
		p.unknownStart("guide", stmt)
		return nil
	}
	if misspelt(stmt) {
		p.unknownStart("sketch", stmt)
		return nil
	}
	return p.general(stmt)
}

// misspelt reports whether a line reads like `pont o at (0, 0)`: two names and
// then what follows the name of an entity, which no relation does.
func misspelt(stmt []token.Token) bool {
	return len(stmt) > 3 && stmt[1].Type == token.Ident && stmt[2].Type == token.Ident && (len(stmt) > 4 || stmt[2].Value != "to") &&
		(hasWord("near at from centre", stmt[2].Value) || token.Clause(stmt[2].Value) && stmt[2].Value != "about") &&
		startsOperand(stmt[3])
}

func (p *parser) point(stmt []token.Token) ast.SketchStmt {
	g, ok := read(p, pointGrammar, "point", stmt)
	if !ok {
		return nil
	}
	return &ast.Point{At: p.at1(g.Tokens), Guide: g.Guide, Name: p.ident(g.Name), Place: p.place(g.Place)}
}

func (p *parser) line(stmt []token.Token) ast.SketchStmt {
	g, ok := read(p, lineGrammar, "line", stmt)
	if !ok {
		return nil
	}
	return &ast.Line{At: p.at1(g.Tokens), Guide: g.Guide, Name: p.ident(g.Name), From: *p.pointRef(g.From), To: *p.pointRef(g.To)}
}

func (p *parser) arc(stmt []token.Token) ast.SketchStmt {
	g, ok := read(p, arcGrammar, "arc", stmt)
	if !ok {
		return nil
	}
	a := &ast.Arc{At: p.at1(g.Tokens), Guide: g.Guide, Name: p.ident(g.Name), From: *p.pointRef(g.From), To: *p.pointRef(g.To)}
	o := p.options("arc", g.Options)
	a.Centre, a.Size, a.Clockwise = o.centre, o.size, o.clockwise
	return a
}

func (p *parser) circle(stmt []token.Token) ast.SketchStmt {
	g, ok := read(p, circleGrammar, "circle", stmt)
	if !ok {
		return nil
	}
	c := &ast.Circle{At: p.at1(g.Tokens), Guide: g.Guide, Name: p.ident(g.Name)}
	o := p.options("circle", g.Options)
	c.Size = o.size
	if o.centre == nil {
		p.incomplete("circle", stmt, "say where the circle's centre is")
		return c
	}
	c.Centre = *o.centre
	return c
}

// options are what may be said of an arc or a circle in any order.
type options struct {
	centre, to *ast.PointRef
	size       *ast.Size
	through    ast.Expr
	clockwise  bool
}

// allowed lists the options of each kind of statement.
var allowed = map[string]string{
	"arc":        "centre radius diameter clockwise",
	"circle":     "centre radius diameter",
	"arcsegment": "centre radius diameter clockwise through to",
}

func (p *parser) options(kind string, list []*arcOption) options {
	var o options
	seen := map[string]bool{}
	for _, g := range list {
		word := g.Tokens[0].Value
		key := word
		if word == "diameter" {
			key = "radius"
		}
		if !hasWord(allowed[kind], word) {
			p.fault(diag.Diagnostic{
				Code: "clause-unknown", At: p.spanOf(g.Tokens[0]),
				Message: "`" + word + "` does not belong to this " + kind,
				Notes:   []string{diag.Do("write it as: " + form(kind))},
			})
		} else if seen[key] {
			p.fault(diag.Diagnostic{
				Code: "clause-twice", At: p.spanOf(g.Tokens[0]),
				Message: "`" + word + "` is said a second time",
				Notes:   []string{diag.Do("keep one of the two")},
			})
		}
		seen[key] = true
		switch {
		case g.Centre != nil:
			o.centre = p.pointRef(g.Centre)
		case g.Size != nil:
			o.size = p.size(g.Size)
		case g.Through != nil:
			o.through = p.value(g.Through)
		case g.To != nil:
			o.to = p.pointRef(g.To)
		default:
			o.clockwise = true
		}
	}
	return o
}

func (p *parser) shape(word string, stmt []token.Token) ast.SketchStmt {
	g, ok := read(p, shapeGrammar, word, mark(stmt))
	if !ok {
		return nil
	}
	s := &ast.Shape{At: p.at1(g.Tokens), Guide: g.Guide, Kind: g.Kind.Value, Name: p.ident(g.Name)}
	var list []*clause
	for _, o := range g.Options {
		switch {
		case o.From != nil:
			s.From, s.To = p.pointRef(o.From), p.pointRef(o.To)
		case o.Centre != nil:
			s.Centre = p.pointRef(o.Centre)
		default:
			list = append(list, o.Clause)
		}
	}
	s.Clauses = p.clauses(list)
	return s
}

func (p *parser) place(g *place) *ast.Place {
	if g == nil {
		return nil
	}
	return &ast.Place{At: p.at1(g.Tokens), Near: g.Word.Value == "near", Pos: p.value(g.Pos)}
}

func (p *parser) size(g *size) *ast.Size {
	return &ast.Size{At: p.at1(g.Tokens), Word: g.Word.Value, Near: g.Near, Value: p.value(g.Value)}
}

func (p *parser) pointRef(g *pointRef) *ast.PointRef {
	if g == nil {
		return nil
	}
	r := &ast.PointRef{At: p.at1(g.all)}
	if isOp(g.point.toks[0], "(") {
		r.Tuple = p.value(&g.point)
	} else {
		r.Name = p.value(&g.point)
	}
	if len(g.pos.toks) > 0 {
		where := g.all[len(g.point.toks):]
		r.Place = &ast.Place{At: p.at1(where), Near: where[0].Value == "near", Pos: p.value(&g.pos)}
	}
	return r
}

// general reads a relation or an equation.
func (p *parser) general(stmt []token.Token) ast.SketchStmt {
	g, ok := read(p, generalGrammar, "general", stmt)
	if !ok {
		return nil
	}
	at := p.at1(g.Tokens)
	subjects := p.values(g.Subjects)
	if g.Word.Value != "" {
		r := &ast.Relation{At: at, Subjects: subjects, Word: p.ident(g.Word), Mode: p.ident(g.Mode), Objects: p.values(g.Objects)}
		if g.About != nil {
			r.About = p.value(g.About.Value)
			if g.About.Axis.Value != "" {
				r.Axis = p.axisName(g.About.Axis)
			}
		}
		return r
	}
	if b, ok := subjects[0].(*ast.Binary); ok && len(subjects) == 1 && precedence(&token.Token{Type: token.Op, Value: b.Op}) == precCompare {
		return &ast.Equation{At: at, Op: b.Op, Left: b.X, Right: b.Y}
	}
	d := diag.Diagnostic{
		Code: "statement-incomplete", At: at.Place,
		Message: "this line says nothing about the sketch",
		Notes: []string{
			diag.Why("a relation needs its word, an equation its `=`"),
			diag.Do("write a relation such as `floor horizontal`, or an equation such as `floor.length = 12mm`"),
		},
	}
	if now := asRelation(stmt); now != "" {
		d.Notes = []string{diag.Why("the word of a relation stands behind what it is about"), diag.Do("write `" + now + "`")}
		d.Fixes = []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: at.Place, New: now}}}}
	}
	p.fault(d)
	return nil
}

// chainWord is the word that d is written with.
func chainWord(d *ast.Outline) string {
	if d.Path {
		return "path"
	}
	return "outline"
}

// outlineBlock reads the segments of an outline. good tells that its head could
// be read, so that a brace that is missing is worth a word.
func (p *parser) outlineBlock(d *ast.Outline, head []token.Token, good bool) {
	if !p.opensBlock() {
		if good {
			p.fault(diag.Diagnostic{
				Code: "block-missing", At: p.endOf(head),
				Message: "expected `{` and the segments of this " + chainWord(d),
				Notes:   []string{diag.Do("write them after it: " + form(chainWord(d)))},
			})
		}
		d.Partial = true
		if !p.indented(head) {
			return
		}
	}
	started := false
	closing := p.block(head, func(stmt []token.Token) {
		n := p.told()
		if good, ok := p.sound(stmt); ok {
			p.segment(d, good, &started)
		}
		started = true
		if p.told() > n {
			p.loseSegment(&d.Gaps, stmt)
		}
	})
	d.Place = d.Place.To(p.spanOf(closing))
	if !started {
		p.fault(diag.Diagnostic{
			Code: "outline-empty", At: p.spanAll(head),
			Message: "this " + chainWord(d) + " has no segments",
			Notes:   []string{diag.Do("begin it with its first corner: `from (0, 0)`")},
		})
		d.Partial = true
	}
}

// loseSegment notes the names a missing segment may have declared: any of its
// words.
func (p *parser) loseSegment(g *ast.Gaps, stmt []token.Token) {
	g.Partial = true
	for _, t := range stmt[1:] {
		if isWord(&t) && !token.Clause(t.Value) {
			g.Lost = append(g.Lost, p.ident(t))
		}
	}
}

// segment reads one line of an outline.
func (p *parser) segment(d *ast.Outline, stmt []token.Token, started *bool) {
	first := stmt[0]
	if !begins[InOutline][first.Value] {
		p.unknownStart("outline", stmt)
		return
	}
	switch {
	case first.Value == "from":
		g, ok := read(p, startGrammar, "from", stmt)
		if !ok {
			return
		}
		if *started {
			p.fault(diag.Diagnostic{
				Code: "outline-order", At: p.spanOf(first),
				Message: "this " + chainWord(d) + " begins a second time",
				Notes:   []string{diag.Do("take this line out, or begin another " + chainWord(d))},
			})
			return
		}
		d.Start = *p.pointRef(g.Start)
		return
	case !*started && (first.Value == "line" || first.Value == "arc" || isKeyword(first, "close")):
		p.fault(diag.Diagnostic{
			Code: "outline-order", At: p.spanOf(first),
			Message: "this " + chainWord(d) + " does not say where it begins",
			Notes:   []string{diag.Do("write its first corner before this line: `from (0, 0)` or `from a near (-5mm, 0)`")},
		})
		d.Partial = true
	}
	switch {
	case first.Value == "line":
		p.lineSeg(d, stmt)
	case first.Value == "arc":
		p.arcSeg(d, stmt)
	case isKeyword(first, "close"):
		if g, ok := read(p, closeGrammar, "close", stmt); ok {
			d.Segs = append(d.Segs, ast.Seg{At: p.at1(g.Tokens), Kind: "close"})
		}
	}
}

// markName gives Name to the word after `line` or `arc` if it names the
// segment: when what follows cannot go on with it as an expression.
func markName(stmt []token.Token) []token.Token {
	if len(stmt) < 2 || stmt[1].Type != token.Ident || stmt[1].Value == "to" || stmt[1].Value == "at" {
		return stmt
	}
	if stmt[0].Value == "arc" && hasWord(allowed["arcsegment"], stmt[1].Value) {
		return stmt
	}
	if len(stmt) > 2 {
		if t := stmt[2]; t.Type == token.Op && t.Value != "," && t.Value != "(" || t.Value == "at" {
			return stmt
		}
		if isOp(stmt[2], "(") && stmt[2].Pos.Offset == end(stmt[1]) {
			return stmt
		}
	}
	stmt[1].Type = token.Name
	return stmt
}

// directions are those of a walked line.
var directions = []string{"right", "left", "up", "down", "ahead"}

func (p *parser) lineSeg(d *ast.Outline, stmt []token.Token) {
	g, ok := read(p, lineSegGrammar, "linesegment", markName(stmt))
	if !ok {
		return
	}
	if g.Dir.Value == "" && g.Length != nil && p.misspeltDirection(g.Name) {
		return
	}
	if g.Dir.Value == "" && g.Angle == nil && g.To == nil {
		p.incomplete("linesegment", stmt, "say where this line goes")
		return
	}
	d.Segs = append(d.Segs, ast.Seg{
		At: p.at1(g.Tokens), Kind: "line", Name: p.ident(g.Name), Dir: g.Dir.Value,
		Length: p.value(g.Length.plain()), Angle: p.value(g.Angle), To: p.pointRef(g.To),
	})
}

// misspeltDirection reports a name that was meant as a direction.
func (p *parser) misspeltDirection(name token.Token) bool {
	dir, ok := spell.Nearest(name.Value, directions)
	if ok {
		at := p.spanOf(name)
		p.fault(diag.Diagnostic{
			Code: "syntax", At: at,
			Message: "`" + name.Value + "` is no direction",
			Notes:   []string{diag.Do("did you mean `" + dir + "`?")},
			Fixes:   []diag.Fix{{Text: "write `" + dir + "`", Edits: []diag.Edit{{At: at, New: dir}}}},
		})
	}
	return ok
}

func (p *parser) arcSeg(d *ast.Outline, stmt []token.Token) {
	g, ok := read(p, arcSegGrammar, "arcsegment", markName(stmt))
	if !ok {
		return
	}
	o := p.options("arcsegment", g.Options)
	if g.Dir.Value == "" && o.to == nil {
		p.incomplete("arcsegment", stmt, "say where this arc goes")
		return
	}
	d.Segs = append(d.Segs, ast.Seg{
		At: p.at1(g.Tokens), Kind: "arc", Name: p.ident(g.Name), Dir: g.Dir.Value,
		Through: o.through, Size: o.size, Centre: o.centre, Clockwise: o.clockwise, To: o.to,
	})
}
