package solve

import (
	"slices"
)

// factor solves (JᵀJ + μI) p = b for a fixed pattern of J. The pattern is
// ordered and analysed once; each Load fills in numbers and factors them as
// L·D·Lᵀ (the up-looking method of T. Davis, Algorithm 849, 2005).
type factor struct {
	n          int
	perm       []int32 // perm[k] is the variable eliminated k-th
	ap, ai     []int32 // upper triangle of the permuted matrix by columns
	ax         []float64
	slots      [][]int32 // for each row of J, the entries its products go to
	parent     []int32
	lp, li     []int32
	lx, d      []float64
	lnz, flag  []int32
	pattern    []int32
	paired     []bool // by column of L: below its first entry the next one has the same pattern
	y, scratch []float64
	mu         float64 // of the last decomposition; 0 for none
}

// newFactor analyses the pattern given by the columns of each row of J.
func newFactor(n int, rows [][]int32) *factor {
	f := &factor{n: n}
	adj := adjacency(n, rows)
	f.perm = minimumDegree(adj)
	inv := make([]int32, n)
	for k, v := range f.perm {
		inv[v] = int32(k)
	}
	f.ap = make([]int32, n+1)
	entries := n
	for _, near := range adj {
		entries += len(near) / 2
	}
	f.ai = make([]int32, 0, entries)
	for k, v := range f.perm {
		for _, w := range adj[v] {
			if i := inv[w]; int(i) < k {
				f.ai = append(f.ai, i)
			}
		}
		f.ai = append(f.ai, int32(k))
		slices.Sort(f.ai[f.ap[k]:])
		f.ap[k+1] = int32(len(f.ai))
	}
	f.ax = make([]float64, len(f.ai))
	f.slots = make([][]int32, len(rows))
	products := 0
	for _, row := range rows {
		products += len(row) * (len(row) + 1) / 2
	}
	room := make([]int32, products)
	for r, row := range rows {
		f.slots[r] = piece(&room, len(row)*(len(row)+1)/2, 0)[:0]
		for i, v := range row {
			for _, w := range row[:i+1] {
				a, b := inv[v], inv[w]
				a, b = min(a, b), max(a, b)
				col := f.ai[f.ap[b]:f.ap[b+1]]
				at, _ := slices.BinarySearch(col, a)
				f.slots[r] = append(f.slots[r], f.ap[b]+int32(at))
			}
		}
	}
	f.analyse()
	return f
}

// adjacency returns the columns that share a row with each, ascending.
func adjacency(n int, rows [][]int32) [][]int32 {
	count := make([]int, n)
	total := 0
	for _, row := range rows {
		for _, v := range row {
			count[v] += len(row) - 1
		}
		total += len(row) * (len(row) - 1)
	}
	room := make([]int32, total)
	adj := make([][]int32, n)
	for v := range adj {
		adj[v] = piece(&room, count[v], 0)[:0]
	}
	for _, row := range rows {
		for _, v := range row {
			for _, w := range row {
				if v != w {
					adj[v] = append(adj[v], w)
				}
			}
		}
	}
	for v := range adj {
		slices.Sort(adj[v])
		adj[v] = slices.Compact(adj[v])
	}
	return adj
}

// degreeItem is a vertex with its degree when it was put on the heap.
type degreeItem struct{ degree, v int32 }

func (a degreeItem) before(b degreeItem) bool {
	return a.degree < b.degree || a.degree == b.degree && a.v < b.v
}

// degreeHeap is a binary heap with the least item first.
type degreeHeap []degreeItem

func (h *degreeHeap) push(x degreeItem) {
	*h = append(*h, x)
	a := *h
	i := len(a) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !x.before(a[up]) {
			break
		}
		a[i] = a[up]
		i = up
	}
	a[i] = x
}

func (h *degreeHeap) pop() degreeItem {
	a := *h
	top, x := a[0], a[len(a)-1]
	a = a[:len(a)-1]
	*h = a
	if len(a) == 0 {
		return top
	}
	i := 0
	for {
		c := 2*i + 1
		if c >= len(a) {
			break
		}
		if c+1 < len(a) && a[c+1].before(a[c]) {
			c++
		}
		if !a[c].before(x) {
			break
		}
		a[i] = a[c]
		i = c
	}
	a[i] = x
	return top
}

// minimumDegree orders the vertices of a graph so that elimination fills
// little: always one with the fewest neighbours left, the first of equals.
// Vertices with the same neighbours, as the two coordinates of a point mostly
// are, stay together and are looked at as one.
func minimumDegree(graph [][]int32) []int32 {
	n := len(graph)
	lead := twins(graph)
	weight := make([]int32, n) // of a lead: how many it stands for
	total := 0
	for v, near := range graph {
		weight[lead[v]]++
		total += len(near)
	}
	room := make([]int32, total)
	adj := make([][]int32, n)
	degree := make([]int32, n)
	h := make(degreeHeap, 0, 2*n)
	for v := range graph {
		if lead[v] != int32(v) {
			continue
		}
		a := piece(&room, len(graph[v]), 0)[:0]
		for _, w := range graph[v] {
			if lead[w] == w {
				a = append(a, w)
				degree[v] += weight[w]
			}
		}
		adj[v] = a
		h.push(degreeItem{degree[v], int32(v)})
	}
	gone := make([]bool, n)
	order := make([]int32, 0, n) // leads
	var merged []int32
	for len(h) > 0 {
		it := h.pop()
		v := it.v
		if gone[v] || it.degree != degree[v] {
			continue // an entry from before its degree changed
		}
		gone[v] = true
		order = append(order, v)
		for _, w := range adj[v] {
			merged = join(merged[:0], adj[w], adj[v], v, w)
			was := degree[w]
			degree[w] = 0
			for _, u := range merged {
				degree[w] += weight[u]
			}
			adj[w] = append(adj[w][:0], merged...)
			if degree[w] != was {
				h.push(degreeItem{degree[w], w})
			}
		}
		adj[v] = nil
	}
	return unfold(order, lead)
}

// join appends the union of two ascending lists, without two elements.
func join(to, a, b []int32, v, w int32) []int32 {
	for len(a) > 0 || len(b) > 0 {
		var u int32
		switch {
		case len(b) == 0 || len(a) > 0 && a[0] < b[0]:
			u, a = a[0], a[1:]
		case len(a) == 0 || b[0] < a[0]:
			u, b = b[0], b[1:]
		default:
			u, a, b = a[0], a[1:], b[1:]
		}
		if u != v && u != w {
			to = append(to, u)
		}
	}
	return to
}

// twins returns for each vertex the first one that is its neighbour and has the
// same other neighbours, or itself.
func twins(graph [][]int32) []int32 {
	lead := make([]int32, len(graph))
	for v := range graph {
		lead[v] = int32(v)
		for _, w := range graph[v] {
			if int(w) >= v {
				break
			}
			if lead[w] == w && same(graph, w, int32(v)) {
				lead[v] = w
				break
			}
		}
	}
	return lead
}

// same reports whether two neighbours have the same other neighbours.
func same(graph [][]int32, v, w int32) bool {
	a, b := graph[v], graph[w]
	if len(a) != len(b) {
		return false
	}
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0] == w:
			a = a[1:]
		case b[0] == v:
			b = b[1:]
		case a[0] != b[0]:
			return false
		default:
			a, b = a[1:], b[1:]
		}
	}
	return true
}

// unfold puts after each lead the vertices it stands for.
func unfold(order, lead []int32) []int32 {
	n := len(lead)
	next := make([]int32, n) // the following one with the same lead, or -1
	last := make([]int32, n)
	for v := range lead {
		next[v], last[v] = -1, int32(v)
		if l := lead[v]; l != int32(v) {
			next[last[l]] = int32(v)
			last[l] = int32(v)
		}
	}
	perm := make([]int32, 0, n)
	for _, v := range order {
		for ; v >= 0; v = next[v] {
			perm = append(perm, v)
		}
	}
	return perm
}

// analyse finds the elimination tree and the column counts of L.
func (f *factor) analyse() {
	n := f.n
	f.parent, f.flag, f.lnz = make([]int32, n), make([]int32, n), make([]int32, n)
	for k := range int32(n) {
		f.parent[k], f.flag[k] = -1, k
		for _, i := range f.ai[f.ap[k]:f.ap[k+1]] {
			for ; f.flag[i] != k; i = f.parent[i] {
				if f.parent[i] < 0 {
					f.parent[i] = k
				}
				f.lnz[i]++
				f.flag[i] = k
			}
		}
	}
	f.lp = make([]int32, n+1)
	for k := range n {
		f.lp[k+1] = f.lp[k] + f.lnz[k]
	}
	f.li, f.lx = make([]int32, f.lp[n]), make([]float64, f.lp[n])
	f.d, f.y, f.scratch = make([]float64, n), make([]float64, n), make([]float64, n)
	f.pattern = make([]int32, n)
	f.paired = make([]bool, n)
	for i := range n - 1 {
		f.paired[i] = f.parent[i] == int32(i+1) && f.lnz[i] == f.lnz[i+1]+1
	}
}

// load forms JᵀJ from the rows of J.
func (f *factor) load(vals [][]float64) {
	clear(f.ax)
	for r, row := range vals {
		s := f.slots[r]
		k := 0
		for i, a := range row {
			for _, b := range row[:i+1] {
				f.ax[s[k]] += float64(a * b)
				k++
			}
		}
	}
}

// prepare sees to it that the pattern of L is known.
func (f *factor) prepare() {
	if f.mu == 0 {
		f.decompose(1)
	}
}

// decompose factors JᵀJ + μI for μ > 0.
func (f *factor) decompose(mu float64) {
	f.mu = mu
	n := int32(f.n)
	for k := range n {
		f.flag[k], f.lnz[k] = k, 0
		top := n
		f.y[k] = 0
		for p := f.ap[k]; p < f.ap[k+1]; p++ {
			i := f.ai[p]
			f.y[i] += f.ax[p]
			depth := 0
			for ; f.flag[i] != k; i = f.parent[i] {
				f.pattern[depth] = i
				depth++
				f.flag[i] = k
			}
			for depth > 0 {
				top--
				depth--
				f.pattern[top] = f.pattern[depth]
			}
		}
		d := f.y[k] + mu
		f.y[k] = 0
		for ; top < n; top++ {
			i := f.pattern[top]
			yi := f.y[i]
			f.y[i] = 0
			if f.paired[i] && top+1 < n && f.pattern[top+1] == i+1 {
				yj := f.y[i+1] - float64(f.lx[f.lp[i]]*yi)
				f.y[i+1] = 0
				f.spread(i, yi, yj)
				d -= f.enter(k, i, yi) + f.enter(k, i+1, yj)
				top++
				continue
			}
			at, lx := f.li[f.lp[i]:][:f.lnz[i]], f.lx[f.lp[i]:][:f.lnz[i]]
			for p, r := range at {
				f.y[r] -= float64(lx[p] * yi)
			}
			d -= f.enter(k, i, yi)
		}
		if !(d > 0.01*mu) {
			d = max(mu, 1e-300) // rounding ate the pivot of a free direction
		}
		f.d[k] = d
	}
}

// spread takes two neighbouring columns of L with the same pattern, times yi
// and yj, from y.
func (f *factor) spread(i int32, yi, yj float64) {
	n := f.lnz[i+1]
	at := f.li[f.lp[i+1]:][:n]
	a, b := f.lx[f.lp[i]+1:][:n], f.lx[f.lp[i+1]:][:n]
	y := f.y
	for p, r := range at {
		y[r] -= float64(a[p]*yi) + float64(b[p]*yj)
	}
}

// enter puts into column i of L what row k has there, y before its division by
// the pivot, and returns what that takes from the pivot of the row.
func (f *factor) enter(k, i int32, y float64) float64 {
	l := y / f.d[i]
	p := f.lp[i] + f.lnz[i]
	f.li[p], f.lx[p] = k, l
	f.lnz[i]++
	return float64(l * y)
}

// solve overwrites b with the solution.
func (f *factor) solve(b []float64) {
	x := f.scratch
	for k, v := range f.perm {
		x[k] = b[v]
	}
	for k := range f.n {
		for p := f.lp[k]; p < f.lp[k]+f.lnz[k]; p++ {
			x[f.li[p]] -= float64(f.lx[p] * x[k])
		}
	}
	for k := range f.n {
		x[k] /= f.d[k]
	}
	for k := f.n - 1; k >= 0; k-- {
		for p := f.lp[k]; p < f.lp[k]+f.lnz[k]; p++ {
			x[k] -= float64(f.lx[p] * x[f.li[p]])
		}
	}
	for k, v := range f.perm {
		b[v] = x[k]
	}
}
