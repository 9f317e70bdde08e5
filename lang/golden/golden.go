// Package golden runs test cases that are kept as files: one txtar archive
// holds the input of a case and what must come out of it, each under a section
// name. Run the tests with -update to write the outputs anew; read the
// difference before keeping it.
package golden

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
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
	changed bool
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
			c := &Case{t: t, path: path, archive: archive, claimed: map[string]bool{}}
			check(t, c)
			c.finish()
		})
	}
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

// Names returns the names of all sections in order.
func (c *Case) Names() []string {
	var out []string
	for _, f := range c.archive.Files {
		out = append(out, f.Name)
	}
	return out
}

// Output checks that section name holds got. An empty got wants no section.
func (c *Case) Output(name, got string) {
	c.t.Helper()
	c.claimed[name] = true
	if got != "" && got[len(got)-1] != '\n' {
		got += "\n"
	}
	for i, f := range c.archive.Files {
		if f.Name != name {
			continue
		}
		if string(f.Data) == got && got != "" {
			return
		}
		if !*update {
			c.t.Errorf("section %s of %s differs (run with -update to accept)\n--- want\n%s--- got\n%s", name, c.path, f.Data, got)
			return
		}
		c.changed = true
		if got == "" {
			c.archive.Files = append(c.archive.Files[:i], c.archive.Files[i+1:]...)
			return
		}
		c.archive.Files[i].Data = []byte(got)
		return
	}
	if got == "" {
		return
	}
	if !*update {
		c.t.Errorf("%s has no section %s (run with -update to write it)\n--- got\n%s", c.path, name, got)
		return
	}
	c.changed = true
	c.archive.Files = append(c.archive.Files, txtar.File{Name: name, Data: []byte(got)})
}

// finish looks for stale sections and writes the archive if it changed.
func (c *Case) finish() {
	var kept []txtar.File
	for _, f := range c.archive.Files {
		if c.claimed[f.Name] {
			kept = append(kept, f)
			continue
		}
		if !*update {
			c.t.Errorf("section %s of %s is stale: nothing reads or checks it", f.Name, c.path)
		}
		c.changed = true
	}
	if !*update || !c.changed {
		return
	}
	c.archive.Files = kept
	data := txtar.Format(c.archive)
	if old, err := os.ReadFile(c.path); err == nil && bytes.Equal(old, data) {
		return
	}
	if err := os.WriteFile(c.path, data, 0o644); err != nil {
		c.t.Fatal(err)
	}
}
