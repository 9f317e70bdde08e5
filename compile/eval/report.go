package eval

import (
	"fmt"
	"strings"

	"perch/compile/builtin"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
	"perch/lang/unit"
)

// Codes of the faults of this package.
const (
	TooMuchWork   diag.Code = "too-much-work"
	TooDeep       diag.Code = "too-deep"
	NameUnknown   diag.Code = "name-unknown"
	MemberUnknown diag.Code = "member-unknown"
	NotCallable   diag.Code = "not-callable"
	ArgUnknown    diag.Code = "arg-unknown"
	ArgTwice      diag.Code = "arg-twice"
	ArgMissing    diag.Code = "arg-missing"
	ArgTooMany    diag.Code = "arg-too-many"
	KindUnknown   diag.Code = "kind-unknown"
	WrongOperand  diag.Code = "wrong-operand"
	HeadUnknown   diag.Code = "head-unknown"
	ThreadSwapped diag.Code = "thread-swapped"
	NoBody        diag.Code = "no-body"
	EndlessBody   diag.Code = "endless-body"
	NoMaterial    diag.Code = "material-unknown"
	CheckHidden   diag.Code = "check-word-hidden"
	NegativeError diag.Code = "measure-negative"
	Warned        diag.Code = "warned" // by the function warn
	LetteringFine diag.Code = "lettering-fine"
	SettingName   diag.Code = "setting-unknown"
	SettingKind   diag.Code = "setting-kind"
	// StepIdle warns of a step, or an area, that changes nothing.
	StepIdle diag.Code = "step-idle"
	// SettingOverSize warns of a setting from outside that sizes set as well.
	SettingOverSize diag.Code = "setting-over-size"
	SizeUnknown     diag.Code = "size-unknown"
	PartUnknown     diag.Code = "part-unknown"
	NoPart          diag.Code = "no-part"
	Unsettled       diag.Code = "not-settled" // a value that the sketch is still being solved for
)

// frame is a call on the way.
type frame struct {
	at   source.Span
	name string
	std  bool // what is called belongs to the standard library
	bare bool // without arguments: the place of the call explains nothing
}

type seenKey struct {
	code    diag.Code
	file    *source.File
	start   int
	message string
	size    string
}

// report adds a diagnostic once. A fault inside the standard library is shown
// at the call that led there; any other names the call as a second place.
func (e *evaluator) report(d diag.Diagnostic) {
	if n := len(e.frames); n > 0 {
		outer := n
		for outer > 0 && e.frames[outer-1].std {
			outer--
		}
		if outer < n { // frames[outer] is the first step into the library
			f := e.frames[outer]
			if d.At != f.at {
				d.Labels = append([]diag.Label{{At: d.At, Text: fmt.Sprintf("inside %s", f.name)}}, d.Labels...)
				d.At = f.at
			}
		} else if f := e.frames[n-1]; d.At != f.at && !f.bare {
			d.Labels = append(d.Labels, diag.Label{At: f.at, Text: fmt.Sprintf("%s is used here", f.name)})
		}
	}
	if !e.blame(&d) || e.told(d) {
		return
	}
	k := seenKey{d.Code, d.At.File, d.At.Start, d.Message, ""}
	if e.seen[k] {
		return
	}
	if k.size = e.size; k.size != "" {
		if e.seen[k] {
			return
		}
		d.Sizes = []string{e.size}
	}
	e.seen[k] = true
	e.diags.Add(d)
}

// told reports whether the cause of d was told of at another place: a value
// that a module refuses wherever it is used, a sketch of which no use knows its
// area.
func (e *evaluator) told(d diag.Diagnostic) bool {
	var keys []seenKey
	switch d.Code {
	case builtin.Refused: // one call may refuse in several ways
		keys = []seenKey{{code: d.Code, message: d.Message}, {code: d.Code, file: d.At.File, start: d.At.Start}}
	case ManyAreas, NoArea, builtin.ThreadUnknown:
		keys = []seenKey{{code: d.Code, message: d.Message}}
	}
	known := false
	for _, k := range keys {
		k.size = e.size
		known = known || e.seen[k]
		e.seen[k] = true
	}
	return known
}

// bareLet is a let whose value was written without a unit.
type bareLet struct {
	name, value source.Span
	word, text  string // let or measure, and the number
	told        bool
	odd         string // what it is, where that has a unit and is no length: "an angle"
	low         bool   // it is no size: 0 or less
}

// noteBare keeps a let whose value is a plain number.
func (e *evaluator) noteBare(d *ast.Let) {
	if d.Params == nil {
		e.noteWritten(d.Name, d.Value, "let")
	}
}

// noteWritten keeps a let or a measure that is written as a number, and that
// may be at fault where it is used.
func (e *evaluator) noteWritten(name ast.Ident, x ast.Expr, word string) {
	negative, at := false, x
	if u, ok := x.(*ast.Unary); ok && u.Op == "-" {
		negative, x = true, u.X
	}
	n, ok := x.(*ast.Number)
	if !ok || e.bare == nil {
		return
	}
	b := &bareLet{name: name.Span(), value: at.Span(), text: n.Span().Text(), word: word}
	u, err := unit.Parse(n.Unit)
	if err == nil && n.Unit != "" && u.Dim != unit.Length {
		b.odd = value.A(u.Dim)
	}
	b.low = n.Unit != "" && (negative || n.Value == 0)
	if n.Unit == "" && n.Value != 0 && !negative || b.odd != "" || b.low {
		e.bare[name.Name] = b
	}
}

// noteBareMeasure is noteBare for a measure.
func (e *evaluator) noteBareMeasure(d *ast.Measure) {
	if len(d.Readings) > 0 {
		e.noteWritten(d.Name, d.Readings[0], "measure")
	}
}

// blame lets a fault of kinds point at the let that has no unit, or that of
// another kind, if one has a hand in it, and a size that is none at the let that
// is 0 or less. It returns false when that was told before.
func (e *evaluator) blame(d *diag.Diagnostic) bool {
	kinds := d.Code == builtin.KindMismatch || d.Code == value.DimMismatch
	if !kinds && d.Code != builtin.SizeNotAbove0 {
		return true
	}
	b := e.bareIn(d.At)
	for _, l := range d.Labels {
		if b == nil {
			b = e.bareIn(l.At)
		}
	}
	switch {
	case b == nil || d.At.File != b.name.File || !kinds && !b.low || kinds && b.low && b.odd == "":
		return true
	case kinds && b.odd != "" && !strings.Contains(d.Message, b.odd):
		return true // the fault is not about what it is
	case b.told:
		return false
	}
	b.told = true
	if b.odd != "" || b.low {
		d.Labels = append(d.Labels, diag.Label{At: b.value, Text: "declared so here"})
		return true
	}
	d.Labels = []diag.Label{{At: d.At, Text: d.Message}}
	d.At, d.Message = b.value, "`"+b.name.Text()+"` has no unit, and stands where one is needed"
	d.Notes = []string{diag.Do(fmt.Sprintf("give it a unit where it is declared, as in `%s %s = %smm`", b.word, b.name.Text(), b.text))}
	return true
}

// bareIn finds the one let without a unit that a short text speaks of.
func (e *evaluator) bareIn(at source.Span) *bareLet {
	var found *bareLet
	for _, word := range strings.FieldsFunc(at.Text(), notOfName) {
		if b := e.bare[word]; b != nil && b != found {
			if found != nil {
				return nil
			}
			found = b
		}
	}
	return found
}

// fault reports a fault at a place and returns Bad.
func (e *evaluator) fault(at source.Span, f *value.Fault, labels ...diag.Label) value.Value {
	e.report(diag.Diagnostic{Code: f.Code, At: at, Message: f.Message, Notes: f.Notes, Labels: labels, Fixes: meantInstead(at, f.Notes)})
	return value.Bad{}
}

// meantInstead is the edit that goes with the note of nearest, where the place
// is the name itself.
func meantInstead(at source.Span, notes []string) []diag.Fix {
	for _, n := range notes {
		near, ok := strings.CutPrefix(n, diag.Do("did you mean `"))
		near, whole := strings.CutSuffix(near, "`?")
		if ok && whole && at.Valid() && strings.IndexFunc(at.Text(), notOfName) < 0 {
			return []diag.Fix{{Text: "write `" + near + "`", Edits: []diag.Edit{{At: at, New: near}}}}
		}
	}
	return nil
}

// nearest is a note that proposes the closest of some names, or lists them
// when they are few.
func nearest(name string, names []string) []string {
	if near, ok := spell.Nearest(name, names); ok {
		return []string{diag.Do(fmt.Sprintf("did you mean `%s`?", near))}
	}
	if len(names) == 0 || len(names) > 12 {
		return nil
	}
	return []string{diag.Do("the names here are: " + strings.Join(names, ", "))}
}
