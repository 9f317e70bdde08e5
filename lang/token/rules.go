package token

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"perch/lang/unit"
)

// rule matches a token at the start of a text that is not empty and returns
// its length in bytes, or 0.
type rule struct {
	kind  Kind
	match func(text string) int
}

// rules in the order they are tried; the last takes whatever no other wants.
var rules = []rule{
	{Ident, word},
	{Op, op},
	{Number, number},
	{Newline, newline},
	{Comment, comment},
	{String, quoted},
	{OpenString, openQuoted},
	{Stray, stray},
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\r' }

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func isLetter(c byte) bool { return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '_' }

// word is a letter or _ followed by letters, digits and _.
func word(text string) int {
	n := 0
	for n < len(text) {
		c := text[n]
		if isLetter(c) || n > 0 && isDigit(c) {
			n++
			continue
		}
		if c < utf8.RuneSelf {
			break
		}
		r, size := utf8.DecodeRuneInString(text[n:])
		if !unicode.IsLetter(r) && (n == 0 || !unicode.In(r, unicode.N, unicode.Mn, unicode.Mc)) {
			break
		}
		n += size
	}
	return n
}

func op(text string) int {
	switch text[0] {
	case '+':
		if strings.HasPrefix(text, "+-") {
			return 2
		}
		return 1
	case '<', '>', '!':
		if len(text) > 1 && text[1] == '=' {
			return 2
		}
		if text[0] == '!' {
			return 0
		}
		return 1
	case '-', '*', '/', '^', '=', '(', ')', ',', ':', '.', '{', '}':
		return 1
	}
	return 0
}

// number is digits, perhaps with a fraction and an exponent, and the unit that
// follows without a space. The unit goes on over * and / only while the next
// word is a known unit, so that 2mm*x is a product and 2N*mm is not.
func number(text string) int {
	n := digits(text, 0)
	if n == 0 {
		return 0
	}
	if n < len(text) && text[n] == '.' {
		if m := digits(text, n+1); m > n+1 {
			n = m
		}
	}
	n = exponent(text, n)
	if w := unitWord(text[n:]); w > 0 {
		n = power(text, n+w)
		n = product(text, n)
	}
	return n
}

// UnitStart returns where the unit begins in the text of a Number token.
func UnitStart(text string) int {
	n := digits(text, 0)
	if n < len(text) && text[n] == '.' {
		n = digits(text, n+1)
	}
	return exponent(text, n)
}

func digits(text string, n int) int {
	for n < len(text) && isDigit(text[n]) {
		n++
	}
	return n
}

// exponent reads e5, E+5 or e-5 at n, if it stands there.
func exponent(text string, n int) int {
	if n == len(text) || text[n] != 'e' && text[n] != 'E' {
		return n
	}
	m := n + 1
	if m < len(text) && (text[m] == '-' || text[m] == '+') {
		m++
	}
	if end := digits(text, m); end > m {
		return end
	}
	return n
}

// unitWord is a word as a unit may be written, right or wrong: degree signs
// and the prime marks of feet and inches count, for the sake of a good message.
func unitWord(text string) int {
	n := 0
	for {
		r, size := utf8.DecodeRuneInString(text[n:])
		switch r {
		case '°', '′', '″', '%', 'µ':
			n += size
		default:
			m := word(text[n:])
			if m == 0 {
				return n
			}
			n += m
		}
	}
}

// power reads ^2 or ^-2 at n, if it stands there.
func power(text string, n int) int {
	if n == len(text) || text[n] != '^' {
		return n
	}
	m := n + 1
	if m < len(text) && text[m] == '-' {
		m++
	}
	if end := digits(text, m); end > m {
		return end
	}
	return n
}

// product reads further factors of a compound unit at n.
func product(text string, n int) int {
	for n+1 < len(text) && (text[n] == '*' || text[n] == '/') {
		w := word(text[n+1:])
		if w == 0 || !unit.Known(text[n+1:n+1+w]) {
			break
		}
		n = power(text, n+1+w)
	}
	return n
}

func newline(text string) int {
	if text[0] == '\n' {
		return 1
	}
	return 0
}

func comment(text string) int {
	if text[0] != '#' {
		return 0
	}
	return toLineEnd(text)
}

// toLineEnd returns the length of the line, a carriage return before its end
// left out.
func toLineEnd(text string) int {
	n := strings.IndexByte(text, '\n')
	if n < 0 {
		n = len(text)
	}
	if n > 1 && text[n-1] == '\r' {
		n--
	}
	return n
}

// quoted is a text in quotes on one line; a backslash carries the next
// character along.
func quoted(text string) int {
	if text[0] != '"' {
		return 0
	}
	for n := 1; n < len(text) && text[n] != '\n'; n++ {
		switch text[n] {
		case '"':
			return n + 1
		case '\\':
			if n+1 < len(text) && text[n+1] != '\n' {
				n++
			}
		}
	}
	return 0
}

func openQuoted(text string) int {
	if text[0] != '"' {
		return 0
	}
	return toLineEnd(text)
}

func stray(text string) int {
	_, size := utf8.DecodeRuneInString(text)
	return size
}
