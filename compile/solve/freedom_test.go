package solve

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// randomModel is a model whose equations are linear, rows of them sums of
// others, so that its rank is less than it looks.
func randomModel(r *rand.Rand) *model {
	var s System
	n := 2 + r.IntN(25)
	for range n {
		s.Var(0)
	}
	var rows []*Expr
	for i := range 1 + r.IntN(2*n) {
		e := Const(0)
		if len(rows) > 2 && r.IntN(4) == 0 {
			e = Add(Scale(float64(1+r.IntN(3)), rows[r.IntN(len(rows))]), Scale(float64(-1-r.IntN(3)), rows[r.IntN(len(rows))]))
		} else {
			for range 1 + r.IntN(4) {
				e = Add(e, Scale(float64(1+r.IntN(3)), variable(r.IntN(n))))
			}
		}
		rows = append(rows, e)
		s.Require(e, i)
	}
	u := &run{ctx: context.Background(), sys: &s}
	p := &part{run: u, at: make([]int32, n), size: 1}
	for v := range n {
		p.at[v] = int32(v)
		p.vars, p.x0 = append(p.vars, int32(v)), append(p.x0, 0)
	}
	for i, e := range s.eqs {
		u.eqs = append(u.eqs, runEquation{newTape(e.residual), 1, e.origin})
		p.eqs = append(p.eqs, i)
	}
	return newModel(p, p.eqs)
}

func denseRows(m *model, skip []int) *mat.Dense {
	a := mat.NewDense(len(m.eqs), len(m.part.vars), nil)
	for i := range m.eqs {
		if slices.Contains(skip, i) {
			continue
		}
		r := m.unitRow(i)
		for j, v := range r.cols {
			a.Set(i, int(v), r.vals[j])
		}
	}
	return a
}

func rankOf(t *testing.T, a *mat.Dense) int {
	t.Helper()
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDNone) {
		t.Fatal("no singular values")
	}
	k := 0
	for _, s := range svd.Values(nil) {
		if s > 1e-6 {
			k++
		}
	}
	return k
}

// TestRank compares what is free and what is idle with the singular values
// that gonum finds.
func TestRank(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for n := range 500 {
		m := randomModel(r)
		x := make([]float64, len(m.part.vars))
		k := m.analyse(x)
		if want := len(x) - rankOf(t, denseRows(m, nil)); k.dof != want {
			t.Fatalf("case %d: %d free, singular values say %d", n, k.dof, want)
		}
		for _, z := range k.motions {
			for i := range m.eqs {
				row, d := m.unitRow(i), 0.0
				for j, v := range row.cols {
					d += row.vals[j] * z[v]
				}
				if math.Abs(d) > 1e-6 {
					t.Fatalf("case %d: equation %d resists a free motion by %g", n, i, d)
				}
			}
		}
		for _, idle := range k.idle {
			on, off := k.t.combination(idle)
			if off > 1e-9 {
				t.Fatalf("case %d: row %d is a combination of %v only to %g", n, idle.id, on, off)
			}
			// the rows named, and no fewer, span the idle one
			var others []int
			for i := range m.eqs {
				if !slices.Contains(on, i) {
					others = append(others, i)
				}
			}
			without := rankOf(t, denseRows(m, others))
			self := slices.DeleteFunc(slices.Clone(others), func(i int) bool { return i == idle.id })
			if with := rankOf(t, denseRows(m, self)); without != len(on) || with != without {
				t.Fatalf("case %d: row %d does not depend on just %v (rank %d, %d with it)", n, idle.id, on, without, with)
			}
		}
	}
}

// TestStrips: what one line too many or too few does to a large drawing.
func TestStrips(t *testing.T) {
	for _, n := range []int{40, 400, 3000} {
		s := strip(n, 0.2)
		half := len(s.eqs) / 2
		if r := solved(t, s); !r.Solved || r.DOF != 0 || len(r.Redundant) != 0 || missOf(s, r) > Accepted {
			t.Errorf("%d relations: %v, %d free, %d idle, off by %g", n, r.Solved, r.DOF, len(r.Redundant), missOf(s, r))
		}
		s.Require(s.eqs[half].residual, 9999)
		r := solved(t, s)
		if len(r.Redundant) != 1 || r.Redundant[0].Origin != 9999 || !slices.Equal(r.Redundant[0].From, []int{s.eqs[half].origin}) {
			t.Errorf("%d relations and one written twice: %+v", n, r.Redundant)
		}
		s.eqs = slices.Delete(s.eqs, 0, 3) // let the first side go
		if r := solved(t, s); !r.Solved || r.DOF != 3 || len(r.Redundant) != 1 {
			t.Errorf("%d relations, loose: %v, %d free, %d idle", n, r.Solved, r.DOF, len(r.Redundant))
		}
		last := &s.eqs[len(s.eqs)-1]
		last.residual = Sub(last.residual, Const(0.3))
		r = solved(t, s)
		if len(r.Conflicts) != 1 || !slices.Equal(r.Conflicts[0].Origins, []int{s.eqs[half-3].origin, 9999}) || math.Abs(r.Conflicts[0].Miss-0.3) > 1e-6 {
			t.Errorf("%d relations and one changed: %+v", n, r.Conflicts)
		}
	}
}

func missOf(s *System, r *Result) float64 {
	worst := 0.0
	for _, e := range s.eqs {
		worst = math.Max(worst, math.Abs(r.Value(e.residual)))
	}
	return worst
}

// TestChain: a chain of bars has as many freedoms as bars, and two more.
func TestChain(t *testing.T) {
	var s System
	p := point(&s, 0, 0)
	for i := range 400 {
		q := point(&s, 3*float64(i+1), float64(i%7))
		bar(&s, p, q, 4, i)
		p = q
	}
	r := solved(t, &s)
	if !r.Solved || r.DOF != 402 || len(r.Freedoms) != MaxFreedoms || missOf(&s, r) > Accepted {
		t.Errorf("%v, %d free, %d told of, off by %g", r.Solved, r.DOF, len(r.Freedoms), missOf(&s, r))
	}
}

// TestManyFree: of the shapes of a chain with far more freedoms than are
// listed the nearest is found: the way back to the start is one that the
// equations resist altogether (gonum's least squares leave nothing of it).
func TestManyFree(t *testing.T) {
	s := chain(60)
	r := solved(t, s)
	if r.DOF != 60 {
		t.Fatalf("%d free", r.DOF)
	}
	n := s.Vars()
	jt := mat.NewDense(n, len(s.eqs), nil)
	way := mat.NewVecDense(n, nil)
	for i := range s.eqs {
		for k, g := range s.Gradient(i, r.Values) {
			jt.Set(k, i, g)
		}
	}
	for k := range n {
		way.SetVec(k, s.starts[k]-r.Values[k])
	}
	var weights, rest mat.VecDense
	if err := weights.SolveVec(jt, way); err != nil {
		t.Fatal(err)
	}
	rest.MulVec(jt, &weights)
	rest.SubVec(way, &rest)
	if far := mat.Norm(&rest, math.Inf(1)); far > 1e-9 {
		t.Errorf("the start lies %g mm along what is free", far)
	}
}
