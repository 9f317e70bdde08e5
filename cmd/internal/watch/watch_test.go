package watch

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// deadline is generous: nothing is asserted about time, it only ends a test
// that waits for something that never comes.
const deadline = 20 * time.Second

// workshop is a folder under watch with a builder that reads a file and the
// files that its `use` lines name.
type workshop struct {
	t    *testing.T
	dir  string
	stop func()

	mu     sync.Mutex
	builds []string // "name: text, text of what it uses" of every build that came to its end
	gone   []string
	hold   chan struct{} // when not nil, builds wait for it or for their end
	begun  int
}

func open(t *testing.T, dir string, c Config) *workshop {
	t.Helper()
	w := &workshop{t: t, dir: dir}
	c.Build = w.build
	c.Gone = func(f string) { w.mu.Lock(); w.gone = append(w.gone, filepath.Base(f)); w.mu.Unlock() }
	c.Accept = func(name string) bool { return strings.HasSuffix(name, ".part") }
	c.Poll = -1 // events alone must do
	if c.Grace == 0 {
		// A slow machine may take long between the two halves of a save.
		c.Grace = 2 * time.Second
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- Run(ctx, c) }()
	w.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("watching ended with %v", err)
		}
	})
	t.Cleanup(w.stop)
	return w
}

func (w *workshop) build(ctx context.Context, file string, settled func(map[string]Stamp) bool) map[string]Stamp {
	w.mu.Lock()
	w.begun++
	hold := w.hold
	w.mu.Unlock()
	if hold != nil {
		select {
		case <-hold:
		case <-ctx.Done():
		}
	}
	seen := map[string]Stamp{}
	text := []string{w.read(file, seen)}
	for _, line := range strings.Fields(text[0]) {
		if name, ok := strings.CutPrefix(line, "use:"); ok {
			text = append(text, w.read(filepath.Join(w.dir, name), seen))
		}
	}
	stands := settled(seen)
	w.mu.Lock()
	defer w.mu.Unlock()
	if stands {
		w.builds = append(w.builds, filepath.Base(file)+": "+strings.Join(text, " | "))
	}
	return seen
}

func (w *workshop) read(path string, seen map[string]Stamp) string {
	b, err := os.ReadFile(path)
	if err != nil {
		seen[path] = Stamp{}
		return "missing"
	}
	seen[path] = Of(b)
	return string(b)
}

// await waits until a build like want has come to its end, and reports how
// many of them there were.
func (w *workshop) await(want string) {
	w.t.Helper()
	w.until("the build "+want, func() bool { return slices.Contains(w.builds, want) })
}

func (w *workshop) until(what string, is func() bool) {
	w.t.Helper()
	for end := time.Now().Add(deadline); ; time.Sleep(2 * time.Millisecond) {
		w.mu.Lock()
		ok := is()
		w.mu.Unlock()
		if ok {
			return
		}
		if time.Now().After(end) {
			w.t.Fatalf("waited in vain for %s; builds %q, gone %q", what, w.builds, w.gone)
		}
	}
}

// once stops the watch and checks that each text was built once at most and
// the wanted ones exactly once.
func (w *workshop) once(want ...string) {
	w.t.Helper()
	w.stop()
	for i, b := range w.builds {
		if slices.Contains(w.builds[:i], b) {
			w.t.Errorf("built twice: %s", b)
		}
	}
	for _, b := range want {
		if !slices.Contains(w.builds, b) {
			w.t.Errorf("not built: %s", b)
		}
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// The ways in which editors save.
var manners = map[string]func(t *testing.T, path, text string){
	"written over": write,
	"emptied, then written": func(t *testing.T, path, text string) {
		f, err := os.Create(path)
		must(t, err)
		time.Sleep(60 * time.Millisecond)
		_, err = f.WriteString(text)
		must(t, err)
		must(t, f.Close())
	},
	"temporary file, then rename": func(t *testing.T, path, text string) {
		write(t, path+".tmp", text)
		must(t, os.Rename(path+".tmp", path))
	},
	"old file moved away, new one written": func(t *testing.T, path, text string) {
		must(t, os.Rename(path, path+"~"))
		time.Sleep(60 * time.Millisecond)
		write(t, path, text)
		must(t, os.Remove(path+"~"))
	},
	"removed, then written": func(t *testing.T, path, text string) {
		must(t, os.Remove(path))
		time.Sleep(60 * time.Millisecond)
		write(t, path, text)
	},
	"several saves": func(t *testing.T, path, text string) {
		for i := range 8 {
			write(t, path, fmt.Sprintf("draft %d of %s", i, text))
		}
		write(t, path, text)
	},
}

func TestMannersOfSaving(t *testing.T) {
	for name, save := range manners {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path := filepath.Join(dir, "a.part")
			write(t, path, "zero")
			w := open(t, dir, Config{Paths: []string{path}})
			w.await("a.part: zero")
			want := []string{"a.part: zero"}
			for _, text := range []string{"one", "two", "three"} {
				save(t, path, text)
				w.await("a.part: " + text)
				want = append(want, "a.part: "+text)
			}
			w.once(want...)
			for _, b := range w.builds {
				if b == "a.part: " || b == "a.part: missing" {
					t.Errorf("half a save was built: %q", w.builds)
				}
			}
		})
	}
}

func TestSameTextIsNotBuiltAgain(t *testing.T) {
	dir := t.TempDir()
	path, other := filepath.Join(dir, "a.part"), filepath.Join(dir, "b.part")
	write(t, path, "zero")
	write(t, other, "zero")
	w := open(t, dir, Config{Paths: []string{path, other}})
	w.await("b.part: zero")
	manners["temporary file, then rename"](t, path, "zero")
	write(t, filepath.Join(dir, "a.stl"), "an output")
	write(t, other, "one")
	w.await("b.part: one")
	w.once("a.part: zero", "b.part: zero", "b.part: one")
}

func TestUsedFiles(t *testing.T) {
	dir := t.TempDir()
	path, used := filepath.Join(dir, "a.part"), filepath.Join(dir, "shared", "dims")
	write(t, path, "use:shared/dims")
	w := open(t, dir, Config{Paths: []string{path}, Grace: 100 * time.Millisecond})
	w.await("a.part: use:shared/dims | missing")
	must(t, os.Mkdir(filepath.Dir(used), 0o777))
	write(t, used, "wall 2")
	w.await("a.part: use:shared/dims | wall 2")
	manners["temporary file, then rename"](t, used, "wall 3")
	w.await("a.part: use:shared/dims | wall 3")

	// The whole folder is put aside and another takes its place.
	write(t, filepath.Join(dir, "next"), "")
	must(t, os.Rename(filepath.Dir(used), filepath.Join(dir, "old")))
	must(t, os.Mkdir(filepath.Dir(used), 0o777))
	write(t, used, "wall 4")
	w.await("a.part: use:shared/dims | wall 4")
	write(t, used, "wall 5")
	w.await("a.part: use:shared/dims | wall 5")

	must(t, os.Remove(used))
	w.until("a second build without the used file", func() bool { return w.builds[len(w.builds)-1] == w.builds[0] && len(w.builds) > 1 })

	// No longer used, no longer watched.
	write(t, path, "alone")
	w.await("a.part: alone")
	write(t, used, "wall 6")
	write(t, path, "last")
	w.await("a.part: last")
	w.stop()
	if w.builds[len(w.builds)-1] != "a.part: last" || w.builds[len(w.builds)-2] != "a.part: alone" {
		t.Errorf("builds %q", w.builds)
	}
}

func TestFolder(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "a.part"), "zero")
	write(t, filepath.Join(dir, "notes.txt"), "zero")
	w := open(t, dir, Config{Paths: []string{dir}, Grace: 100 * time.Millisecond})
	w.await("a.part: zero")
	write(t, filepath.Join(dir, "b.part"), "new")
	w.await("b.part: new")
	must(t, os.Rename(filepath.Join(dir, "b.part"), filepath.Join(dir, "c.part")))
	w.await("c.part: new")
	w.until("b.part to be gone", func() bool { return slices.Contains(w.gone, "b.part") })
	write(t, filepath.Join(dir, "c.part"), "newer")
	w.await("c.part: newer")
	w.once()
	if slices.ContainsFunc(w.builds, func(b string) bool { return strings.HasPrefix(b, "notes") }) {
		t.Errorf("builds %q", w.builds)
	}
}

func TestNewerSaveStopsBuild(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.part")
	write(t, path, "zero")
	w := open(t, dir, Config{Paths: []string{path}})
	w.await("a.part: zero")
	hold := make(chan struct{})
	w.mu.Lock()
	w.hold = hold
	w.mu.Unlock()
	write(t, path, "one")
	w.until("the build to begin", func() bool { return w.begun == 2 })
	write(t, path, "two")
	w.until("the next build to begin", func() bool { return w.begun == 3 })
	close(hold)
	w.await("a.part: two")
	w.once("a.part: zero", "a.part: two")
	if slices.Contains(w.builds, "a.part: one") {
		t.Error("the old text was built to its end")
	}
}

// A save between the reading and the end of a build must not be lost.
func TestSaveDuringBuildIsSeen(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.part")
	write(t, path, "text 0")
	w := open(t, dir, Config{Paths: []string{path}})
	w.await("a.part: text 0")
	for i := 1; i <= 40; i++ {
		write(t, path, fmt.Sprintf("text %d", i))
		time.Sleep(time.Duration(i) * time.Millisecond)
	}
	w.await("a.part: text 40")
	w.once("a.part: text 40")
	if last := w.builds[len(w.builds)-1]; last != "a.part: text 40" {
		t.Errorf("the last build was %s", last)
	}
}

func TestStopEndsRunningBuild(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.part")
	write(t, path, "zero")
	ws := open(t, dir, Config{Paths: []string{path}})
	ws.await("a.part: zero")
	ws.mu.Lock()
	ws.hold = make(chan struct{}) // never let go
	ws.mu.Unlock()
	write(t, path, "one")
	ws.until("the build to begin", func() bool { return ws.begun == 2 })
	ws.stop()
	ws.once("a.part: zero")
}

func TestMissingPath(t *testing.T) {
	if err := Run(context.Background(), Config{Paths: []string{filepath.Join(t.TempDir(), "none")}}); err == nil {
		t.Error("no error for a path that is not there")
	}
}

// A burst of events that never pauses must not put a build off for ever.
func TestEndlessEvents(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.part")
	write(t, path, "zero")
	w := open(t, dir, Config{Paths: []string{path}})
	w.await("a.part: zero")
	end := make(chan struct{})
	var noise sync.WaitGroup
	noise.Go(func() {
		for i := 0; ; i++ {
			select {
			case <-end:
				return
			case <-time.After(time.Millisecond):
				os.WriteFile(filepath.Join(dir, "log"), fmt.Append(nil, i), 0o666)
			}
		}
	})
	write(t, path, "one")
	w.await("a.part: one")
	close(end)
	noise.Wait()
	w.once("a.part: zero", "a.part: one")
}
