package compile

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"perch/lang/diag"
)

// design writes files into a new folder; names may hold folders.
func design(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// shelf is a library of our own for these tests.
var shelf = fstest.MapFS{
	"tube.perch":  {Data: []byte("let wall = 2mm\n")},
	"strap.perch": {Data: []byte("use tube\nlet slack = 1mm\n")},
	"odd.perch":   {Data: []byte("use dims from \"dims.perch\"\n")},
}

// loaded loads a.perch of a folder and returns the loader and all
// diagnostics, in the order of the modules.
func loaded(t *testing.T, dir string) (*loader, diag.List) {
	t.Helper()
	s := New()
	s.library = shelf
	return loadedBy(t, s, filepath.Join(dir, "a.perch"))
}

func loadedBy(t *testing.T, s *Session, path string) (*loader, diag.List) {
	t.Helper()
	l := newLoader(s)
	if err := l.load(path); err != nil {
		t.Fatal(err)
	}
	var all diag.List
	for _, m := range l.order {
		all.Add(m.diags...)
	}
	return l, all
}

// fault returns the only diagnostic and checks its code and place.
func fault(t *testing.T, l diag.List, code diag.Code, at string) diag.Diagnostic {
	t.Helper()
	if len(l) != 1 {
		t.Fatalf("diagnostics %v, want one with code %s", l, code)
	}
	if l[0].Code != code || l[0].At.Text() != at {
		t.Errorf("%s at %q, want %s at %q: %s", l[0].Code, l[0].At.Text(), code, at, l[0].Message)
	}
	if len(l[0].Notes) == 0 {
		t.Errorf("%q does not say what to do", l[0].Message)
	}
	return l[0]
}

func order(dir string, l *loader) string {
	var names []string
	for _, m := range l.order {
		rel, err := filepath.Rel(dir, m.shown)
		if err != nil {
			rel = m.shown
		}
		names = append(names, filepath.ToSlash(rel))
	}
	return strings.Join(names, " ")
}

func TestLoadOrder(t *testing.T) {
	dir := design(t, map[string]string{
		"a.perch":            "use strap, tube\nuse dims from \"shared/dims.perch\"\nuse bolts from \"shared/bolts.perch\"\n",
		"shared/dims.perch":  "use bolts from \"bolts.perch\"\n",
		"shared/bolts.perch": "let m3 = 3.4mm\n",
	})
	l, d := loaded(t, dir)
	if len(d) != 0 {
		t.Fatal(d)
	}
	if got, want := order(dir, l), "stdlib/tube.perch stdlib/strap.perch shared/bolts.perch shared/dims.perch a.perch"; got != want {
		t.Errorf("order %s, want %s", got, want)
	}
	m := l.main
	if m.uses["bolts"] != m.uses["dims"].uses["bolts"] || m.uses["tube"] != m.uses["strap"].uses["tube"] {
		t.Error("a file used twice must be one module")
	}
	var files []string
	for _, f := range l.sortedFiles() {
		rel, err := filepath.Rel(l.real, f.Path)
		if err != nil {
			t.Fatal(err)
		}
		if !f.Found {
			t.Errorf("%s was not found", f.Path)
		}
		files = append(files, filepath.ToSlash(rel))
	}
	if want := []string{"a.perch", "shared/bolts.perch", "shared/dims.perch"}; !slices.Equal(files, want) {
		t.Errorf("files %q, want %q", files, want)
	}
}

func TestLoadFaults(t *testing.T) {
	for _, c := range []struct {
		name  string
		files map[string]string
		code  diag.Code
		at    string
		says  string
	}{
		{"unknown standard module", map[string]string{"a.perch": "use tub\n"},
			"module-unknown", "tub", "use tube"},
		{"missing file", map[string]string{"a.perch": "use dims from \"shared/dims.perch\"\n"},
			"use-missing", `use dims from "shared/dims.perch"`, "make the file"},
		{"misspelt file", map[string]string{"a.perch": "use dims from \"dmis.perch\"\n", "dims.perch": ""},
			"use-missing", `use dims from "dmis.perch"`, `"dims.perch"`},
		{"folder above", map[string]string{"a.perch": "use dims from \"../dims.perch\"\n"},
			"use-outside", `use dims from "../dims.perch"`, "copy the file"},
		{"above and back", map[string]string{"a.perch": "use dims from \"x/../../x/dims.perch\"\n"},
			"use-outside", `use dims from "x/../../x/dims.perch"`, "copy the file"},
		{"absolute", map[string]string{"a.perch": "use dims from \"/etc/passwd\"\n"},
			"use-outside", `use dims from "/etc/passwd"`, "without a leading /"},
		{"backslash", map[string]string{"a.perch": "use dims from \"shared\\\\dims.perch\"\n"},
			"use-missing", `use dims from "shared\\dims.perch"`, "write /"},
		{"nothing", map[string]string{"a.perch": "use dims from \"\"\n"},
			"use-missing", `use dims from ""`, "between the quotes"},
		{"folder", map[string]string{"a.perch": "use dims from \"shared\"\n", "shared/x": ""},
			"use-unreadable", `use dims from "shared"`, "it is a folder"},
		{"file as folder", map[string]string{"a.perch": "use dims from \"b.perch/c.perch\"\n", "b.perch": ""},
			"use-unreadable", `use dims from "b.perch/c.perch"`, "not a directory"},
		{"itself", map[string]string{"a.perch": "use a from \"a.perch\"\n"},
			"use-cycle", `use a from "a.perch"`, "take this line out"},
		{"itself by a detour", map[string]string{"a.perch": "use a from \"x/../a.perch\"\n"},
			"use-cycle", `use a from "x/../a.perch"`, "take this line out"},
		{"circle of three", map[string]string{
			"a.perch": "use b from \"b.perch\"\n",
			"b.perch": "use c from \"s/c.perch\"\n", "s/c.perch": "use a from \"../a.perch\"\n"},
			"use-cycle", `use a from "../a.perch"`, "file of its own"},
		{"file of a standard module", map[string]string{"a.perch": "use odd\n", "dims.perch": ""},
			"use-outside", `use dims from "dims.perch"`, "standard modules"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, l := loaded(t, design(t, c.files))
			d := fault(t, l, c.code, c.at)
			if !strings.Contains(d.Message+strings.Join(d.Notes, "\n"), c.says) {
				t.Errorf("%q %q does not say %q", d.Message, d.Notes, c.says)
			}
		})
	}
}

func TestLoadCircleShowsTheWay(t *testing.T) {
	dir := design(t, map[string]string{
		"a.perch": "use b from \"b.perch\"\n", "b.perch": "use a from \"a.perch\"\n",
	})
	_, l := loaded(t, dir)
	d := fault(t, l, "use-cycle", `use a from "a.perch"`)
	if len(d.Labels) != 1 || d.Labels[0].At.Text() != `use b from "b.perch"` {
		t.Errorf("labels %v", d.Labels)
	}
	if a := filepath.Join(dir, "a.perch"); strings.Count(d.Message, a) != 2 {
		t.Errorf("message %q", d.Message)
	}
}

// Several faulty uses are all reported, each at its place.
func TestLoadReportsAllUses(t *testing.T) {
	dir := design(t, map[string]string{
		"a.perch": "use tub, tube, stra\nuse b from \"b.perch\"\nuse c from \"c.perch\"\n",
		"c.perch": "use d from \"d.perch\"\n",
	})
	_, l := loaded(t, dir)
	var got []string
	for _, d := range l {
		got = append(got, d.At.Text())
	}
	want := []string{`use d from "d.perch"`, "tub", "stra", `use b from "b.perch"`}
	if !slices.Equal(got, want) {
		t.Errorf("faults at %q, want %q", got, want)
	}
}

func TestLoadLinks(t *testing.T) {
	dir := design(t, map[string]string{
		"out/secret.perch":    "let x = 1mm\n",
		"in/real/dims.perch":  "let x = 1mm\n",
		"in/a.perch":          "use dims from \"near/dims.perch\"\n",
		"in/b.perch":          "use secret from \"far/secret.perch\"\n",
		"in/c.perch":          "use secret from \"far/none.perch\"\n",
		"in/d.perch":          "use secret from \"later.perch\"\n",
		"in/real/again.perch": "",
	})
	for link, to := range map[string]string{
		"in/near":        "real",
		"in/far":         filepath.Join("..", "out"),
		"in/later.perch": filepath.Join("..", "out", "later.perch"),
		"door":           "in",
	} {
		if err := os.Symlink(to, filepath.Join(dir, filepath.FromSlash(link))); err != nil {
			t.Fatal(err)
		}
	}
	s := New()
	l, d := loadedBy(t, s, filepath.Join(dir, "in", "a.perch"))
	if len(d) != 0 {
		t.Errorf("a link within the folder: %v", d)
	}
	var files []string
	for _, f := range l.sortedFiles() {
		files = append(files, f.Path)
	}
	// Both names matter to a watch: the link may be set anew, the file saved.
	for _, want := range []string{filepath.Join(l.root, "near", "dims.perch"), filepath.Join(l.real, "real", "dims.perch")} {
		if !slices.Contains(files, want) {
			t.Errorf("files %q lack %s", files, want)
		}
	}
	for _, name := range []string{"b", "c", "d"} {
		_, d := loadedBy(t, s, filepath.Join(dir, "in", name+".perch"))
		if len(d) != 1 || d[0].Code != "use-outside" {
			t.Errorf("%s: a link out of the folder: %v", name, d)
		}
	}
	if _, d := loadedBy(t, s, filepath.Join(dir, "door", "a.perch")); len(d) != 0 {
		t.Errorf("the folder of the design reached by a link: %v", d)
	}
}

func TestLoadMissingMain(t *testing.T) {
	dir := t.TempDir()
	s := New()
	for path, says := range map[string]string{
		filepath.Join(dir, "none.perch"): "no such file",
		dir:                              "folder",
	} {
		res, err := s.Build(context.Background(), path, Options{})
		if err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", path, err)
		}
		if res == nil || len(res.Files) == 0 || res.Files[0].Found {
			t.Errorf("%s: the file looked for must be in Files: %+v", path, res)
		}
	}
}

func TestUnsavedText(t *testing.T) {
	dir := design(t, map[string]string{"a.perch": "use dims from \"dims.perch\"\n"})
	s := New()
	used := filepath.Join(dir, "dims.perch")
	s.Set(used, "let x = 1mm\n")
	if _, d := loadedBy(t, s, filepath.Join(dir, "a.perch")); len(d) != 0 {
		t.Errorf("a file that is not saved yet: %v", d)
	}
	s.Unset(used)
	if _, d := loadedBy(t, s, filepath.Join(dir, "a.perch")); len(d) != 1 {
		t.Errorf("after Unset: %v", d)
	}
}

// A text that did not change keeps its tree, and its faults are told again.
func TestTreesAreKept(t *testing.T) {
	dir := design(t, map[string]string{"a.perch": "let = 3mm\n"})
	s := New()
	path := filepath.Join(dir, "a.perch")
	one, d1 := loadedBy(t, s, path)
	two, d2 := loadedBy(t, s, path)
	if one.main.tree != two.main.tree || len(d1) == 0 || len(d1) != len(d2) {
		t.Errorf("trees %p %p, faults %d %d", one.main.tree, two.main.tree, len(d1), len(d2))
	}
	s.Set(path, "let a = 3mm\n")
	if three, d3 := loadedBy(t, s, path); three.main.tree == one.main.tree || len(d3) != 0 {
		t.Errorf("the new text was not parsed: %v", d3)
	}
}

func TestPipeIsNotRead(t *testing.T) {
	if _, err := readRegular(os.DevNull); err != errOdd {
		t.Errorf("got %v", err)
	}
}
