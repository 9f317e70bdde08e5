package compile_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"perch/compile"
)

// TestReadme builds every part and sketch that the README shows, and checks
// the figures printed there.
func TestReadme(t *testing.T) {
	data, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	readme := string(data)
	built := 0
	for _, m := range regexp.MustCompile("(?s)```\n(.*?)```").FindAllStringSubmatch(readme, -1) {
		text := m[1]
		isPart := strings.Contains(text, "part ") && strings.Contains(text, "join ")
		isSketch := strings.HasPrefix(text, "sketch ")
		if strings.HasPrefix(text, "workshop ") {
			path := filepath.Join(t.TempDir(), "workshop.perch")
			if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
			r, err := compile.New().Build(context.Background(), path, compile.Options{})
			if err != nil || len(r.Diags) > 0 {
				t.Errorf("%v %+v\n%s", err, r.Diags, text)
			}
			continue
		}
		if !isPart && !isSketch {
			continue
		}
		if !strings.Contains(text, "use ") {
			if strings.Contains(text, "strap.") {
				text = "use strap\n" + text
			}
		}
		if isSketch {
			name := strings.Fields(text[strings.Index(text, "sketch "):])[1]
			if head, _, ok := strings.Cut(name, "("); ok { // its first parameter has no default
				name = head + "(40mm)"
			}
			text += "part shown { join extrude " + name + " by 3mm }\n"
		}
		path := filepath.Join(t.TempDir(), "readme.perch")
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		r, err := compile.New().Build(context.Background(), path, compile.Options{AllSizes: true})
		if err != nil || len(r.Diags) > 0 || len(r.Parts) == 0 {
			t.Errorf("%v %+v\n%s", err, r.Diags, text)
			continue
		}
		built++
		p := r.Parts[0]
		if strings.Contains(readme, p.Name+" -> ") {
			for _, figure := range []string{fmt.Sprintf("%.1f mm3", p.Volume), fmt.Sprintf("%d triangles", len(p.Mesh.Triangles))} {
				if !strings.Contains(readme, figure) {
					t.Errorf("%s has %s, which the README does not say", p.Name, figure)
				}
			}
		}
	}
	if built < 3 {
		t.Errorf("only %d parts of the README were built", built)
	}
}
