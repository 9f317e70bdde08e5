package compile_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"perch/compile"
)

// BenchmarkExample builds each example from its text to its meshes, with
// nothing remembered from before.
func BenchmarkExample(b *testing.B) {
	files, err := filepath.Glob("../examples/*.perch")
	if err != nil || len(files) == 0 {
		b.Fatal(err)
	}
	for _, f := range files {
		if _, err := os.Stat(f); err != nil {
			b.Fatal(err)
		}
		b.Run(filepath.Base(f), func(b *testing.B) {
			for b.Loop() {
				r, err := compile.New().Build(context.Background(), f, compile.Options{})
				if err != nil || r.Diags.HasErrors() {
					b.Fatal(err, r)
				}
			}
		})
	}
}

// BenchmarkChecks is all of `perch check` on each example: the part, its
// checks with every measurement shifted, and what is looked at unasked.
func BenchmarkChecks(b *testing.B) {
	files, err := filepath.Glob("../examples/*.perch")
	if err != nil || len(files) == 0 {
		b.Fatal(err)
	}
	for _, f := range files {
		b.Run(filepath.Base(f), func(b *testing.B) {
			for b.Loop() {
				r, err := compile.New().Build(context.Background(), f, compile.Options{Uncertainty: true, Standard: true})
				if err != nil || r.Diags.HasErrors() || len(r.Parts) == 0 || len(r.Parts[0].Standing) == 0 {
					b.Fatal(err, r)
				}
			}
		})
	}
}

// median returns that of some times, in seconds.
func median(d []time.Duration) float64 {
	slices.Sort(d)
	return d[len(d)/2].Seconds()
}

// BenchmarkEdit saves the two largest examples again and again, in one session,
// with another engraving each time or as they are. Each figure is a median, as a
// share of the time that the booleans of a build from nothing take: mesh is what the booleans
// take now, save the whole build from the text.
func BenchmarkEdit(b *testing.B) {
	for _, c := range []struct{ name, engraving string }{
		{"spacer", "    engrave text(\"A\", %d) around (cylinder radius 27mm, along z) at 0deg, size 4mm, at (0, 6mm)\n"},
		{"mask", "    engrave text(\"A\", %d) on bottom, size 6mm, depth 0.3mm, at (0, -70mm)\n"},
	} {
		data, err := os.ReadFile("../examples/" + c.name + ".perch")
		if err != nil {
			b.Fatal(err)
		}
		before, after, ok := strings.Cut(string(data), "    material petg\n")
		if !ok {
			b.Fatal("no place for the engraving")
		}
		text := func(n int) string { return before + fmt.Sprintf(c.engraving, 10+n%7) + after }
		for _, way := range []struct {
			name string
			step int
		}{{"engraving", 1}, {"unchanged", 0}} {
			b.Run(c.name+"/"+way.name, func(b *testing.B) {
				build := func(s *compile.Session, n int) time.Duration {
					s.Set(c.name+".perch", text(n))
					r, err := s.Build(context.Background(), c.name+".perch", compile.Options{})
					if err != nil || r.Diags.HasErrors() || len(r.Parts) != 1 {
						b.Fatal(err, r.Diags)
					}
					return r.Parts[0].Elapsed
				}
				var cold []time.Duration
				for n := range 7 {
					cold = append(cold, build(compile.New(), n))
				}
				s := compile.New()
				build(s, 0)
				var mesh, save []time.Duration
				n := 0
				for b.Loop() {
					n += way.step
					began := time.Now()
					mesh = append(mesh, build(s, n))
					save = append(save, time.Since(began))
				}
				from := median(cold)
				b.ReportMetric(median(mesh)/from, "mesh")
				b.ReportMetric(median(save)/from, "save")
			})
		}
	}
}
