// Package resolve binds the names of one parsed file: it finds names declared
// twice, used too early or not at all, and words that a body, a relation or a
// parameter does not know. It knows no builtin itself; the caller tells them
// through an Env.
package resolve

import "perch/lang/ast"

// Words is a kind of builtin words.
type Words int

const (
	// Values are the functions, constants and groups of values (sin, pi, fit)
	// that any expression may use.
	Values Words = iota
	// Measures are the functions that only a sketch knows: distance, angle.
	Measures
	// Results are the words of a check that name the finished part: volume.
	Results
	// Questions are all that a check may ask in several words, as it is
	// written: "tip angle", "clearance to BODY".
	Questions
	// Kinds are the kinds of parameters: length, count, body.
	Kinds
	// Heads are the words that begin a body: box, extrude.
	Heads
	// Relations are the words of relations: parallel.
	Relations
	// Materials are the names after `material`.
	Materials
	// Modules are the modules of the standard library.
	Modules
	// Library are the modules that could be used, where the caller reports a
	// module that is not there.
	Library
)

// Env tells what is builtin. The order of the words decides which of two
// equally close ones a message proposes.
type Env interface {
	// Words lists the words of a kind. For Materials and Modules an empty list
	// means that any word goes.
	Words(k Words) []string
	// Clauses lists the clause words that may follow a head or a ready shape
	// (rectangle, slot, polygon). The head "" stands for a body without a head
	// word; its clauses, the placing ones, may be said repeatedly.
	Clauses(head string) []string
	// Module lists what the module name, brought in by u, declares. It returns
	// false when the module could not be read, which the caller reports.
	Module(u *ast.Use, name string) ([]string, bool)
}

// Tables is an Env made of lists.
type Tables struct {
	Lists    map[Words][]string
	OfHead   map[string][]string
	Declared func(u *ast.Use, name string) ([]string, bool) // nil: no module is known
}

// Words implements Env.
func (t *Tables) Words(k Words) []string { return t.Lists[k] }

// Clauses implements Env.
func (t *Tables) Clauses(head string) []string { return t.OfHead[head] }

// Module implements Env.
func (t *Tables) Module(u *ast.Use, name string) ([]string, bool) {
	if t.Declared == nil {
		return nil, false
	}
	return t.Declared(u, name)
}
