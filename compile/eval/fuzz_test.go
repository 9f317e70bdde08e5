package eval

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"perch/lang/parse"
	"perch/lang/source"
)

// FuzzRun evaluates any text that parses. Whatever it says, there is no panic,
// and a part comes out or a message.
func FuzzRun(f *testing.F) {
	for _, pattern := range []string{"../../examples/*.perch", "../../testdata/eval/*.txtar", "../../stdlib/*.perch"} {
		paths, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, path := range paths {
			text, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(text))
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		file, faults := parse.File(source.New("part.perch", text))
		r, err := Run(context.Background(), &Module{File: file, Uses: uses(t, file)}, Options{AllSizes: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Parts) == 0 && len(r.Diags) == 0 && len(faults) == 0 {
			t.Error("nothing came out and nothing was said")
		}
	})
}
