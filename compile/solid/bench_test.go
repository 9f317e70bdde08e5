package solid

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"
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
// exponent between the smallest and the largest plate, and B/tri what a kept
// build holds in memory.
func BenchmarkPlate(b *testing.B) {
	var first float64
	for _, n := range []int{10, 20, 40, 80} {
		body := casePlate(n, -1, 5)
		b.Run(fmt.Sprintf("%dx%d", n, n), func(b *testing.B) {
			for b.Loop() {
				if _, err := Build(context.Background(), body, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			seconds := b.Elapsed().Seconds() / float64(b.N)
			if n == 10 {
				first = seconds
				c := NewCache(1 << 30)
				m, err := c.Build(context.Background(), "a", body, Options{})
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(c.kept[0].bytes)/float64(len(m.Triangles)), "B/tri")
				return
			}
			b.ReportMetric(math.Log(seconds/first)/math.Log(float64(n*n)/100), "power")
		})
	}
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
