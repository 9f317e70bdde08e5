package compile

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"perch/lang/diag"
	"perch/stdlib"
)

func build(t *testing.T, text string, o Options) *Result {
	t.Helper()
	s := New()
	path := filepath.Join(t.TempDir(), "a.perch")
	s.Set(path, text)
	res, err := s.Build(context.Background(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

const block = `part block(wide: length = 10mm) {
    join box width wide, depth 20mm, height 30mm
    cut box width 4mm, depth 4mm, height 30mm
    material pla
    check height = 30mm
    check mass < 1g
}
sizes block {
    broad: wide = 20mm
    narrow: wide = 8mm
}
`

// A slip in a size that is not built is warned of, and the part is built.
func TestOtherSizes(t *testing.T) {
	src := strings.Replace(block, "broad: wide = 20mm", "broad: wide = 20", 1)
	for name, o := range map[string]Options{"as written": {}, "another size": {Sizes: []string{"narrow"}}} {
		r := build(t, src, o)
		var told diag.List
		for _, d := range r.Diags {
			if strings.Contains(d.Message, "`wide` is a length") {
				told = append(told, d)
			}
		}
		if len(r.Parts) != 1 || len(told) != 1 || told[0].Severity != diag.Warning || told[0].At.Text() != "wide = 20" {
			t.Errorf("%s: %d parts, told %v", name, len(r.Parts), told)
		}
	}
}

// The figures of a block of w x 20 x 30 mm with a square hole of 4 x 4 mm
// through it, in pla of 1.24 g/cm³.
func TestBuildPart(t *testing.T) {
	res := build(t, block, Options{AllSizes: true})
	var names []string
	for i, p := range res.Parts {
		names = append(names, p.Name+" "+p.Size)
		w := []float64{20, 8}[i]
		volume, surface := 30*(20*w-16), 2*(20*w-16)+30*(2*w+40+16)
		near(t, names[i]+" volume", p.Volume, volume)
		near(t, names[i]+" surface", p.Surface, surface)
		near(t, names[i]+" mass", p.Mass, volume*1.24e-3)
		if s := p.Bounds.Size(); s.X != w || s.Y != 20 || s.Z != 30 || p.Bounds.Min.Z != 0 {
			t.Errorf("%s: bounds %v", names[i], p.Bounds)
		}
		if g := p.Mesh.Genus(); g != 1 {
			t.Errorf("%s: genus %d, want 1", names[i], g)
		}
		if p.Material != "pla" || p.MaterialAssumed {
			t.Errorf("%s: material %q, assumed %v", names[i], p.Material, p.MaterialAssumed)
		}
		if len(p.Checks) != 2 || !p.Checks[0].Pass || p.Checks[1].Pass {
			t.Errorf("%s: checks %+v", names[i], p.Checks)
		}
	}
	if want := []string{"block broad", "block narrow"}; !slices.Equal(names, want) {
		t.Errorf("parts %q, want %q", names, want)
	}
	// The check that fails is told once for every size.
	if len(res.Diags) != 2 || res.Diags[0].At.Text() == "" {
		t.Errorf("diagnostics %v", res.Diags)
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*want {
		t.Errorf("%s %.12g, want %.12g", what, got, want)
	}
}

func TestSettings(t *testing.T) {
	res := build(t, block, Options{Settings: []Setting{{"wide", "if 2 > 1 then 1.2cm else 3mm"}}})
	if len(res.Parts) != 1 || res.Parts[0].Bounds.Size().X != 12 {
		t.Errorf("%+v, %v", res.Parts, res.Diags)
	}
	for _, s := range []Setting{
		{"wide", "5mm\nlet b = 3"}, {"wide", "5mmm"}, {"wide", "3deg"}, {"wyde", "5mm"}, {"wide", "5mm # ok\npart x {\n}"},
		{"let", "5mm"}, {"f(x: length)", "x"}, {"wide", ""},
	} {
		res := build(t, block, Options{Settings: []Setting{s}})
		if !res.Diags.HasErrors() || len(res.Parts) != 0 {
			t.Errorf("%q: %v", s, res.Diags)
		}
		if !slices.ContainsFunc(res.Diags, WrongUse) {
			t.Errorf("%q: a fault of the command line is told as one of the file: %v", s, res.Diags)
		}
	}
	res = build(t, block, Options{Sizes: []string{"brod"}})
	if len(res.Diags) != 1 || !WrongUse(res.Diags[0]) {
		t.Errorf("unknown size: %v", res.Diags)
	}
}

// Faults of parsing and of binding come in one run, each file in its turn.
func TestFaultsOfAllFiles(t *testing.T) {
	dir := design(t, map[string]string{
		"a.perch": "use b from \"b.perch\"\nlet x = 3mmm\nlet y = b.tal\npart p {\n    join box width z, depth 1mm, height 1mm\n}\n",
		"b.perch": "let tall = 3mm\nlet tall = 4mm\n",
	})
	res, err := New().Build(context.Background(), filepath.Join(dir, "a.perch"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, d := range res.Diags {
		got = append(got, string(d.Code))
	}
	want := []string{"name-twice", "unit-unknown", "module-name", "name-unknown"}
	if !slices.Equal(got, want) {
		t.Errorf("codes %q, want %q", got, want)
	}
	if len(res.Parts) != 0 {
		t.Error("parts of a faulty file were built")
	}
}

// broken is a library that fails in the worst way.
type broken struct{}

func (broken) Open(string) (fs.File, error) { panic("the shelf fell down") }

func TestPanicBecomesDiagnostic(t *testing.T) {
	s := New()
	s.library = broken{}
	path := filepath.Join(t.TempDir(), "a.perch")
	s.Set(path, "use tube\n")
	res, err := s.Build(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Diags) != 1 || res.Diags[0].Code != Internal || !strings.Contains(res.Diags[0].Message, "the shelf fell down") {
		t.Fatalf("diagnostics %v", res.Diags)
	}
	if notes := strings.Join(res.Diags[0].Notes, "\n"); !strings.Contains(notes, "perch/compile.broken.Open") {
		t.Errorf("the notes do not name the place: %s", notes)
	}
	if len(res.Files) != 1 {
		t.Errorf("files %v", res.Files)
	}
}

func TestStoppedBuild(t *testing.T) {
	s := New()
	path := filepath.Join(t.TempDir(), "a.perch")
	s.Set(path, block)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	res, err := s.Build(ctx, path, Options{})
	if !errors.Is(err, context.Canceled) || res == nil || len(res.Files) == 0 {
		t.Errorf("%v, %v", res, err)
	}
	ctx, cancel = context.WithCancel(context.Background())
	once := sync.OnceFunc(cancel)
	_, err = s.Build(ctx, path, Options{Progress: func(string, float64) { once() }})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("stopped midway: %v", err)
	}
}

func TestBadTolerance(t *testing.T) {
	s := New()
	path := filepath.Join(t.TempDir(), "a.perch")
	s.Set(path, block)
	for _, x := range []float64{-0.01, math.NaN(), math.Inf(1)} {
		if res, err := s.Build(context.Background(), path, Options{Tolerance: x}); err == nil {
			t.Errorf("%g mm: %v", x, res)
		}
	}
}

// Parts are built side by side; what comes out must not depend on which ends
// first.
func TestManyPartsKeepTheirOrder(t *testing.T) {
	var text strings.Builder
	for i := range 24 {
		fmt.Fprintf(&text, "part p%d {\n    join cylinder radius %dmm, height 10mm\n    check height < %dmm\n}\n", i, 30-i, 5+i)
	}
	first := build(t, text.String(), Options{Progress: func(string, float64) {}})
	for range 3 {
		again := build(t, text.String(), Options{})
		for i, p := range again.Parts {
			if p.Name != fmt.Sprintf("p%d", i) || !slices.Equal(p.Mesh.Vertices, first.Parts[i].Mesh.Vertices) ||
				!slices.Equal(p.Mesh.Triangles, first.Parts[i].Mesh.Triangles) {
				t.Fatalf("part %d is %s, or its mesh differs", i, p.Name)
			}
		}
		if codes(again.Diags) != codes(first.Diags) || len(first.Diags) != 6 {
			t.Errorf("diagnostics %s, then %s", codes(first.Diags), codes(again.Diags))
		}
	}
}

func codes(l diag.List) string {
	var s []string
	for _, d := range l {
		s = append(s, fmt.Sprint(d.Code, " ", d.At.Start))
	}
	return strings.Join(s, ", ")
}

func TestUnbuildable(t *testing.T) {
	for name, c := range map[string]struct {
		steps string
		code  diag.Code
		at    string
	}{
		"nothing left": {"join box width 1mm, depth 1mm, height 1mm\ncut box width 2mm, depth 2mm, height 2mm", PartEmpty, "cut box width 2mm, depth 2mm, height 2mm"},
		"too large":    {"join box width 1mm, depth 1mm, height 1mm, in a row of 3 every 1m along x", PartTooLarge, "bad"},
	} {
		t.Run(name, func(t *testing.T) {
			res := build(t, "part good {\njoin box width 1mm, depth 1mm, height 1mm\n}\npart bad {\n"+c.steps+"\n}\n", Options{})
			d := fault(t, res.Diags, c.code, c.at)
			if !strings.Contains(d.Message, "bad") {
				t.Errorf("message %q", d.Message)
			}
			if len(res.Parts) != 1 || res.Parts[0].Name != "good" {
				t.Errorf("the other part is lost: %v", res.Parts)
			}
		})
	}
}

// A session may serve several builds at a time.
func TestConcurrentBuilds(t *testing.T) {
	s := New()
	dir := t.TempDir()
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			path := filepath.Join(dir, fmt.Sprintf("%d.perch", i%2))
			s.Set(path, block)
			if res, err := s.Build(context.Background(), path, Options{}); err != nil || len(res.Parts) != 1 {
				t.Errorf("%v, %v", res, err)
			}
		})
	}
	all.Wait()
}

// Every standard module must read and bind without a fault.
func TestStandardModules(t *testing.T) {
	entries, err := fs.ReadDir(stdlib.Files, ".")
	if err != nil || len(entries) == 0 {
		t.Fatal(entries, err)
	}
	for _, e := range entries {
		name := strings.TrimSuffix(e.Name(), extension)
		res := build(t, "use "+name+"\npart p {\n    join box width 1mm, depth 1mm, height 1mm\n}\n", Options{})
		// The one warning is that the module is not used.
		if len(res.Diags) != 1 || res.Diags[0].Code != "name-unused" || len(res.Parts) != 1 {
			t.Errorf("%s: %v", name, res.Diags)
		}
	}
}

// The parts are told of once they are built and before anything is judged, and
// only when all could be built.
func TestShapes(t *testing.T) {
	const text = "part block {\n    join box width 20mm, depth 10mm, height 5mm\n    material petg\n    check wall >= 1mm\n    check volume <= 1mm^3\n}\n"
	for _, c := range []struct {
		text string
		told int
	}{
		{text, 1},
		{text + "part gone {\n    join box width 2mm, depth 1mm, height 5mm\n    cut box width 20mm, depth 10mm, height 50mm\n}\n", 0},
		{strings.Replace(text, "width", "widht", 1), 0},
	} {
		s := New()
		s.Set("block.perch", c.text)
		var told []*Result
		r, err := s.Build(context.Background(), "block.perch", Options{Shapes: func(r *Result) { told = append(told, r) }})
		if err != nil || len(told) != c.told {
			t.Errorf("told %d times, want %d: %v %v", len(told), c.told, err, r.Diags)
			continue
		}
		if c.told == 0 {
			continue
		}
		early := told[0]
		if len(early.Parts) != 1 || early.Parts[0].Mesh != r.Parts[0].Mesh || len(early.Parts[0].Checks) != 0 || len(early.Diags) != 0 || len(early.Files) != len(r.Files) {
			t.Errorf("told %+v", early)
		}
		if len(r.Parts[0].Checks) != 2 || !r.Diags.HasErrors() {
			t.Errorf("judged %+v %v", r.Parts[0].Checks, r.Diags)
		}
	}
}
