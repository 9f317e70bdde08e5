package compile_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"perch/compile"
)

// BenchmarkExample builds each example from its text to its meshes, with
// nothing remembered from before.
func BenchmarkExample(b *testing.B) {
	files, err := filepath.Glob("../examples/*.perch")
	if err != nil || len(files) == 0 {
		b.Fatal(err)
	}
	for _, f := range files {
		if _, err := os.Stat(f); err != nil {
			b.Fatal(err)
		}
		b.Run(filepath.Base(f), func(b *testing.B) {
			for b.Loop() {
				r, err := compile.New().Build(context.Background(), f, compile.Options{})
				if err != nil || r.Diags.HasErrors() {
					b.Fatal(err, r)
				}
			}
		})
	}
}

// BenchmarkChecks is all of `perch check` on each example: the part, its
// checks with every measurement shifted, and what is looked at unasked.
func BenchmarkChecks(b *testing.B) {
	files, err := filepath.Glob("../examples/*.perch")
	if err != nil || len(files) == 0 {
		b.Fatal(err)
	}
	for _, f := range files {
		b.Run(filepath.Base(f), func(b *testing.B) {
			for b.Loop() {
				r, err := compile.New().Build(context.Background(), f, compile.Options{Uncertainty: true, Standard: true})
				if err != nil || r.Diags.HasErrors() || len(r.Parts) == 0 || len(r.Parts[0].Standing) == 0 {
					b.Fatal(err, r)
				}
			}
		})
	}
}
