// Package eval runs a resolved part file: declarations in their order,
// sketches solved, parts as bodies made by steps. What comes out is one body
// for each part and size, with the checks that wait for its mesh.
//
// A fault is reported once, where it arises; its value becomes value.Bad, and
// what is made from that stays silent. Work is bounded: so many operations,
// so many calls within calls, so many shapes in a part.
package eval

import (
	"context"
	"slices"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/geom"
	"perch/compile/sketch"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// Module is a parsed file with the modules it uses.
type Module struct {
	// Name is how messages call it; "" for the file that is built.
	Name string
	// Standard marks the modules of the standard library: a fault inside one
	// is shown at the place that called it.
	Standard bool
	File     *ast.File
	// Uses holds the modules by the name under which the file uses them.
	Uses map[string]*Module
}

// Options choose what is evaluated.
type Options struct {
	// Settings give new values to measures, lets and parameters of parts, in
	// place of those of the file and of its sizes.
	Settings []ast.Setting
	// Sizes names the sizes to build; empty means the base size. A part is
	// built only in the named sizes it has.
	Sizes []string
	// AllSizes builds every size of the parts that have sizes, and the others
	// as they are written.
	AllSizes bool
	// Parts names the parts to build; empty means all that can be built.
	Parts []string
	// Tolerance is the chord tolerance of the build in mm; 0 means
	// solid.DefaultTolerance.
	Tolerance float64
	// Workshop is the file that states the workshop, or nil; Entries take the
	// place of what it states.
	Workshop *Module
	Entries  []ast.Entry
	// Shifts asks for parts with each measurement shifted, for checks that ask
	// about the finished part.
	Shifts bool
	// Bodies keeps what must be built to be evaluated, from one run to the next;
	// nil keeps nothing.
	Bodies *solid.Cache
}

// Result is what a file came to.
type Result struct {
	// Builds lists what the options choose, in the order of the file.
	Builds []Build
	// Parts are those of Builds that have no fault.
	Parts []*Part
	// Measures of the file as measured, before any setting.
	Measures []Measure
	// Sketches of the file that were solved, in the order of the file, once
	// for each set of values that parts were made with.
	Sketches []Sketch
	Diags    diag.List
	// Workshop is the one in force.
	Workshop *workshop.Profile
}

// Build is one part in one size that the options choose.
type Build struct {
	Part string
	Size string      // "" for the part as written
	At   source.Span // the name of the size in its table, else of the part
}

// FullName is the name of a part and its size, as files are called.
func FullName(part, size string) string {
	if size == "" {
		return part
	}
	return part + "-" + size
}

// Sketch is a solved sketch.
type Sketch struct {
	// Name is as in the text, with the arguments where it takes any.
	Name   string
	Size   string // the size whose values it was drawn with, "" for the base size
	Figure *sketch.Figure
}

// Part is one part in one size, ready to be built.
type Part struct {
	Name string
	Size string // "" for the base size
	At   source.Span
	Body *solid.Body
	// Mating bodies are not printed; one of them may be endless.
	Mating   []Mating
	Material builtin.Material
	Assumed  bool // no material was named
	// Steps lists what each step made of the body, in order.
	Steps []Operation
	// Operations finds the text of a join, a cut or a trim in Body.
	Operations map[*solid.Body]Operation
	Checks     []check.Check
	Shifts     []Shift
	Said       []string // cautions that the part states
	// Print turns the part for the bed, nil for as it is drawn.
	Print *geom.Transform
}

// Operation is the text that joins, cuts or trims a body.
type Operation struct {
	Solid *solid.Body // what comes out
	Word  string      // join, cut, trim, less, with, within
	At    source.Span
}

// Mating is a named body that is not printed.
type Mating struct {
	Name string
	Body *value.Body
	At   source.Span // its name
	// Checked holds when a check of the part speaks of it.
	Checked bool
}

// Measure is a measurement with its readings.
type Measure struct {
	Name     string
	At       source.Span
	Readings []value.Number
	Value    value.Number // the mean, with its uncertainty
}

// Run evaluates a file. The error is that of ctx; faults in the text are in
// the list of the result.
func Run(ctx context.Context, main *Module, o Options) (*Result, error) {
	if o.Tolerance == 0 {
		o.Tolerance = solid.DefaultTolerance
	}
	e := newEvaluator(ctx, main, o)
	e.openShop()
	r := e.run()
	r.Workshop = e.shop
	if o.Shifts && !e.diags.HasErrors() && r.asks() {
		shift(ctx, main, o, e.uncertain(), r)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r.Diags = e.diags
	r.Diags.Sort()
	return r, nil
}

// asks reports whether a check asks about a finished part.
func (r *Result) asks() bool {
	return slices.ContainsFunc(r.Parts, func(p *Part) bool {
		return slices.ContainsFunc(p.Checks, func(c check.Check) bool { return c.Asks != check.AsksValues })
	})
}

// Limits of one evaluation. A hand-written part takes some thousand
// operations and calls three deep.
const (
	maxSteps = 2_000_000
	maxDepth = 100
)

// evaluator is the state of one run.
type evaluator struct {
	ctx     context.Context
	main    *Module
	opts    Options
	modules map[*Module]*module

	diags diag.List
	seen  map[seenKey]bool

	frames     []frame
	steps      int
	bare       map[string]*bareLet
	operations map[*solid.Body]Operation // of the text, not of the library; nil inside checks

	marks int // laid so far

	size    string // full name of the size that is worked out, "" for the part as written
	row     string // its name in the table of sizes
	stopped bool   // a limit was reached or ctx ended: everything is Bad from here

	sources  []Source       // what was measured so far
	scatters map[string]int // sources of fitted lines and of tables, by what they are
	measures []Measure

	shop     *workshop.Profile
	shopOpen bool  // the workshop is worked out
	nudge    nudge // the measurement that is shifted, if any
	inquiry
	material *builtin.Material // of the part that is being worked out, or nil
}

func newEvaluator(ctx context.Context, main *Module, o Options) *evaluator {
	return &evaluator{ctx: ctx, main: main, opts: o, modules: map[*Module]*module{}, seen: map[seenKey]bool{}, operations: map[*solid.Body]Operation{}, bare: map[string]*bareLet{}, scatters: map[string]int{}}
}

// step counts one operation and reports whether to go on.
func (e *evaluator) step(at source.Span) bool {
	if e.stopped {
		return false
	}
	e.steps++
	if e.steps&0x3ff == 0 && e.ctx.Err() != nil {
		e.stopped = true
		return false
	}
	if e.steps > maxSteps {
		e.report(diag.Diagnostic{
			Code: TooMuchWork, At: at, Message: "this part takes too much work to evaluate",
			Notes: []string{
				diag.Why("more than 2 million operations were needed"),
				diag.Do("look for functions that call each other many times over"),
			},
		})
		e.stopped = true
		return false
	}
	return true
}
