package eval

import (
	"context"
	"os"
	"testing"

	"perch/lang/parse"
	"perch/lang/source"
)

// BenchmarkRun evaluates the comb: its measures, its sketches solved, its body
// described; nothing is built.
func BenchmarkRun(b *testing.B) {
	text, err := os.ReadFile("../../examples/comb.perch")
	if err != nil {
		b.Fatal(err)
	}
	f, _ := parse.File(source.New("comb.perch", string(text)))
	m := &Module{File: f, Uses: uses(b, f)}
	for b.Loop() {
		if r, err := Run(context.Background(), m, Options{}); err != nil || len(r.Parts) != 1 {
			b.Fatal(err)
		}
	}
}
