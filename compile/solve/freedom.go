package solve

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// denseLimit is the number of variables up to which the null space is found
// by a dense singular value decomposition.
const denseLimit = 100

// ranking tells how the equations pin the variables down at a point.
type ranking struct {
	free     [][]float64 // orthonormal basis of the motions that keep all equations, to first order
	smallest float64     // smallest singular value above the rank tolerance, 0 if not known
}

// analyse finds the motions left free at x.
func (m *model) analyse(x []float64, solved bool) *ranking {
	n := len(x)
	if !solved {
		return &ranking{}
	}
	m.eval(x)
	rows := m.unitRows()
	if n > denseLimit {
		return &ranking{free: m.freeSparse(rows)}
	}
	if len(rows) == 0 {
		return &ranking{free: identity(n)}
	}
	a := mat.NewDense(max(len(rows), n), n, nil)
	for i, c := range m.cols {
		for j, v := range c {
			a.Set(i, int(v), rows[i][j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return &ranking{}
	}
	var v mat.Dense
	svd.VTo(&v)
	r := &ranking{}
	s := svd.Values(nil)
	for k := range n {
		if k < len(s) && s[k] > rankTolerance {
			r.smallest = s[k]
			continue
		}
		z := make([]float64, n)
		for i := range z {
			z[i] = v.At(i, k)
		}
		r.free = append(r.free, z)
	}
	return r
}

// rankTolerance tells zero singular values of rows of unit length from
// others; solutions are known to about 1e-11.
const rankTolerance = 3e-8

func identity(n int) [][]float64 {
	b := make([][]float64, n)
	for i := range b {
		b[i] = make([]float64, n)
		b[i][i] = 1
	}
	return b
}

// unitRows returns the rows of J scaled to unit length.
func (m *model) unitRows() [][]float64 {
	rows := make([][]float64, len(m.rows))
	for i, r := range m.rows {
		rows[i] = slices.Clone(r)
		if l := norm(r); l > 1e-9 {
			for j := range rows[i] {
				rows[i][j] /= l
			}
		}
	}
	return rows
}

// freeSparse projects fixed vectors onto the null space: μ(JᵀJ + μI)⁻¹ keeps
// what the equations leave free and wipes out the rest.
func (m *model) freeSparse(rows [][]float64) [][]float64 {
	n := len(m.part.vars)
	const mu = 1e-10
	m.fac.load(rows)
	m.fac.decompose(mu)
	var free [][]float64
	for try := range n {
		z := make([]float64, n)
		for i := range z {
			z[i] = hashed(1000+try, i)
		}
		for range 4 {
			m.fac.solve(z)
			if l := norm(z); l > 0 {
				for i := range z {
					z[i] /= l
				}
			}
		}
		if m.stretch(rows, z) > 1e-6 {
			return free // the equations leave nothing
		}
		for range 2 {
			for _, b := range free {
				d := dot(b, z)
				for i := range z {
					z[i] -= float64(d * b[i])
				}
			}
		}
		l := norm(z)
		if l < 1e-5 {
			return free
		}
		for i := range z {
			z[i] /= l
		}
		if m.stretch(rows, z) > 1e-5 {
			return free
		}
		free = append(free, z)
	}
	return free
}

// stretch returns |J z|.
func (m *model) stretch(rows [][]float64, z []float64) float64 {
	s := 0.0
	for i, c := range m.cols {
		t := 0.0
		for j, v := range c {
			t += float64(rows[i][j] * z[v])
		}
		s += float64(t * t)
	}
	return math.Sqrt(s)
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += float64(a[i] * b[i])
	}
	return s
}

// confirm walks each free direction a little, solves again and divides them
// into those along which the solution really moves and those at a limit, as
// in a flat triangle, that are free to first order only.
func (m *model) confirm(ctx context.Context, x []float64, r *ranking) (kept, limits [][]float64) {
	for k, z := range r.free {
		if ctx.Err() != nil {
			return nil, nil
		}
		if k >= 40 { // a sketch this loose is not waiting for proof
			return append(kept, r.free[k:]...), limits
		}
		h := 1e-3 * m.part.size
		y := slices.Clone(x)
		for i := range y {
			y[i] += float64(h * z[i])
		}
		y, ok := m.refine(y)
		for i := range y {
			y[i] -= x[i]
		}
		if ok && dot(y, z) > 0.5*h {
			kept = append(kept, z)
		} else {
			limits = append(limits, z)
		}
	}
	return kept, limits
}

// rowSpace grows by rows of J and tells which of them depend on others.
type rowSpace struct {
	basis [][]float64
	comb  [][]float64 // each basis vector as a combination of the rows
	ids   []int
}

// add takes in a row; when it depends on rows before it, it returns those.
func (s *rowSpace) add(row []float64, id int) (on []int, depends bool) {
	q := slices.Clone(row)
	l := norm(q)
	at := len(s.ids)
	s.ids = append(s.ids, id)
	for i := range s.comb {
		s.comb[i] = append(s.comb[i], 0)
	}
	c := make([]float64, len(s.ids))
	if l > 1e-9 {
		for i := range q {
			q[i] /= l
		}
		for range 2 {
			for b, v := range s.basis {
				d := dot(v, q)
				for i := range q {
					q[i] -= float64(d * v[i])
				}
				for i, w := range s.comb[b] {
					c[i] += float64(d * w)
				}
			}
		}
	}
	rest := norm(q)
	if l <= 1e-9 || rest < 1e-7 {
		top := maxAbs(c)
		for i, v := range c {
			if math.Abs(v) > 1e-5*top {
				on = append(on, s.ids[i])
			}
		}
		slices.Sort(on)
		return on, true
	}
	for i := range q {
		q[i] /= rest
	}
	for i := range c {
		c[i] = -c[i] / rest
	}
	c[at] = 1 / rest
	s.basis = append(s.basis, q)
	s.comb = append(s.comb, c)
	return nil, false
}

// denseRow returns row i of J over all variables of the part.
func (m *model) denseRow(i int) []float64 {
	row := make([]float64, len(m.part.vars))
	for j, v := range m.cols[i] {
		row[v] = m.rows[i][j]
	}
	return row
}

// redundant lists the equations that follow from earlier ones at x.
func (m *model) redundant(x []float64, r *ranking) []Dependency {
	if len(m.eqs) == len(x)-len(r.free) {
		return nil
	}
	m.eval(x)
	var s rowSpace
	var out []Dependency
	for i, e := range m.eqs {
		if on, depends := s.add(m.denseRow(i), e); depends {
			o := m.part.run.eqs[e].origin
			from := m.part.origins(on)
			out = append(out, Dependency{o, slices.DeleteFunc(from, func(f int) bool { return f == o })})
		}
	}
	return out
}
