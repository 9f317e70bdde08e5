package solve

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"perch/compile/cputime"
)

// strip is a band of triangles given by the lengths of their sides, its first
// side held: as many equations as unknowns.
func strip(relations int, noise float64) *System {
	r := rand.New(rand.NewPCG(5, 6))
	n := (relations + 3) / 2
	var s System
	x, y := make([]float64, n), make([]float64, n)
	p := make([][2]*Expr, n)
	for i := range p {
		x[i], y[i] = 5*float64(i)+2*r.Float64(), 8*float64(i%2)+2*r.Float64()
		p[i] = point(&s, x[i]+noise*(2*r.Float64()-1), y[i]+noise*(2*r.Float64()-1))
	}
	side := func(i, j, origin int) {
		bar(&s, p[i], p[j], math.Hypot(x[j]-x[i], y[j]-y[i]), origin)
	}
	s.Require(Sub(p[0][0], Const(x[0])), 0)
	s.Require(Sub(p[0][1], Const(y[0])), 0)
	s.Require(Sub(p[1][1], Const(y[1])), 1)
	for i := 1; i < n; i++ {
		side(i-1, i, 2*i)
		if i > 1 {
			side(i-2, i, 2*i+1)
		}
	}
	return &s
}

func BenchmarkStrip(b *testing.B) {
	for _, n := range []int{100, 1000, 3000} {
		b.Run(fmt.Sprint(n, " relations"), func(b *testing.B) {
			began := cputime.Used()
			for b.Loop() {
				settled(b, strip(n, 0.2), 0)
			}
			b.ReportMetric((cputime.Used()-began).Seconds()*1e3/float64(b.N), "cpu-ms/op")
		})
	}
}

// cornersOf starts a drawing with the corners of a net of squares, k by k, a
// little off their places; the lower left one and the direction of the first
// side are held.
func cornersOf(k int, r *rand.Rand) (*System, [][2]*Expr) {
	s, p := &System{}, make([][2]*Expr, k*k)
	for i := range p {
		p[i] = point(s, 10*float64(i%k)+0.2*r.Float64(), 10*float64(i/k)+0.2*r.Float64())
	}
	s.Require(p[0][0], 0)
	s.Require(p[0][1], 0)
	s.Require(p[1][1], 1)
	return s, p
}

// grid is a net of squares given by their sides and one diagonal each, its
// lower left corner and the direction of its first side held.
func grid(relations int) *System {
	r := rand.New(rand.NewPCG(7, 8))
	k := max(2, int(math.Sqrt(float64(relations)/3)))
	s, p := cornersOf(k, r)
	// Two sides or diagonals for each further corner pin the net.
	n := 2
	tie := func(i, j int, l float64) {
		bar(s, p[i], p[j], l, n)
		n++
	}
	for i := 1; i < k*k; i++ {
		x, y := i%k, i/k
		switch {
		case y == 0 && x == 1:
			tie(0, 1, 10)
		case y == 0: // along the first row, held by its height
			tie(i-1, i, 10)
			s.Require(p[i][1], n)
			n++
		case x == 0:
			tie(i-k, i, 10)
			tie(i-k+1, i, 10*math.Sqrt2)
		default:
			tie(i-k, i, 10)
			tie(i-1, i, 10)
		}
	}
	return s
}

// circles is a row of circles, each touching the one before and a common
// line, with given radii: where each lies follows.
func circles(relations int) *System {
	var s System
	r := rand.New(rand.NewPCG(9, 10))
	n := max(2, relations/2)
	x := 0.0
	var before [2]*Expr
	for i := range n {
		radius := 3 + float64(i%4)
		if i > 0 {
			was := 3 + float64((i-1)%4)
			x += 2 * math.Sqrt(radius*was) // two circles that touch on a line
		}
		c := point(&s, x+0.3*r.Float64(), radius+0.3*r.Float64())
		s.Require(Sub(c[1], Const(radius)), 2*i)
		if i == 0 {
			s.Require(c[0], 1)
		} else {
			bar(&s, before, c, radius+3+float64((i-1)%4), 2*i+1)
		}
		before = c
	}
	return &s
}

// chain is so many bars, each hinged to the one before, the first end held.
func chain(bars int) *System {
	var s System
	p := point(&s, 0, 0)
	s.Require(p[0], 0)
	s.Require(p[1], 0)
	for i := range bars {
		q := point(&s, 9*float64(i+1), 3*float64(i%2))
		bar(&s, p, q, 10, i+1)
		p = q
	}
	return &s
}

func settled(b *testing.B, s *System, dof int) {
	b.Helper()
	r, err := s.Solve(context.Background())
	if err != nil || !r.Solved || r.DOF != dof {
		b.Fatal(err, r.Solved, r.DOF)
	}
}

// braced is a net of squares of which all sides are given, stiffened by the
// diagonals of squares that join its rows and columns to one tree at random
// (E. Bolker and H. Crapo, "Bracing rectangular frameworks I", SIAM Journal on
// Applied Mathematics 36 (1979) 473-490): rigid, with no bar too many, and
// without an order in which one corner could be placed after the other.
func braced(relations int) *System {
	r := rand.New(rand.NewPCG(11, 12))
	k := max(3, int(math.Sqrt(float64(relations)/2)))
	s, p := cornersOf(k, r)
	n := 2
	tie := func(i, j int, l float64) {
		bar(s, p[i], p[j], l, n)
		n++
	}
	for i := range p {
		if i%k > 0 {
			tie(i-1, i, 10)
		}
		if i/k > 0 {
			tie(i-k, i, 10)
		}
	}
	// Rows and columns of squares join the tree one by one.
	rows, columns := r.Perm(k-1), r.Perm(k-1)
	for i := 1; i < 2*(k-1); i++ {
		row, column := rows[min(i/2, k-2)], columns[min((i-1)/2, k-2)]
		if i > 1 && i%2 == 0 {
			column = columns[r.IntN(i/2)]
		} else if i > 1 {
			row = rows[r.IntN(i/2+1)]
		}
		at := row*k + column
		tie(at, at+k+1, 10*math.Sqrt2)
	}
	return s
}

// loose is a strip that nothing holds in the plane.
func loose(relations int) *System {
	s := strip(relations+3, 0.2)
	s.eqs = s.eqs[3:]
	return s
}

// BenchmarkGrowth fits the exponent with which the processor time to build,
// solve and judge a drawing grows with the number of its relations.
func BenchmarkGrowth(b *testing.B) {
	for _, f := range []struct {
		name string
		make func(n int) *System
		dof  int
	}{
		{"strips", func(n int) *System { return strip(n, 0.2) }, 0},
		{"loose strips", loose, 3},
		{"grids", grid, 0},
		{"braced grids", braced, 0},
		{"tangent circles", circles, 0},
	} {
		b.Run(f.name, func(b *testing.B) {
			g := cputime.Growth{Sizes: []int{300, 600, 1200, 2400, 4800}, Run: func(n int) { settled(b, f.make(n), f.dof) }}
			for b.Loop() {
				g.Measure()
			}
			b.ReportMetric(g.Exponent(), "exponent")
			b.ReportMetric(1e3*g.Largest(), "largest-cpu-ms")
		})
	}
}

// BenchmarkChain: a chain of 1,000 bars keeps 1,000 freedoms; the nearest of
// its shapes is looked for.
func BenchmarkChain(b *testing.B) {
	began := cputime.Used()
	for b.Loop() {
		settled(b, chain(1000), 1000)
	}
	b.ReportMetric((cputime.Used()-began).Seconds()*1e3/float64(b.N), "cpu-ms/op")
}

// BenchmarkBesideDense solves the same strip by Newton's method on gonum's
// dense LU decomposition, with its dense singular values for the degrees of
// freedom, and reports how many times as long that takes.
func BenchmarkBesideDense(b *testing.B) {
	for _, n := range []int{101, 301} {
		b.Run(fmt.Sprint(n, " relations"), func(b *testing.B) {
			ours, dense := math.Inf(1), math.Inf(1)
			for b.Loop() {
				s := strip(n, 0.2)
				began := time.Now()
				settled(b, s, 0)
				ours = min(ours, time.Since(began).Seconds())
				s = strip(n, 0.2)
				began = time.Now()
				if rank := denseRank(b, s); rank != s.Vars() {
					b.Fatal(rank, s.Vars())
				}
				dense = min(dense, time.Since(began).Seconds())
			}
			b.ReportMetric(dense/ours, "dense/ours")
		})
	}
}

// denseRank solves a square system and returns the rank of its Jacobian.
func denseRank(b *testing.B, s *System) int {
	n := s.Vars()
	x := append([]float64(nil), s.starts...)
	j := mat.NewDense(len(s.eqs), n, nil)
	tapes := make([]*tape, len(s.eqs))
	for i, e := range s.eqs {
		tapes[i] = newTape(e.residual)
	}
	for range 50 {
		f := mat.NewVecDense(len(s.eqs), nil)
		j.Zero()
		for i, t := range tapes {
			g := make([]float64, len(t.vars))
			f.SetVec(i, -t.gradient(x, g))
			for k, v := range t.vars {
				j.Set(i, int(v), g[k])
			}
		}
		var step mat.VecDense
		if err := step.SolveVec(j, f); err != nil {
			b.Fatal(err)
		}
		for i := range x {
			x[i] += step.AtVec(i)
		}
		if mat.Norm(&step, math.Inf(1)) < stepGoal*10 {
			break
		}
	}
	var svd mat.SVD
	svd.Factorize(j, mat.SVDNone)
	return svd.Rank(1e-9)
}

// variable returns a variable by its number.
func variable(v int) *Expr { return &Expr{op: opVar, v: int32(v)} }

const lastLine = 10_000

// tooLong is a strip with one bar more between two points so many apart, which
// is so many mm longer than the way between them.
func tooLong(relations, from, apart int, by float64) *System {
	s := strip(relations, 0.2)
	at := func(i int) [2]*Expr { return [2]*Expr{variable(2 * i), variable(2*i + 1)} }
	p, q := at(from), at(from+apart)
	l := math.Hypot(s.Start(p[0])-s.Start(q[0]), s.Start(p[1])-s.Start(q[1]))
	bar(s, p, q, l+by, lastLine)
	return s
}

// BenchmarkTold is the processor time to find and tell that one bar of a strip
// is too long: for the few that settle its length, or for all of them.
func BenchmarkTold(b *testing.B) {
	for _, f := range []struct {
		relations, apart int
		by               float64
	}{{60, 3, 30}, {300, 3, 30}, {1000, 3, 30}, {60, 30, 3}, {100, 50, 3}, {300, 150, 3}, {60, 30, 30}} {
		b.Run(fmt.Sprint(f.relations, " relations, ", f.apart, " apart, by ", f.by), func(b *testing.B) {
			began := cputime.Used()
			for b.Loop() {
				s := tooLong(f.relations, (f.relations/2-f.apart)/2, f.apart, f.by)
				r, err := s.Solve(context.Background())
				if err != nil || len(r.Conflicts) != 1 {
					b.Fatal(err, r)
				}
				b.ReportMetric(float64(len(r.Conflicts[0].Origins)), "lines")
			}
			b.ReportMetric((cputime.Used()-began).Seconds()*1e3/float64(b.N), "cpu-ms/op")
		})
	}
}
