package diag_test

import (
	goast "go/ast"
	goparser "go/parser"
	gotoken "go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/resolve"
	"perch/lang/source"
)

// builtins is as much of the builtin world as the examples need.
var builtins = &resolve.Tables{
	Lists: map[resolve.Words][]string{
		resolve.Kinds:     {"length"},
		resolve.Heads:     {"ball", "box", "cylinder"},
		resolve.Relations: {"parallel"},
		resolve.Materials: {"petg"},
		resolve.Modules:   {"tube"},
	},
	OfHead: map[string][]string{
		"ball":     {"radius"},
		"box":      {"width", "depth", "height", "from"},
		"cylinder": {"radius", "height"},
	},
	Declared: func(_ *ast.Use, name string) ([]string, bool) {
		return []string{"radius_from_girth"}, name == "tube"
	},
}

// TestExamples compiles each example and expects its code, and no other error.
func TestExamples(t *testing.T) {
	for _, e := range diag.Codes {
		if e.Stage == diag.Build {
			continue
		}
		file, list := parse.File(source.New("example.perch", e.Example.Text()))
		if e.Stage == diag.Resolve {
			if len(list) > 0 {
				t.Errorf("%s: its example does not parse: %s", e.Code, list[0].Message)
			}
			_, list = resolve.File(file, builtins)
		}
		if len(list) == 0 {
			t.Errorf("%s: its example has no fault", e.Code)
			continue
		}
		if e.Code == "too-many-faults" {
			list = list[len(list)-1:]
		}
		if len(list) != 1 || list[0].Code != e.Code {
			t.Errorf("%s: its example gives %d messages, the first %s: %s", e.Code, len(list), list[0].Code, list[0].Message)
		}
		for _, d := range list {
			if len(d.Notes) == 0 {
				t.Errorf("%s: %q does not say what to do", e.Code, d.Message)
			}
		}
	}
}

// TestTable checks that the table is in order and complete for this module's
// language packages: each code that they use is in it.
func TestTable(t *testing.T) {
	stages := []diag.Stage{diag.Parse, diag.Resolve, diag.Build}
	form := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	for i, e := range diag.Codes {
		if !form.MatchString(string(e.Code)) || e.Doc == "" || e.Stage != diag.Build && e.Example.Text() == "" || !slices.Contains(stages, e.Stage) {
			t.Errorf("%q: a code needs a plain name, a stage, a doc and an example", e.Code)
		}
		if first, _ := diag.Lookup(e.Code); first.Doc != e.Doc {
			t.Errorf("%s stands twice", e.Code)
		}
		if i > 0 {
			before := diag.Codes[i-1]
			a, b := slices.Index(stages, before.Stage), slices.Index(stages, e.Stage)
			if a > b || a == b && before.Code >= e.Code {
				t.Errorf("%s is out of order", e.Code)
			}
		}
	}
	used := codesIn(t, "..")
	for code, where := range used {
		if _, ok := diag.Lookup(code); !ok {
			t.Errorf("%s is used in %s but not in the table", code, where)
		}
	}
	for _, e := range diag.Codes {
		if e.Stage != diag.Build && used[e.Code] == "" {
			t.Errorf("%s is in the table but nothing uses it", e.Code)
		}
	}
}

// codesIn finds the codes in the Go files below root: values of fields called
// Code, and first arguments of methods called unknown.
func codesIn(t *testing.T, root string) map[diag.Code]string {
	used := map[diag.Code]string{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || filepath.Base(path) == "codes.go" {
			return err
		}
		f, err := goparser.ParseFile(gotoken.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		note := func(x goast.Expr) {
			if lit, ok := x.(*goast.BasicLit); ok && lit.Kind == gotoken.STRING {
				code, _ := strconv.Unquote(lit.Value)
				used[diag.Code(code)] = path
			}
		}
		goast.Inspect(f, func(n goast.Node) bool {
			switch n := n.(type) {
			case *goast.KeyValueExpr:
				if key, ok := n.Key.(*goast.Ident); ok && key.Name == "Code" {
					note(n.Value)
				}
			case *goast.AssignStmt:
				if sel, ok := n.Lhs[0].(*goast.SelectorExpr); ok && sel.Sel.Name == "Code" {
					note(n.Rhs[0])
				}
			case *goast.CallExpr:
				if sel, ok := n.Fun.(*goast.SelectorExpr); ok && sel.Sel.Name == "unknown" && len(n.Args) > 0 {
					note(n.Args[0])
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return used
}
