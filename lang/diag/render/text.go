// Package render turns diagnostics into text for a terminal and into JSON for
// machines. Nobody else formats a message.
package render

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"perch/lang/diag"
	"perch/lang/source"
)

// Options say what the terminal can do.
type Options struct {
	Color bool
	// Plain names the places in words and draws nothing below the text, for
	// terminals that are read aloud.
	Plain bool
	// Width is the number of columns of a terminal; less than 40 counts as 40.
	// 0 is no terminal: the first line of a message stays whole, for the lists
	// that editors gather, and the rest is wrapped at 100.
	Width int
}

const (
	defaultWidth = 100
	leastWidth   = 40
	tabStop      = 4
)

// Text writes each message: a first line with its place, in the form of the
// GNU coding standards that editors know how to jump to, then the line of the
// place with a dimension drawn under what is meant, the same for every label,
// then the notes and the code. A blank line stands between messages.
func Text(w io.Writer, list diag.List, o Options) error {
	whole := o.Width == 0
	switch {
	case whole:
		o.Width = defaultWidth
	case o.Width < leastWidth:
		o.Width = leastWidth
	}
	var b strings.Builder
	for i, d := range list {
		if i > 0 {
			b.WriteByte('\n')
		}
		p := printer{o: o, b: &b, whole: whole}
		p.message(d)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// printer writes one message.
type printer struct {
	o      Options
	b      *strings.Builder
	indent int  // columns before the text of a row
	whole  bool // the first line is not wrapped
}

// Styles are parameters of SGR, the standard graphic rendition sequence of
// ECMA-48.
const (
	bold   = "1"
	faint  = "2"
	red    = "1;31"
	yellow = "1;33"
	cyan   = "1;36"
)

func severityStyle(s diag.Severity) string {
	switch s {
	case diag.Error:
		return red
	case diag.Warning:
		return yellow
	}
	return cyan
}

// style wraps s, which is already clean, in a style.
func (p *printer) style(style, s string) string {
	if !p.o.Color || s == "" {
		return s
	}
	return "\x1b[" + style + "m" + s + "\x1b[0m"
}

func (p *printer) line(s string) {
	p.b.WriteString(strings.TrimRight(s, " "))
	p.b.WriteByte('\n')
}

func (p *printer) message(d diag.Diagnostic) {
	groups := grouped(d)
	p.indent = len("  line 9  ")
	for _, g := range groups {
		p.indent = max(p.indent, len("  line   ")+len(strconv.Itoa(g.line)))
	}
	p.head(d)
	for i, g := range groups {
		if i > 0 && g.file != groups[i-1].file {
			at := g.marks[0].at
			pos := g.file.Position(at.Start)
			p.row("file", fmt.Sprintf("%s:%d:%d", Clean(g.file.Path), pos.Line, pos.Column))
		}
		p.group(g, d.Severity)
	}
	for _, n := range d.Notes {
		kind, text := diag.SplitNote(n)
		p.row(kind, Clean(text))
	}
	if d.Code != "" {
		p.row("code", Clean(string(d.Code)))
	}
}

// head writes the place, the severity and what is wrong.
func (p *printer) head(d diag.Diagnostic) {
	where := ""
	if d.At.Valid() {
		pos := d.At.File.Position(d.At.Start)
		where = fmt.Sprintf("%s:%d:%d: ", Clean(d.At.File.Path), pos.Line, pos.Column)
	}
	what := d.Severity.String()
	if len(d.Sizes) > 0 {
		what += " in " + Clean(strings.Join(d.Sizes, ", "))
	}
	what += ":"
	first := p.style(faint, where) + p.style(severityStyle(d.Severity), what)
	message := Clean(d.Message)
	used := widthOf(where) + len(what) + 1
	switch {
	case p.whole || used+widthOf(message) <= p.o.Width:
		p.line(first + " " + p.style(bold, message))
		return
	case widthOf(where) > p.o.Width/2: // little would stand behind it
		p.line(first)
		first, used = strings.Repeat(" ", p.indent-1), p.indent
	}
	for i, l := range wrap(message, used, p.indent, p.o.Width) {
		if i > 0 {
			first = strings.Repeat(" ", p.indent-1)
		}
		p.line(first + " " + p.style(bold, l))
	}
}

// row writes text behind a key; what is too long goes on below.
func (p *printer) row(key, text string) {
	for i, l := range wrap(text, p.indent, p.indent, p.o.Width) {
		if i > 0 {
			key = ""
		}
		p.line(p.key(key) + l)
	}
}

func (p *printer) key(key string) string {
	return p.style(faint, fmt.Sprintf("  %-*s", p.indent-2, key))
}

// mark is one place on a line.
type mark struct {
	at      source.Span
	text    string
	primary bool
}

// group is the marks on one line.
type group struct {
	file  *source.File
	line  int
	marks []mark
}

// grouped gathers the places of a message by their lines: the file of the
// message first, its lines in order.
func grouped(d diag.Diagnostic) []group {
	if !d.At.Valid() {
		return nil
	}
	var groups []group
	add := func(m mark) {
		line := m.at.File.Position(m.at.Start).Line
		for i := range groups {
			if groups[i].file == m.at.File && groups[i].line == line {
				groups[i].marks = append(groups[i].marks, m)
				return
			}
		}
		groups = append(groups, group{m.at.File, line, []mark{m}})
	}
	add(mark{at: d.At, primary: true})
	for _, l := range d.Labels {
		if l.At.Valid() {
			add(mark{at: l.At, text: l.Text})
		}
	}
	slices.SortStableFunc(groups, func(a, b group) int {
		if a.file != b.file {
			return boolOrder(a.file == d.At.File, b.file == d.At.File)
		}
		return a.line - b.line
	})
	return groups
}

// boolOrder orders true before false.
func boolOrder(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// group writes a line of the text and the marks below it.
func (p *printer) group(g group, s diag.Severity) {
	text := g.file.Line(g.line)
	view := g.marks[0]
	for _, m := range g.marks {
		if m.primary {
			view = m
		}
	}
	lineStart := view.at.Start - offsetInLine(g.file, view.at.Start)
	cells := layout(text)
	from, to := window(cells, view.at.Start-lineStart, p.o.Width-p.indent)
	shown, shift := cells.text(from, to)
	p.line(p.key(fmt.Sprintf("line %d", g.line)) + shown)
	for _, m := range g.marks {
		style, along := severityStyle(s), "="
		if !m.primary {
			style, along = cyan, "-"
		}
		if p.o.Plain {
			p.row("here", m.words())
			continue
		}
		left, right := cells.under(m.at.Start-lineStart, m.at.End-lineStart, from, to)
		sign := dimension(right-left, along)
		if m.text != "" {
			sign += " " + Clean(m.text)
		}
		p.line(strings.Repeat(" ", p.indent+left-shift) + p.style(style, sign))
	}
}

// dimension draws what is meant as a drawing does: a line between two
// extension lines.
func dimension(n int, along string) string {
	if n < 2 {
		return "|"
	}
	return "|" + strings.Repeat(along, n-2) + "|"
}

// words names the place of a mark.
func (m mark) words() string {
	what, _, more := strings.Cut(m.at.Text(), "\n")
	what = Clean(strings.TrimRight(what, "\r"))
	switch {
	case strings.TrimSpace(what) == "":
		pos := m.at.File.Position(m.at.Start)
		what = fmt.Sprintf("column %d", pos.Column)
	case more:
		what = "from `" + what + "`"
	default:
		what = "`" + what + "`"
	}
	if m.text != "" {
		what += ": " + Clean(m.text)
	}
	return what
}

// under returns the columns that are underlined for the bytes from start to
// end of a line of which the bytes first to last are in view: at least one, at
// the edge when the place itself is out of view.
func (c cells) under(start, end, first, last int) (left, right int) {
	size := c[len(c)-1].offset
	start = min(max(start, 0), size)
	end = min(max(end, start), size)
	lo, hi := c.column(first), c.column(last)
	if first > 0 {
		lo-- // the ellipsis
	}
	left = min(max(c.column(start), lo), hi)
	right = min(max(c.column(end), left+1), hi+1)
	return left, right
}

func offsetInLine(f *source.File, offset int) int {
	start := strings.LastIndexByte(f.Text[:offset], '\n') + 1
	return offset - start
}

// cell is one rune of a line as it is shown.
type cell struct {
	offset int // byte offset in the line
	column int // first cell it takes
	text   string
}

// cells is a line laid out on a terminal; the last entry is its end.
type cells []cell

// layout expands tabs, makes controls visible and measures runes.
func layout(line string) cells {
	out := make(cells, 0, len(line)+1)
	column := 0
	for i := 0; i < len(line); {
		r, size := utf8.DecodeRuneInString(line[i:])
		raw := line[i : i+size]
		text, n := raw, 0
		if r == '\t' {
			n = tabStop - column%tabStop
			text = strings.Repeat(" ", n)
		} else if text = visible(r, raw); text == raw {
			n = columns(r)
		} else {
			n = utf8.RuneCountInString(text)
		}
		out = append(out, cell{i, column, text})
		column += n
		i += size
	}
	return append(out, cell{offset: len(line), column: column})
}

// index returns the cell that holds byte offset.
func (c cells) index(offset int) int {
	lo, hi := 0, len(c)-1
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if c[mid].offset <= offset {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo
}

func (c cells) column(offset int) int { return c[c.index(offset)].column }

// window returns the byte offsets between which a long line is shown, so that
// offset is in view.
func window(c cells, offset, width int) (from, to int) {
	end := c[len(c)-1]
	if end.column <= width {
		return 0, end.offset
	}
	width -= 2 // the two ellipses
	at := c.index(offset)
	first := at
	for first > 0 && c[at].column-c[first-1].column <= width/2 {
		first--
	}
	last := first
	for last < len(c)-1 && c[last+1].column-c[first].column <= width {
		last++
	}
	for first > 0 && c[last].column-c[first-1].column <= width {
		first--
	}
	return c[first].offset, c[last].offset
}

// text returns what is shown between two offsets, and by how many columns it
// stands left of its place in the line.
func (c cells) text(from, to int) (shown string, shift int) {
	var b strings.Builder
	a, z := c.index(from), c.index(to)
	if a > 0 {
		b.WriteString("…")
		shift = c[a].column - 1
	}
	for _, x := range c[a:z] {
		b.WriteString(x.text)
	}
	if z < len(c)-1 {
		b.WriteString("…")
	}
	return b.String(), shift
}

// wrap divides clean text at spaces into lines that end before column width
// where they can; the first begins at column first, the others at next.
func wrap(text string, first, next, width int) []string {
	var out []string
	line, used, start := "", first, first
	for word := range strings.SplitSeq(text, " ") {
		n := widthOf(word)
		if used > start && used+1+n > width {
			out = append(out, line)
			line, used, start = "", next, next
		}
		if line != "" || used > start {
			line += " "
			used++
		}
		line += word
		used += n
	}
	return append(out, line)
}

// widthOf is how many columns clean text takes.
func widthOf(text string) int {
	n := 0
	for _, r := range text {
		n += columns(r)
	}
	return n
}
