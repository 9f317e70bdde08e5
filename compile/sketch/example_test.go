package sketch_test

import (
	"context"
	"strings"
	"testing"

	"perch/compile/eval"
	"perch/compile/sketch"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
)

// run evaluates a sketch together with a part that asks for one of its points.
func run(t *testing.T, body, point string) diag.List {
	t.Helper()
	text := "sketch s {\n" + body + "\n}\npart p {\n    join ball radius 1mm, centre (s." + point + ".x, 0, 0)\n}\n"
	f, list := parse.File(source.New("s.perch", text))
	if len(list) > 0 {
		t.Fatalf("%s\ndoes not parse: %v", text, list)
	}
	r, err := eval.Run(context.Background(), &eval.Module{File: f}, eval.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r.Diags
}

// TestExamples: the example of each relation is a sketch that is solved and
// fully pinned, so that nothing is said of it.
func TestExamples(t *testing.T) {
	for _, r := range sketch.Relations() {
		_, rest, _ := strings.Cut(r.Example, "point ")
		point, _, _ := strings.Cut(rest, " ")
		if !strings.Contains(r.Example, r.Word) {
			t.Errorf("the example of %s does without it", r.Word)
		}
		for _, d := range run(t, r.Example, point) {
			t.Errorf("%s: %s: %s", r.Word, d.Severity, d.Message)
		}
		line, _, found := cutLine(r.Example, r.Word)
		if without := run(t, line, point); !found || len(without) == 0 {
			t.Errorf("the example of %s is pinned without it", r.Word)
		}
	}
}

// cutLine takes the line with a word out of a text.
func cutLine(text, word string) (rest, line string, found bool) {
	var lines []string
	for _, l := range strings.Split(text, "\n") {
		if strings.Contains(" "+l+" ", " "+word+" ") && !found {
			line, found = l, true
			continue
		}
		lines = append(lines, l)
	}
	return strings.Join(lines, "\n"), line, found
}
