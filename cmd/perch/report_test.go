package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"perch/compile"
	"perch/compile/output"
)

func TestFigures(t *testing.T) {
	for _, c := range []struct {
		x    float64
		n    int
		want string
	}{
		{0, 3, "0"}, {7.44, 3, "7.44"}, {7.4449, 3, "7.44"}, {0.012345, 3, "0.0123"}, {1234.5, 3, "1234"},
		{6, 4, "6"}, {99999.6, 3, "100000"}, {-0.0001, 1, "-0.0001"},
	} {
		if got := figures(c.x, c.n); got != c.want {
			t.Errorf("figures(%g, %d) = %s, want %s", c.x, c.n, got, c.want)
		}
	}
	if got := fixed(-0.001, 2); got != "0" {
		t.Errorf("fixed(-0.001, 2) = %s", got)
	}
	for mm3, want := range map[float64]string{12.5: "12.5 mm3", 6000: "6 cm3", 12345.6: "12.35 cm3"} {
		if got := volume(mm3); got != want {
			t.Errorf("volume(%g) = %s, want %s", mm3, got, want)
		}
	}
}

// The inch is 25.4 mm exactly (ISO 31-1).
func TestLengthFlag(t *testing.T) {
	for text, want := range map[string]float64{"0.02mm": 0.02, "20um": 0.02, "0.01in": 0.254, "0.1cm": 1, ".5mm": 0.5} {
		var l length
		if err := l.UnmarshalText([]byte(text)); err != nil || float64(l) < want*(1-1e-12) || float64(l) > want*(1+1e-12) {
			t.Errorf("%s: %v, %v, want %g", text, float64(l), err, want)
		}
	}
	for _, text := range []string{"", "mm", "0.02", "1deg", "1mm^2", "-1mm", "0mm", "1e300mm", "NaNmm", "infmm", "6mm", "0.0001mm", "1 mm", "0.02mmm"} {
		var l length
		if err := l.UnmarshalText([]byte(text)); err == nil {
			t.Errorf("%q was taken as %g mm", text, float64(l))
		}
	}
}

func TestSetFlag(t *testing.T) {
	o, err := choice{Set: []string{"lead=5mm", " wide = if a = b then 1mm else 2mm "}}.options()
	if err != nil {
		t.Fatal(err)
	}
	want := []compile.Setting{{Name: "lead", Value: "5mm"}, {Name: "wide", Value: "if a = b then 1mm else 2mm"}}
	if len(o.Settings) != 2 || o.Settings[0] != want[0] || o.Settings[1] != want[1] {
		t.Errorf("settings %v", o.Settings)
	}
	for _, s := range []string{"", "lead", "=5mm", "lead=", "5=5mm", "a b=1", "a..b=1", ".b=1"} {
		if _, err := (choice{Set: []string{s}}).options(); err == nil {
			t.Errorf("--set %q was taken", s)
		}
	}
}

func TestProgressLine(t *testing.T) {
	var b bytes.Buffer
	p := newProgress(&console{err: &b, live: true})
	p.note("comb", 0.1)
	if b.Len() != 0 {
		t.Errorf("a short build shows %q", b.String())
	}
	p.since = p.since.Add(-2 * patience)
	p.note("comb\x1b[2J", 0.5)
	p.last = time.Time{}
	p.note("peg", 1.5)
	p.clear()
	s := b.String()
	if strings.Contains(s, "\x1b") || !strings.Contains(s, " 50 %") || !strings.Contains(s, "peg: 100 %") {
		t.Errorf("shows %q", s)
	}
	if i := strings.LastIndex(strings.TrimRight(s, "\r"), "\r"); strings.TrimSpace(s[i:]) != "" {
		t.Errorf("the line is not taken back: %q", s)
	}
	b.Reset()
	p = newProgress(&console{err: &b})
	p.since = p.since.Add(-2 * patience)
	p.note("comb", 0.5)
	if b.Len() != 0 {
		t.Errorf("no terminal, yet it shows %q", b.String())
	}
}

// A build that is stopped writes nothing and says so.
func TestStopped(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.perch")
	if err := os.WriteFile(path, []byte("part a {\n    join box width 1mm, depth 1mm, height 1mm\n}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errs bytes.Buffer
	if s := run(ctx, []string{"build", path}, &console{out: &out, err: &errs}); s != trouble {
		t.Errorf("status %d", s)
	}
	if out.Len() != 0 || !strings.Contains(errs.String(), "stopped before the end") {
		t.Errorf("printed %q, %q", out.String(), errs.String())
	}
	if _, err := os.Stat(strings.TrimSuffix(path, ".perch") + ".stl"); err == nil {
		t.Error("a mesh was written")
	}
}

// What a watch says of one build.
func TestWatchLine(t *testing.T) {
	parts := []compile.Part{{Name: "a"}, {Name: "a", Size: "big"}}
	good := &job{file: "x/a.perch", result: &compile.Result{Parts: parts}}
	good.plan("", output.STL.Extension())
	if got := good.line(nil, 1500*time.Millisecond); got != "a.stl, a-big.stl written in 1.5 s" {
		t.Error(got)
	}
	if good.outputs[1] != "x/a-big.stl" {
		t.Errorf("outputs %q", good.outputs)
	}
	bad := &job{file: "x/a.perch", result: &compile.Result{}, err: errors.New("disk full")}
	if got := bad.line(good.outputs, 0); got != "disk full; the last good a.stl, a-big.stl stays" {
		t.Error(got)
	}
	none := &job{file: "x/a.perch", result: &compile.Result{}}
	none.plan("", output.STL.Extension())
	if got := none.line(nil, 0); got != "no part to build" {
		t.Error(got)
	}
}
