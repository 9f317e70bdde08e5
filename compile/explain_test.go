package compile_test

import (
	"context"
	goparser "go/parser"
	gotoken "go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"perch/compile"
	"perch/lang/diag"
)

// TestExamples builds the example of each code of this package and those
// below it, and expects that code.
func TestExamples(t *testing.T) {
	for _, e := range diag.Codes {
		text := e.Example.Text()
		if (text == "") == (e.Example.Told == "") {
			t.Errorf("%s: wants an example, or words that tell when it is met", e.Code)
		}
		if e.Stage != diag.Build || text == "" {
			continue
		}
		dir := t.TempDir()
		path := filepath.Join(dir, "example.perch")
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		for _, b := range e.Example.Beside {
			if err := os.WriteFile(filepath.Join(dir, b.Name), []byte(b.Text), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		r, err := compile.New().Build(context.Background(), path, compile.OptionsOf(e.Example.Flags))
		if err != nil {
			t.Errorf("%s: %v", e.Code, err)
			continue
		}
		found := false
		for _, d := range r.Diags {
			found = found || d.Code == e.Code
			// A file with nothing but a let has no part to build, and says so.
			if d.Code != e.Code && d.Code != "no-part" {
				t.Errorf("%s: its example also gives %s: %s", e.Code, d.Code, d.Message)
			}
		}
		if !found {
			t.Errorf("%s: its example does not give it", e.Code)
		}
	}
}

// TestCodes scans the sources for codes; each must be in the table.
func TestCodes(t *testing.T) {
	code := regexp.MustCompile(`diag\.Code = "([a-z0-9-]+)"|Code: +"([a-z0-9-]+)"`)
	seen := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if _, err := goparser.ParseFile(gotoken.NewFileSet(), path, text, goparser.PackageClauseOnly); err != nil {
			return err
		}
		for _, m := range code.FindAllStringSubmatch(string(text), -1) {
			seen++
			if _, ok := diag.Lookup(diag.Code(m[1] + m[2])); !ok {
				t.Errorf("%s: %s is not in the table of codes", path, m[1]+m[2])
			}
		}
		return nil
	})
	if err != nil || seen < 50 {
		t.Errorf("%d codes: %v", seen, err)
	}
}
