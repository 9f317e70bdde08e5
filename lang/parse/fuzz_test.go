package parse_test

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"perch/lang/ast"
	"perch/lang/parse"
	"perch/lang/source"
)

// FuzzParse wants no panic, every span inside the text and inside that of the
// node around it, and the same outcome a second time.
func FuzzParse(f *testing.F) {
	paths, err := filepath.Glob("../../testdata/parse/*.txtar")
	if err != nil || len(paths) == 0 {
		f.Fatalf("no seeds: %v", err)
	}
	for _, path := range paths {
		archive, err := txtar.ParseFile(path)
		if err != nil {
			f.Fatal(err)
		}
		text := string(archive.Files[0].Data)
		f.Add(text)
		for item := range strings.SplitSeq(text, "\n\n") {
			f.Add(item)
		}
	}
	f.Add("sketch a {\n point b\n}\xff")
	f.Add("\ufefflet a = \x00")
	f.Fuzz(func(t *testing.T, text string) {
		src := source.New("in.perch", text)
		file, list := parse.File(src)
		checkSpans(t, src, file)
		for _, d := range list {
			checkSpan(t, src, d.At)
			for _, l := range d.Labels {
				checkSpan(t, src, l.At)
			}
			if d.Message == "" || d.Code == "" || len(d.Notes) == 0 {
				t.Errorf("a poor message: %+v", d)
			}
		}
		again, list2 := parse.File(src)
		if !reflect.DeepEqual(file, again) || !reflect.DeepEqual(list, list2) {
			t.Error("a second parse differs")
		}
	})
}

func checkSpan(t *testing.T, src *source.File, s source.Span) {
	if s.File != src || s.Start < 0 || s.Start > s.End || s.End > len(src.Text) {
		t.Fatalf("span %d to %d of a text of %d bytes", s.Start, s.End, len(src.Text))
	}
}

// checkSpans walks the tree and checks the span of each node.
func checkSpans(t *testing.T, src *source.File, file *ast.File) {
	for _, c := range file.Comments {
		checkSpan(t, src, c.At)
	}
	whole := source.Span{File: src, End: len(src.Text)}
	for _, d := range file.Decls {
		walk(t, src, reflect.ValueOf(d), whole)
	}
}

func walk(t *testing.T, src *source.File, v reflect.Value, outer source.Span) {
	switch v.Kind() {
	case reflect.Interface, reflect.Pointer:
		if !v.IsNil() && v.Type() != reflect.TypeFor[*source.File]() {
			walk(t, src, v.Elem(), outer)
		}
	case reflect.Slice:
		for i := range v.Len() {
			walk(t, src, v.Index(i), outer)
		}
	case reflect.Struct:
		if n, ok := v.Interface().(ast.Node); ok && v.Type() != reflect.TypeFor[ast.At]() {
			s := n.Span()
			if !s.Valid() { // a name that is not written
				if !reflect.ValueOf(n).IsZero() {
					t.Fatalf("%T has no place", n)
				}
				return
			}
			checkSpan(t, src, s)
			if s.Start < outer.Start || s.End > outer.End {
				t.Fatalf("%T %q reaches beyond %q", n, s.Text(), outer.Text())
			}
			outer = s
		}
		for i := range v.NumField() {
			if v.Type() == reflect.TypeFor[ast.Make]() && v.Type().Field(i).Name == "Verb" {
				continue // the later bodies of a step share the verb
			}
			walk(t, src, v.Field(i), outer)
		}
	}
}
