package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"perch/compile/mesh"
)

// Every example is built in every size; its files must be closed for any
// reader, hold the volume that was printed to one part in a million, and come
// out the same when built again.
func TestExamples(t *testing.T) {
	names, err := filepath.Glob(filepath.Join("..", "..", "examples", "*.perch"))
	if err != nil || len(names) < 4 {
		t.Fatalf("examples %q, %v", names, err)
	}
	for _, name := range names {
		t.Run(filepath.Base(name), func(t *testing.T) {
			first, again := builtInto(t, name), builtInto(t, name)
			if len(first) == 0 {
				t.Fatal("no part was built")
			}
			for i, p := range first {
				data, err := os.ReadFile(p.Output)
				if err != nil {
					t.Fatal(err)
				}
				m := readSTL(data)
				if r := m.Inspect(); r.Err() != nil || r.Has(mesh.Lost) {
					t.Errorf("%s: %v", p.Output, r)
				}
				if v := m.Volume(); math.Abs(v-p.Volume) > 1e-6*p.Volume {
					t.Errorf("%s holds %.9g mm³, printed was %.9g", p.Output, v, p.Volume)
				}
				if same, err := os.ReadFile(again[i].Output); err != nil || !bytes.Equal(data, same) {
					t.Errorf("%s: built again, the bytes differ: %v", p.Output, err)
				}
			}
		})
	}
}

func builtInto(t *testing.T, name string) []partReport {
	t.Helper()
	var out, errs bytes.Buffer
	args := []string{"build", name, "--out", t.TempDir(), "--all-sizes", "--json"}
	s := run(context.Background(), args, &console{out: &out, err: &errs})
	var d document
	if err := json.Unmarshal(out.Bytes(), &d); err != nil {
		t.Fatalf("%v\n%s", err, errs.String())
	}
	if s != done || !d.Done || len(d.Files) != 1 {
		t.Fatalf("status %d: %s", s, out.String())
	}
	return d.Files[0].Parts
}
