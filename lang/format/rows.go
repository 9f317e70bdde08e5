package format

import (
	"math"
	"strings"
	"unicode/utf8"

	"perch/lang/token"
)

// row is one line of the result.
type row struct {
	depth   int // of blocks
	carried bool
	shut    bool // begins with a parenthesis that closes
	block   bool // goes on a statement that a block follows
	blank   bool // an empty line stands before it
	kind    kind
	toks    []token.Token
	gap     []int  // spaces before each token
	comment string // behind the tokens, or alone
	column  int    // where the comment stood
	below   bool   // the comment goes on below that of the row before
}

// alone reports a line with nothing but a comment.
func (r *row) alone() bool { return len(r.toks) == 0 }

// indent returns the width of the white space at the start of the row.
func (r *row) indent() int {
	switch {
	case r.carried && r.block && !r.shut:
		return indent * (r.depth + 2)
	case r.carried && !r.shut:
		return indent * (r.depth + 1)
	}
	return indent * r.depth
}

// width returns that of the first n tokens, the white space before included.
func (r *row) width(n int) int {
	w := r.indent()
	for i, t := range r.toks[:n] {
		w += r.gap[i] + utf8.RuneCountInString(t.Value)
	}
	return w
}

func (r *row) whole() int { return r.width(len(r.toks)) }

// cutter divides a text into rows.
type cutter struct {
	text   string
	marks  *marks
	rows   []*row
	cur    *row
	depth  int          // of blocks
	parens int          // open ones
	last   *token.Token // the last that is no comment and no line end
	lines  int          // line ends since the last token or comment
}

func cut(text string, m *marks) []*row {
	toks, _ := token.Scan(text, math.MaxInt)
	c := &cutter{text: text, marks: m}
	for _, t := range toks {
		switch {
		case t.Type == token.EOF, t.Value == "\ufeff":
		case t.Type == token.Newline:
			c.lines++
			c.cur = nil
		case t.Type == token.Comment:
			c.comment(t)
			c.lines = 0
		case t.Type == token.Op && t.Value == "{":
			c.open(t)
			c.lines = 0
		default:
			c.add(t)
			c.lines = 0
		}
	}
	return spaced(c.rows)
}

// within reports whether a statement is still going on.
func (c *cutter) within() bool {
	return c.parens > 0 || c.last != nil && c.last.Value != "{" && c.last.Value != "}" && token.CarriesOn(*c.last)
}

func (c *cutter) begin() *row {
	r := &row{depth: c.depth, carried: c.within()}
	r.blank = c.lines > 1 && len(c.rows) > 0 && !r.carried && (c.last == nil || c.last.Value != "{" || !c.rows[len(c.rows)-1].opens())
	c.rows = append(c.rows, r)
	c.cur = r
	return r
}

// opens reports whether a block begins behind the row.
func (r *row) opens() bool { return !r.alone() && r.toks[len(r.toks)-1].Value == "{" }

func (c *cutter) comment(t token.Token) {
	start := strings.LastIndexByte(c.text[:t.Pos.Offset], '\n') + 1
	column := utf8.RuneCountInString(c.text[start:t.Pos.Offset])
	if c.cur == nil || c.cur.comment != "" {
		before := c.lines == 1 && len(c.rows) > 0
		r := c.begin()
		if before {
			above := c.rows[len(c.rows)-2]
			r.below = above.comment != "" && above.column == column && (above.below || !above.alone())
		}
	}
	c.cur.comment = strings.TrimRight(t.Value, " \t\r")
	c.cur.column = column
}

// open puts a brace behind the last tokens, wherever it stood.
func (c *cutter) open(t token.Token) {
	for i := len(c.rows) - 1; i >= 0; i-- {
		if r := c.rows[i]; !r.alone() {
			c.put(r, t)
			c.depth++
			for _, later := range c.rows[i+1:] {
				later.depth++
				later.carried = false
			}
			if i+1 < len(c.rows) {
				c.rows[i+1].blank = false
			}
			break
		}
	}
	c.cur = nil
	if last := c.rows[len(c.rows)-1]; last.opens() && last.comment == "" {
		c.cur = last // takes a comment, and nothing else
	}
}

func (c *cutter) add(t token.Token) {
	closing := t.Type == token.Op && t.Value == "}"
	if closing {
		c.depth--
		c.cur = nil
	}
	if c.cur == nil || c.cur.opens() || c.cur.toks[len(c.cur.toks)-1].Value == "}" {
		r := c.begin()
		r.blank = r.blank && !closing
		r.shut = r.carried && t.Value == ")"
		if !r.carried && t.Value != "guide" {
			r.kind = c.marks.kinds[t.Pos.Offset]
		}
	}
	c.put(c.cur, t)
}

// put adds a token to a row.
func (c *cutter) put(r *row, t token.Token) {
	r.toks = append(r.toks, t)
	gap := 0
	if len(r.toks) > 1 {
		gap = c.gap(*c.last, t, r)
	}
	r.gap = append(r.gap, gap)
	if t.Type == token.Op {
		switch t.Value {
		case "(":
			c.parens++
		case ")":
			c.parens--
		}
	}
	c.last = &t
}

// gap returns the number of spaces between two tokens of a row.
func (c *cutter) gap(a, b token.Token, r *row) int {
	if a.Type == token.Op {
		switch a.Value {
		case "(", ".":
			return 0
		case "-":
			if !c.marks.binary[a.Pos.Offset] {
				return 0
			}
		case "^":
			return r.gap[len(r.gap)-1]
		}
	}
	if b.Type == token.Op {
		switch b.Value {
		case ")", ",", ":", ".":
			return 0
		case "(":
			if c.marks.calls[a.Pos.Offset+len(a.Value)] {
				return 0
			}
		case "^":
			if a.Type != token.Number {
				return 0
			}
		}
	}
	first := len(r.toks) == 2
	if first && (c.marks.joins[a.Pos.Offset] || r.kind == segment && a.Value == "arc") {
		return 2
	}
	return 1
}

// spaced puts empty lines round the blocks of the top level, and marks the
// rows that lead to a block.
func spaced(rows []*row) []*row {
	start := 0 // of the statement
	for i, r := range rows {
		if !r.carried && !r.alone() {
			start = i
		}
		if r.opens() {
			for _, s := range rows[start+1 : i+1] {
				s.block = true
			}
		}
		if i == 0 {
			continue
		}
		before := rows[i-1]
		if r.depth == 0 && !r.carried && !r.below && !before.alone() && (before.toks[0].Value == "}" || r.kind == header) {
			r.blank = true
		}
	}
	return rows
}
