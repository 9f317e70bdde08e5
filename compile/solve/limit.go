package solve

import (
	"context"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// This file deals with solutions at a limit: a triangle that lies flat, a
// circle that just reaches a line. There equations touch instead of crossing,
// so that a motion is free to first order and Newton's method comes close
// only by halves: to about the root of the rounding error.

// sharpest is the number of variables up to which a limit is sharpened.
const sharpest = 150

// sharpen finds a solution at a limit to full accuracy. z is the motion that
// is free there to first order. It solves F(x) = 0, J(x)v = 0, zᵀv = 1 for x
// and v together, where the root is simple again (deflation: T. Ojika,
// "Modified deflation algorithm for the solution of singular problems",
// J. Math. Anal. Appl. 123 (1987) 199-221). The result is x itself when that
// does not lead to a solution nearby.
func (m *model) sharpen(x, z []float64) []float64 {
	if len(x) > sharpest {
		return x
	}
	n := len(x)
	y, v := slices.Clone(x), slices.Clone(z)
	for range 12 {
		s, ok := m.deflated(y, v, z)
		if !ok {
			return x
		}
		for k := range n {
			y[k] += s[k]
			v[k] += s[n+k]
		}
		step := maxAbs(s[:n])
		if !(step <= 1e-3*m.part.size) {
			return x
		}
		if step <= stepGoal {
			break
		}
	}
	m.eval(y)
	if !(maxAbs(m.f) <= Accepted) || !(maxDiff(x, y) <= 1e-4*m.part.size) {
		return x
	}
	return y
}

// deflated returns the Newton step of sharpen: that of x, then that of v.
func (m *model) deflated(x, v, z []float64) ([]float64, bool) {
	n, rows := len(x), len(m.eqs)
	a := mat.NewDense(2*rows+1, 2*n, nil)
	b := mat.NewVecDense(2*rows+1, nil)
	m.eval(x)
	for i, c := range m.cols {
		jv := 0.0
		for j, k := range c {
			a.Set(i, int(k), m.rows[i][j])
			a.Set(rows+i, n+int(k), m.rows[i][j])
			jv += float64(m.rows[i][j] * v[k])
		}
		b.SetVec(i, -m.f[i])
		b.SetVec(rows+i, -jv)
	}
	m.bend(a, x, v)
	a.SetRow(2*rows, append(make([]float64, n), z...))
	b.SetVec(2*rows, 1-dot(z, v))
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return nil, false
	}
	var s mat.VecDense
	svd.SolveVecTo(&s, b, svd.Rank(1e-9))
	return s.RawVector().Data, true
}

// bend enters the derivatives of J(x)v by x below J, by differences. Their
// accuracy matters for the speed of sharpen only.
func (m *model) bend(a *mat.Dense, x, v []float64) {
	h := float64(1e-4 * m.part.size)
	for _, sign := range []float64{1, -1} {
		y := slices.Clone(x)
		for i := range y {
			y[i] += float64(sign * h * v[i])
		}
		m.eval(y)
		for i, c := range m.cols {
			for j, k := range c {
				r := len(m.eqs) + i
				a.Set(r, int(k), a.At(r, int(k))+float64(sign*m.rows[i][j]/(2*h)))
			}
		}
	}
}

// needless returns those of the idle rows that add nothing even at a limit:
// without one that does, the solution could really move.
func (m *model) needless(ctx context.Context, x []float64, idle []rowRef, limits [][]float64) []rowRef {
	const most = 16 // rows; each takes a model of its own
	if len(idle) > most {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(idle), func(r rowRef) bool {
		rest := m.without(r.id)
		for _, z := range limits {
			if ctx.Err() != nil || rest.moves(x, z) {
				return true
			}
		}
		return false
	})
}

// moves reports whether the solutions go on from x along z.
func (m *model) moves(x, z []float64) bool {
	h := float64(1e-3 * m.part.size)
	y := slices.Clone(x)
	for i := range y {
		y[i] += float64(h * z[i])
	}
	y, ok := m.refine(y)
	for i := range y {
		y[i] -= x[i]
	}
	return ok && dot(y, z) > 0.5*h
}
