package format

import (
	"strings"
	"unicode/utf8"

	"perch/lang/token"
)

// fold breaks lines that are too long.
func fold(rows []*row) []*row {
	var out []*row
	for _, r := range rows {
		out = append(out, r)
		for r.whole() > maxLine {
			i := foldAt(r)
			if i == 0 {
				break
			}
			rest := &row{
				depth: r.depth, carried: true, block: r.block || r.opens(),
				toks: r.toks[i:], gap: r.gap[i:], comment: r.comment, column: r.column,
			}
			rest.gap[0] = 0
			r.toks, r.gap, r.comment = r.toks[:i:i], r.gap[:i:i], ""
			out = append(out, rest)
			r = rest
		}
	}
	return out
}

// foldAt returns the token before which a row is best broken: behind the last
// comma that still fits, outside parentheses where there is one, or behind the
// `=` of a let whose commas all stand in parentheses; 0 when there is none.
func foldAt(r *row) int {
	best, least, parens := 0, 0, 0
	width := r.indent()
	for i, t := range r.toks[:len(r.toks)-1] {
		if width += r.gap[i] + utf8.RuneCountInString(t.Value); width > maxLine {
			break
		}
		if t.Type != token.Op {
			continue
		}
		switch t.Value {
		case "(":
			parens++
		case ")":
			parens--
		case "=":
			if parens == 0 && r.toks[0].Value == "let" && (best == 0 || least > 0) {
				best, least = i+1, 0
			}
		case ",":
			next := r.toks[i+1]
			if (best == 0 || parens <= least) && !token.Opens(next.Value) && !token.Declares(next.Value) {
				best, least = i+1, parens
			}
		}
	}
	return best
}

// write places the comments and joins everything.
func write(rows []*row) string {
	columns := commentColumns(rows)
	var b strings.Builder
	for i, r := range rows {
		if r.blank {
			b.WriteByte('\n')
		}
		n := 0
		if !r.alone() {
			n = r.indent()
			b.WriteString(strings.Repeat(" ", n))
		}
		for k, t := range r.toks {
			b.WriteString(strings.Repeat(" ", r.gap[k]))
			b.WriteString(t.Value)
		}
		if r.comment != "" {
			n = columns[i]
			if !r.alone() {
				n -= r.whole()
			}
			b.WriteString(strings.Repeat(" ", n))
			b.WriteString(r.comment)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// commentColumns returns where the comment of each row begins.
func commentColumns(rows []*row) []int {
	at := make([]int, len(rows))
	for start := 0; start < len(rows); {
		end := start + 1
		for end < len(rows) && neighbours(rows[end-1], rows[end]) {
			end++
		}
		widest := 0
		for _, r := range rows[start:end] {
			if w := r.whole(); r.comment != "" && !r.alone() && w <= maxComment {
				widest = max(widest, w)
			}
		}
		for i := start; i < end; i++ {
			r := rows[i]
			switch {
			case r.below:
				at[i] = at[i-1]
			case r.alone():
				at[i] = r.indent()
			default:
				at[i] = max(r.whole(), widest) + 2
				if r.whole() > maxComment {
					at[i] = r.whole() + 2
				}
			}
		}
		start = end
	}
	return at
}

// neighbours reports whether the comments of two rows may share a column.
func neighbours(a, b *row) bool {
	return !b.blank && a.depth == b.depth && (!b.alone() || b.below) && (!a.alone() || a.below) && !a.opens()
}
