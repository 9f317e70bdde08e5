package solve

import (
	"context"
	"math"
	"slices"
)

// This file solves what is constructed: as many equations as unknowns, where
// one group of equations after the other places a few more unknowns by those
// before, as each corner of a strip by two bars. Then J is block triangular
// once rows and columns are put in that order (A. Dulmage and N. Mendelsohn,
// "Coverings of bipartite graphs", Canadian Journal of Mathematics 10 (1958)
// 517-534; A. Pothen and C.-J. Fan, "Computing the block triangular form of a
// sparse matrix", ACM Transactions on Mathematical Software 16 (1990)
// 303-324). A Newton step of all unknowns at once costs the factors of the
// diagonal blocks and one substitution, without any fill: time grows with the
// number of equations. All unknowns still move together, so that the shape
// flexes as a whole from where it is written.

// blocks is a square matrix of rows in block triangular form.
type blocks struct {
	n      int
	cols   [][]int32
	order  []int32 // rows in the order of their blocks
	first  []int32 // where each block begins in order; one more for the end
	column []int32 // by place in order: the column that is matched to the row
	local  []int32 // by column: its place in order
	at     []int32 // by block: where its factor begins in store

	store []float64 // by block: rows of L, then rows of Q of the block L·Q
	rows  [][]float64
	work  []float64
}

// newBlocks finds the block triangular form of a matrix with so many columns.
// It returns nil where the matrix is not square, is singular by its pattern
// alone, or has blocks so large that there is little to be gained.
func newBlocks(n int, cols [][]int32) *blocks {
	const work = 200 // products for each unknown that the blocks may cost
	if n != len(cols) || n == 0 {
		return nil
	}
	m := newMatching(n, cols)
	if !m.perfect() {
		return nil
	}
	b := &blocks{n: n, cols: cols, column: make([]int32, n), local: make([]int32, n)}
	b.order, b.first = m.components()
	for k, r := range b.order {
		b.column[k] = m.colOf[r]
		b.local[m.colOf[r]] = int32(k)
	}
	b.at = make([]int32, len(b.first))
	cubes := 0
	for i := range b.at[1:] {
		s := int(b.first[i+1] - b.first[i])
		if cubes += s * s * s; cubes > work*n {
			return nil
		}
		b.at[i+1] = b.at[i] + int32(2*s*s)
	}
	b.store = make([]float64, b.at[len(b.at)-1])
	b.work = make([]float64, n)
	return b
}

// factor factors the diagonal blocks. It reports false where a row is, or
// nearly is, a combination of those before it in its block and of earlier
// blocks.
func (b *blocks) factor(rows [][]float64) bool {
	b.rows = rows
	for i := range b.at[:len(b.at)-1] {
		if !b.factorBlock(i) {
			return false
		}
	}
	return true
}

// factorBlock writes a diagonal block as L·Q by Gram and Schmidt's method.
func (b *blocks) factorBlock(i int) bool {
	const least = 1e-5 // share of the length of a row that must be its own
	lo, hi := b.first[i], b.first[i+1]
	s := int(hi - lo)
	l := b.store[b.at[i] : int(b.at[i])+s*s]
	q := b.store[int(b.at[i])+s*s : b.at[i+1]]
	clear(l)
	clear(q)
	for k := range s {
		w := q[k*s : (k+1)*s]
		r := b.order[int(lo)+k]
		length := 0.0
		for j, c := range b.cols[r] {
			v := b.rows[r][j]
			length += float64(v * v)
			if at := b.local[c]; at >= lo && at < hi {
				w[at-lo] += v
			}
		}
		for range min(2, k) {
			for e := range k {
				d := dot(q[e*s:(e+1)*s], w)
				l[k*s+e] += d
				for j, x := range q[e*s : (e+1)*s] {
					w[j] -= float64(d * x)
				}
			}
		}
		own := norm(w)
		if !(own > float64(least*math.Sqrt(length))) || !finite(length) {
			return false
		}
		l[k*s+k] = own
		for j := range w {
			w[j] /= own
		}
	}
	return true
}

// block returns the first row of block i, its size, and its factors by rows.
func (b *blocks) block(i int) (lo int32, size int, l, q []float64) {
	lo = b.first[i]
	size = int(b.first[i+1] - lo)
	mid := int(b.at[i]) + size*size
	return lo, size, b.store[b.at[i]:mid], b.store[mid:b.at[i+1]]
}

// solve puts into x, by column, the solution of J·x = f, by row.
func (b *blocks) solve(f, x []float64) {
	for i := range b.at[:len(b.at)-1] {
		lo, s, l, q := b.block(i)
		z := b.work[:s]
		for k := range s {
			r := b.order[int(lo)+k]
			v := f[r]
			for j, c := range b.cols[r] {
				if b.local[c] < lo {
					v -= float64(b.rows[r][j] * x[c])
				}
			}
			for e := range k {
				v -= float64(l[k*s+e] * z[e])
			}
			z[k] = v / l[k*s+k]
		}
		for j := range s {
			v := 0.0
			for k := range s {
				v += float64(q[k*s+j] * z[k])
			}
			x[b.column[int(lo)+j]] = v
		}
	}
}

// transposed puts into y, by row, the solution of Jᵀ·y = g, by column, and
// overwrites g.
func (b *blocks) transposed(g, y []float64) {
	for i := len(b.at) - 2; i >= 0; i-- {
		lo, s, l, q := b.block(i)
		z := b.work[:s]
		for k := range s {
			v := 0.0
			for j := range s {
				v += float64(q[k*s+j] * g[b.column[int(lo)+j]])
			}
			z[k] = v
		}
		for k := s - 1; k >= 0; k-- {
			for e := k + 1; e < s; e++ {
				z[k] -= float64(l[e*s+k] * z[e])
			}
			z[k] /= l[k*s+k]
		}
		for k := range s {
			r := b.order[int(lo)+k]
			y[r] = z[k]
			for j, c := range b.cols[r] {
				if b.local[c] < lo {
					g[c] -= float64(b.rows[r][j] * z[k])
				}
			}
		}
	}
}

// weakest returns the least singular value of J.
func (b *blocks) weakest() float64 {
	y := make([]float64, b.n)
	return leastRoot(b.n, func(x []float64) { // of JᵀJ
		b.transposed(x, y)
		b.solve(y, x)
	})
}

// matching pairs rows with columns.
type matching struct {
	cols         [][]int32 // by row
	rows         [][]int32 // by column
	colOf, rowOf []int32   // -1 for none
	seen         []int32   // by column: the search that came by last
	steps        int       // that searches may still take
}

func newMatching(n int, cols [][]int32) *matching {
	m := &matching{cols: cols, rows: make([][]int32, n)}
	ints := make([]int32, 4*n)
	count := ints[:n]
	total := 0
	for _, row := range cols {
		total += len(row)
		for _, c := range row {
			count[c]++
		}
	}
	room := make([]int32, total)
	for c := range m.rows {
		m.rows[c] = piece(&room, int(count[c]), 0)[:0]
	}
	for r, row := range cols {
		for _, c := range row {
			m.rows[c] = append(m.rows[c], int32(r))
		}
	}
	m.colOf, m.rowOf, m.seen = ints[n:2*n], ints[2*n:3*n], ints[3*n:]
	for i := range n {
		m.colOf[i], m.rowOf[i], m.seen[i] = -1, -1, -1
	}
	m.steps = 50*total + 1000
	return m
}

// perfect pairs all rows and reports whether that is possible, and found
// without long searches.
func (m *matching) perfect() bool {
	m.peel()
	for r, c := range m.colOf {
		if c < 0 && !m.augment(int32(r), int32(r)) {
			return false
		}
	}
	return true
}

// peel pairs one column after the other, always one with the fewest rows left,
// with its row of the fewest columns left. So what is constructed is taken
// apart from the end.
func (m *matching) peel() {
	n := len(m.cols)
	ints := make([]int32, 2*n)
	width, height := ints[:n], ints[n:] // columns of a row, rows of a column that are left
	for r, row := range m.cols {
		width[r] = int32(len(row))
	}
	h := make(degreeHeap, 0, 2*n)
	for c, col := range m.rows {
		height[c] = int32(len(col))
		h.push(degreeItem{height[c], int32(c)})
	}
	for len(h) > 0 {
		it := h.pop()
		c := it.v
		if m.rowOf[c] >= 0 || it.degree != height[c] {
			continue
		}
		best := int32(-1)
		for _, r := range m.rows[c] {
			if m.colOf[r] < 0 && (best < 0 || width[r] < width[best]) {
				best = r
			}
		}
		for _, r := range m.rows[c] {
			width[r]--
		}
		if best < 0 {
			continue
		}
		m.colOf[best], m.rowOf[c] = c, best
		for _, d := range m.cols[best] {
			if height[d]--; m.rowOf[d] < 0 {
				h.push(degreeItem{height[d], d})
			}
		}
	}
}

// augment pairs row r by moving the pairs of others, in the search so numbered.
func (m *matching) augment(r, search int32) bool {
	for _, c := range m.cols[r] {
		if m.rowOf[c] < 0 {
			m.colOf[r], m.rowOf[c] = c, r
			return true
		}
	}
	for _, c := range m.cols[r] {
		if m.seen[c] == search {
			continue
		}
		m.seen[c] = search
		if m.steps--; m.steps < 0 {
			return false
		}
		if m.augment(m.rowOf[c], search) {
			m.colOf[r], m.rowOf[c] = c, r
			return true
		}
	}
	return false
}

// components groups the rows so that each group needs only columns of its own
// and of those before (R. Tarjan, "Depth-first search and linear graph
// algorithms", SIAM Journal on Computing 1 (1972) 146-160). It returns the rows
// group by group, and where each begins.
func (m *matching) components() (order, first []int32) {
	n := len(m.cols)
	ints := make([]int32, 4*n)
	index, low, next, path := ints[:n], ints[n:2*n], ints[2*n:3*n], ints[3*n:3*n]
	open := make([]int32, 0, n) // rows of groups that are not complete
	order, first = make([]int32, 0, n), make([]int32, 0, n+1)
	count := int32(0)
	for root := range int32(n) {
		if index[root] != 0 {
			continue
		}
		path = append(path, root)
		for len(path) > 0 {
			r := path[len(path)-1]
			if index[r] == 0 {
				count++
				index[r], low[r] = count, count
				open = append(open, r)
			}
			if k := next[r]; int(k) < len(m.cols[r]) {
				next[r]++
				switch s := m.rowOf[m.cols[r][k]]; {
				case index[s] == 0:
					path = append(path, s)
				case index[s] > 0:
					low[r] = min(low[r], index[s])
				}
				continue
			}
			path = path[:len(path)-1]
			if len(path) > 0 {
				up := path[len(path)-1]
				low[up] = min(low[up], low[r])
			}
			if low[r] == index[r] {
				first = append(first, int32(len(order)))
				at := len(open) - 1
				for open[at] != r {
					at--
				}
				for _, s := range open[at:] {
					index[s] = -1
				}
				order = append(order, open[at:]...)
				open = open[:at]
			}
		}
	}
	return order, append(first, int32(n))
}

// constructed returns the blocks of m's rows, or nil where there are none.
func (m *model) constructed() *blocks {
	if !m.divided {
		m.blocks, m.divided = newBlocks(len(m.part.x0), m.cols), true
	}
	return m.blocks
}

// construct takes Newton's steps through the blocks, as long as after k steps
// less than 10⁻ᵏ of what was missed is left: then they lead where damped steps
// do. (Of 9,000 random sketches with starts off by 5 to 20 % one ended
// elsewhere; where half is left each time it is about one in 150.) It reports
// whether they come to rest at a solution.
func (m *model) construct(ctx context.Context, x0 []float64) ([]float64, bool) {
	const rounds, shrink = 30, 0.1
	b := m.constructed()
	m.placed = false
	if b == nil {
		return nil, false
	}
	x, p := slices.Clone(x0), make([]float64, len(x0))
	half, last := m.eval(x), math.Inf(1)
	rounding := 1e-12 * m.part.size
	for range rounds {
		if ctx.Err() != nil || !b.factor(m.rows) {
			return nil, false
		}
		m.iterations++
		b.solve(m.f, p)
		step := maxAbs(p)
		if !(step <= m.part.size) {
			return nil, false
		}
		for i := range x {
			x[i] -= p[i]
		}
		left := m.eval(x)
		miss := maxAbs(m.f)
		if step <= stepGoal || step >= last/2 && miss <= rounding {
			m.placed = miss <= Accepted && !m.steep() && b.factor(m.rows)
			return x, m.placed
		}
		half *= shrink * shrink
		if !(left <= half) && !(miss <= rounding) {
			return nil, false
		}
		last = step
	}
	return nil, false
}
