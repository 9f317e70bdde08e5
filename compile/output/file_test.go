package output

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

func put(text string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// entries lists a folder, so that a forgotten temporary file shows.
func entries(t *testing.T, dir string) string {
	t.Helper()
	es, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range es {
		names = append(names, e.Name())
	}
	return strings.Join(names, " ")
}

func TestWriteFileNewAndAgain(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.stl")
	for _, text := range []string{"one", "two, longer", "3"} {
		if err := WriteFile(path, put(text)); err != nil {
			t.Fatal(err)
		}
		if got := content(t, path); got != text {
			t.Errorf("got %q, want %q", got, text)
		}
	}
	if got := entries(t, dir); got != "a.stl" {
		t.Errorf("folder holds %s", got)
	}
}

func TestWriteFileFailureKeepsOld(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.stl")
	if err := WriteFile(path, put("old")); err != nil {
		t.Fatal(err)
	}
	half := func(w io.Writer) error {
		if _, err := io.WriteString(w, "half of the new"); err != nil {
			return err
		}
		return errFull
	}
	if err := WriteFile(path, half); !errors.Is(err, errFull) || !strings.Contains(err.Error(), path) {
		t.Errorf("got %v", err)
	}
	func() {
		defer func() { recover() }()
		WriteFile(path, func(w io.Writer) error { panic("midway") })
	}()
	if got := content(t, path); got != "old" {
		t.Errorf("the old file became %q", got)
	}
	if err := WriteFile(filepath.Join(dir, "b.stl"), half); err == nil {
		t.Error("no error")
	}
	if got := entries(t, dir); got != "a.stl" {
		t.Errorf("folder holds %s", got)
	}
}

func TestWriteFileKeepsPermissions(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.stl")
	if err := os.WriteFile(path, []byte("old"), 0o640); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(path, put("new")); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o640 {
		t.Errorf("permissions %v, want 0640", info.Mode().Perm())
	}
}

func TestWriteFileFollowsLinks(t *testing.T) {
	dir := t.TempDir()
	far := filepath.Join(dir, "far")
	if err := os.Mkdir(far, 0o777); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "a.stl")
	if err := os.Symlink(filepath.Join("far", "real.stl"), link); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"first, the link dangles", "second"} {
		if err := WriteFile(link, put(text)); err != nil {
			t.Fatal(err)
		}
		if got := content(t, filepath.Join(far, "real.stl")); got != text {
			t.Errorf("got %q", got)
		}
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Error("the link is gone")
	}
	round := filepath.Join(dir, "round.stl")
	if err := os.Symlink("round.stl", round); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(round, put("x")); err == nil {
		t.Error("a link to itself was written")
	}
}

func TestWriteFileRefuses(t *testing.T) {
	dir := t.TempDir()
	if err := WriteFile(dir, put("x")); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("folder: %v", err)
	}
	missing := filepath.Join(dir, "none", "a.stl")
	if err := WriteFile(missing, put("x")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("missing folder: %v", err)
	}
	if got := entries(t, dir); got != "" {
		t.Errorf("folder holds %s", got)
	}
}
