package solve

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
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
			for b.Loop() {
				r, err := strip(n, 0.2).Solve(context.Background())
				if err != nil || !r.Solved || r.DOF != 0 {
					b.Fatal(err, r.Solved, r.DOF)
				}
			}
		})
	}
}
