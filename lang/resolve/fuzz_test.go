package resolve_test

import (
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"perch/lang/parse"
	"perch/lang/resolve"
	"perch/lang/source"
)

// FuzzFile wants no panic and a full message with a place for every fault.
func FuzzFile(f *testing.F) {
	for _, pattern := range []string{"../../testdata/parse/*.txtar", "../../testdata/resolve/*.txtar"} {
		paths, err := filepath.Glob(pattern)
		if err != nil || len(paths) == 0 {
			f.Fatalf("no seeds in %s: %v", pattern, err)
		}
		for _, path := range paths {
			archive, err := txtar.ParseFile(path)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(archive.Files[0].Data))
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		file, _ := parse.File(source.New("in.perch", text))
		_, list := resolve.File(file, env)
		for _, d := range list {
			if d.Message == "" || d.Code == "" || len(d.Notes) == 0 || !d.At.Valid() || d.At.End > len(text) {
				t.Errorf("a poor message: %+v", d)
			}
		}
	})
}

func BenchmarkFile(b *testing.B) {
	var text strings.Builder
	for i := 0; text.Len() < 1<<20; i++ {
		k := strconv.Itoa(i)
		text.WriteString("let wall_" + k + " = 2mm + 3mm\nsketch s_" + k + " {\n    point a at (0, 0)\n    line b from a to c near (wall_" + k +
			", 0)\n    circle d centre c, radius wall_" + k + " * 2\n    b horizontal\n    distance(a, c) = wall_" + k +
			"\n}\npart p_" + k + "(x: length = wall_" + k + ") {\n    join box width x, depth x, height wall_" + k + "\n    check mass < 3g\n}\n")
	}
	file, list := parse.File(source.New("in.perch", text.String()))
	if len(list) > 0 {
		b.Fatal(list[0].Message)
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		if _, list := resolve.File(file, env); len(list) > 0 {
			b.Fatal(list[0].Message)
		}
	}
}
