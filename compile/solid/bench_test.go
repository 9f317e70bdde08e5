package solid

import (
	"context"
	"math"
	"runtime"
	"testing"
	"time"

	"perch/compile/cputime"
)

// The cases of cases_test.go, built whole: from the expression to the mesh.
func BenchmarkBuild(b *testing.B) {
	for _, c := range []struct {
		name string
		body *Body
	}{
		{"A", caseA()}, {"A2", caseA2()}, {"B", caseB()},
		{"C", casePlate(20, -1, 5)}, {"C2", casePlate(20, 0, 4)},
		{"D", caseD()}, {"D2", caseD().Placed(turnZ(37))}, {"E", caseE()},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			var st Stats
			for b.Loop() {
				var err error
				if _, st, err = BuildStats(context.Background(), c.body, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(st.Exact), "exact/op")
		})
	}
}

// BenchmarkPlate shows how cost grows with the number of holes: power is the
// exponent of the number of holes that fits the processor time best (least
// squares of the logarithms, the best of five builds each), ms/plate that of the
// largest plate, and B/tri what a kept build holds in memory.
func BenchmarkPlate(b *testing.B) {
	sizes := []int{10, 20, 40, 80}
	var x, y []float64
	for b.Loop() {
		x, y = nil, nil
		for _, n := range sizes {
			body, best := casePlate(n, -1, 5), math.Inf(1)
			for range 5 {
				runtime.GC()
				start := cputime.Used()
				if _, err := Build(context.Background(), body, Options{}); err != nil {
					b.Fatal(err)
				}
				best = min(best, (cputime.Used() - start).Seconds())
			}
			b.Logf("%d x %d holes: %.1f ms", n, n, 1000*best)
			x, y = append(x, math.Log(float64(n*n))), append(y, math.Log(best))
		}
	}
	b.ReportMetric(slope(x, y), "power")
	b.ReportMetric(1000*math.Exp(y[len(y)-1]), "ms/plate")
	c := NewCache(1 << 30)
	m, err := c.Build(context.Background(), "a", casePlate(10, -1, 5), Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(c.kept[0].bytes)/float64(len(m.Triangles)), "B/tri")
}

// slope returns that of the line that fits points best.
func slope(x, y []float64) float64 {
	n, sx, sy, sxx, sxy := float64(len(x)), 0.0, 0.0, 0.0, 0.0
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

// timeOf returns the median of the seconds that five calls take.
func timeOf(do func()) float64 {
	var times []float64
	for range 5 {
		start := time.Now()
		do()
		times = append(times, time.Since(start).Seconds())
	}
	return median(times)
}
