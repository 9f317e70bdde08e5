//go:build browser

package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// edits is how many saves a median is taken of.
const edits = 20

// delays saves a file again and again, each time with another text, and
// returns how long after the save its picture was there: drawn, read back so
// that the drawing has ended, and put on the screen.
func (b *bench) delays(name string, text func(i int) string) []time.Duration {
	b.t.Helper()
	var out []time.Duration
	for i := range edits + 2 {
		b.until("all sizes are there", `document.querySelectorAll("#slips .pending").length === 0`)
		ask[int](b, `new Promise((done) => setTimeout(() => done(1), 120))`, chromedp.EvalAwaitPromise)
		ask[int](b, `(() => {
			const before = document.documentElement.dataset.shown;
			window.picture = new Promise((done) => {
				const drawn = () => {
					if (document.documentElement.dataset.shown === before) return;
					document.removeEventListener("drawn", drawn);
					const gl = document.getElementById("sheet").getContext("webgl2");
					gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
					requestAnimationFrame(() => done(1));
				};
				document.addEventListener("drawn", drawn);
			});
			return 1;
		})()`)
		began := time.Now()
		b.save(name, text(i))
		ask[int](b, `window.picture`, chromedp.EvalAwaitPromise)
		if i >= 2 { // the first ones warm up
			out = append(out, time.Since(began))
		}
	}
	slices.Sort(out)
	return out
}

// BenchmarkSave measures from the save of a file to its picture in the
// browser. The save that asks for nothing, another comment in the file of a
// plain box, is the measure for the others.
func BenchmarkSave(b *testing.B) {
	example := func(name, old, with string) func(dir string) (string, func(int) string) {
		return func(dir string) (string, func(int) string) {
			data, err := os.ReadFile(filepath.Join("../../../../examples", name))
			if err != nil {
				b.Fatal(err)
			}
			text := string(data)
			if !strings.Contains(text, old) {
				b.Fatalf("%s has no %q", name, old)
			}
			return name, func(i int) string { return strings.Replace(text, old, fmt.Sprintf(with, i), 1) }
		}
	}
	idle := time.Duration(0)
	for _, c := range []struct {
		name string
		of   func(dir string) (string, func(int) string)
	}{
		{"idle", func(string) (string, func(int) string) {
			return "box.perch", func(i int) string {
				return fmt.Sprintf("# %d\npart box {\n    join box width 20mm, depth 20mm, height 20mm\n}\n", i)
			}
		}},
		{"comb", example("comb.perch", "let jaw  = 2mm ", "let jaw  = 2.%02dmm ")},
		{"spacer", example("spacer.perch", "let bore       = 44mm", "let bore       = 43.%02dmm")},
	} {
		b.Run(c.name, func(b *testing.B) {
			dir := b.TempDir()
			name, text := c.of(dir)
			if err := os.WriteFile(filepath.Join(dir, name), []byte(text(90)), 0o666); err != nil {
				b.Fatal(err)
			}
			p := open(b, false, dir, name)
			for b.Loop() {
				d := p.delays(name, text)
				median := (d[edits/2-1] + d[edits/2]) / 2
				if c.name == "idle" {
					idle = median
				}
				b.ReportMetric(float64(median.Microseconds())/1000, "ms/save")
				b.ReportMetric(float64(d[0].Microseconds())/1000, "ms/fastest")
				b.ReportMetric(float64(d[edits-1].Microseconds())/1000, "ms/slowest")
				if idle > 0 {
					b.ReportMetric(float64(median)/float64(idle), "/idle")
				}
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}
