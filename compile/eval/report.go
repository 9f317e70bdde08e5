package eval

import (
	"fmt"
	"strings"

	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
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
	NoBody        diag.Code = "no-body"
	EndlessBody   diag.Code = "endless-body"
	NoMaterial    diag.Code = "material-unknown"
	CheckHidden   diag.Code = "check-word-hidden"
	NegativeError diag.Code = "measure-negative"
	Warned        diag.Code = "warned" // by the function warn
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

// fault reports a fault at a place and returns Bad.
func (e *evaluator) fault(at source.Span, f *value.Fault, labels ...diag.Label) value.Value {
	e.report(diag.Diagnostic{Code: f.Code, At: at, Message: f.Message, Notes: f.Notes, Labels: labels})
	return value.Bad{}
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
