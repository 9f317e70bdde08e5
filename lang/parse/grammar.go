package parse

import (
	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"perch/lang/token"
)

// The structs of this file are the grammar of single statements. They stay
// private: the rest of the package turns them into package ast. A statement
// decides what it is by its first words, so no rule needs lookahead beyond the
// next token. Structs without tags are read by hand, in hand.go: a new clause
// or option goes there.

// span is embedded by every struct; it holds the tokens the struct matched.
type span struct{ Tokens []token.Token }

func build[G any]() *participle.Parser[G] {
	return participle.MustBuild[G](participle.Lexer(token.Definition), participle.UseLookahead(0))
}

var (
	useGrammar      = build[useStmt]()
	measureGrammar  = build[measureStmt]()
	letGrammar      = build[letStmt]()
	headerGrammar   = build[header]()
	sizesGrammar    = build[sizesHeader]()
	rowGrammar      = build[sizeRow]()
	shopGrammar     = build[shopHeader]()
	entryGrammar    = build[entry]()
	makeGrammar     = build[makeStep]()
	markGrammar     = build[markStep]()
	matingGrammar   = build[matingStep]()
	materialGrammar = build[materialStep]()
	printGrammar    = build[printStep]()
	checkGrammar    = build[checkStep]()
	cautionGrammar  = build[cautionStep]()
	pointGrammar    = build[pointStmt]()
	lineGrammar     = build[lineStmt]()
	arcGrammar      = build[arcStmt]()
	circleGrammar   = build[circleStmt]()
	outlineGrammar  = build[outlineHeader]()
	startGrammar    = build[startSeg]()
	lineSegGrammar  = build[lineSeg]()
	arcSegGrammar   = build[arcSeg]()
	closeGrammar    = build[closeSeg]()
	shapeGrammar    = build[shapeStmt]()
	cornersGrammar  = build[cornersStmt]()
	areaGrammar     = build[areaStmt]()
	generalGrammar  = build[general]()
	argsGrammar     = build[args]()
	tupleGrammar    = build[tuple]()
)

// value is an expression without bodies. The grammar only finds where it ends;
// expr.go reads it by precedence climbing.
type value struct{ toks []token.Token }

// Parse implements participle.Parseable.
func (v *value) Parse(lex *lexer.PeekingLexer) error {
	start := lex.RawCursor()
	if err := skim(lex); err != nil {
		return err
	}
	v.toks = lex.Range(start, lex.RawCursor())
	return nil
}

// condition is a value that may ask of the finished part in words: `tip angle`,
// `gap to pipe`.
type condition struct{ value }

// Parse implements participle.Parseable.
func (c *condition) Parse(lex *lexer.PeekingLexer) error {
	start := lex.RawCursor()
	if err := skimAsking(lex, true); err != nil {
		return err
	}
	c.toks = lex.Range(start, lex.RawCursor())
	return nil
}

// isLink reports whether t is a word of an ast.Ask that brings in a value.
func isLink(t *token.Token) bool {
	if t.Type != token.Ident {
		return false
	}
	switch t.Value {
	case "to", "of", "about", "at", "over", "from", "along", "under":
		return true
	}
	return false
}

// skim moves lex over one expression: operands, each behind any number of
// prefixes, with operators between them. What stands in parentheses is passed
// over whole.
func skim(lex *lexer.PeekingLexer) error { return skimAsking(lex, false) }

// skimAsking is skim, where asking lets an operand be an ast.Ask.
func skimAsking(lex *lexer.PeekingLexer, asking bool) error {
	start := lex.RawCursor()
	thens, elses := 0, 0
	operand, callable := true, false
	phrase, linked := false, false // within words; within the value of a link
	for {
		t := lex.Peek()
		switch {
		case operand && isPrefix(t):
			if t.Value == "if" {
				thens++
			}
		case operand && isOperand(t):
			operand, callable = false, isWord(t)
			phrase = linked || asking && callable
		case operand && t.Value == "(" && t.Type == token.Op:
			skimParens(lex)
			operand, callable, phrase = false, false, linked
			continue
		case operand:
			if lex.RawCursor() == start {
				return participle.NextMatch
			}
			return &participle.UnexpectedTokenError{Unexpected: *t}
		case phrase && isLink(t):
			operand, linked = true, true
		case phrase && !linked && isWord(t):
			callable = false
		case t.Type == token.Op && t.Value == ".":
			phrase = linked
			lex.Next()
			if t = lex.Peek(); !isWord(t) {
				return &participle.UnexpectedTokenError{Unexpected: *t}
			}
			callable = true
		case callable && t.Type == token.Op && t.Value == "(":
			skimParens(lex)
			callable, phrase = false, linked
			continue
		case precedence(t) > 0:
			operand, phrase, linked = true, false, false
		case thens > 0 && t.Value == "then" && t.Type == token.Keyword:
			thens, elses, operand = thens-1, elses+1, true
		case elses > 0 && t.Value == "else" && t.Type == token.Keyword:
			elses, operand = elses-1, true
		case thens+elses > 0:
			return &participle.UnexpectedTokenError{Unexpected: *t}
		default:
			return nil
		}
		lex.Next()
	}
}

// skimParens moves lex past the parenthesis that closes the one it stands at;
// a statement reaches the grammar only when its parentheses are balanced.
func skimParens(lex *lexer.PeekingLexer) {
	for depth := 0; ; {
		t := lex.Next()
		if t.EOF() {
			return
		}
		if t.Type == token.Op {
			switch t.Value {
			case "(":
				depth++
			case ")":
				if depth--; depth == 0 {
					return
				}
			}
		}
	}
}

func isPrefix(t *token.Token) bool {
	return t.Type == token.Op && t.Value == "-" || t.Type == token.Keyword && (t.Value == "not" || t.Value == "if")
}

func isOperand(t *token.Token) bool {
	switch t.Type {
	case token.Number, token.String:
		return true
	case token.Keyword:
		return t.Value == "true" || t.Value == "false"
	}
	return isWord(t)
}

// isWord reports whether t may stand for a name.
func isWord(t *token.Token) bool {
	return t.Type == token.Ident || t.Type == token.Head || t.Type == token.Sweep || t.Type == token.Name
}

// Bodies and areas.

type body struct {
	span
	First *item
	Rest  []*combined
}

type combined struct {
	span
	Op    token.Token
	Items []*item
}

// argument is a body in a list, where a comma goes on with the list.
type argument struct {
	span
	First *item
	Rest  []*single
}

type single struct {
	span
	Op   token.Token
	Item *item
}

type item struct {
	span
	If      *ifItem
	Head    token.Token
	Sweep   token.Token
	Subject *subject
	Value   *value
	Clauses []*clause
}

type ifItem struct {
	span
	Cond *value
	Then *argument
	Else *argument
}

// subject is the area of a sweep.
type subject struct {
	span
	First *value
	Rest  []*without
}

type without struct {
	span
	Op    token.Token
	Items []*value
}

type args struct {
	span
	List []*arg `parser:"( @@ (',':Op @@)* )?"`
}

// tuple is what stands in parentheses that follow no name.
type tuple struct {
	span
	List []*body `parser:"@@ (',':Op @@)*"`
}

type arg struct {
	span
	Name  token.Token `parser:"( (?= (Ident|Head|Sweep) ':') @(Ident|Head|Sweep) ':' )?"`
	Value *argument   `parser:"@@"`
}

// Clauses.

type clause struct {
	span
	Axial    *axial
	FromTo   *fromTo
	Turned   *turned
	Mirrored *mirrored
	In       *pattern
	Around   *around
	Across   *across
	Ranged   *ranged
	Rim      *rim
	Side     *onSide
	Plain    *plain
}

type axial struct {
	Word token.Token
	Axis *axis
}

type axis struct {
	span
	Minus bool
	Name  token.Token
	Dir   *value
}

type fromTo struct {
	Word token.Token
	A    token.Token
	From *value
	B    token.Token
	To   *value
}

type turned struct {
	Word    token.Token
	Angle   *value
	Axis    *axis
	Through *value
}

type mirrored struct {
	Word token.Token
	Axis token.Token
	At   *value
}

type pattern struct {
	Row  *row
	Ring *ring
}

type row struct {
	Word  token.Token
	Count *value
	Pitch *value
	Axis  *axis
}

type ring struct {
	Word  token.Token
	Count *value
	First *value
	Axis  *axis
	Last  *value
}

type around struct {
	Word  token.Token
	Tube  *value
	Angle *value
}

type across struct {
	Word   token.Token
	Second token.Token
	Value  *value
}

type ranged struct {
	Word token.Token
	From *value
	To   *value
}

// rim is said of an end of a body.
type rim struct {
	Word   token.Token
	Second token.Token
	Value  *value
}

// onSide is said of a mark.
type onSide struct {
	Word   token.Token
	Second token.Token
}

type plain struct {
	Word  token.Token
	Value *value
}

// Declarations.

type useStmt struct {
	span
	Names []*name      `parser:"'use' @@ (',' @@)*"`
	Path  *token.Token `parser:"( 'from' @String )?"`
}

// name is a name that is declared or listed.
type name struct {
	Word token.Token `parser:"@Ident"`
}

type measureStmt struct {
	span
	Name     token.Token `parser:"'measure' @Ident '='"`
	Readings []*value    `parser:"@@ (',' @@)*"`
	Error    *value      `parser:"( '+-' @@ )?"`
	Limit    *value      `parser:"( 'within' @@ )?"`
}

type letStmt struct {
	span
	Name   token.Token
	Params *params
	Value  *body
}

type params struct {
	List []*param
}

type param struct {
	span
	Name    token.Token
	Kind    token.Token
	Default *argument
}

type header struct {
	span
	Word   token.Token
	Name   token.Token
	Params *params
}

type sizesHeader struct {
	span
	Part token.Token `parser:"'sizes' @Ident"`
}

type sizeRow struct {
	span
	Name token.Token `parser:"@Ident ':'"`
	Base token.Token `parser:"( (?= Ident 'with') @Ident 'with' )?"`
	Sets []*setting  `parser:"( @@ (',':Op @@)* )?"`
}

type setting struct {
	span
	Name  token.Token
	Value *argument
}

type shopHeader struct {
	span
	Word token.Token `parser:"@'workshop'"`
}

type entry struct {
	span
	Path     []*name      `parser:"@@ ('.' @@)*"`
	Size     *token.Token `parser:"@Number?"`
	Readings []*value     `parser:"'=' @@ (',' @@)*"`
	Error    *value       `parser:"( '+-' @@ )?"`
	Limit    *value       `parser:"( 'within' @@ )?"`
}

// Steps of a part.

type makeStep struct {
	span
	Verb   token.Token
	Bodies []*body
}

type markStep struct {
	span
	Word    token.Token
	Subject *subject
	Clauses []*clause
}

type matingStep struct {
	span
	Name token.Token `parser:"'mating' @Ident '='"`
	Body *body       `parser:"@@"`
}

type materialStep struct {
	span
	Name token.Token `parser:"'material' @Ident"`
}

type printStep struct {
	span
	Turns []*printTurn
}

// printTurn is how a printStep turns the part.
type printTurn struct {
	span
	Word  token.Token
	Angle *value
	Axis  *axis
}

type checkStep struct {
	span
	Cond *condition `parser:"'check' @@"`
}

type cautionStep struct {
	span
	Words []*name `parser:"'caution' @@ (',' @@)*"`
}

// Statements of a sketch.

// pointRef is a point with, perhaps, its place. It is read by hand because it
// stands in most lines of a sketch.
type pointRef struct {
	point value // a name, or a tuple
	pos   value // behind at or near
	all   []token.Token
}

// Parse implements participle.Parseable.
func (r *pointRef) Parse(lex *lexer.PeekingLexer) error {
	start := lex.RawCursor()
	switch t := lex.Peek(); {
	case isWord(t):
		for lex.Next(); isOp(*lex.Peek(), "."); lex.Next() {
			lex.Next()
			if t := lex.Peek(); !isWord(t) {
				return &participle.UnexpectedTokenError{Unexpected: *t}
			}
		}
	case isOp(*t, "("):
		skimParens(lex)
	default:
		return participle.NextMatch
	}
	r.point.toks = lex.Range(start, lex.RawCursor())
	if t := lex.Peek(); t.Type == token.Ident && (t.Value == "at" || t.Value == "near") {
		lex.Next()
		if err := r.pos.Parse(lex); err == participle.NextMatch {
			return &participle.UnexpectedTokenError{Unexpected: *lex.Peek()}
		} else if err != nil {
			return err
		}
	}
	r.all = lex.Range(start, lex.RawCursor())
	return nil
}

type place struct {
	span
	Word token.Token
	Pos  *value
}

type size struct {
	span
	Word  token.Token
	Near  bool
	Value *value
}

type pointStmt struct {
	span
	Guide bool
	Name  token.Token
	Place *place
}

type lineStmt struct {
	span
	Guide bool
	Name  token.Token
	From  *pointRef
	To    *pointRef
}

type arcStmt struct {
	span
	Guide   bool
	Name    token.Token
	From    *pointRef
	To      *pointRef
	Options []*arcOption
}

type circleStmt struct {
	span
	Guide   bool
	Name    token.Token
	Options []*arcOption
}

type arcOption struct {
	span
	Centre    *pointRef
	Size      *size
	Through   *value
	To        *pointRef
	Clockwise bool
}

type outlineHeader struct {
	span
	Guide bool        `parser:"@'guide'?"`
	Path  bool        `parser:"( @'path' | 'outline' )"`
	Name  token.Token `parser:"@Ident"`
}

type startSeg struct {
	span
	Start *pointRef
}

type lineSeg struct {
	span
	Name   token.Token
	Dir    token.Token
	Length *segLength
	Angle  *value
	To     *pointRef
}

// segLength is the length of a segment; it does not begin with the words that
// begin what may stand behind it.
type segLength struct{ value }

// Parse implements participle.Parseable.
func (l *segLength) Parse(lex *lexer.PeekingLexer) error {
	if t := lex.Peek(); t.Type == token.Ident && (t.Value == "to" || t.Value == "at") {
		return participle.NextMatch
	}
	return l.value.Parse(lex)
}

func (l *segLength) plain() *value {
	if l == nil {
		return nil
	}
	return &l.value
}

type arcSeg struct {
	span
	Name    token.Token
	Dir     token.Token
	Options []*arcOption
}

type closeSeg struct {
	span
	Close bool `parser:"@'close'"`
}

type shapeStmt struct {
	span
	Guide   bool           `parser:"@'guide'?"`
	Kind    token.Token    `parser:"@('rectangle' | 'slot' | 'polygon')"`
	Name    token.Token    `parser:"@Ident"`
	Options []*shapeOption `parser:"( ',' @@ | @@ )*"`
}

type shapeOption struct {
	From   *pointRef `parser:"( 'from' @@"`
	To     *pointRef `parser:"  'to' @@ )"`
	Centre *pointRef `parser:"| 'centre' @@"`
	Clause *clause   `parser:"| @@"`
}

type cornersStmt struct {
	span
	Word   token.Token `parser:"@('round' | 'bevel')"`
	Points []*value    `parser:"@@ (',' @@)*"`
	By     *value      `parser:"'by' @@"`
}

type areaStmt struct {
	span
	Name  token.Token `parser:"'area' ( (?= Ident '=') @Ident '=' )?"`
	Value *body       `parser:"@@"`
}

// general is a relation or, when Word is missing, an equation.
type general struct {
	span
	Subjects []*value
	Word     token.Token
	Mode     token.Token
	Objects  []*value
	About    *mirror
}

type mirror struct {
	span
	Axis  token.Token
	Value *value
}
