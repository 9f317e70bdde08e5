package parse

import (
	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"perch/lang/token"
)

// The structs that stand in most lines of a file are read by hand and not by
// participle, which took three times as long for them. The grammar stands in a
// comment of each Parse, in the notation of participle's tags. As there, a
// first token that does not fit gives NextMatch, and a later one ends the
// statement with an error at its place.

// unexpected is the error of a token that does not fit.
func unexpectedAt(lex *lexer.PeekingLexer) error {
	return &participle.UnexpectedTokenError{Unexpected: *lex.Peek()}
}

// must turns NextMatch into an error, behind the first token of a rule.
func must(lex *lexer.PeekingLexer, err error) error {
	if err == participle.NextMatch {
		return unexpectedAt(lex)
	}
	return err
}

// at reports whether the next token is one of some words.
func at(lex *lexer.PeekingLexer, words ...string) bool {
	v := lex.Peek().Value
	for _, w := range words {
		if v == w {
			return true
		}
	}
	return false
}

// accept takes the next token if it is one of some words.
func accept(lex *lexer.PeekingLexer, words ...string) (token.Token, bool) {
	if at(lex, words...) {
		return *lex.Next(), true
	}
	return token.Token{}, false
}

// isComma reports whether the next token is a comma that goes on with a list
// and not with the clauses of a body.
func isComma(lex *lexer.PeekingLexer) bool { return isOp(*lex.Peek(), ",") }

// want takes some words one after the other.
func want(lex *lexer.PeekingLexer, words ...string) error {
	for _, w := range words {
		if _, ok := accept(lex, w); !ok {
			return unexpectedAt(lex)
		}
	}
	return nil
}

// wantIdent takes a word that may be a name.
func wantIdent(lex *lexer.PeekingLexer) (token.Token, error) {
	if lex.Peek().Type != token.Ident {
		return token.Token{}, unexpectedAt(lex)
	}
	return *lex.Next(), nil
}

// parseable is what participle.Parseable is, of a pointer to T.
type parseable[T any] interface {
	*T
	Parse(lex *lexer.PeekingLexer) error
}

// one reads a T that must stand here.
func one[T any, P parseable[T]](lex *lexer.PeekingLexer) (*T, error) {
	x := new(T)
	return x, must(lex, P(x).Parse(lex))
}

// maybe reads a T if one begins here.
func maybe[T any, P parseable[T]](lex *lexer.PeekingLexer) (*T, error) {
	x := new(T)
	err := P(x).Parse(lex)
	if err == participle.NextMatch {
		return nil, nil
	}
	return x, err
}

// behind reads a T behind one of some words, if such a word stands here.
func behind[T any, P parseable[T]](lex *lexer.PeekingLexer, words ...string) (*T, error) {
	if _, ok := accept(lex, words...); !ok {
		return nil, nil
	}
	return one[T, P](lex)
}

// listed reads T, T, …; the first must stand here.
func listed[T any, P parseable[T]](lex *lexer.PeekingLexer) ([]*T, error) {
	var list []*T
	for {
		x, err := one[T, P](lex)
		if err != nil {
			return nil, err
		}
		list = append(list, x)
		if !isComma(lex) {
			return list, nil
		}
		lex.Next()
	}
}

// Bodies and areas.

// Parse reads @@ ( ('less' | 'with' | 'within') @@ (',':Op @@)* )*.
func (b *body) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	b.First = new(item)
	if err := b.First.Parse(lex); err != nil {
		return err
	}
	for at(lex, "less", "with", "within") {
		from := lex.RawCursor()
		c := &combined{Op: *lex.Next()}
		if c.Items, err = listed[item](lex); err != nil {
			return err
		}
		c.Tokens = lex.Range(from, lex.RawCursor())
		b.Rest = append(b.Rest, c)
	}
	b.Tokens = lex.Range(start, lex.RawCursor())
	return nil
}

// Parse reads @@ ( ('less' | 'with' | 'within') @@ )*.
func (a *argument) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	a.First = new(item)
	if err := a.First.Parse(lex); err != nil {
		return err
	}
	for at(lex, "less", "with", "within") {
		from := lex.RawCursor()
		s := &single{Op: *lex.Next()}
		if s.Item, err = one[item](lex); err != nil {
			return err
		}
		s.Tokens = lex.Range(from, lex.RawCursor())
		a.Rest = append(a.Rest, s)
	}
	a.Tokens = lex.Range(start, lex.RawCursor())
	return nil
}

// Parse reads ( 'if' @@ 'then' @@ 'else' @@ | ( @Head | @Sweep @@ | @@ ) ( Carry @@ | @@ )* ).
func (i *item) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	switch t := lex.Peek(); {
	case isKeyword(*t, "if"):
		i.If = new(ifItem)
		err = i.If.Parse(lex)
		i.Tokens = lex.Range(start, lex.RawCursor())
		return err
	case t.Type == token.Head:
		i.Head = *lex.Next()
	case t.Type == token.Sweep:
		i.Sweep = *lex.Next()
		if i.Subject, err = one[subject](lex); err != nil {
			return err
		}
	default:
		i.Value = new(value)
		if err := i.Value.Parse(lex); err != nil {
			return err
		}
	}
	i.Clauses, err = readClauses(lex)
	i.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// readClauses reads ( Carry @@ | @@ )*.
func readClauses(lex *lexer.PeekingLexer) ([]*clause, error) {
	var list []*clause
	for {
		switch lex.Peek().Type {
		case token.Carry:
			lex.Next()
		case token.Ident:
		default:
			return list, nil
		}
		c, err := one[clause](lex)
		if err != nil {
			return list, err
		}
		list = append(list, c)
	}
}

// Parse reads 'if' @@ 'then' @@ 'else' @@.
func (i *ifItem) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	lex.Next()
	if i.Cond, err = one[value](lex); err != nil {
		return err
	}
	if err = want(lex, "then"); err != nil {
		return err
	}
	if i.Then, err = one[argument](lex); err != nil {
		return err
	}
	if err = want(lex, "else"); err != nil {
		return err
	}
	i.Else, err = one[argument](lex)
	i.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @@ ( ('less' | 'with' | 'within') @@ (',':Op @@)* )*.
func (s *subject) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	s.First = new(value)
	if err := s.First.Parse(lex); err != nil {
		return err
	}
	for at(lex, "less", "with", "within") {
		from := lex.RawCursor()
		w := &without{Op: *lex.Next()}
		if w.Items, err = listed[value](lex); err != nil {
			return err
		}
		w.Tokens = lex.Range(from, lex.RawCursor())
		s.Rest = append(s.Rest, w)
	}
	s.Tokens = lex.Range(start, lex.RawCursor())
	return nil
}

// Clauses.

// Parse reads the clause that the next word begins; a word that begins none of
// the others has one value.
func (c *clause) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	switch lex.Peek().Value {
	case "along", "about":
		c.Axial = &axial{Word: *lex.Next()}
		c.Axial.Axis, err = one[axis](lex)
	case "from":
		c.FromTo = &fromTo{Word: *lex.Next()}
		err = c.FromTo.parse(lex)
	case "turned":
		c.Turned = &turned{Word: *lex.Next()}
		err = c.Turned.parse(lex)
	case "mirrored":
		c.Mirrored = &mirrored{Word: *lex.Next()}
		err = c.Mirrored.parse(lex)
	case "in":
		lex.Next()
		c.In = &pattern{}
		err = c.In.parse(lex)
	case "around":
		c.Around = &around{Word: *lex.Next()}
		err = c.Around.parse(lex)
	case "across":
		c.Across = &across{Word: *lex.Next()}
		c.Across.Second, c.Across.Value, err = second(lex, "flats", "corners")
	case "radius", "diameter":
		c.Ranged = &ranged{Word: *lex.Next()}
		if c.Ranged.From, err = one[value](lex); err == nil {
			c.Ranged.To, err = behind[value](lex, "to")
		}
	case "bevel", "round", "closed":
		c.Rim = &rim{Word: *lex.Next()}
		c.Rim.Second, c.Rim.Value, err = second(lex, "bottom", "top", "front", "back", "left", "right", "ends")
	case "on":
		c.Side = &onSide{Word: *lex.Next()}
		var ok bool
		if c.Side.Second, ok = accept(lex, "front", "back", "left", "right", "top", "bottom"); !ok {
			err = unexpectedAt(lex)
		}
	default:
		if lex.Peek().Type != token.Ident {
			return participle.NextMatch
		}
		c.Plain = &plain{Word: *lex.Next()}
		c.Plain.Value, err = one[value](lex)
	}
	c.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// second reads one of some words and a value.
func second(lex *lexer.PeekingLexer, words ...string) (t token.Token, v *value, err error) {
	t, ok := accept(lex, words...)
	if !ok {
		return t, nil, unexpectedAt(lex)
	}
	v, err = one[value](lex)
	return t, v, err
}

// Parse reads ( @'-'? @('x' | 'y' | 'z') | @@ ). A minus before anything but
// the name of an axis belongs to the value.
func (a *axis) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	_, a.Minus = accept(lex, "-")
	var named bool
	if a.Name, named = accept(lex, "x", "y", "z"); !named {
		if a.Minus {
			return unexpectedAt(lex)
		}
		a.Dir = new(value)
		err = a.Dir.Parse(lex)
	}
	a.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// axisIs reads @('x' | 'y' | 'z') '='.
func axisIs(lex *lexer.PeekingLexer) (token.Token, error) {
	t, ok := accept(lex, "x", "y", "z")
	if !ok {
		return t, unexpectedAt(lex)
	}
	return t, want(lex, "=")
}

// parse reads @('x' | 'y' | 'z') '=' @@ 'to' @('x' | 'y' | 'z') '=' @@.
func (f *fromTo) parse(lex *lexer.PeekingLexer) (err error) {
	if f.A, err = axisIs(lex); err != nil {
		return err
	}
	if f.From, err = one[value](lex); err != nil {
		return err
	}
	if err = want(lex, "to"); err != nil {
		return err
	}
	if f.B, err = axisIs(lex); err != nil {
		return err
	}
	f.To, err = one[value](lex)
	return err
}

// parse reads @@ ( 'about' @@ )? ( 'through' @@ )?.
func (t *turned) parse(lex *lexer.PeekingLexer) (err error) {
	if t.Angle, err = one[value](lex); err != nil {
		return err
	}
	if t.Axis, err = behind[axis](lex, "about"); err != nil {
		return err
	}
	t.Through, err = behind[value](lex, "through")
	return err
}

// parse reads 'about' @('x' | 'y' | 'z') '=' @@.
func (m *mirrored) parse(lex *lexer.PeekingLexer) (err error) {
	if err = want(lex, "about"); err != nil {
		return err
	}
	if m.Axis, err = axisIs(lex); err != nil {
		return err
	}
	m.At, err = one[value](lex)
	return err
}

// parse reads 'a' ( row | ring ).
func (p *pattern) parse(lex *lexer.PeekingLexer) (err error) {
	if err = want(lex, "a"); err != nil {
		return err
	}
	if t, ok := accept(lex, "row"); ok {
		p.Row = &row{Word: t}
		return p.Row.parse(lex)
	}
	if t, ok := accept(lex, "ring"); ok {
		p.Ring = &ring{Word: t}
		return p.Ring.parse(lex)
	}
	return unexpectedAt(lex)
}

// parse reads 'of' @@ 'every' @@ 'along' @@.
func (r *row) parse(lex *lexer.PeekingLexer) (err error) {
	if err = want(lex, "of"); err != nil {
		return err
	}
	if r.Count, err = one[value](lex); err != nil {
		return err
	}
	if err = want(lex, "every"); err != nil {
		return err
	}
	if r.Pitch, err = one[value](lex); err != nil {
		return err
	}
	if err = want(lex, "along"); err != nil {
		return err
	}
	r.Axis, err = one[axis](lex)
	return err
}

// parse reads 'of' @@ ( 'every' @@ )? 'about' @@ ( 'every' @@ )?.
func (r *ring) parse(lex *lexer.PeekingLexer) (err error) {
	if err = want(lex, "of"); err != nil {
		return err
	}
	if r.Count, err = one[value](lex); err != nil {
		return err
	}
	if r.First, err = behind[value](lex, "every"); err != nil {
		return err
	}
	if err = want(lex, "about"); err != nil {
		return err
	}
	if r.Axis, err = one[axis](lex); err != nil {
		return err
	}
	r.Last, err = behind[value](lex, "every")
	return err
}

// parse reads @@ 'at' @@.
func (a *around) parse(lex *lexer.PeekingLexer) (err error) {
	if a.Tube, err = one[value](lex); err != nil {
		return err
	}
	if err = want(lex, "at"); err != nil {
		return err
	}
	a.Angle, err = one[value](lex)
	return err
}

// Declarations and steps.

// Parse reads '(' ( @@ (',':Op @@)* )? ')'.
func (p *params) Parse(lex *lexer.PeekingLexer) (err error) {
	if _, ok := accept(lex, "("); !ok {
		return participle.NextMatch
	}
	if !at(lex, ")") {
		if p.List, err = listed[param](lex); err != nil {
			return err
		}
	}
	return want(lex, ")")
}

// Parse reads @Ident ':' @Ident ( '=' @@ )?.
func (p *param) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if lex.Peek().Type != token.Ident {
		return participle.NextMatch
	}
	p.Name = *lex.Next()
	if err = want(lex, ":"); err != nil {
		return err
	}
	if p.Kind, err = wantIdent(lex); err != nil {
		return err
	}
	p.Default, err = behind[argument](lex, "=")
	p.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @('sketch' | 'part') @Ident @@?.
func (h *header) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	h.Word = *lex.Next()
	if h.Name, err = wantIdent(lex); err != nil {
		return err
	}
	h.Params, err = maybe[params](lex)
	h.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads 'let' @Ident @@? '=' @@.
func (l *letStmt) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	lex.Next()
	if l.Name, err = wantIdent(lex); err != nil {
		return err
	}
	if l.Params, err = maybe[params](lex); err != nil {
		return err
	}
	if err = want(lex, "="); err != nil {
		return err
	}
	l.Value, err = one[body](lex)
	l.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @Ident '=' @@.
func (s *setting) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if lex.Peek().Type != token.Ident {
		return participle.NextMatch
	}
	s.Name = *lex.Next()
	if err = want(lex, "="); err != nil {
		return err
	}
	s.Value, err = one[argument](lex)
	s.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @('join' | 'cut' | 'trim') @@ (',':Op @@)*.
func (m *makeStep) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	m.Verb = *lex.Next()
	m.Bodies, err = listed[body](lex)
	m.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @('engrave' | 'emboss') @@ ( Carry @@ | @@ )*.
func (m *markStep) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	m.Word = *lex.Next()
	if m.Subject, err = one[subject](lex); err != nil {
		return err
	}
	m.Clauses, err = readClauses(lex)
	m.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads 'print' ( @@ ','? )+.
func (s *printStep) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	lex.Next()
	for {
		t, err := one[printTurn](lex)
		if err != nil {
			return err
		}
		s.Turns = append(s.Turns, t)
		s.Tokens = lex.Range(start, lex.RawCursor())
		switch {
		case isComma(lex):
			lex.Next()
		case !at(lex, "turned"):
			return nil
		}
	}
}

// Parse reads @'turned' @@ 'about' @@.
func (t *printTurn) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	var ok bool
	if t.Word, ok = accept(lex, "turned"); !ok {
		return unexpectedAt(lex)
	}
	if t.Angle, err = one[value](lex); err != nil {
		return err
	}
	if err = want(lex, "about"); err != nil {
		return err
	}
	t.Axis, err = one[axis](lex)
	t.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Statements of a sketch.

// named reads @'guide'? and a word, and the name behind it.
func named(lex *lexer.PeekingLexer) (guide bool, name token.Token, err error) {
	_, guide = accept(lex, "guide")
	lex.Next()
	name, err = wantIdent(lex)
	return guide, name, err
}

// Parse reads @('at' | 'near') @@.
func (p *place) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	var ok bool
	if p.Word, ok = accept(lex, "at", "near"); !ok {
		return participle.NextMatch
	}
	p.Pos, err = one[value](lex)
	p.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @('radius' | 'diameter') @'near'? @@.
func (s *size) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	var ok bool
	if s.Word, ok = accept(lex, "radius", "diameter"); !ok {
		return participle.NextMatch
	}
	_, s.Near = accept(lex, "near")
	s.Value, err = one[value](lex)
	s.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @'guide'? 'point' @Ident @@?.
func (p *pointStmt) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if p.Guide, p.Name, err = named(lex); err != nil {
		return err
	}
	p.Place, err = maybe[place](lex)
	p.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// fromEnds reads 'from' @@ 'to' @@.
func fromEnds(lex *lexer.PeekingLexer) (from, to *pointRef, err error) {
	if err = want(lex, "from"); err != nil {
		return nil, nil, err
	}
	if from, err = one[pointRef](lex); err != nil {
		return nil, nil, err
	}
	if err = want(lex, "to"); err != nil {
		return nil, nil, err
	}
	to, err = one[pointRef](lex)
	return from, to, err
}

// Parse reads @'guide'? 'line' @Ident 'from' @@ 'to' @@.
func (l *lineStmt) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if l.Guide, l.Name, err = named(lex); err != nil {
		return err
	}
	l.From, l.To, err = fromEnds(lex)
	l.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @'guide'? 'arc' @Ident 'from' @@ 'to' @@ ( ',' @@ | @@ )*.
func (a *arcStmt) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if a.Guide, a.Name, err = named(lex); err != nil {
		return err
	}
	if a.From, a.To, err = fromEnds(lex); err != nil {
		return err
	}
	a.Options, err = readOptions(lex)
	a.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @'guide'? 'circle' @Ident ( ',' @@ | @@ )*.
func (c *circleStmt) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if c.Guide, c.Name, err = named(lex); err != nil {
		return err
	}
	c.Options, err = readOptions(lex)
	c.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// readOptions reads ( ',' @@ | @@ )*.
func readOptions(lex *lexer.PeekingLexer) ([]*arcOption, error) {
	var list []*arcOption
	for {
		o, err := behind[arcOption](lex, ",")
		if o == nil && err == nil {
			o, err = maybe[arcOption](lex)
		}
		if o == nil || err != nil {
			return list, err
		}
		list = append(list, o)
	}
}

// Parse reads 'centre' @@ | @@ | 'through' @@ | 'to' @@ | @'clockwise'.
func (o *arcOption) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	switch lex.Peek().Value {
	case "centre":
		lex.Next()
		o.Centre, err = one[pointRef](lex)
	case "radius", "diameter":
		o.Size, err = one[size](lex)
	case "through":
		lex.Next()
		o.Through, err = one[value](lex)
	case "to":
		lex.Next()
		o.To, err = one[pointRef](lex)
	case "clockwise":
		lex.Next()
		o.Clockwise = true
	default:
		return participle.NextMatch
	}
	o.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads 'from' @@.
func (s *startSeg) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	lex.Next()
	s.Start, err = one[pointRef](lex)
	s.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads 'line' @Name? @(a direction)? @@? ( 'at' @@ )? ( 'to' @@ )?.
func (l *lineSeg) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	lex.Next()
	if lex.Peek().Type == token.Name {
		l.Name = *lex.Next()
	}
	l.Dir, _ = accept(lex, directions...)
	if l.Length, err = maybe[segLength](lex); err != nil {
		return err
	}
	if l.Angle, err = behind[value](lex, "at"); err != nil {
		return err
	}
	l.To, err = behind[pointRef](lex, "to")
	l.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads 'arc' @Name? @('right' | 'left')? ( ',' @@ | @@ )*.
func (a *arcSeg) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	lex.Next()
	if lex.Peek().Type == token.Name {
		a.Name = *lex.Next()
	}
	a.Dir, _ = accept(lex, "right", "left")
	a.Options, err = readOptions(lex)
	a.Tokens = lex.Range(start, lex.RawCursor())
	return err
}

// Parse reads @@ (',' @@)* ( @Ident @('inside' | 'outside')? 'of'?
// ( (?! 'about') @@ (',' @@)* )? ( 'about' @@ )? )?.
func (g *general) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if g.Subjects, err = listed[value](lex); err != nil {
		return err
	}
	if lex.Peek().Type == token.Ident {
		g.Word = *lex.Next()
		g.Mode, _ = accept(lex, "inside", "outside")
		accept(lex, "of")
		if t := lex.Peek(); t.Value != "about" && startsOperand(*t) {
			if g.Objects, err = listed[value](lex); err != nil {
				return err
			}
		}
		if g.About, err = behind[mirror](lex, "about"); err != nil {
			return err
		}
	}
	g.Tokens = lex.Range(start, lex.RawCursor())
	return nil
}

// Parse reads ( @('x' | 'y' | 'z') '=' )? @@.
func (m *mirror) Parse(lex *lexer.PeekingLexer) (err error) {
	start := lex.RawCursor()
	if at(lex, "x", "y", "z") {
		here := lex.MakeCheckpoint()
		t := *lex.Next()
		if _, ok := accept(lex, "="); ok {
			m.Axis = t
		} else {
			lex.LoadCheckpoint(here)
		}
	}
	m.Value, err = one[value](lex)
	m.Tokens = lex.Range(start, lex.RawCursor())
	return err
}
