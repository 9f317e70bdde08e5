package spell

import (
	"strings"
	"testing"
)

func TestNearest(t *testing.T) {
	for _, c := range []struct{ word, list, want string }{
		{"heigth", "width height depth", "height"}, // neighbours swapped
		{"widh", "width height", "width"},          // one left out
		{"horizontl", "vertical horizontal", "horizontal"},
		{"Width", "width", "width"},
		{"N", "n", "n"},
		{"b", "by", ""}, // too short to tell
		{"box", "cone", ""},
		{"width", "width", ""}, // not its own correction
		{"wall", "wale wali", "wale"},
		{"tooth", "", ""},
		{"größe", "grosse große", "große"},
	} {
		got, ok := Nearest(c.word, strings.Fields(c.list))
		if got != c.want || ok != (c.want != "") {
			t.Errorf("Nearest(%q, %q) = %q, %v; want %q", c.word, c.list, got, ok, c.want)
		}
	}
}

// TestDistance compares with the examples of Damerau (1964), "A technique for
// computer detection and correction of spelling errors": one letter wrong,
// missing, extra, or two transposed each count one; and with kitten/sitting,
// the textbook pair of Levenshtein distance 3.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"word", "ward", 1}, {"word", "wod", 1}, {"word", "words", 1}, {"word", "wrod", 1},
		{"", "abc", 3}, {"same", "same", 0},
		{"ca", "abc", 3}, // optimal string alignment, not the unrestricted distance 2
	} {
		if got := distance([]rune(c.a), []rune(c.b), 10); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := distance([]rune(c.b), []rune(c.a), 10); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.b, c.a, got, c.want)
		}
	}
}
