package unit

import (
	"fmt"
	"strconv"
	"strings"
	"sync"

	"perch/lang/spell"
)

// Unit is a unit as written after a number: one of it is Factor base units of
// dimension Dim.
type Unit struct {
	Factor float64
	Dim    Dim
}

// UnknownError says that Word is no unit, and what may have been meant.
type UnknownError struct {
	Word    string
	Suggest string // "" when nothing is close
}

func (e *UnknownError) Error() string {
	if e.Suggest != "" {
		return fmt.Sprintf("unknown unit `%s`: did you mean `%s`?", e.Word, e.Suggest)
	}
	return fmt.Sprintf("unknown unit `%s`", e.Word)
}

// maxPower bounds a single exponent and the exponents of a whole compound
// unit; nothing in a workshop goes beyond mm^4.
const maxPower = 12

var cache sync.Map // text of a good unit → Unit

// Parse reads a unit as written after a number: words from the table, each
// with an optional whole exponent, joined by * and /, as in "mm", "g/cm^3" or
// "N*mm". The empty text is the plain number 1. The error is an *UnknownError
// when a word is no unit.
func Parse(text string) (Unit, error) {
	if u, ok := cache.Load(text); ok {
		return u.(Unit), nil
	}
	u, err := parse(text)
	if err == nil && len(text) <= 16 {
		cache.Store(text, u)
	}
	return u, err
}

func parse(text string) (Unit, error) {
	if text == "" {
		return Unit{Factor: 1}, nil
	}
	num, den := 1.0, 1.0
	var power [5]int
	rest, divide := text, false
	for {
		n := strings.IndexAny(rest, "*/")
		factor := rest
		if n >= 0 {
			factor = rest[:n]
		}
		e, p, err := parseFactor(factor)
		if err != nil {
			return Unit{}, err
		}
		if divide {
			p = -p
		}
		for i, k := range []int8{e.dim.Length, e.dim.Angle, e.dim.Mass, e.dim.Time, e.dim.Temp} {
			power[i] += int(k) * p
			if power[i] > maxPower || power[i] < -maxPower {
				return Unit{}, fmt.Errorf("the powers in `%s` are too large", text)
			}
		}
		for ; p > 0; p-- {
			num, den = num*e.num, den*e.den
		}
		for ; p < 0; p++ {
			num, den = num*e.den, den*e.num
		}
		if n < 0 {
			break
		}
		divide, rest = rest[n] == '/', rest[n+1:]
	}
	d := Dim{int8(power[0]), int8(power[1]), int8(power[2]), int8(power[3]), int8(power[4])}
	return Unit{Factor: num / den, Dim: d}, nil
}

func parseFactor(text string) (entry, int, error) {
	word, exponent, raised := strings.Cut(text, "^")
	e, ok := byWord[word]
	if !ok {
		return entry{}, 0, &UnknownError{Word: word, Suggest: suggest(word)}
	}
	if !raised {
		return e, 1, nil
	}
	p, err := strconv.Atoi(exponent)
	if err != nil || p > maxPower || p < -maxPower {
		return entry{}, 0, fmt.Errorf("`%s` is no exponent of a unit: use a whole number such as `%s^2`", exponent, word)
	}
	return e, p, nil
}

func suggest(word string) string {
	if s, ok := slips[word]; ok {
		return s
	}
	if s, ok := slips[strings.ToLower(word)]; ok {
		return s
	}
	if plain := strings.NewReplacer("²", "^2", "³", "^3").Replace(word); plain != word {
		if _, err := Parse(plain); err == nil {
			return plain
		}
	}
	for _, e := range table {
		if strings.EqualFold(e.word, word) {
			return e.word
		}
	}
	s, _ := spell.Nearest(word, Words())
	return s
}
