package solid

import (
	"context"
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

// BenchmarkPlate shows how cost grows with the number of holes.
func BenchmarkPlate(b *testing.B) {
	for _, n := range []int{10, 20, 40} {
		body := casePlate(n, -1, 5)
		b.Run(string(rune('0'+n/10))+"0x"+string(rune('0'+n/10))+"0", func(b *testing.B) {
			for b.Loop() {
				if _, err := Build(context.Background(), body, Options{}); err != nil {
					b.Fatal(err)
				}
			}
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
