// Package format writes a part file in its one canonical form.
//
// It moves white space only: words, numbers, texts and comments stay as they
// are and in their order, and the tree of the result is that of the text.
// Formatting twice changes nothing more.
//
// The rules:
//
//   - Lines are indented by 4 spaces a block. An opening brace ends its line,
//     a closing one stands alone.
//   - One blank line at most, none at the start or end of a block, and one
//     around each sketch, part, table of sizes and workshop.
//   - A space on both sides of an operator and after a comma or a colon; none
//     inside parentheses, none between a function and its parentheses. `^`
//     stands tight, except behind a number, where it would become a unit.
//   - A line break inside a statement stays where the maker made it, and the
//     rest is indented by 4 more (8 before a block). A line of more than 100
//     characters is broken after a comma, outside parentheses if possible, or
//     after the `=` of its let.
//   - In a group of neighbouring lines (no blank line or comment between),
//     these stand in columns: the `=` of measures, of lets without parameters,
//     of equations and of the entries of a workshop; the comparison of checks;
//     the names of sketch entities, and what follows the name in lines with
//     the same first word; the settings of sizes. A line with more than 28 characters before that
//     place, or without it, ends the column.
//   - `cut` takes the room of `join` and `trim`, and `arc` that of `line`.
//   - Comments behind lines of a group stand in one column, two spaces behind
//     the longest line; lines wider than 64 characters stay out of it. A
//     comment that stood exactly below such a comment goes on below it.
package format

import (
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
)

// Limits of the layout, in characters.
const (
	maxLine    = 100 // broken beyond
	maxLeft    = 28  // before an aligned `=` or comparison
	maxComment = 64  // of a line whose comment stands in a column
	indent     = 4
)

// Source returns the canonical text of src. When src has faults, they are
// returned and the text is "".
func Source(src *source.File) (string, diag.List) {
	file, list := parse.File(src)
	if list.HasErrors() {
		return "", list
	}
	return File(file), list
}

// File returns the canonical text of a file without faults.
func File(file *ast.File) string {
	marks := read(file)
	rows := cut(file.Source.Text, marks)
	align(rows)
	rows = fold(rows)
	return write(rows)
}
