package format

import "perch/lang/token"

// align widens gaps so that groups of neighbouring lines stand in columns.
func align(rows []*row) {
	for _, g := range groups(rows) {
		runs(g, func(a, b *row) bool { return a.kind == entity && b.kind == entity }, func(run []*row) {
			column(run, func(r *row) int { return 1 })
		})
		runs(g, func(a, b *row) bool { return a.kind == entity && b.kind == entity && same(a, b) }, func(run []*row) {
			column(run, func(r *row) int { return 2 })
		})
		runs(g, func(a, b *row) bool { return a.kind == equals && b.kind == equals && same(a, b) }, func(run []*row) {
			column(run, func(r *row) int { return 2 })
		})
		runs(g, func(a, b *row) bool { return a.kind == equation && b.kind == equation }, func(run []*row) {
			column(run, comparison)
		})
		runs(g, func(a, b *row) bool { return a.kind == check && b.kind == check }, func(run []*row) {
			column(run, comparison)
		})
		runs(g, func(a, b *row) bool { return a.kind == entry && b.kind == entry }, func(run []*row) {
			column(run, equalSign)
		})
		runs(g, func(a, b *row) bool { return a.kind == sizeRow && b.kind == sizeRow }, func(run []*row) {
			column(run, func(r *row) int { return 2 })
			cells(run)
		})
	}
}

// groups divides the statements at blank lines, comments and blocks. Only the
// first line of a statement belongs to a group.
func groups(rows []*row) [][]*row {
	var all [][]*row
	var g []*row
	for i, r := range rows {
		if r.carried || r.below {
			continue
		}
		if r.blank || r.alone() || i > 0 && (rows[i-1].opens() || rows[i-1].depth != r.depth) {
			all, g = append(all, g), nil
		}
		if !r.alone() {
			g = append(g, r)
		}
	}
	return append(all, g)
}

// runs calls each for every run of rows where neighbours belong together.
func runs(g []*row, together func(a, b *row) bool, each func([]*row)) {
	start := 0
	for i := 1; i <= len(g); i++ {
		if i == len(g) || !together(g[i-1], g[i]) {
			if i-start > 1 {
				each(g[start:i])
			}
			start = i
		}
	}
}

func same(a, b *row) bool { return a.toks[0].Value == b.toks[0].Value }

// column puts the tokens that at names below each other. A row that has none
// there, or too much before it, ends a column and the next begins a new one.
func column(run []*row, at func(*row) int) {
	fits := func(r *row) bool { w := left(r, at(r)); return 0 < w && w <= maxLeft }
	runs(run, func(a, b *row) bool { return fits(a) && fits(b) }, func(run []*row) {
		widest := 0
		for _, r := range run {
			widest = max(widest, left(r, at(r)))
		}
		for _, r := range run {
			r.gap[at(r)] += widest - left(r, at(r))
		}
	})
}

// left returns the width of what stands left of token i, without indent; 0
// when there is no such token.
func left(r *row, i int) int {
	if i <= 0 || i >= len(r.toks) {
		return 0
	}
	return r.width(i) - r.indent()
}

// comparison returns the only comparison outside parentheses, or 0.
func comparison(r *row) int {
	found, parens := 0, 0
	for i, t := range r.toks {
		if t.Type == token.Keyword {
			return 0 // and, or, if …
		}
		if t.Type != token.Op {
			continue
		}
		switch t.Value {
		case "(":
			parens++
		case ")":
			parens--
		case "=", "<", "<=", ">", ">=", "!=":
			if parens == 0 && found > 0 {
				return 0
			}
			if parens == 0 {
				found = i
			}
		}
	}
	return found
}

// equalSign returns the first `=`.
func equalSign(r *row) int {
	for i, t := range r.toks {
		if t.Type == token.Op && t.Value == "=" {
			return i
		}
	}
	return 0
}

// cells puts the settings of sizes below each other, as long as the rows set
// the same names in the same order.
func cells(run []*row) {
	starts := make([][]int, len(run)) // of the settings
	for i, r := range run {
		if r.whole() > maxLine || r.toks[len(r.toks)-1].Value == "," {
			return
		}
		starts[i] = settings(r)
	}
	type change struct{ row, tok, gap int }
	var done []change
	for k := 1; ; k++ {
		name, widest := "", 0
		for i, r := range run {
			if k >= len(starts[i]) {
				continue
			}
			before := r.toks[starts[i][k-1]].Value
			if name != "" && before != name {
				widest = 0
				break
			}
			name = before
			widest = max(widest, r.width(starts[i][k]))
		}
		if widest == 0 {
			break
		}
		for i, r := range run {
			if k < len(starts[i]) {
				more := widest - r.width(starts[i][k])
				r.gap[starts[i][k]] += more
				done = append(done, change{i, starts[i][k], more})
			}
		}
	}
	for _, r := range run {
		if r.whole() > maxLine { // a table too wide stays loose
			for _, c := range done {
				run[c.row].gap[c.tok] -= c.gap
			}
			return
		}
	}
}

// settings returns where the settings of a row of sizes begin.
func settings(r *row) []int {
	at, parens := []int{2}, 0
	for i, t := range r.toks {
		if t.Type != token.Op {
			continue
		}
		switch t.Value {
		case "(":
			parens++
		case ")":
			parens--
		case ",":
			if parens == 0 && i+2 < len(r.toks) && r.toks[i+2].Value == "=" {
				at = append(at, i+1)
			}
		}
	}
	return at
}
