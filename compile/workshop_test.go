package compile

import (
	"context"
	"os"
	"path/filepath"
	"testing"
)

// The loop from coupon to part: five readings at 4.00 with mean 3.860, s
// 0.01581 and u 0.00707, worked by hand, correct a hole of 4.05 to 4.19; four
// lines of wall (0.45 wide, 0.2 high) are 1.6712.
func TestCalibratedPart(t *testing.T) {
	r, err := New().Build(context.Background(), "../testdata/workshop/boss.perch", Options{})
	if err != nil || len(r.Diags) > 0 || len(r.Parts) != 1 {
		t.Fatal(err, r.Diags)
	}
	if n := len(r.Parts[0].Checks); n != 7 || r.Parts[0].MaterialAssumed {
		t.Errorf("%d checks, material assumed %v", n, r.Parts[0].MaterialAssumed)
	}
	if a := r.Workshop.Assumptions(); len(a) > 0 || r.Workshop.File != filepath.Join("..", "testdata", "workshop", "workshop.perch") {
		t.Errorf("%s assumes %q", r.Workshop.File, a)
	}
}

// The nearest workshop counts, up to the folder of the repository, and every
// place that was looked at is told, so that a watch sees one that comes.
func TestFindWorkshop(t *testing.T) {
	root := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		path := filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("workshop.perch", "workshop { name = \"outside\" }\n")
	write("repo/.git/config", "")
	write("repo/a/b/part.perch", "part p {\n    join ball radius 3mm\n}\n")
	build := func(o Options) *Result {
		t.Helper()
		r, err := New().Build(context.Background(), filepath.Join(root, "repo", "a", "b", "part.perch"), o)
		if err != nil || len(r.Diags) > 0 {
			t.Fatal(err, r.Diags)
		}
		return r
	}
	r := build(Options{})
	looked := 0
	for _, f := range r.Files {
		if filepath.Base(f.Path) == "workshop.perch" && !f.Found {
			looked++
		}
	}
	if r.Workshop.File != "" || looked < 3 {
		t.Errorf("found %q after %d places", r.Workshop.File, looked)
	}
	for _, name := range []string{"repo", "repo/a", "repo/a/b"} { // each nearer than the one before
		write(name+"/workshop.perch", "workshop { name = \""+name+"\" }\n")
		r := build(Options{})
		if got := r.Workshop.File; got != filepath.Join(root, filepath.FromSlash(name), "workshop.perch") {
			t.Errorf("found %s, want that of %s", got, name)
		}
	}
	if r := build(Options{Workshop: filepath.Join(root, "workshop.perch")}); filepath.Dir(r.Workshop.File) != root {
		t.Errorf("named another, found %s", r.Workshop.File)
	}
	// A workshop may not be a folder, a pipe or a file that cannot be read.
	if err := os.Mkdir(filepath.Join(root, "repo", "a", "c"), 0o777); err != nil {
		t.Fatal(err)
	}
	if _, err := New().Build(context.Background(), filepath.Join(root, "repo", "a", "b", "part.perch"), Options{Workshop: filepath.Join(root, "repo")}); err == nil {
		t.Error("a folder was taken for a workshop")
	}
}
