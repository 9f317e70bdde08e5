package solve

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestDerivatives compares the derivative of every operation with central
// differences.
func TestDerivatives(t *testing.T) {
	var s System
	x, y := s.Var(0.3), s.Var(0.7)
	for _, c := range []struct {
		name string
		e    *Expr
	}{
		{"add", Add(x, y)}, {"sub", Sub(x, y)}, {"mul", Mul(x, y)}, {"div", Div(x, y)}, {"neg", Neg(x)},
		{"pow", Pow(x, 3)}, {"root", Pow(y, 0.5)}, {"sqrt", Sqrt(x)}, {"sin", Sin(x)}, {"cos", Cos(x)}, {"tan", Tan(x)},
		{"asin", Asin(x)}, {"acos", Acos(y)}, {"atan2", Atan2(x, y)}, {"atan2 behind", Atan2(x, Neg(y))},
		{"hypot", Hypot(x, y)}, {"abs", Abs(Neg(x))}, {"min", Min(x, y)}, {"max", Max(x, y)}, {"wrap", Wrap(Scale(20, x))},
		{"less", Sub(Sin(x), Const(2))}, {"diff twice", Mul(Sub(x, y), Sub(y, x))},
		{"shared", Mul(Add(Mul(x, y), Sin(x)), Div(Add(Mul(x, y), Sin(x)), Hypot(x, Const(2))))},
	} {
		for _, at := range [][]float64{{0.3, 0.7}, {0.55, 0.21}, {0.9, 0.95}} {
			tp := newTape(c.e)
			g := make([]float64, len(tp.vars))
			v := tp.gradient(at, g)
			if w := c.e.Eval(at); math.Abs(v-w) > 1e-15*math.Max(1, math.Abs(w)) {
				t.Errorf("%s: tape gives %v, walk %v", c.name, v, w)
			}
			for i, k := range tp.vars {
				const h = 1e-6
				up, down := append([]float64(nil), at...), append([]float64(nil), at...)
				up[k] += h
				down[k] -= h
				want := (tp.value(up) - tp.value(down)) / (2 * h)
				if math.Abs(g[i]-want) > 1e-7*math.Max(1, math.Abs(want)) {
					t.Errorf("%s at %v by variable %d: %v, differences give %v", c.name, at, k, g[i], want)
				}
			}
		}
	}
}

// TestFactor compares the sparse factorisation with gonum's dense Cholesky
// on random sparse matrices.
func TestFactor(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		n, m := 1+r.IntN(30), 1+r.IntN(40)
		var cols [][]int32
		var vals [][]float64
		for range m {
			seen := map[int32]bool{}
			var c []int32
			for range 1 + r.IntN(4) {
				if v := int32(r.IntN(n)); !seen[v] {
					seen[v] = true
					c = append(c, v)
				}
			}
			v := make([]float64, len(c))
			for i := range v {
				v[i] = r.NormFloat64()
			}
			cols, vals = append(cols, c), append(vals, v)
		}
		const mu = 0.01
		f := newFactor(n, cols)
		f.load(vals)
		f.decompose(mu)
		b := make([]float64, n)
		for i := range b {
			b[i] = r.NormFloat64()
		}
		x := append([]float64(nil), b...)
		f.solve(x)

		a := mat.NewSymDense(n, nil)
		for i := range n {
			a.SetSym(i, i, mu)
		}
		for k, c := range cols {
			for i, p := range c {
				for j, q := range c {
					if p <= q {
						a.SetSym(int(p), int(q), a.At(int(p), int(q))+vals[k][i]*vals[k][j])
					}
				}
			}
		}
		var ch mat.Cholesky
		if !ch.Factorize(a) {
			t.Fatal("not positive definite")
		}
		var want mat.VecDense
		if err := ch.SolveVecTo(&want, mat.NewVecDense(n, b)); err != nil {
			t.Fatal(err)
		}
		for i := range x {
			if math.Abs(x[i]-want.AtVec(i)) > 1e-9*math.Max(1, math.Abs(want.AtVec(i))) {
				t.Fatalf("x[%d] = %v, dense gives %v", i, x[i], want.AtVec(i))
			}
		}
	}
}

// bar demands a distance between two points of (x, y) pairs.
func bar(s *System, p, q [2]*Expr, length float64, origin int) {
	s.Require(Sub(Hypot(Sub(q[0], p[0]), Sub(q[1], p[1])), Const(length)), origin)
}

func point(s *System, x, y float64) [2]*Expr { return [2]*Expr{s.Var(x), s.Var(y)} }

func solved(t *testing.T, s *System) *Result {
	t.Helper()
	r, err := s.Solve(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestTriangles: Euclid I.20 and I.22: three bars close to a triangle only
// if each is shorter than the other two together.
func TestTriangles(t *testing.T) {
	triangle := func(ab, bc, ca float64) *System {
		var s System
		a, b, c := [2]*Expr{Const(0), Const(0)}, point(&s, 9, 1), point(&s, 3, 7)
		bar(&s, a, b, ab, 0)
		bar(&s, b, c, bc, 1)
		bar(&s, c, a, ca, 2)
		return &s
	}
	if r := solved(t, triangle(10, 8, 6)); !r.Solved || r.DOF != 1 || len(r.Redundant) != 0 {
		t.Errorf("10, 8, 6: %+v", r)
	}
	r := solved(t, triangle(3, 4, 10))
	if r.Solved || len(r.Conflicts) != 1 || len(r.Conflicts[0].Origins) != 3 || r.Conflicts[0].Latest != 2 {
		t.Fatalf("3, 4, 10: %+v", r.Conflicts)
	}
	if math.Abs(r.Conflicts[0].Miss-3) > 0.01 {
		t.Errorf("3, 4, 10 misses by %v, want 3", r.Conflicts[0].Miss)
	}
}

// TestNumbersThatAreNot: starts and equations without a value end in a
// conflict, not in a loop or a panic.
func TestNumbersThatAreNot(t *testing.T) {
	for _, e := range []func(x *Expr) *Expr{
		func(x *Expr) *Expr { return Sqrt(Sub(Const(-1), Mul(x, x))) },
		func(x *Expr) *Expr { return Sub(Div(Const(1), x), Const(math.Inf(1))) },
		func(x *Expr) *Expr { return Sub(Asin(Const(2)), x) },
	} {
		var s System
		x := s.Var(1)
		s.Require(e(x), 7)
		if r := solved(t, &s); r.Solved || len(r.Conflicts) != 1 || r.Conflicts[0].Latest != 7 {
			t.Errorf("%v: %+v", e(x), r)
		}
	}
}

func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	var s System
	x := s.Var(1)
	s.Require(Sub(Mul(x, x), Const(2)), 0)
	if _, err := s.Solve(ctx); err == nil {
		t.Error("a stopped solution has no error")
	}
}

// TestLimits: solutions that just exist are found to full accuracy and do
// not count as free, nor does what holds them as idle.
func TestLimits(t *testing.T) {
	origin := [2]*Expr{Const(0), Const(0)}
	// Euclid I.20 at its limit: 7 = 4 + 3 lies flat.
	var flat System
	b, c := [2]*Expr{flat.Var(9), Const(0)}, point(&flat, 3, 7)
	bar(&flat, origin, b, 7, 0)
	bar(&flat, b, c, 4, 1)
	bar(&flat, c, origin, 3, 2)
	// The point where a circle touches a line, as a point of both; Euclid III.18.
	var touch System
	r, p := touch.Var(9), point(&touch, 17, 12)
	line := func(q [2]*Expr) *Expr { return Sub(Scale(0.8, q[1]), Scale(0.6, q[0])) } // along (0.8, 0.6)
	centre := [2]*Expr{touch.Var(11), touch.Var(19)}
	bar(&touch, origin, centre, 25, 0)
	touch.Require(Sub(line(centre), r), 1)
	touch.Require(Sub(r, Const(10)), 2)
	touch.Require(line(p), 3)
	touch.Require(Sub(Hypot(Sub(p[0], centre[0]), Sub(p[1], centre[1])), r), 4)
	foot := math.Sqrt(25*25 - 10*10)
	for _, k := range []struct {
		s    *System
		p    [2]*Expr
		x, y float64
	}{{&flat, c, 3, 0}, {&touch, p, 0.8 * foot, 0.6 * foot}} {
		res := solved(t, k.s)
		x, y := res.Value(k.p[0]), res.Value(k.p[1])
		if !res.Solved || res.DOF != 0 || len(res.Limits) != 1 || len(res.Redundant) != 0 || math.Hypot(x-k.x, y-k.y) > 1e-9 {
			t.Errorf("(%.12f, %.12f), want (%.12f, %.12f); %+v", x, y, k.x, k.y, res)
		}
	}
}
