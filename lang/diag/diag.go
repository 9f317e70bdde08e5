// Package diag describes faults and remarks as data. Whoever finds a fault
// fills in a Diagnostic; only package render turns it into text or JSON.
package diag

import (
	"slices"
	"strings"

	"perch/lang/source"
)

// Code names one cause of a message, such as "unit-unknown". A code is never
// reused for another cause.
type Code string

// Severity says what a message does to a build.
type Severity int

const (
	// Error stops the part from being written.
	Error Severity = iota
	// Warning lets the build go on.
	Warning
	// Info is a remark.
	Info
)

func (s Severity) String() string {
	switch s {
	case Error:
		return "error"
	case Warning:
		return "warning"
	}
	return "info"
}

// Label marks another place that belongs to the message.
type Label struct {
	At   source.Span
	Text string
}

// Fix is an edit that an editor can make: each Edit replaces its span.
type Fix struct {
	Text  string // what the fix does, in a few words
	Edits []Edit
}

// Edit replaces the text of At by New.
type Edit struct {
	At  source.Span
	New string
}

// Place is a box in the model, in millimetres: {min x, y, z, max x, y, z}.
type Place [6]float64

// Diagnostic is one message about the user's text or about the part.
type Diagnostic struct {
	Code     Code
	Severity Severity
	Message  string      // one line: what is wrong, without a position
	At       source.Span // the place it is about
	Labels   []Label     // other places: each clashing relation, the first use of a name
	Notes    []string    // made by Why and Do: the reason, and what to do next
	Fixes    []Fix
	Places   []Place
	// Sizes names the sizes that alone the message is about, as their files
	// are called: "comb-thin". Without any it is about all that is built.
	Sizes []string
}

// List collects diagnostics in the order they are found.
type List []Diagnostic

// Add appends d.
func (l *List) Add(d ...Diagnostic) { *l = append(*l, d...) }

// HasErrors reports whether any entry is an Error.
func (l List) HasErrors() bool {
	return slices.ContainsFunc(l, func(d Diagnostic) bool { return d.Severity == Error })
}

// Blocks reports whether an error stands in the way of everything, and not of
// single sizes only.
func (l List) Blocks() bool {
	return slices.ContainsFunc(l, func(d Diagnostic) bool { return d.Severity == Error && len(d.Sizes) == 0 })
}

// Sort orders the list by file path, position, then code; equal entries keep
// their order.
func (l List) Sort() {
	slices.SortStableFunc(l, func(a, b Diagnostic) int {
		pa, pb := "", ""
		if a.At.Valid() {
			pa = a.At.File.Path
		}
		if b.At.Valid() {
			pb = b.At.File.Path
		}
		if pa != pb {
			if pa < pb {
				return -1
			}
			return 1
		}
		if a.At.Start != b.At.Start {
			return a.At.Start - b.At.Start
		}
		return 0
	})
}

// Errorf-style helpers are deliberately missing: a message is written whole
// at the place that knows the cause.

// Why makes a note that gives the reason of a message.
func Why(text string) string { return whyMark + text }

// Do makes a note that says what to do next.
func Do(text string) string { return doMark + text }

// Marks at the start of a note.
const (
	whyMark = "why: "
	doMark  = "do: "
)

// SplitNote returns the kind of a note, "why", "do" or "note", and its text.
func SplitNote(note string) (kind, text string) {
	if s, ok := strings.CutPrefix(note, whyMark); ok {
		return "why", s
	}
	if s, ok := strings.CutPrefix(note, doMark); ok {
		return "do", s
	}
	return "note", note
}
