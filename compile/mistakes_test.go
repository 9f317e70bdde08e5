package compile_test

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"perch/compile"
	"perch/lang/diag"
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

// A slip of one word in a part file is one cause: of slips at random places of
// the examples nearly all are told of in one message. What is left are words
// that read as something else, and braces.
func TestOneCauseOneMessage(t *testing.T) {
	paths, err := filepath.Glob("../examples/*.perch")
	if err != nil || len(paths) < 5 {
		t.Fatal(paths, err)
	}
	word := regexp.MustCompile(`"[^"\n]*"|#[^\n]*|[A-Za-z_]\w*|\d+(\.\d+)?[\w^/]*|\S`)
	random := rand.New(rand.NewPCG(1, 2))
	told, several := 0, 0
	for range 300 {
		path := paths[random.IntN(len(paths))]
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		all := word.FindAllIndex(b, -1)
		at := all[random.IntN(len(all))]
		was, now := string(b[at[0]:at[1]]), ""
		switch other := all[random.IntN(len(all))]; random.IntN(3) {
		case 0:
			now = was + " " + was
		case 1:
			now = string(b[other[0]:other[1]])
		}
		if was[0] == '#' || now == was {
			continue
		}
		session := compile.New()
		session.Set(path, string(b[:at[0]])+now+string(b[at[1]:]))
		r, err := session.Inspect(context.Background(), path, compile.Options{})
		if err != nil {
			t.Fatal(err)
		}
		errors := 0
		for _, d := range r.Diags {
			if d.Severity == diag.Error {
				errors++
			}
		}
		if errors > 0 {
			told++
		}
		if errors > 1 {
			several++
		}
	}
	if told < 150 || 100*several > 7*told {
		t.Errorf("%d of %d slips are told of more than once", several, told)
	}
	t.Logf("%d of %d slips are told of more than once", several, told)
}
