// Package compile turns part files into finished parts. Session is the only
// entry for commands: it reads files, keeps what can be kept from one build to
// the next, and runs parse, resolve, eval, solid and check in their order.
//
// Faults in the text of a part come back as diagnostics in Result; what the
// world did (a missing file, a cancelled build) comes back as an error.
package compile

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"perch/compile/check"
	"perch/compile/eval"
	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/stdlib"
)

// Options say how to build.
type Options struct {
	// Settings give measures, lets and parameters other values.
	Settings []Setting
	// Sizes names the sizes to build; none means the part as written.
	Sizes []string
	// AllSizes builds every size of the parts that have a table of sizes, and
	// the others as written.
	AllSizes bool
	// Tolerance is the greatest distance between a curve and its chords, in
	// mm; 0 means DefaultTolerance.
	Tolerance float64
	// Parts names the parts to build; none means all that can be built.
	Parts []string
	// Workshop is the file that states the workshop; "" looks for one named
	// workshop.perch beside the design and in the folders above.
	Workshop string
	// Uncertainty carries the uncertainty of the measurements into checks that
	// ask about the finished part, which takes two more builds for each of
	// them. Checks of values have it in any case.
	Uncertainty bool
	// Standard looks at what matters for every part, asked for or not.
	Standard bool
	// Progress, when not nil, is told the share done of a part, from 0 to 1.
	// It may be called from several goroutines at once.
	Progress func(part string, done float64)

	// Shapes, when not nil, is told of the parts once all of them are built and
	// before anything is judged: they have no checks yet, and messages may
	// follow. It is not called when something could not be built.
	Shapes func(*Result)

	folder bool // the path may be a folder, which stands for an empty file in it
}

// DefaultTolerance is the chord tolerance in mm when none is given: far below
// the 0.1 to 0.2 mm to which printers work (common practice).
const DefaultTolerance = 0.01

// Setting is one `name=value` from the command line; Value is the text of an
// expression, such as 4.2mm.
type Setting struct{ Name, Value string }

// Result is what one build found. It does not change after Build returns.
type Result struct {
	Diags diag.List
	// Parts are in the order they are written in, each with its sizes.
	Parts []Part
	// Sketches are the solved sketches of the file, in its order, once for
	// each size that was built.
	Sketches []eval.Sketch
	// Workshop is the workshop in force, nil when the files have faults.
	Workshop *workshop.Profile
	// Sizes are those that the file names for its parts, built or not.
	Sizes []SizeName
	// Files are the files that were read or looked for, sorted by path. A
	// later change of one of them may change the result.
	Files []File
	// Texts are what the result was made from, each after those it uses, and
	// the workshop last.
	Texts []Text
}

// Text is the text of a file as it was read.
type Text struct {
	Name    string // as messages print it
	File    *source.File
	Library bool // of the standard library
}

// File is a file that a build read or looked for.
type File struct {
	Path  string // absolute
	Found bool
	Sum   [sha256.Size]byte // of the content that was read
}

// SizeName is a row of a table of sizes.
type SizeName struct{ Part, Size string }

// Part is one finished part.
type Part struct {
	Name string
	Size string // name of the size, "" for the part as written
	// Mesh may be that of another build too: it must not be changed.
	Mesh *mesh.Mesh
	// Printed is the mesh as it lies on the bed, the same as Mesh when the part
	// does not say how it is printed.
	Printed *mesh.Mesh
	// Bounds is the box around the part, in mm.
	Bounds geom.Box
	// Volume in mm³, Surface in mm², Mass in g.
	Volume, Surface, Mass float64
	Material              string
	// Cost of the plastic in the money of the workshop, 0 when it states no
	// price.
	Cost float64
	// MaterialAssumed holds when the part names no material.
	MaterialAssumed bool
	// Checks are the judged checks, in the order written; those that fail or
	// cannot be told are in Result.Diags as well.
	Checks []check.Result
	// Standing is what Options.Standard asked for; it is in no diagnostic.
	Standing []check.Result
	// Cautions appear by themselves, besides those that the part states; they
	// come with Options.Standard.
	Cautions []check.Caution
	// Elapsed is the time the mesh took, without the checks.
	Elapsed time.Duration

	// Mating are the bodies that are not printed, in the order written.
	Mating []Mate

	body      *solid.Body
	tolerance float64 // mm
}

// Session builds parts again and again, reusing what has not changed. It may
// be used from several goroutines.
type Session struct {
	library fs.FS // the standard library, <name>.perch

	mu      sync.Mutex
	overlay map[string]string // text that is not on disk, by absolute path
	parsed  map[string]parsed // by the path that messages print

	bodies *solid.Cache
}

// keepBytes bounds what a session keeps of bodies that it built: at 600 to
// 1000 bytes a triangle, some five parts of 100,000 triangles.
const keepBytes = 400 << 20

// parsed is a tree and the faults found with it. Trees never change, so both
// stand for as long as the text is the same.
type parsed struct {
	text  string
	tree  *ast.File
	diags diag.List
}

// New returns a Session over the files on disk.
func New() *Session {
	return &Session{library: stdlib.Files, overlay: map[string]string{}, parsed: map[string]parsed{}, bodies: solid.NewCache(keepBytes)}
}

// Set gives a file a text that is not, or not yet, on disk.
func (s *Session) Set(path, text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.overlay[absolute(path)] = text
}

// Unset drops the text given by Set.
func (s *Session) Unset(path string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.overlay, absolute(path))
}

// Build builds the parts of the file at path. The result is not nil even with
// an error: its Files say what to watch. A fault of Perch itself becomes a
// diagnostic with code "internal".
func (s *Session) Build(ctx context.Context, path string, o Options) (*Result, error) {
	return s.work(ctx, path, o, func(l *loader, res *Result) error {
		res.Diags.Add(l.unused...)
		return s.evaluate(ctx, l, o, res)
	})
}

// work loads the file at path, binds its names and hands it on.
func (s *Session) work(ctx context.Context, path string, o Options, then func(*loader, *Result) error) (res *Result, err error) {
	res = &Result{}
	l := newLoader(s)
	defer func() {
		if r := recover(); r != nil {
			res.Parts, err = nil, nil
			at := source.Span{}
			if l.main != nil {
				at.File = l.main.tree.Source
			}
			res.Diags.Add(internal(r, at))
		}
		res.Files = l.sortedFiles()
	}()
	if !(o.Tolerance >= 0) || math.IsInf(o.Tolerance, 1) {
		return res, fmt.Errorf("a tolerance of %g mm cannot be built to", o.Tolerance)
	}
	if !o.folder || !l.standFor(path) {
		if err := l.load(path); err != nil {
			return res, err
		}
	}
	if err := l.findShop(o.Workshop); err != nil {
		return res, err
	}
	if err := ctx.Err(); err != nil {
		return res, err
	}
	l.bind()
	for _, m := range l.order {
		res.Texts = append(res.Texts, Text{m.shown, m.tree.Source, m.path == ""})
		m.diags.Sort()
		res.Diags.Add(m.diags...)
	}
	return res, then(l, res)
}

// internal describes a panic. The place in Perch's own source is what a
// report of the fault needs.
func internal(r any, at source.Span) diag.Diagnostic {
	return diag.Diagnostic{
		Code: Internal, At: at,
		Message: fmt.Sprintf("Perch itself failed: %v", r),
		Notes: []string{
			diag.Why("this is a fault of the program, not of the part file; nothing was written"),
			diag.Do("report it together with the part file and this line: " + origin(string(debug.Stack()))),
		},
	}
}

// origin returns the line of a stack that names where the panic began: the
// first file of this module after the call of panic.
func origin(stack string) string {
	_, after, _ := strings.Cut(stack, "panic(")
	for line := range strings.Lines(after) {
		line = strings.TrimSpace(line)
		if name, _, ok := strings.Cut(line, "(0x"); ok && strings.HasPrefix(name, "perch/") {
			return name
		}
		if name, _, ok := strings.Cut(line, "({"); ok && strings.HasPrefix(name, "perch/") {
			return name
		}
		if name, _, ok := strings.Cut(line, "(...)"); ok && strings.HasPrefix(name, "perch/") {
			return name
		}
	}
	return "unknown place"
}

// absolute is filepath.Abs; where the working folder is unknown the path
// stays as it is.
func absolute(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return filepath.Clean(path)
	}
	return abs
}
