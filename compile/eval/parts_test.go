package eval

import (
	"os"
	"path/filepath"
	"testing"
)

// Every example evaluates in all its sizes without a word, its parts are one
// piece each, and all its checks hold.
func TestEveryExample(t *testing.T) {
	paths, err := filepath.Glob("../../examples/*.perch")
	if err != nil || len(paths) < 4 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			r := library(t, string(text), Options{AllSizes: true})
			if len(r.Diags) > 0 {
				t.Fatal(listed(r.Diags))
			}
			if len(r.Parts) < 3 {
				t.Errorf("%d parts, want the base size and two more", len(r.Parts))
			}
			if _, late := built(t, r); len(late) > 0 {
				t.Error(listed(late))
			}
			if len(r.Measures) == 0 {
				t.Error("nothing is measured")
			}
			for _, p := range r.Parts {
				if p.Assumed || len(p.Checks) < 4 {
					t.Errorf("%s %s: material assumed %v, %d checks", p.Name, p.Size, p.Assumed, len(p.Checks))
				}
			}
		})
	}
}
