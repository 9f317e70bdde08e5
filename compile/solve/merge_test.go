package solve

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestMergedIsNearest: random ties leave a flat family of solutions; the one
// nearest the start is the projection on it, by gonum's singular values.
func TestMergedIsNearest(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	merged := 0
	for range 300 {
		var s System
		n := 3 + r.IntN(8)
		start := mat.NewVecDense(n, nil)
		for i := range n {
			start.SetVec(i, 20*r.Float64()-10)
			s.Var(start.AtVec(i))
		}
		a, b := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
		for i := range r.IntN(n) {
			v, w := r.IntN(n), r.IntN(n)
			k, c := 1+float64(r.IntN(3)), float64(r.IntN(9))
			a.Set(i, v, k)
			e := Scale(k, variable(v))
			switch other := []float64{0, k, -k}[r.IntN(3)]; {
			case v == w || other == 0:
			default:
				a.Set(i, w, other)
				e = Add(e, Scale(other, variable(w)))
			}
			b.SetVec(i, c)
			s.Require(Sub(e, Const(c)), i)
			if _, ok := tieOf(s.eqs[i].residual); !ok {
				t.Fatal("no tie:", e)
			}
		}
		got := solved(t, &s)
		var svd mat.SVD
		if !svd.Factorize(a, mat.SVDFull) {
			t.Fatal("no singular values")
		}
		var miss, step mat.VecDense
		miss.MulVec(a, start)
		miss.SubVec(b, &miss)
		rank := svd.Rank(1e-9)
		if rank > 0 {
			svd.SolveVecTo(&step, &miss, rank)
		} else {
			step.ReuseAsVec(n)
		}
		var left mat.VecDense
		left.MulVec(a, &step)
		left.SubVec(&left, &miss)
		if holds := mat.Norm(&left, 2) < 1e-9; holds != got.Solved {
			t.Fatalf("solved %v, want %v", got.Solved, holds)
		}
		if !got.Solved {
			continue
		}
		if len(got.Redundant) == 0 {
			merged++
		}
		if got.DOF != n-rank || len(got.Redundant) != len(s.eqs)-rank {
			t.Errorf("%d freedoms and %d idle, want %d and %d", got.DOF, len(got.Redundant), n-rank, len(s.eqs)-rank)
		}
		for i, x := range got.Values {
			if want := start.AtVec(i) + step.AtVec(i); math.Abs(x-want) > 1e-11 {
				t.Errorf("variable %d at %v, want %v", i, x, want)
			}
		}
	}
	if merged < 100 {
		t.Errorf("only %d without an equation too many", merged)
	}
}

// TestMergedWeakest: what ties leave of a system has the singular values of
// the system where the ties are held, here those of a short bar on a long arm.
func TestMergedWeakest(t *testing.T) {
	var s System
	p, q := point(&s, 0.1, 0.2), point(&s, 100.2, 0.1)
	s.Require(p[0], 0)
	s.Require(p[1], 1)
	s.Require(Sub(q[1], p[1]), 2)
	bar(&s, p, q, 100, 3)
	r := solved(t, &s)
	if math.Abs(r.Weakest-1) > 1e-9 || math.Abs(r.Values[2]-100) > 1e-12 {
		t.Errorf("weakest %v, values %v", r.Weakest, r.Values)
	}
}
