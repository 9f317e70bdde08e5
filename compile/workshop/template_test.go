package workshop_test

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"perch/compile"
	"perch/compile/workshop"
	"perch/lang/format"
	"perch/lang/source"
)

// The template is in its canonical form and without faults, as it is and with
// every line taken up; taken up it assumes nothing more.
func TestTemplate(t *testing.T) {
	text := workshop.Template()
	if got, l := format.Source(source.New("workshop.perch", text)); got != text || len(l) > 0 {
		t.Errorf("not canonical: %v\n%s", l, got)
	}
	taken := regexp.MustCompile(`(?m)^    # (.* = )`).ReplaceAllString(text, "    $1")
	for _, text := range []string{text, taken} {
		path := filepath.Join(t.TempDir(), "workshop.perch")
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		in, err := compile.New().Workshop(context.Background(), path, compile.Options{})
		if err != nil || len(in.Diags) > 0 {
			t.Fatal(err, in.Diags)
		}
		for _, e := range workshop.Entries {
			if s := in.Workshop.Look(e.Name); text == taken && s.Assumed() {
				t.Errorf("%s is not in the template", e.Name)
			}
		}
	}
}
