package source

import (
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"
)

func TestPosition(t *testing.T) {
	f := New("a.perch", "one\r\nzwölf 🙂x\n\nend")
	for _, c := range []struct {
		offset, line, column, character int
	}{
		{0, 1, 1, 0}, {3, 1, 4, 3}, {5, 2, 1, 0}, {9, 2, 4, 3}, {12, 2, 7, 6}, {16, 2, 8, 8}, {18, 3, 1, 0}, {22, 4, 4, 3},
		{99, 4, 4, 3}, {-1, 1, 1, 0},
	} {
		if p := f.Position(c.offset); p.Line != c.line || p.Column != c.column {
			t.Errorf("offset %d is at %d:%d, want %d:%d", c.offset, p.Line, p.Column, c.line, c.column)
		}
		if l, n := f.UTF16(c.offset); l != c.line-1 || n != c.character {
			t.Errorf("offset %d is at UTF-16 %d:%d, want %d:%d", c.offset, l, n, c.line-1, c.character)
		}
	}
	for n, want := range []string{"", "one", "zwölf 🙂x", "", "end", ""} {
		if got := f.Line(n); got != want {
			t.Errorf("line %d is %q, want %q", n, got, want)
		}
	}
	if f.Lines() != 4 {
		t.Errorf("%d lines, want 4", f.Lines())
	}
}

func TestSpan(t *testing.T) {
	f := New("a", "one two three")
	one, three := Span{f, 0, 3}, Span{f, 8, 13}
	if got := three.To(one).Text(); got != "one two three" {
		t.Errorf("the covering span holds %q", got)
	}
	if got := (Span{}).To(one); got != one {
		t.Errorf("nowhere to one is %v", got)
	}
	if got := one.To(Span{}); got != one || (Span{}).Text() != "" {
		t.Errorf("one to nowhere is %v", got)
	}
}

// FuzzPosition compares with counts over the whole text before the offset.
func FuzzPosition(f *testing.F) {
	f.Add("one\nzwölf 🙂\r\n", 7)
	f.Fuzz(func(t *testing.T, text string, n int) {
		if !utf8.ValidString(text) {
			return
		}
		n = min(max(n, 0), len(text))
		lines := strings.Split(text[:n], "\n")
		last := lines[len(lines)-1]
		if !utf8.ValidString(last) {
			return // in the middle of a character
		}
		src := New("", text)
		if p := src.Position(n); p.Line != len(lines) || p.Column != utf8.RuneCountInString(last)+1 {
			t.Errorf("%d:%d, want %d:%d", p.Line, p.Column, len(lines), utf8.RuneCountInString(last)+1)
		}
		if l, c := src.UTF16(n); l != len(lines)-1 || c != len(utf16.Encode([]rune(last))) {
			t.Errorf("UTF-16 %d:%d", l, c)
		}
	})
}
