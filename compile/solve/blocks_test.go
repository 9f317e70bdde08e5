package solve

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// groups returns the pattern and the numbers of a random square matrix in which
// groups of rows of the given sizes need their own columns and earlier ones,
// with rows and columns in an order that hides it.
func groups(r *rand.Rand, sizes []int) (cols [][]int32, vals [][]float64) {
	n := 0
	for _, s := range sizes {
		n += s
	}
	rows, columns := r.Perm(n), r.Perm(n)
	cols, vals = make([][]int32, n), make([][]float64, n)
	at := 0
	for _, s := range sizes {
		for i := range s {
			k := rows[at+i]
			enter := func(c int) {
				cols[k], vals[k] = append(cols[k], int32(columns[c])), append(vals[k], 2*r.Float64()-1)
			}
			for j := range s {
				enter(at + j)
			}
			for range min(3, at) {
				if c := r.IntN(at); !contains(cols[k], int32(columns[c])) {
					enter(c)
				}
			}
		}
		at += s
	}
	return cols, vals
}

func contains(s []int32, x int32) bool {
	for _, v := range s {
		if v == x {
			return true
		}
	}
	return false
}

// Beside gonum's dense LU and SVD.
func TestBlocksBesideDense(t *testing.T) {
	tried := 0
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 3))
		var sizes []int
		for range 1 + r.IntN(9) {
			sizes = append(sizes, 1+r.IntN(4))
		}
		cols, vals := groups(r, sizes)
		n := len(cols)
		dense := mat.NewDense(n, n, nil)
		for i, row := range cols {
			for j, c := range row {
				dense.Set(i, int(c), vals[i][j])
			}
		}
		var svd mat.SVD
		svd.Factorize(dense, mat.SVDNone)
		least := svd.Values(nil)[n-1]
		if least < 1e-4 {
			continue
		}
		b := newBlocks(n, cols)
		if b == nil || !b.factor(vals) {
			t.Fatal("seed", seed, "no blocks")
		}
		if len(b.first)-1 != len(sizes) {
			t.Errorf("seed %d: %d blocks of %v", seed, len(b.first)-1, sizes)
		}
		tried++
		f, x := make([]float64, n), make([]float64, n)
		for i := range f {
			f[i] = 2*r.Float64() - 1
		}
		b.solve(f, x)
		var want mat.VecDense
		if err := want.SolveVec(dense, mat.NewVecDense(n, f)); err != nil {
			t.Fatal(err)
		}
		for i := range x {
			if math.Abs(x[i]-want.AtVec(i)) > 1e-9*mat.Norm(&want, 2) {
				t.Errorf("seed %d: J·x = f: x[%d] = %g, want %g", seed, i, x[i], want.AtVec(i))
			}
		}
		b.transposed(append([]float64(nil), f...), x)
		if err := want.SolveVec(dense.T(), mat.NewVecDense(n, f)); err != nil {
			t.Fatal(err)
		}
		for i := range x {
			if math.Abs(x[i]-want.AtVec(i)) > 1e-9*mat.Norm(&want, 2) {
				t.Errorf("seed %d: Jᵀ·y = g: y[%d] = %g, want %g", seed, i, x[i], want.AtVec(i))
			}
		}
		if got := b.weakest(); got < least*(1-1e-9) || got > 2*least {
			t.Errorf("seed %d: weakest %g, want about %g", seed, got, least)
		}
	}
	if tried < 100 {
		t.Error("only", tried, "tried")
	}
}

func TestBlocksRefuse(t *testing.T) {
	for name, cols := range map[string][][]int32{
		"not square":              {{0, 1}},
		"two rows for one column": {{0}, {0}, {0, 1, 2}},
		"a column in no row":      {{0, 1}, {0, 1}, {0, 1}},
	} {
		if newBlocks(3, cols) != nil {
			t.Error(name)
		}
	}
	b := newBlocks(2, [][]int32{{0, 1}, {0, 1}})
	if b.factor([][]float64{{1, 2}, {2, 4 + 1e-6}}) {
		t.Error("rows that nearly depend on each other are factored")
	}
	if !b.factor([][]float64{{1, 2}, {2, 4.1}}) {
		t.Error("rows that differ enough are refused")
	}
}

// What is constructed comes out as damped least squares find it.
func TestConstructed(t *testing.T) {
	for name, make := range map[string]func() *System{
		"strip":   func() *System { return strip(300, 0.2) },
		"grid":    func() *System { return grid(300) },
		"circles": func() *System { return circles(300) },
	} {
		u := &run{ctx: context.Background(), sys: make()}
		u.prepare()
		for _, p := range u.parts() {
			for _, q := range p.merge().subs {
				m := newModel(q, q.eqs)
				x, ok := m.construct(u.ctx, q.x0)
				if !ok || !m.placed {
					t.Fatal(name, "is not constructed")
				}
				m = newModel(q, q.eqs)
				m.divided = true // without blocks
				y, ok := m.descend(u.ctx, q.x0)
				if rank := m.analyse(y); !ok || rank.dof != 0 {
					t.Fatal(name, ok, rank.dof)
				}
				if d := maxDiff(x, y); d > 1e-8 {
					t.Errorf("%s: %g mm apart", name, d)
				}
			}
		}
	}
}
