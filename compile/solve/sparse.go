package solve

import (
	"container/heap"
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
	diag       []int32   // entry of each diagonal element
	slots      [][]int32 // for each row of J, the entries its products go to
	parent     []int32
	lp, li     []int32
	lx, d      []float64
	lnz, flag  []int32
	pattern    []int32
	y, scratch []float64
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
	cols := make([][]int32, n)
	for v, near := range adj {
		k := inv[v]
		cols[k] = append(cols[k], k)
		for _, w := range near {
			if i := inv[w]; i < k {
				cols[k] = append(cols[k], i)
			}
		}
	}
	f.ap = make([]int32, n+1)
	f.diag = make([]int32, n)
	for k, c := range cols {
		slices.Sort(c)
		f.ai = append(f.ai, c...)
		f.ap[k+1] = int32(len(f.ai))
		f.diag[k] = int32(len(f.ai)) - 1
	}
	f.ax = make([]float64, len(f.ai))
	f.slots = make([][]int32, len(rows))
	for r, row := range rows {
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

func adjacency(n int, rows [][]int32) [][]int32 {
	adj := make([][]int32, n)
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

type degreeItem struct{ degree, v int32 }

type degreeHeap []degreeItem

func (h degreeHeap) Len() int { return len(h) }
func (h degreeHeap) Less(i, j int) bool {
	return h[i].degree < h[j].degree || h[i].degree == h[j].degree && h[i].v < h[j].v
}
func (h degreeHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *degreeHeap) Push(x any)   { *h = append(*h, x.(degreeItem)) }
func (h *degreeHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}

// minimumDegree orders the vertices of a graph so that elimination fills
// little: always the one with the fewest neighbours left, the first of equals.
func minimumDegree(graph [][]int32) []int32 {
	n := len(graph)
	adj := make([][]int32, n)
	h := make(degreeHeap, n)
	for v := range graph {
		adj[v] = slices.Clone(graph[v])
		h[v] = degreeItem{int32(len(adj[v])), int32(v)}
	}
	heap.Init(&h)
	gone := make([]bool, n)
	perm := make([]int32, 0, n)
	var merged []int32
	for h.Len() > 0 {
		it := heap.Pop(&h).(degreeItem)
		v := it.v
		if gone[v] || int(it.degree) != len(adj[v]) {
			continue // an entry from before its degree changed
		}
		gone[v] = true
		perm = append(perm, v)
		for _, w := range adj[v] {
			merged = merged[:0]
			a, b := adj[w], adj[v]
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
					merged = append(merged, u)
				}
			}
			adj[w] = append(adj[w][:0], merged...)
			heap.Push(&h, degreeItem{int32(len(adj[w])), w})
		}
		adj[v] = nil
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

// decompose factors JᵀJ + μI.
func (f *factor) decompose(mu float64) {
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
			p := f.lp[i]
			for end := p + f.lnz[i]; p < end; p++ {
				f.y[f.li[p]] -= float64(f.lx[p] * yi)
			}
			l := yi / f.d[i]
			d -= float64(l * yi)
			f.li[p], f.lx[p] = k, l
			f.lnz[i]++
		}
		if !(d > 0.01*mu) {
			d = max(mu, 1e-300) // rounding ate the pivot of a free direction
		}
		f.d[k] = d
	}
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
