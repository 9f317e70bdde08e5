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
	// Width is the number of columns; 0 means 100. Less than 40 counts as 40.
	Width int
}

const (
	defaultWidth = 100
	leastWidth   = 40
	tabStop      = 4
)

// Text writes each message with the place it is about: its line with the part
// underlined, then every label at its own line, then the notes. A blank line
// stands between messages.
func Text(w io.Writer, list diag.List, o Options) error {
	switch {
	case o.Width == 0:
		o.Width = defaultWidth
	case o.Width < leastWidth:
		o.Width = leastWidth
	}
	p := printer{o: o}
	for i, d := range list {
		if i > 0 {
			p.b.WriteByte('\n')
		}
		p.message(d)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// printer collects the text.
type printer struct {
	o Options
	b strings.Builder
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
	head := d.Severity.String()
	for i, l := range wrap(Clean(d.Message), p.o.Width-len(head)-2) {
		if i == 0 {
			p.line(p.style(severityStyle(d.Severity), head+":") + " " + p.style(bold, l))
			continue
		}
		p.line(strings.Repeat(" ", len(head)+2) + p.style(bold, l))
	}
	p.places(d)
	for _, n := range d.Notes {
		kind, text := diag.SplitNote(n)
		for i, l := range wrap(Clean(text), p.o.Width-8) {
			if i > 0 {
				kind = ""
			}
			p.line("  " + p.style(faint, fmt.Sprintf("%-5s", kind)) + " " + l)
		}
	}
}

// mark is one underlined part of a line.
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

// places prints the line of the message and those of its labels, each line
// once.
func (p *printer) places(d diag.Diagnostic) {
	if !d.At.Valid() {
		return
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
	gutter := 0
	for _, l := range d.Labels {
		if l.At.Valid() {
			add(mark{at: l.At, text: l.Text})
		}
	}
	slices.SortStableFunc(groups, func(a, b group) int { // the file of the message first, its lines in order
		if a.file != b.file {
			return boolOrder(a.file == d.At.File, b.file == d.At.File)
		}
		return a.line - b.line
	})
	for _, g := range groups {
		gutter = max(gutter, len(strconv.Itoa(g.line)))
	}
	var file *source.File
	for i, g := range groups {
		if g.file != file {
			at := g.marks[0].at
			if i == 0 {
				at = d.At
			}
			pos := g.file.Position(at.Start)
			where := fmt.Sprintf("%s:%d:%d", Clean(g.file.Path), pos.Line, pos.Column)
			if i == 0 && d.Code != "" {
				where += "  [" + Clean(string(d.Code)) + "]"
			}
			p.line("  " + p.style(faint, where))
			file = g.file
		}
		p.group(g, gutter, d.Severity)
	}
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

// group prints a line of the text and the marks below it.
func (p *printer) group(g group, gutter int, s diag.Severity) {
	text := g.file.Line(g.line)
	view := g.marks[0]
	for _, m := range g.marks {
		if m.primary {
			view = m
		}
	}
	lineStart := view.at.Start - offsetInLine(g.file, view.at.Start)
	cells := layout(text)
	from, to := window(cells, view.at.Start-lineStart, p.o.Width-gutter-6)
	shown, shift := cells.text(from, to)
	p.line(p.style(faint, fmt.Sprintf("  %*d |", gutter, g.line)) + " " + shown)
	for _, m := range g.marks {
		left, right := cells.under(m.at.Start-lineStart, m.at.End-lineStart, from, to)
		style, sign := severityStyle(s), "^"
		if !m.primary {
			style, sign = cyan, "-"
		}
		mark := strings.Repeat(sign, right-left)
		if m.text != "" {
			mark += " " + Clean(m.text)
		}
		p.line(p.style(faint, fmt.Sprintf("  %*s |", gutter, "")) + " " + strings.Repeat(" ", left-shift) + p.style(style, mark))
	}
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

// wrap divides clean text into lines of at most width columns, at spaces where
// it can.
func wrap(text string, width int) []string {
	var out []string
	line, used := "", 0
	for word := range strings.SplitSeq(text, " ") {
		n := 0
		for _, r := range word {
			n += columns(r)
		}
		if used > 0 && used+1+n > width {
			out = append(out, line)
			line, used = "", 0
		}
		if line != "" || used > 0 {
			line += " "
			used++
		}
		line += word
		used += n
	}
	return append(out, line)
}
