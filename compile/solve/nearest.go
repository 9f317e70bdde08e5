package solve

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// nearest moves x along the family of solutions to the one nearest the start,
// in the sum of the squared moves of all variables. It is Newton's method on
// the free directions Z of the Lagrangian ½|x - x0|² - λᵀf: the step s solves
// Zᵀ(I - Σ λᵢ∇²fᵢ)Z s = Zᵀ(x0 - x), the curvature taken by differences of
// Jᵀλ. The result does not depend on their accuracy, only the speed does.
// Where many directions are free, steps go straight towards the start and back
// to the solutions at once.
func (m *model) nearest(ctx context.Context, x []float64, r *ranking) []float64 {
	const rounds, fewFree = 60, 16
	if r.dof > fewFree {
		for _, damping := range freeDampings {
			if y, ok := m.homebound(ctx, x, damping); ok {
				return y
			}
		}
	}
	for range rounds {
		if ctx.Err() != nil || r.dof == 0 {
			return x
		}
		var step []float64
		damping := 1e-13
		if r.dof <= fewFree {
			step = m.newton(x, r.motions)
		} else {
			damping = freeDampings[len(freeDampings)-1]
			step, _ = m.homeward(x, damping)
		}
		if maxAbs(step) < stepGoal {
			return x
		}
		y, moved := m.follow(x, step, damping)
		if !moved {
			return x
		}
		x = y
		if r.dof <= fewFree {
			r = m.analyse(x)
		}
	}
	return x
}

// newton returns Newton's step within the free directions.
func (m *model) newton(x []float64, free [][]float64) []float64 {
	t := make([]float64, len(free))
	for j, z := range free {
		for i := range x {
			t[j] += float64(z[i] * (m.part.x0[i] - x[i]))
		}
	}
	step := make([]float64, len(x))
	if maxAbs(t) < stepGoal {
		return step
	}
	for j, s := range m.curved(x, free, t) {
		for i, z := range free[j] {
			step[i] += float64(s * z)
		}
	}
	return step
}

// homebound goes towards the start and corrects what the equations miss in
// one step after the other, each with one factorisation. It reports false
// where that does not come to rest, or not nearer.
func (m *model) homebound(ctx context.Context, x []float64, damping float64) ([]float64, bool) {
	y := slices.Clone(x)
	last := math.Inf(1)
	for range 80 {
		if ctx.Err() != nil {
			return x, false
		}
		home, back := m.homeward(y, damping)
		far := 0.0
		for i := range y {
			d := home[i] + back[i]
			y[i] += d
			far = max(far, math.Abs(d))
		}
		if !(far <= 2*last) {
			return x, false
		}
		if far < stepGoal || far < 1e-8 && far > last/2 { // no nearer for rounding
			break
		}
		last = far
	}
	y, ok := m.refineBy(y, damping)
	return y, ok && m.distance(y) <= m.distance(x)
}

// freeDampings keep rounding from moving a drawing along what is free, where
// nothing else holds it: the rounding of Jᵀf is divided by them. The second is
// for drawings that are hardly held where they are held.
var freeDampings = []float64{1e-6, 1e-9}

// release takes from a direction what the equations resist, by the factor of
// JᵀJ that was decomposed, again and again to take out its damping.
func (m *model) release(way []float64) {
	y := make([]float64, len(way))
	for range 3 {
		m.normal(way, y)
		m.factor().solve(y)
		for i := range way {
			way[i] -= y[i]
		}
	}
}

// homeward returns the way to the start without what the equations resist,
// (I - J⁺J)(x0 - x), and the way back to the solutions, -J⁺f, by the sparse
// factor.
func (m *model) homeward(x []float64, damping float64) (home, back []float64) {
	m.eval(x)
	m.factor().load(m.rows)
	m.factor().decompose(damping)
	home, back = make([]float64, len(x)), make([]float64, len(x))
	for i := range home {
		home[i] = m.part.x0[i] - x[i]
	}
	m.release(home)
	m.downhill(back)
	m.factor().solve(back)
	return home, back
}

// normal puts JᵀJ z into y.
func (m *model) normal(z, y []float64) {
	clear(y)
	for i, c := range m.cols {
		d := 0.0
		for j, v := range c {
			d += float64(m.rows[i][j] * z[v])
		}
		for j, v := range c {
			y[v] += float64(m.rows[i][j] * d)
		}
	}
}

// follow takes a step, or a share of it, back to the solutions, if that comes
// nearer to the start.
func (m *model) follow(x, step []float64, damping float64) (y []float64, moved bool) {
	before := m.distance(x)
	for share := 1.0; share > 1e-3; share /= 2 {
		y := slices.Clone(x)
		for i := range y {
			y[i] += float64(share * step[i])
		}
		y, ok := m.refineBy(y, damping)
		if ok && m.distance(y) <= before+float64(1e-15*before) {
			return y, maxDiff(x, y) > stepGoal/10
		}
	}
	return x, false
}

func maxDiff(a, b []float64) float64 {
	d := 0.0
	for i := range a {
		d = max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

func (m *model) distance(x []float64) float64 {
	s := 0.0
	for i, v := range m.part.x0 {
		s += float64((x[i] - v) * (x[i] - v))
	}
	return s
}

// curved returns the Newton step on the free directions, or t itself where
// the curvature does not lead to a minimum.
func (m *model) curved(x []float64, free [][]float64, t []float64) []float64 {
	n, k := len(x), len(free)
	m.eval(x)
	m.factor().load(m.rows)
	m.factor().decompose(1e-13)
	y := make([]float64, n)
	for i := range y {
		y[i] = x[i] - m.part.x0[i]
	}
	m.factor().solve(y)
	lambda := make([]float64, len(m.eqs))
	for i, c := range m.cols {
		for j, v := range c {
			lambda[i] += float64(m.rows[i][j] * y[v])
		}
	}
	pull := func(x []float64) []float64 { // Jᵀλ
		m.eval(x)
		g := make([]float64, n)
		for i, c := range m.cols {
			for j, v := range c {
				g[v] += float64(m.rows[i][j] * lambda[i])
			}
		}
		return g
	}
	h := float64(1e-5 * m.part.size)
	hess := mat.NewSymDense(k, nil)
	for b, z := range free {
		up, down := slices.Clone(x), slices.Clone(x)
		for i := range z {
			up[i] += float64(h * z[i])
			down[i] -= float64(h * z[i])
		}
		gu, gd := pull(up), pull(down)
		for a := range b + 1 {
			v := 0.0
			for i := range n {
				v -= float64(free[a][i] * (gu[i] - gd[i]) / (2 * h))
			}
			if a == b {
				v++
			}
			hess.SetSym(a, b, v)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(hess) {
		return t
	}
	var s mat.VecDense
	if chol.SolveVecTo(&s, mat.NewVecDense(k, slices.Clone(t))) != nil {
		return t
	}
	out := make([]float64, k)
	for j := range out {
		out[j] = s.AtVec(j)
	}
	if l := norm(out); l > m.part.size {
		for j := range out {
			out[j] *= m.part.size / l
		}
	}
	return out
}
