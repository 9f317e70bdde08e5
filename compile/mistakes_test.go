package compile_test

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"perch/compile"
	"perch/lang/diag/render"
)

var update = flag.Bool("update", false, "rewrite the golden cases")

// TestMistakes shows what typical mistakes of makers are answered with. Each
// case must be told of once: one cause, one message.
func TestMistakes(t *testing.T) {
	paths, err := filepath.Glob("../testdata/mistakes/*.txtar")
	if err != nil || len(paths) < 30 {
		t.Fatalf("%d cases: %v", len(paths), err)
	}
	for _, path := range paths {
		a, err := txtar.ParseFile(path)
		if err != nil || len(a.Files) != 2 {
			t.Fatalf("%s: want two files: %v", path, err)
		}
		session := compile.New()
		session.Set("part.perch", string(a.Files[0].Data))
		r, err := session.Build(context.Background(), "part.perch", compile.Options{AllSizes: true})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := render.Text(&b, r.Diags, render.Options{}); err != nil {
			t.Fatal(err)
		}
		if len(r.Diags) != 1 {
			t.Errorf("%s: %d messages\n%s", path, len(r.Diags), b.String())
		}
		switch {
		case b.String() == string(a.Files[1].Data):
		case *update:
			a.Files[1].Data = b.Bytes()
			if err := os.WriteFile(path, txtar.Format(a), 0o666); err != nil {
				t.Fatal(err)
			}
		default:
			t.Errorf("%s: got\n%s", path, b.String())
		}
	}
}
