// Package ast is the tree of a part file. Trees are made by package parse and
// never change afterwards. Every node knows its span.
package ast

import "perch/lang/source"

// File is one parsed part file.
type File struct {
	Source   *source.File
	Decls    []Decl
	Comments []Comment
	Gaps
}

// Gaps tells that faulty statements were left out of a node. Their faults are
// already reported; whoever reads the node must not report what only follows
// from the gap.
type Gaps struct {
	Partial bool    // at least one statement is missing
	Lost    []Ident // the names those statements would have declared
	// Nameless tells that one of them would have declared a name that cannot be
	// told, so that an unknown name may be that one.
	Nameless bool
}

// Comment is one # comment, without its line end.
type Comment struct {
	At   source.Span
	Text string // without the leading '#'
}

// Node is anything with a place in the text.
type Node interface{ Span() source.Span }

// At is the span of a node; node types embed it.
type At struct{ Place source.Span }

// Span returns the place of the node.
func (a At) Span() source.Span { return a.Place }

// Ident is a name as written.
type Ident struct {
	At
	Name string
}

// Decl is a top-level declaration: *Use, *Measure, *Let, *Sketch, *Part, *Sizes
// or *Workshop.
type Decl interface {
	Node
	decl()
}

// Use brings in modules: `use tube, strap` from the standard library, or
// `use dims from "shared/dims.perch"` from the maker's own files.
type Use struct {
	At
	Names []Ident
	Path  *String // nil for the standard library
}

// Measure is something read off an instrument: one reading or several, a
// standard uncertainty after +-, and the instrument's limit after within.
type Measure struct {
	At
	Name     Ident
	Readings []Expr // at least one
	Error    Expr   // after +-, or nil
	Limit    Expr   // after within, or nil
}

// Let names a value, or a one-line function when Params is not nil.
// It also stands inside sketches and parts.
type Let struct {
	At
	Name   Ident
	Params []Param
	Result *Ident // declared kind of the result, or nil (reserved)
	Value  Expr
}

// Param is one typed parameter: `pitch: length = 9mm`.
type Param struct {
	At
	Name    Ident
	Kind    Ident // length, angle, count, number, body, area, text, …
	Default Expr  // or nil
}

// Sketch is a profile drawn with constraints.
type Sketch struct {
	At
	Name   Ident
	Params []Param // nil when none are written
	Body   []SketchStmt
	Gaps
}

// Part is a body made by steps.
type Part struct {
	At
	Name   Ident
	Params []Param
	Steps  []Step
	Gaps
}

// Sizes is the table of variants of one part.
type Sizes struct {
	At
	Part Ident
	Rows []SizeRow
	Gaps
}

// SizeRow is one variant: `thin: lead = 3.2mm, teeth = 4`, or one that builds
// on another: `wide: thin with pitch = 10mm`.
type SizeRow struct {
	At
	Name Ident
	Base Ident // Name "" when it builds on none
	Sets []Setting
}

// Setting gives a new value to a measure, a let or a parameter.
type Setting struct {
	At
	Name  Ident
	Value Expr
	// Measured, when not nil, stands in place of Value: readings that were set
	// from outside.
	Measured *Measure
}

// Workshop tells of the maker's printer, plastics and fits.
type Workshop struct {
	At
	Entries []Entry
	Gaps
}

// Entry is one value of a Workshop: `nozzle = 0.4mm`, `petg.price = 24 / 1kg`,
// or with a size `hole 4mm = 3.86mm, 3.84mm within 0.02mm`. Its value is written
// like that of a Measure.
type Entry struct {
	At
	Path     []Ident // at least one
	Size     Expr    // or nil
	Readings []Expr  // at least one
	Error    Expr    // after +-, or nil
	Limit    Expr    // after within, or nil
}

func (*Use) decl()      {}
func (*Measure) decl()  {}
func (*Let) decl()      {}
func (*Sketch) decl()   {}
func (*Part) decl()     {}
func (*Sizes) decl()    {}
func (*Workshop) decl() {}

// Expr is an expression: *Number, *String, *Ref, *Member, *Call, *Unary,
// *Binary, *Tuple, *If, *Phrase, *Combine or, in a check, *Ask.
type Expr interface {
	Node
	expr()
}

// Number is a literal with its unit as written; Unit is "" when none stands
// there, and may be compound: "g/cm^3".
type Number struct {
	At
	Value  float64
	Unit   string
	UnitAt source.Span
}

// String is a quoted text, unescaped.
type String struct {
	At
	Value string
}

// Ref is a bare name, or the word true or false.
type Ref struct {
	At
	Name string
}

// Member is x.name.
type Member struct {
	At
	X    Expr
	Name Ident
}

// Call is f(a, b) or f(width: 3mm).
type Call struct {
	At
	Fn   Expr // *Ref or *Member
	Args []Arg
}

// Arg is one argument; Name.Name is "" for a positional one.
type Arg struct {
	At
	Name  Ident
	Value Expr
}

// Unary is -x or `not x`.
type Unary struct {
	At
	Op string
	X  Expr
}

// Binary is x op y with op one of + - * / ^ == is never used; comparisons are
// < <= > >= and = (equality, only in sketch equations, conditions and checks),
// != , and the words "and", "or".
type Binary struct {
	At
	Op   string
	OpAt source.Span
	X, Y Expr
}

// Tuple is (x, y) or (x, y, z).
type Tuple struct {
	At
	Elems []Expr
}

// If is `if c then a else b`.
type If struct {
	At
	Cond, Then, Else Expr
}

// Phrase is a body or a ready area described by a head word and clauses
// (`box width 3mm, depth 4mm`, `extrude tooth by 12mm along y`), or any body
// followed by placing clauses, when Head.Name is "" (`lug at (0, 0, 3mm)`).
// Which clauses a head takes is settled by the table in compile/builtin, not
// by the grammar.
type Phrase struct {
	At
	Head    Ident
	Subject Expr // the area of extrude and revolve, the body of a headless phrase, else nil
	Clauses []Clause
}

// Clause is one part of a phrase. Word is its first word and decides which
// fields are filled:
//
//	width, depth, height, length, radius, diameter, by, through, sides,
//	size, thick, span, corners, tolerance …  Args[0]; radius and diameter
//	                        may carry Args[1] after `to` (cone)
//	across                  Args[0]; Second is "flats" or "corners"
//	bevel, round, closed    Args[0]; Second names an end of the body: bottom,
//	                        top, front, back, left, right or ends
//	along, about            Axis
//	centre, at              Args[0]
//	from                    Axis (x, y or z), Args[0], Args[1]
//	                        (`from z = a to z = b`)
//	turned                  Args[0] angle, Axis, Args[1] after `through`
//	                        or absent
//	mirrored                Axis, Args[0] (`mirrored about x = 0`)
//	row                     Args[0] count, Args[1] pitch, Axis
//	                        (`in a row of n every p along x`)
//	ring                    Args[0] count, Axis, Args[1] step or absent
//	                        (`in a ring of n about z`, `in a ring of n every 30deg about z`)
//	around                  Args[0] body, Args[1] angle
//	                        (`around pipe at 30deg`)
type Clause struct {
	At
	Word   Ident
	Second Ident
	Args   []Expr
	Axis   *Axis
}

// Axis is x, y, z, one of them with a minus, or a written direction.
type Axis struct {
	At
	Name     string // "x", "y", "z", or "" when Dir is written
	Negative bool
	Dir      Expr
}

// Combine joins areas or bodies in an expression: Op is "less", "with" or
// "within".
type Combine struct {
	At
	Op    string
	Left  Expr
	Right []Expr
}

// Ask is what a check asks of the finished part, in two words or more:
// `tip angle`, `fits bed`, `gap to pipe`. Links are the words that bring in a
// value: to, of, about, at, over, from, along, under. What can be asked is
// settled by the table in compile/check. One word alone is a *Ref.
type Ask struct {
	At
	Words []Ident
	Links []Link
}

// Link is a word and the value it brings in: `to pipe`.
type Link struct {
	At
	Word  Ident
	Value Expr
}

func (*Ask) expr()     {}
func (*Number) expr()  {}
func (*String) expr()  {}
func (*Ref) expr()     {}
func (*Member) expr()  {}
func (*Call) expr()    {}
func (*Unary) expr()   {}
func (*Binary) expr()  {}
func (*Tuple) expr()   {}
func (*If) expr()      {}
func (*Phrase) expr()  {}
func (*Combine) expr() {}

// Step is one line of a part: *Make, *Mating, *Material, *Print, *Check,
// *Caution or *Let.
type Step interface {
	Node
	step()
}

// Make changes the body: Verb is "join", "cut" or "trim". `cut a, b` is two
// steps with the same Verb. A mark (Verb "engrave" or "emboss") has a *Phrase
// with the verb as its head.
type Make struct {
	At
	Verb Ident
	Body Expr
}

// Mating names a body that is not printed.
type Mating struct {
	At
	Name Ident
	Body Expr
}

// Material names what the part is printed in.
type Material struct {
	At
	Name Ident
}

// Print tells how the part lies on the bed when it is printed: turns of the part
// as it is drawn, one after the other. Each clause has the word "turned".
type Print struct {
	At
	Turns []Clause
}

// Check states what must be true of the result: a comparison, or a phrase that
// is true or false by itself.
type Check struct {
	At
	Cond Expr
}

// Caution tells where the part is used, so that the cautions for it are shown:
// `caution optics, overhead`. The words are those of compile/check.
type Caution struct {
	At
	Words []Ident
}

func (*Caution) step()  {}
func (*Make) step()     {}
func (*Mating) step()   {}
func (*Material) step() {}
func (*Print) step()    {}
func (*Check) step()    {}
func (*Let) step()      {}

// SketchStmt is one statement of a sketch: *Point, *Line, *Arc, *Circle,
// *Outline, *Shape, *Corners, *Relation, *Equation, *Area or *Let.
type SketchStmt interface {
	Node
	sketchStmt()
}

// Place fixes (`at`) or suggests (`near`) where a point lies.
type Place struct {
	At
	Near bool
	Pos  Expr // a tuple
}

// PointRef is a point used by another entity. It may be a bare name
// (declared elsewhere, or declared here when Place is written or when it
// stands in an outline), or a written tuple, which is a fixed point without a
// name.
type PointRef struct {
	At
	Name  Expr // *Ref or *Member; nil for a tuple
	Tuple Expr
	Place *Place
}

// Point is `point a at (0, 0)`, `point a near (1mm, 2mm)` or `point a`.
type Point struct {
	At
	Guide bool
	Name  Ident
	Place *Place
}

// Line is `line ab from a to b`.
type Line struct {
	At
	Guide    bool
	Name     Ident
	From, To PointRef
}

// Size is `radius r`, `diameter d`, or with `near` before the value, which
// only suggests it.
type Size struct {
	At
	Word  string // "radius" or "diameter"
	Near  bool
	Value Expr
}

// Circle is `circle bore centre o, diameter 4mm`.
type Circle struct {
	At
	Guide  bool
	Name   Ident
	Centre PointRef
	Size   *Size // nil: free
}

// Arc is `arc top from a to b, centre o`: counter-clockwise from a to b
// unless `clockwise` is written.
type Arc struct {
	At
	Guide     bool
	Name      Ident
	From, To  PointRef
	Centre    *PointRef
	Size      *Size
	Clockwise bool
}

// Outline is a closed chain of segments or, as a path, one that may be open.
type Outline struct {
	At
	Guide bool
	Path  bool
	Name  Ident
	Start PointRef
	Segs  []Seg
	Gaps
}

// Seg is one segment of an outline.
//
// Line: Dir is "right", "left", "up", "down", "ahead" or ""; Length may be
// nil; Angle is the direction of `line 30mm at 45deg`, else nil.
//
// Arc: Dir is "left" or "right" (the side it turns to, tangent to what came
// before) or ""; Size is its radius; Through the angle it sweeps; Centre its
// centre; Clockwise holds when written.
//
// Close ends the outline with a straight line to its start.
type Seg struct {
	At
	Kind      string // "line", "arc", "close"
	Name      Ident  // Name.Name is "" when none is written
	Dir       string
	Length    Expr
	Angle     Expr
	Through   Expr
	Size      *Size
	Centre    *PointRef
	Clockwise bool
	To        *PointRef
}

// Shape is a ready shape: Kind is "rectangle", "slot" or "polygon". Its
// clauses are: rectangle width, height, centre, corners (rounding radius);
// slot from/to as PointRefs, width; polygon sides, centre, and one of radius,
// across flats, across corners, and turned (an angle).
type Shape struct {
	At
	Guide    bool
	Kind     string
	Name     Ident
	From, To *PointRef
	Centre   *PointRef
	Clauses  []Clause
}

// Corners rounds or bevels named corners: `round b, c by 3mm`,
// `bevel d by 1mm`.
type Corners struct {
	At
	Bevel  bool
	Points []Expr
	By     Expr
}

// Relation is a sentence: Subjects Word Objects, for example
// `left, right vertical`, `a mirrors b about x = 0`, `k tangent inside ko`,
// `m midpoint of ab`, `p on k`.
type Relation struct {
	At
	Subjects []Expr
	Word     Ident
	Mode     Ident  // "inside" or "outside" after tangent, else empty
	Objects  []Expr // may be empty
	Axis     *Axis  // mirrors about x = e or y = e: Axis and About
	About    Expr   // the e, or the line when Axis is nil
}

// Equation is left op right between measures, op "=" solved with the rest,
// or an inequality checked after solving.
type Equation struct {
	At
	Op          string
	Left, Right Expr
}

// Area names the region that the sketch is about: `area block less bore`, or
// `area lid = block less bore` when a sketch has several.
type Area struct {
	At
	Name  Ident // Name.Name is "" for the sketch's own area
	Value Expr
}

func (*Point) sketchStmt()    {}
func (*Line) sketchStmt()     {}
func (*Arc) sketchStmt()      {}
func (*Circle) sketchStmt()   {}
func (*Outline) sketchStmt()  {}
func (*Shape) sketchStmt()    {}
func (*Corners) sketchStmt()  {}
func (*Relation) sketchStmt() {}
func (*Equation) sketchStmt() {}
func (*Area) sketchStmt()     {}
func (*Let) sketchStmt()      {}
