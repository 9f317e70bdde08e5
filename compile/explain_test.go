package compile_test

import (
	"cmp"
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

// asked holds the options under which a text without faults gives a code.
var asked = map[diag.Code]compile.Options{
	"setting-kind":      {AllSizes: true},
	"setting-over-size": {AllSizes: true, Settings: []compile.Setting{{Name: "wide", Value: "3mm"}}},
	"part-unknown":      {Parts: []string{"lid"}},
	"size-unknown":      {Sizes: []string{"huge"}},
	"setting-unknown":   {Settings: []compile.Setting{{Name: "nothing", Value: "3mm"}}},
	"setting-not-value": {Settings: []compile.Setting{{Name: "a", Value: "3mm\nlet b = 2"}}},
}

// TestExamples builds the example of each code of this package and those
// below it, and expects that code.
func TestExamples(t *testing.T) {
	for _, e := range diag.Codes {
		o, ask := asked[e.Code]
		text := e.Example.Text()
		if ask {
			text = cmp.Or(text, "let a = 1mm\n\npart p {\n    join ball radius a\n}\n")
		}
		if e.Stage != diag.Build || text == "" {
			continue
		}
		dir := t.TempDir()
		if err := os.Mkdir(filepath.Join(dir, "folder.perch"), 0o777); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, "example.perch")
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		r, err := compile.New().Build(context.Background(), path, o)
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
