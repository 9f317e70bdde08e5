// Package source holds the text of part files and the byte spans that point
// into it. Every other package speaks of places as spans; lines and columns
// are worked out only where a person or an editor reads them.
package source

import (
	"sort"
	"unicode/utf8"
)

// File is the text of one part file. It never changes after New.
type File struct {
	// Path names the file as the user gave it or as it was found; it is what
	// messages print. It need not exist on disk (standard library, editor text).
	Path string
	// Text is the whole text, byte for byte.
	Text  string
	lines []int // byte offset of the start of each line
}

// New returns a File over text.
func New(path, text string) *File {
	f := &File{Path: path, Text: text, lines: []int{0}}
	for i := 0; i < len(text); i++ {
		if text[i] == '\n' {
			f.lines = append(f.lines, i+1)
		}
	}
	return f
}

// Span is a half-open range of bytes [Start, End) in File. The zero Span
// points nowhere.
type Span struct {
	File       *File
	Start, End int
}

// Valid reports whether the span points into a file.
func (s Span) Valid() bool { return s.File != nil }

// Text returns the bytes the span covers.
func (s Span) Text() string {
	if !s.Valid() {
		return ""
	}
	return s.File.Text[s.Start:s.End]
}

// Before returns the empty span at the start of s, where text can be put in.
func (s Span) Before() Span { return Span{s.File, s.Start, s.Start} }

// After returns the empty span at the end of s.
func (s Span) After() Span { return Span{s.File, s.End, s.End} }

// To returns the smallest span that covers s and t, which lie in one file.
func (s Span) To(t Span) Span {
	if !s.Valid() {
		return t
	}
	if !t.Valid() {
		return s
	}
	return Span{s.File, min(s.Start, t.Start), max(s.End, t.End)}
}

// Position is a place as a person reads it.
type Position struct {
	Line   int // from 1
	Column int // from 1, in runes
}

// Position converts a byte offset, clamped to the text.
func (f *File) Position(offset int) Position {
	offset = max(0, min(offset, len(f.Text)))
	i := sort.SearchInts(f.lines, offset+1) - 1
	return Position{Line: i + 1, Column: utf8.RuneCountInString(f.Text[f.lines[i]:offset]) + 1}
}

// UTF16 converts a byte offset to a line and a character, both from 0, the
// character counted in UTF-16 units as editors count it.
func (f *File) UTF16(offset int) (line, character int) {
	offset = max(0, min(offset, len(f.Text)))
	line = sort.SearchInts(f.lines, offset+1) - 1
	for _, r := range f.Text[f.lines[line]:offset] {
		if r >= 0x10000 {
			character++
		}
		character++
	}
	return line, character
}

// Lines returns the number of lines.
func (f *File) Lines() int { return len(f.lines) }

// Line returns the text of line n (from 1) without its line end.
func (f *File) Line(n int) string {
	if n < 1 || n > len(f.lines) {
		return ""
	}
	end := len(f.Text)
	if n < len(f.lines) {
		end = f.lines[n] - 1
	}
	s := f.Text[f.lines[n-1]:end]
	if len(s) > 0 && s[len(s)-1] == '\r' {
		s = s[:len(s)-1]
	}
	return s
}
