package render

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"

	"perch/lang/diag"
	"perch/lang/source"
)

// Entry is a diagnostic as JSON.
type Entry struct {
	Code     diag.Code    `json:"code"`
	Severity string       `json:"severity"` // "error", "warning" or "info"
	Message  string       `json:"message"`
	At       *Range       `json:"at,omitempty"`
	Labels   []Label      `json:"labels,omitempty"`
	Notes    []Note       `json:"notes,omitempty"`
	Fixes    []Fix        `json:"fixes,omitempty"`
	Places   []diag.Place `json:"places,omitempty"` // boxes in the model, mm
	Sizes    []string     `json:"sizes,omitempty"`  // "part-size", where only these are meant
}

// Range is a part of a file: byte offsets from 0, the end not included; lines
// and columns from 1, columns in code points; and the same as editors count,
// from 0 and in UTF-16 units.
type Range struct {
	File      string   `json:"file"`
	Start     int      `json:"start"`
	End       int      `json:"end"`
	Line      int      `json:"line"`
	Column    int      `json:"column"`
	EndLine   int      `json:"endLine"`
	EndColumn int      `json:"endColumn"`
	UTF16     UTF16Pos `json:"utf16"`
}

// UTF16Pos holds the positions of a Range in UTF-16 units.
type UTF16Pos struct {
	Line         int `json:"line"`
	Character    int `json:"character"`
	EndLine      int `json:"endLine"`
	EndCharacter int `json:"endCharacter"`
}

// Label is another place of a message.
type Label struct {
	At   *Range `json:"at,omitempty"`
	Text string `json:"text"`
}

// Note is a reason ("why"), a remedy ("do") or a remark ("note").
type Note struct {
	Kind string `json:"kind"`
	Text string `json:"text"`
}

// Fix is an edit an editor can offer.
type Fix struct {
	Text  string `json:"text"`
	Edits []Edit `json:"edits"`
}

// Edit replaces a range.
type Edit struct {
	At  *Range `json:"at"`
	New string `json:"new"`
}

// Entries returns the list as JSON values; it is never nil.
func Entries(list diag.List) []Entry {
	out := make([]Entry, 0, len(list))
	for _, d := range list {
		e := Entry{Code: d.Code, Severity: d.Severity.String(), Message: d.Message, At: newRange(d.At), Places: d.Places, Sizes: d.Sizes}
		for _, l := range d.Labels {
			e.Labels = append(e.Labels, Label{newRange(l.At), l.Text})
		}
		for _, n := range d.Notes {
			kind, text := diag.SplitNote(n)
			e.Notes = append(e.Notes, Note{kind, text})
		}
		for _, f := range d.Fixes {
			fix := Fix{Text: f.Text, Edits: []Edit{}}
			for _, x := range f.Edits {
				fix.Edits = append(fix.Edits, Edit{newRange(x.At), x.New})
			}
			e.Fixes = append(e.Fixes, fix)
		}
		out = append(out, e)
	}
	return out
}

func newRange(s source.Span) *Range {
	if !s.Valid() {
		return nil
	}
	a, b := s.File.Position(s.Start), s.File.Position(s.End)
	r := &Range{File: s.File.Path, Start: s.Start, End: s.End, Line: a.Line, Column: a.Column, EndLine: b.Line, EndColumn: b.Column}
	r.UTF16.Line, r.UTF16.Character = s.File.UTF16(s.Start)
	r.UTF16.EndLine, r.UTF16.EndCharacter = s.File.UTF16(s.End)
	return r
}

// Encode writes v as JSON on one line. Characters that could act on a terminal
// are escaped, so that the output is safe to look at; a reader of JSON gets
// them back.
func Encode(w io.Writer, v any) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("write JSON: %w", err)
	}
	_, err := w.Write(escapeActing(b.Bytes()))
	return err
}

// escapeActing escapes characters that encoding/json leaves alone. They stand
// only within strings.
func escapeActing(data []byte) []byte {
	out := make([]byte, 0, len(data))
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		switch {
		case r < 0x7f || !acts(r):
			out = append(out, data[i:i+size]...)
		case r >= 0x10000:
			hi, lo := utf16.EncodeRune(r)
			out = fmt.Appendf(out, `\u%04x\u%04x`, hi, lo)
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
		i += size
	}
	return out
}
