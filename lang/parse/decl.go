package parse

import (
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/spell"
	"perch/lang/token"
)

// decls reads the declarations of the file.
func (p *parser) decls() {
	for !p.full {
		p.skipNewlines()
		t := p.peek()
		switch {
		case t.Type == token.EOF:
			return
		case isOp(t, "}"):
			p.strayBrace(t)
		case t.Type == token.Keyword && token.Declares(t.Value):
			p.decl(t)
		case t.Type == token.Ident && t.Value == workshopWord:
			p.blockDecl(t, p.statement())
		default:
			p.noDecl()
		}
	}
}

func (p *parser) strayBrace(t token.Token) {
	p.at++
	if p.unclosed > 0 { // it ends a block whose end was reported missing
		p.unclosed--
		return
	}
	p.fault(diag.Diagnostic{
		Code: "brace-stray", At: p.spanOf(t),
		Message: "this `}` closes nothing",
		Notes:   []string{diag.Do("take it out, or add the `{` that is missing before it")},
	})
}

// noDecl reports a statement that no declaration begins with.
func (p *parser) noDecl() {
	if p.outside() {
		p.endedEarly()
		return
	}
	stmt := p.statement()
	if len(stmt) == 0 { // an opening brace
		p.strayBlock()
		p.file.Partial = true
		return
	}
	if _, ok := p.sound(stmt); ok {
		p.unknownStart("top", stmt)
	}
	p.lose(&p.file.Gaps, stmt)
	for i := 0; i < len(stmt) && isWord(&stmt[i]); i += 2 { // of a `use` or a `sketch` that was left out
		p.file.Lost = append(p.file.Lost, p.ident(stmt[i]))
		if i+1 < len(stmt) && !isOp(stmt[i+1], ",") {
			break
		}
	}
	if isOp(p.peek(), "{") {
		p.skipBlock()
	}
}

// lose notes in g that stmt is missing and which name it would have declared.
func (p *parser) lose(g *ast.Gaps, stmt []token.Token) {
	g.Partial = true
	if len(stmt) > 1 && isWord(&stmt[0]) && (isOp(stmt[1], "=") || isOp(stmt[1], ":")) { // a let without its word
		g.Lost = append(g.Lost, p.ident(stmt[0]))
		return
	}
	i := 1
	if len(stmt) > 0 && stmt[0].Value == "guide" {
		i = 2
	}
	p.loseParts(g, stmt)
	if near, _ := spell.Nearest(first(stmt), []string{"use"}); first(stmt) == "use" || near == "use" {
		for _, t := range stmt[1:] {
			if isWord(&t) {
				g.Lost = append(g.Lost, p.ident(t))
			}
		}
		g.Nameless = g.Nameless || isOp(stmt[len(stmt)-1], ",")
		return
	}
	for i < len(stmt) && stmt[i].Value == stmt[i-1].Value { // `let let wall`
		i++
	}
	n := len(g.Lost)
	p.loseWords(g, stmt, i)
	g.Nameless = g.Nameless || len(g.Lost) == n && hasWord(namers, first(stmt))
}

// namers are the words that declare the name behind them.
const namers = "let measure mating sketch part point line arc circle outline path rectangle slot polygon"

func (p *parser) decl(t token.Token) {
	stmt := p.statement()
	n := p.told()
	var d ast.Decl
	switch t.Value {
	case "use":
		d = p.use(stmt)
	case "measure":
		d = p.measure(stmt)
	case "let":
		if l := p.let(stmt); l != nil {
			d = l
		}
	default:
		p.blockDecl(t, stmt)
		return
	}
	p.noBlock()
	p.addDecl(d, stmt, n)
}

// noBlock reports a block after a statement that takes none.
func (p *parser) noBlock() {
	if isOp(p.peek(), "{") {
		p.strayBlock()
	}
}

// addDecl keeps d unless a fault was found since the list had n entries.
func (p *parser) addDecl(d ast.Decl, stmt []token.Token, n int) {
	if p.told() > n {
		p.lose(&p.file.Gaps, stmt)
		return
	}
	if d != nil {
		p.file.Decls = append(p.file.Decls, d)
	}
}

func (p *parser) use(stmt []token.Token) ast.Decl {
	stmt, ok := p.sound(stmt)
	if !ok {
		return nil
	}
	g, ok := read(p, useGrammar, "use", stmt)
	if !ok {
		return nil
	}
	u := &ast.Use{At: p.at1(g.Tokens)}
	for _, n := range g.Names {
		u.Names = append(u.Names, p.ident(n.Word))
	}
	if g.Path != nil {
		u.Path = &ast.String{At: ast.At{Place: p.spanOf(*g.Path)}, Value: p.unescape(*g.Path)}
	}
	return u
}

func (p *parser) measure(stmt []token.Token) ast.Decl {
	stmt, ok := p.sound(stmt)
	if !ok {
		return nil
	}
	g, ok := read(p, measureGrammar, "measure", stmt)
	if !ok {
		return nil
	}
	return &ast.Measure{At: p.at1(g.Tokens), Name: p.ident(g.Name), Readings: p.values(g.Readings), Error: p.value(g.Error), Limit: p.value(g.Limit)}
}

// let reads a let of the top level, of a sketch or of a part.
func (p *parser) let(stmt []token.Token) *ast.Let {
	stmt, ok := p.sound(stmt)
	if !ok {
		return nil
	}
	g, ok := read(p, letGrammar, "let", mark(stmt))
	if !ok {
		return nil
	}
	return &ast.Let{At: p.at1(g.Tokens), Name: p.ident(g.Name), Params: p.params(g.Params), Value: p.body(g.Value)}
}

func (p *parser) params(g *params) []ast.Param {
	if g == nil {
		return nil
	}
	out := make([]ast.Param, 0, len(g.List))
	for _, q := range g.List {
		x := ast.Param{At: p.at1(q.Tokens), Name: p.ident(q.Name), Kind: p.ident(q.Kind)}
		if q.Default != nil {
			x.Default = p.argument(q.Default)
		}
		out = append(out, x)
	}
	return out
}

// blockDecl reads a sketch, a part or a table of sizes.
func (p *parser) blockDecl(t token.Token, head []token.Token) {
	n := p.told()
	var d ast.Decl
	if stmt, ok := p.sound(head); ok {
		d = p.header(t, stmt)
	}
	faulty := p.told() > n
	after := p.at
	p.skipNewlines()
	if !isOp(p.peek(), "{") {
		p.at = after
		if !faulty {
			p.fault(diag.Diagnostic{
				Code: "block-missing", At: p.endOf(head),
				Message: "expected `{` and the lines of this " + blockWord(t.Value),
				Notes:   []string{diag.Do("write them after it: " + form(t.Value))},
			})
		}
		if p.indented(head) {
			p.inner(d, head)
		}
		p.lose(&p.file.Gaps, head)
		return
	}
	closing := p.inner(d, head)
	if faulty || d == nil {
		p.lose(&p.file.Gaps, head)
		return
	}
	p.close(d, closing)
	p.file.Decls = append(p.file.Decls, d)
}

// workshopWord begins a workshop at the top level; anywhere else it is a name
// that stands for the workshop in force.
const workshopWord = "workshop"

func blockWord(keyword string) string {
	if keyword == "sizes" {
		return "table of sizes"
	}
	return keyword
}

// header reads what stands before the brace.
func (p *parser) header(t token.Token, stmt []token.Token) ast.Decl {
	if t.Value == "sizes" {
		if g, ok := read(p, sizesGrammar, t.Value, stmt); ok {
			return &ast.Sizes{At: p.at1(g.Tokens), Part: p.ident(g.Part)}
		}
		return nil
	}
	if t.Value == workshopWord {
		if g, ok := read(p, shopGrammar, t.Value, stmt); ok {
			return &ast.Workshop{At: p.at1(g.Tokens)}
		}
		return nil
	}
	g, ok := read(p, headerGrammar, t.Value, mark(stmt))
	if !ok {
		return nil
	}
	if t.Value == "part" {
		return &ast.Part{At: p.at1(g.Tokens), Name: p.ident(g.Name), Params: p.params(g.Params)}
	}
	return &ast.Sketch{At: p.at1(g.Tokens), Name: p.ident(g.Name), Params: p.params(g.Params)}
}

// inner reads the block of d. When the header was faulty, d is nil and the
// lines are still read for their faults.
func (p *parser) inner(d ast.Decl, head []token.Token) token.Token {
	switch d := d.(type) {
	case *ast.Sketch:
		return p.sketchBlock(d, head)
	case *ast.Part:
		return p.block(head, func(stmt []token.Token) { p.step(d, stmt) })
	case *ast.Sizes:
		return p.block(head, func(stmt []token.Token) { p.sizeRow(d, stmt) })
	case *ast.Workshop:
		return p.block(head, func(stmt []token.Token) { p.entry(d, stmt) })
	}
	switch head[0].Value {
	case "sketch":
		return p.sketchBlock(&ast.Sketch{}, head)
	case "part":
		return p.block(head, func(stmt []token.Token) { p.step(&ast.Part{}, stmt) })
	case workshopWord:
		return p.block(head, func(stmt []token.Token) { p.entry(&ast.Workshop{}, stmt) })
	}
	return p.block(head, func(stmt []token.Token) { p.sizeRow(&ast.Sizes{}, stmt) })
}

// close stretches the span of d to its closing brace.
func (p *parser) close(d ast.Decl, closing token.Token) {
	at := p.spanOf(closing)
	switch d := d.(type) {
	case *ast.Sketch:
		d.Place = d.Place.To(at)
	case *ast.Part:
		d.Place = d.Place.To(at)
	case *ast.Sizes:
		d.Place = d.Place.To(at)
	case *ast.Workshop:
		d.Place = d.Place.To(at)
	}
}

// entry reads one line of a workshop.
func (p *parser) entry(d *ast.Workshop, stmt []token.Token) {
	n := p.told()
	var x ast.Entry
	if s, ok := p.sound(stmt); ok {
		if g, ok := read(p, entryGrammar, "entry", s); ok {
			x = ast.Entry{At: p.at1(g.Tokens), Readings: p.values(g.Readings), Error: p.value(g.Error), Limit: p.value(g.Limit)}
			for _, w := range g.Path {
				x.Path = append(x.Path, p.ident(w.Word))
			}
			if g.Size != nil {
				x.Size = p.value(&value{toks: []token.Token{*g.Size}})
			}
		}
	}
	if p.told() > n {
		d.Partial = true
		return
	}
	d.Entries = append(d.Entries, x)
}

func (p *parser) sizeRow(d *ast.Sizes, stmt []token.Token) {
	n := p.told()
	var r ast.SizeRow
	if s, ok := p.sound(stmt); ok {
		if g, ok := read(p, rowGrammar, "row", mark(s)); ok {
			r = ast.SizeRow{At: p.at1(g.Tokens), Name: p.ident(g.Name)}
			if g.Base.Value != "" {
				r.Base = p.ident(g.Base)
			}
			for _, set := range g.Sets {
				r.Sets = append(r.Sets, ast.Setting{At: p.at1(set.Tokens), Name: p.ident(set.Name), Value: p.argument(set.Value)})
			}
		}
	}
	if p.told() > n {
		d.Partial = true
		return
	}
	d.Rows = append(d.Rows, r)
}

// step reads one line of a part.
func (p *parser) step(d *ast.Part, stmt []token.Token) {
	n := p.told()
	var steps []ast.Step
	if s, ok := p.sound(stmt); ok {
		steps = p.stepOf(s)
	}
	if p.told() > n {
		p.lose(&d.Gaps, stmt)
		return
	}
	d.Steps = append(d.Steps, steps...)
}

func (p *parser) stepOf(stmt []token.Token) []ast.Step {
	word := stmt[0].Value
	if !begins[InPart][word] {
		p.unknownStart("part", stmt)
		return nil
	}
	switch {
	case isKeyword(stmt[0], "let"):
		if l := p.let(stmt); l != nil {
			return []ast.Step{l}
		}
	case makes(word):
		if g, ok := read(p, makeGrammar, word, mark(stmt)); ok {
			return p.make(g)
		}
	case token.Marks(word):
		if g, ok := read(p, markGrammar, word, mark(stmt)); ok {
			at := p.at1(g.Tokens)
			x := &ast.Phrase{At: at, Head: p.ident(g.Word), Subject: p.subject(g.Subject), Clauses: p.clauses(g.Clauses)}
			return []ast.Step{&ast.Make{At: at, Verb: p.ident(g.Word), Body: x}}
		}
	case word == "mating":
		if g, ok := read(p, matingGrammar, word, mark(stmt)); ok {
			return []ast.Step{&ast.Mating{At: p.at1(g.Tokens), Name: p.ident(g.Name), Body: p.body(g.Body)}}
		}
	case word == "material":
		if g, ok := read(p, materialGrammar, word, stmt); ok {
			return []ast.Step{&ast.Material{At: p.at1(g.Tokens), Name: p.ident(g.Name)}}
		}
	case word == "print":
		if g, ok := read(p, printGrammar, word, stmt); ok {
			x := &ast.Print{At: p.at1(g.Tokens)}
			for _, t := range g.Turns {
				x.Turns = append(x.Turns, ast.Clause{
					At: p.at1(t.Tokens), Word: p.ident(t.Word), Args: []ast.Expr{p.value(t.Angle)}, Axis: p.axis(t.Axis),
				})
			}
			return []ast.Step{x}
		}
	case word == "check":
		if g, ok := read(p, checkGrammar, word, stmt); ok {
			return []ast.Step{&ast.Check{At: p.at1(g.Tokens), Cond: p.condition(g.Cond)}}
		}
	case word == "caution":
		if g, ok := read(p, cautionGrammar, word, stmt); ok {
			c := &ast.Caution{At: p.at1(g.Tokens)}
			for _, w := range g.Words {
				c.Words = append(c.Words, p.ident(w.Word))
			}
			return []ast.Step{c}
		}
	}
	return nil
}

// make lowers `cut a, b` to one step for each body. The first step spans the
// verb and its body, the others their body only.
func (p *parser) make(g *makeStep) []ast.Step {
	var out []ast.Step
	verb := p.ident(g.Verb)
	for i, b := range g.Bodies {
		if n, ok := p.looseNumber(b, i); ok {
			p.fault(n)
			return nil
		}
		m := &ast.Make{At: p.at1(b.Tokens), Verb: verb, Body: p.body(b)}
		if i == 0 {
			m.Place = verb.Place.To(m.Place)
		}
		out = append(out, m)
	}
	return out
}
