package format_test

import (
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"perch/lang/ast"
	"perch/lang/format"
	"perch/lang/parse"
	"perch/lang/source"
	"perch/lang/token"
)

var update = flag.Bool("update", false, "rewrite the golden cases")

// TestGolden formats the first file of each case and compares with the second.
func TestGolden(t *testing.T) {
	for _, path := range glob(t, "../../testdata/format/*.txtar") {
		a, err := txtar.ParseFile(path)
		if err != nil || len(a.Files) != 2 {
			t.Fatalf("%s: want two files: %v", path, err)
		}
		text, list := format.Source(source.New("in.perch", string(a.Files[0].Data)))
		if len(list) > 0 {
			t.Errorf("%s: %s", path, list[0].Message)
			continue
		}
		same(t, string(a.Files[0].Data))
		if text == string(a.Files[1].Data) {
			continue
		}
		if *update {
			a.Files[1].Data = []byte(text)
			if err := os.WriteFile(path, txtar.Format(a), 0o666); err != nil {
				t.Fatal(err)
			}
			continue
		}
		t.Errorf("%s: got\n%s", path, text)
	}
}

// TestCanonical checks that the files of the repository are formatted.
func TestCanonical(t *testing.T) {
	paths := append(glob(t, "../../examples/*.perch"), glob(t, "../../stdlib/*.perch")...)
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if text := same(t, string(data)); text != string(data) {
			t.Errorf("%s is not in its canonical form: run `perch format` on it", path)
		}
	}
}

// TestReadme checks that the README's parts keep their meaning.
func TestReadme(t *testing.T) {
	seen := 0
	for _, text := range readme(t) {
		if _, list := parse.File(source.New("in.perch", text)); len(list) == 0 {
			same(t, text)
			seen++
		}
	}
	if seen < 3 {
		t.Errorf("only %d parts", seen)
	}
}

// TestFaults checks that a text with faults is not formatted.
func TestFaults(t *testing.T) {
	text, list := format.Source(source.New("in.perch", "let a = 3mm\nlet b = (\n"))
	if text != "" || !list.HasErrors() {
		t.Errorf("got %q, %v", text, list)
	}
}

// FuzzFormat wants of any text without faults what same checks.
func FuzzFormat(f *testing.F) {
	for _, dir := range []string{"parse", "format", "resolve", "eval"} {
		for _, path := range glob(f, "../../testdata/"+dir+"/*.txtar") {
			a, err := txtar.ParseFile(path)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(a.Files[0].Data))
		}
	}
	for _, path := range append(glob(f, "../../examples/*.perch"), glob(f, "../../stdlib/*.perch")...) {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	f.Add("part p # a\n# b\n{ join ball radius 3 mm^2 ^ 2 } # c\n")
	f.Fuzz(func(t *testing.T, text string) {
		if _, list := parse.File(source.New("in.perch", text)); len(list) == 0 {
			same(t, text)
		}
	})
}

// same formats a text without faults and checks that the words and the
// comments are those of the text, that the tree is the same, and that
// formatting again changes nothing.
func same(t *testing.T, text string) string {
	t.Helper()
	before, list := parse.File(source.New("in.perch", text))
	if len(list) > 0 {
		t.Fatalf("%s\n%s", list[0].Message, text)
	}
	out := format.File(before)
	after, list := parse.File(source.New("in.perch", out))
	if len(list) > 0 {
		t.Fatalf("formatted, it has a fault: %s\n%s", list[0].Message, out)
	}
	if !equal(reflect.ValueOf(before.Decls), reflect.ValueOf(after.Decls)) {
		t.Fatalf("the tree differs\n%s", out)
	}
	if !slices.Equal(words(text), words(out)) {
		t.Fatalf("the words differ\n%s", out)
	}
	if !slices.Equal(comments(before), comments(after)) {
		t.Fatalf("the comments differ\n%s", out)
	}
	if again := format.File(after); again != out {
		t.Fatalf("formatted twice:\n%s\nonce:\n%s", again, out)
	}
	for line := range strings.Lines(out) {
		if line != "\n" && strings.TrimRight(line, " \t\r\n") != strings.TrimRight(line, "\n") {
			t.Fatalf("white space ends the line %q", line)
		}
	}
	return out
}

func words(text string) []string {
	var all []string
	toks, _ := token.Scan(text, len(text)+1)
	for _, t := range toks {
		if t.Type != token.Comment && t.Type != token.Newline && t.Value != "\ufeff" {
			all = append(all, t.Value)
		}
	}
	return all
}

func comments(f *ast.File) []string {
	var all []string
	for _, c := range f.Comments {
		all = append(all, strings.TrimRight(c.Text, " \t\r"))
	}
	return all
}

// equal compares trees without their places.
func equal(a, b reflect.Value) bool {
	if a.Type() == reflect.TypeFor[ast.At]() || a.Type() == reflect.TypeFor[source.Span]() {
		return true
	}
	switch a.Kind() {
	case reflect.Pointer, reflect.Interface:
		if a.IsNil() || b.IsNil() {
			return a.IsNil() == b.IsNil()
		}
		return a.Elem().Type() == b.Elem().Type() && equal(a.Elem(), b.Elem())
	case reflect.Slice:
		if a.Len() != b.Len() || a.IsNil() != b.IsNil() {
			return false
		}
		for i := range a.Len() {
			if !equal(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	case reflect.Struct:
		for i := range a.NumField() {
			if !equal(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	}
	return a.Equal(b)
}

func readme(t testing.TB) []string {
	data, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, m := range regexp.MustCompile("(?s)```\n(.*?)```").FindAllStringSubmatch(string(data), -1) {
		all = append(all, m[1])
	}
	return all
}

func glob(t testing.TB, pattern string) []string {
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) == 0 {
		t.Fatalf("no files %s: %v", pattern, err)
	}
	return paths
}
