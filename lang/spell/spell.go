// Package spell finds the word a maker probably meant.
package spell

import (
	"strings"
	"unicode/utf8"
)

// Nearest returns the candidate closest to word, if one is close enough to be
// worth proposing: a word that says the same, or one with at most one slip in
// three letters, a slip being one letter added, left out, replaced, or swapped
// with its neighbour (optimal string alignment distance). Words of one or two letters are close to everything, so
// for them only the same letters in capitals or small count. The earliest of
// equally close candidates wins.
func Nearest(word string, candidates []string) (string, bool) {
	for _, c := range candidates {
		if c != word && strings.EqualFold(c, word) {
			return c, true
		}
	}
	if c, ok := Other(word, candidates); ok {
		return c, true
	}
	w := []rune(word)
	if len(w) < 3 {
		return "", false
	}
	best, found := "", false
	limit := max(1, (len(w)+1)/3)
	for _, c := range candidates {
		n := utf8.RuneCountInString(c)
		if c == word || n > len(w)+limit || n < len(w)-limit || n <= limit {
			continue
		}
		if d := distance(w, []rune(c), limit); d <= limit {
			best, found, limit = c, true, d-1
		}
	}
	return best, found
}

// distance returns the optimal string alignment distance of a and b, or any
// value above limit as soon as it must exceed limit.
func distance(a, b []rune, limit int) int {
	before := make([]int, len(b)+1)
	above := make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(above[j]+1, row[j-1]+1, above[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
			least = min(least, row[j])
		}
		if least > limit+1 {
			return limit + 1
		}
		before, above, row = above, row, before
	}
	return above[len(b)]
}
