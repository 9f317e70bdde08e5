// Package golden runs test cases that are kept as files: one txtar archive
// holds the input of a case and what must come out of it, each under a section
// name. Run the tests with -update to write the outputs anew; read the
// difference before keeping it.
package golden

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

var update = flag.Bool("update", false, "write the golden sections of testdata anew")

// Case is one archive. Its inputs are the sections that no output claims.
type Case struct {
	t       *testing.T
	path    string
	archive *txtar.Archive
	claimed map[string]bool
	update  bool
	changed bool
	wrong   []string // what differs
}

// Run runs check as a subtest for every archive that matches pattern. It fails
// when there is none.
//
// A section that is neither read with Input nor checked with Output is stale
// and fails the case; with -update it is taken out.
func Run(t *testing.T, pattern string, check func(t *testing.T, c *Case)) {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	if len(paths) == 0 {
		t.Fatalf("no case matches %s", pattern)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			archive, err := txtar.ParseFile(path)
			if err != nil {
				t.Fatal(err)
			}
			c := newCase(t, path, archive, *update)
			check(t, c)
			c.finish()
			for _, w := range c.wrong {
				t.Error(w)
			}
			if *update && c.changed {
				if err := os.WriteFile(path, txtar.Format(c.archive), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}

func newCase(t *testing.T, path string, archive *txtar.Archive, update bool) *Case {
	return &Case{t: t, path: path, archive: archive, claimed: map[string]bool{}, update: update}
}

// Input returns the text of a section; the case fails when it is missing.
func (c *Case) Input(name string) string {
	c.t.Helper()
	c.claimed[name] = true
	for _, f := range c.archive.Files {
		if f.Name == name {
			return string(f.Data)
		}
	}
	c.t.Fatalf("%s has no section %s", c.path, name)
	return ""
}

// Output checks that section name holds got. An empty got wants no section.
func (c *Case) Output(name, got string) {
	c.claimed[name] = true
	if got != "" && got[len(got)-1] != '\n' {
		got += "\n"
	}
	i := slices.IndexFunc(c.archive.Files, func(f txtar.File) bool { return f.Name == name })
	want := ""
	if i >= 0 {
		want = string(c.archive.Files[i].Data)
	}
	switch {
	case want == got && (i >= 0) == (got != ""):
	case !c.update:
		c.wrong = append(c.wrong, fmt.Sprintf("section %s of %s differs (run with -update to accept)\n--- want\n%s--- got\n%s", name, c.path, want, got))
	default:
		c.changed = true
		c.set(i, name, got)
	}
}

// set writes section i, or appends it when i is negative; an empty one goes.
func (c *Case) set(i int, name, text string) {
	switch {
	case text == "":
		c.archive.Files = slices.Delete(c.archive.Files, i, i+1)
	case i < 0:
		c.archive.Files = append(c.archive.Files, txtar.File{Name: name, Data: []byte(text)})
	default:
		c.archive.Files[i].Data = []byte(text)
	}
}

// finish looks for stale sections.
func (c *Case) finish() {
	kept := c.archive.Files[:0:0]
	for _, f := range c.archive.Files {
		if c.claimed[f.Name] {
			kept = append(kept, f)
		} else if !c.update {
			c.wrong = append(c.wrong, fmt.Sprintf("section %s of %s is stale: nothing reads or checks it", f.Name, c.path))
		}
	}
	if c.update {
		c.changed = c.changed || len(kept) < len(c.archive.Files)
		c.archive.Files = kept
	}
}
