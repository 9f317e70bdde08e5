package compile

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"
)

// TestEditsOfExamples changes one length of an example after the other, as
// someone at work would, and compares what one session makes of each text with
// what a new one makes of it.
func TestEditsOfExamples(t *testing.T) {
	files, err := filepath.Glob("../examples/*.perch")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	length := regexp.MustCompile(`\b\d+(\.\d+)?mm\b`)
	r := rand.New(rand.NewPCG(1, 5))
	ctx := context.Background()
	reused := 0
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		text := string(data)
		warm := New()
		var last *Result
		for range 4 {
			warm.Set(path, text)
			got, err := warm.Build(ctx, path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			cold := New()
			cold.Set(path, text)
			want, err := cold.Build(ctx, path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Parts) != len(want.Parts) || len(got.Diags) != len(want.Diags) {
				t.Fatalf("%s: %d parts and %d messages, want %d and %d", path, len(got.Parts), len(got.Diags), len(want.Parts), len(want.Diags))
			}
			for i := range got.Parts {
				g, w := &got.Parts[i], &want.Parts[i]
				if !slices.Equal(g.Mesh.Vertices, w.Mesh.Vertices) || !slices.Equal(g.Mesh.Triangles, w.Mesh.Triangles) {
					t.Errorf("%s: part %s differs from a build from nothing", path, g.Name)
				}
				if r := w.Mesh.Inspect(); len(r.Faults) > 0 {
					t.Errorf("%s: part %s: %v", path, w.Name, r)
				}
				if last != nil && i < len(last.Parts) && g.Mesh == last.Parts[i].Mesh {
					reused++
				}
			}
			last = got
			at := length.FindAllStringIndex(text, -1)
			a := at[r.IntN(len(at))]
			v, _ := strconv.ParseFloat(text[a[0]:a[1]-2], 64)
			text = text[:a[0]] + strconv.FormatFloat(v+0.5*float64(r.IntN(2)), 'g', -1, 64) + text[a[1]-2:]
		}
	}
	if reused == 0 {
		t.Error("a text that stayed the same was built again")
	}
}
