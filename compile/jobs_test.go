package compile

import (
	"context"
	"path/filepath"
	"testing"
)

// The jobs of testdata/jobs state their figures as checks; the sources are
// closed forms (segments of circles, lines of plastic) and the trade's tables
// that the comments of package stdlib name. Every size is built.
func TestJobs(t *testing.T) {
	files, err := filepath.Glob("../testdata/jobs/*.perch")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		r, err := New().Build(context.Background(), f, Options{AllSizes: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range r.Diags {
			t.Errorf("%s: [%s] %s %v", f, d.Code, d.Message, d.Notes)
		}
		for _, p := range r.Parts {
			if len(p.Checks) == 0 || p.Mesh.Check() != nil {
				t.Errorf("%s: part %s %s: %d checks, mesh %v", f, p.Name, p.Size, len(p.Checks), p.Mesh.Check())
			}
		}
	}
}
