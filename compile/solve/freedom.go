package solve

import (
	"context"
	"math"
	"slices"
)

// rankTolerance tells rows of unit length that depend on others, to rounding,
// from those that do not; solutions are known to about 1e-11.
const rankTolerance = 1e-7

// triangle is the factor R of J = QR for rows of unit length, built up row by
// row by Givens rotations (A. George and M. T. Heath, "Solution of sparse
// linear least squares problems using Givens rotations", Linear Algebra and
// its Applications 34 (1980) 69-83). It has the pattern of the factor L of
// JᵀJ. Unlike that it is formed without squaring, so that a row that depends
// on others is plainly told from one that nearly does.
type triangle struct {
	f    *factor
	inv  []int32   // by variable: its place in the order of elimination
	diag []float64 // 0 where there is no row
	off  []float64 // in the pattern of f.li
	w    []float64 // the row that is being taken in
	rows []rowRef  // the independent rows

	// what the row has changed so far: the columns, and what stood there
	turned []int32
	stood  []float64
}

// rowRef is a row of J.
type rowRef struct {
	id   int
	cols []int32
	vals []float64 // of unit length
}

// newTriangle prepares for rows of the pattern that f was made for. f must
// have been prepared or decomposed.
func newTriangle(f *factor) *triangle {
	n := f.n
	t := &triangle{f: f, inv: make([]int32, n), diag: make([]float64, n), off: make([]float64, len(f.li)), w: make([]float64, n)}
	for k, v := range f.perm {
		t.inv[v] = int32(k)
	}
	return t
}

// add takes in a row and reports whether it is independent of those before;
// one that is not leaves R as it was.
func (t *triangle) add(r rowRef) bool {
	f := t.f
	for i, v := range r.cols {
		t.w[t.inv[v]] += r.vals[i]
	}
	t.turned, t.stood = t.turned[:0], t.stood[:0]
	// The columns of a row lie on one path to the root of the elimination
	// tree, and so does all fill.
	for k := t.first(r); k >= 0 && int(k) < f.n; k = f.parent[k] {
		x := t.w[k]
		t.w[k] = 0
		if math.Abs(x) <= rankTolerance {
			continue
		}
		if t.diag[k] == 0 {
			t.diag[k] = x
			for e := f.lp[k]; e < f.lp[k+1]; e++ {
				t.off[e] = t.w[f.li[e]]
				t.w[f.li[e]] = 0
			}
			t.rows = append(t.rows, r)
			return true
		}
		if t.rotate(k, x) <= rankTolerance {
			for e := f.lp[k]; e < f.lp[k+1]; e++ {
				t.w[f.li[e]] = 0
			}
			break
		}
	}
	t.restore()
	return false
}

// rotate turns the row of R at k and the row being taken in, which has x
// there, so that x goes. It returns the largest element left of the latter.
func (t *triangle) rotate(k int32, x float64) float64 {
	f := t.f
	lo, hi := f.lp[k], f.lp[k+1]
	t.turned = append(t.turned, k)
	t.stood = append(append(t.stood, t.diag[k]), t.off[lo:hi]...)
	h := math.Sqrt(float64(t.diag[k]*t.diag[k]) + float64(x*x))
	c, s := t.diag[k]/h, x/h
	t.diag[k] = h
	left := 0.0
	for e := lo; e < hi; e++ {
		a, b := t.off[e], t.w[f.li[e]]
		t.off[e] = float64(c*a) + float64(s*b)
		b = float64(c*b) - float64(s*a)
		t.w[f.li[e]] = b
		left = max(left, math.Abs(b))
	}
	return left
}

// restore undoes the rotations of the last row.
func (t *triangle) restore() {
	f := t.f
	from := t.stood
	for _, k := range t.turned {
		lo, hi := f.lp[k], f.lp[k+1]
		t.diag[k] = from[0]
		copy(t.off[lo:hi], from[1:])
		from = from[1+hi-lo:]
	}
}

// free returns motions that no row resists, at most limit of them, one for
// each variable that R leaves open.
func (t *triangle) free(limit int) [][]float64 {
	f := t.f
	var out [][]float64
	z := make([]float64, f.n) // in the order of elimination
	for open := range f.n {
		if t.diag[open] != 0 {
			continue
		}
		if len(out) == limit {
			break
		}
		clear(z)
		z[open] = 1
		for k := open - 1; k >= 0; k-- {
			if t.diag[k] == 0 {
				continue
			}
			s := 0.0
			for e := f.lp[k]; e < f.lp[k+1]; e++ {
				s += float64(t.off[e] * z[f.li[e]])
			}
			z[k] = -s / t.diag[k]
		}
		x := make([]float64, f.n)
		for k, v := range f.perm {
			x[v] = z[k]
		}
		out = append(out, x)
	}
	return out
}

// combination returns the ids of the independent rows that row r is a
// combination of, and how far the combination is off. With P the columns that
// have a diagonal, the weights are y = J_P R_P⁻¹ R_P⁻ᵀ r_P; further rounds take
// out the error of the first.
func (t *triangle) combination(r rowRef) (on []int, off float64) {
	f := t.f
	y := make([]float64, len(t.rows))
	rest := make([]float64, f.n)
	for i, v := range r.cols {
		rest[t.inv[v]] += r.vals[i]
	}
	z := make([]float64, f.n)
	for range 3 {
		copy(z, rest)
		t.downUp(z)
		for i, row := range t.rows {
			d := 0.0
			for j, v := range row.cols {
				d += float64(row.vals[j] * z[t.inv[v]])
			}
			y[i] += d
			for j, v := range row.cols {
				rest[t.inv[v]] -= float64(row.vals[j] * d)
			}
		}
	}
	top := maxAbs(y)
	for i, v := range y {
		if math.Abs(v) > 1e-7*top {
			on = append(on, t.rows[i].id)
		}
	}
	slices.Sort(on)
	return on, maxAbs(rest)
}

// downUp overwrites z with R_P⁻¹ R_P⁻ᵀ z, zero outside P.
func (t *triangle) downUp(z []float64) {
	f := t.f
	for k := range f.n {
		if t.diag[k] == 0 {
			z[k] = 0
			continue
		}
		z[k] /= t.diag[k]
		for e := f.lp[k]; e < f.lp[k+1]; e++ {
			z[f.li[e]] -= float64(t.off[e] * z[k])
		}
	}
	for k := f.n - 1; k >= 0; k-- {
		if t.diag[k] == 0 {
			continue
		}
		for e := f.lp[k]; e < f.lp[k+1]; e++ {
			z[k] -= float64(t.off[e] * z[f.li[e]])
		}
		z[k] /= t.diag[k]
	}
}

// ranking tells how the equations pin the variables down at a point.
type ranking struct {
	t       *triangle
	idle    []rowRef // rows that depend on those before them
	dof     int
	motions [][]float64 // orthonormal; all when there are at most MaxFreedoms
}

// analyse finds at x which equations add nothing and what they leave free.
func (m *model) analyse(x []float64) *ranking {
	m.eval(x)
	m.factor().prepare()
	rows := make([]rowRef, len(m.eqs))
	for i := range rows {
		rows[i] = m.unitRow(i)
	}
	// Rows that come in the order of their first columns fill little.
	t := newTriangle(m.factor())
	idle := t.take(t.byFirst(rows))
	if len(idle) > 0 { // written order tells which ones to name
		t = newTriangle(m.factor())
		idle = t.take(rows)
	}
	return &ranking{t: t, idle: idle, dof: len(x) - len(t.rows), motions: Orthonormal(t.free(MaxFreedoms), 1e-9)}
}

// take adds rows and returns those that depend on others.
func (t *triangle) take(rows []rowRef) (idle []rowRef) {
	for _, r := range rows {
		if !t.add(r) {
			idle = append(idle, r)
		}
	}
	return idle
}

// byFirst returns rows in the order of their first columns.
func (t *triangle) byFirst(rows []rowRef) []rowRef {
	begin := make([]int32, t.f.n+2)
	for _, r := range rows {
		begin[t.first(r)+1]++
	}
	for k := range t.f.n + 1 {
		begin[k+1] += begin[k]
	}
	out := make([]rowRef, len(rows))
	for _, r := range rows {
		k := t.first(r)
		out[begin[k]] = r
		begin[k]++
	}
	return out
}

// first returns the place in the order of elimination of the first column.
func (t *triangle) first(r rowRef) int32 {
	first := int32(t.f.n)
	for _, v := range r.cols {
		first = min(first, t.inv[v])
	}
	return first
}

// unitRow returns row i of J scaled to unit length; a row of no length stays.
func (m *model) unitRow(i int) rowRef {
	v := slices.Clone(m.rows[i])
	if l := norm(v); l > 1e-9 && finite(l) {
		for j := range v {
			v[j] /= l
		}
	} else {
		clear(v)
	}
	return rowRef{m.eqs[i], m.cols[i], v}
}

// Orthonormal returns an orthonormal basis of the span of vectors of one
// length, by Gram and Schmidt's method, twice. A vector of which the share
// least or less is left beside those before it counts as dependent on them.
func Orthonormal(vs [][]float64, least float64) [][]float64 {
	var out [][]float64
	for _, v := range vs {
		w := slices.Clone(v)
		for range 2 {
			for _, b := range out {
				d := dot(b, w)
				for i := range w {
					w[i] -= float64(d * b[i])
				}
			}
		}
		l := norm(w)
		if !(l > least*norm(v)) {
			continue
		}
		for i := range w {
			w[i] /= l
		}
		out = append(out, w)
	}
	return out
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += float64(a[i] * b[i])
	}
	return s
}

// confirm walks each motion a little, solves again and divides them into
// those along which the solution really moves and those at a limit, as in a
// flat triangle, that exist to first order only. Where no equation is idle,
// the implicit function theorem has confirmed them already.
func (m *model) confirm(ctx context.Context, x []float64, r *ranking) (kept, limits [][]float64) {
	if len(r.idle) == 0 {
		return r.motions, nil
	}
	for _, z := range r.motions {
		if ctx.Err() != nil {
			return nil, nil
		}
		if m.moves(x, z) {
			kept = append(kept, z)
		} else {
			limits = append(limits, z)
		}
	}
	return kept, limits
}

// redundant lists the equations that follow from earlier ones.
func (m *model) redundant(ctx context.Context, r *ranking) []Dependency {
	var out []Dependency
	for _, row := range r.idle {
		if ctx.Err() != nil {
			return nil
		}
		o := m.part.run.eqs[row.id].origin
		on, _ := r.t.combination(row)
		from := m.part.origins(on)
		out = append(out, Dependency{o, slices.DeleteFunc(from, func(f int) bool { return f == o })})
	}
	return out
}
