package token

import (
	"strings"
	"testing"
)

func BenchmarkScan(b *testing.B) {
	line := "    line floor to b near (5mm, -6.25mm)   # the floor\n    distance(e, f) = 0.72 * lead + crown.radius\n"
	text := strings.Repeat(line, 1<<20/len(line))
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		Scan(text)
	}
}
