package reference_test

import (
	"context"
	"strings"
	"testing"

	"perch/compile"
	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/reference"
	"perch/compile/sketch"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/unit"
)

// TestComplete looks for every entry of the tables.
func TestComplete(t *testing.T) {
	text := reference.Markdown()
	want := func(s string) {
		if !strings.Contains(text, s) {
			t.Errorf("%s is missing", s)
		}
	}
	for _, w := range unit.Words() {
		want("`1" + w + "`")
	}
	for _, k := range builtin.All.Kinds {
		want("- `" + k.Word + "`: " + k.Doc)
	}
	for _, c := range builtin.All.Constants {
		want("- `" + c.Name + "`: " + c.Doc)
	}
	for _, f := range builtin.All.Functions {
		want("- `" + f.Name + "(")
		want(f.Example)
	}
	for _, h := range builtin.All.Heads {
		want("`" + h.Name + "`: " + h.Doc)
		for _, c := range h.Clauses {
			want("- `" + c.Text + "`: " + c.Doc)
		}
	}
	for _, p := range builtin.All.Placements {
		want("`" + p.Text + "`: " + p.Doc)
	}
	for _, r := range sketch.Relations() {
		want("`" + r.Word + "`: " + r.Doc)
	}
	for _, f := range sketch.Functions {
		want("- `" + f.Name + "`: " + f.Doc)
	}
	for _, c := range check.Words {
		want("- `" + c.Name + "`: " + c.Doc)
	}
	for _, q := range check.Queries {
		want(q.Doc)
		want("`check " + q.Example + "`")
	}
	for _, c := range check.Cautions {
		want("- `caution " + c.Word + "`: " + c.Text)
	}
	for _, s := range parse.Statements {
		want("`" + s.Form + "`: " + s.Doc)
	}
	for _, s := range builtin.Shapes {
		for _, c := range s.Clauses {
			want("- `" + c.Text + "`: " + c.Doc)
		}
	}
	for _, m := range builtin.All.Materials {
		want("- `" + m.Name + "`: " + m.Doc)
	}
	want("let radius_from_girth(girth: length, tape: length = 0mm)\n")
	want("part saddle(over: body, width: length,")
}

// TestExamples builds the examples of statements; those of functions, bodies
// and relations are built by the tests of their packages.
func TestExamples(t *testing.T) {
	for _, s := range reference.Examples {
		const path = "example.perch"
		session := compile.New()
		session.Set(path, s.Text)
		r, err := session.Build(context.Background(), path, compile.Options{AllSizes: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range r.Diags {
			if d.Severity == diag.Error {
				t.Errorf("%s: %s", s.Word, d.Message)
			}
		}
	}
}
