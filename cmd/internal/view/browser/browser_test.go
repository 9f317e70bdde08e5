//go:build browser

// Package browser drives the page of `perch watch --view` in a real browser.
package browser

import (
	"bufio"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// program is perch itself, built once.
var program string

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "perch-browser")
	if err != nil {
		panic(err)
	}
	program = filepath.Join(dir, "perch")
	build := exec.Command("go", "build", "-o", program, "perch/cmd/perch")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		panic(err)
	}
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// bench is a watch with a page open on it.
type bench struct {
	t   testing.TB
	dir string
	out string // where the meshes go
	ctx context.Context
	end func() // of the watch

	mu  sync.Mutex
	log []string
}

// open watches files of a folder and opens the page.
func open(t testing.TB, dark bool, dir string, args ...string) *bench {
	t.Helper()
	b := &bench{t: t, dir: dir, out: t.TempDir()}
	cmd := exec.Command(program, append([]string{"watch", "--view", "--out", b.out}, args...)...)
	cmd.Dir = dir
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	b.end = sync.OnceFunc(func() {
		cmd.Process.Signal(os.Interrupt)
		if err := cmd.Wait(); err != nil {
			t.Errorf("perch watch ended with %v", err)
		}
	})
	t.Cleanup(b.end)
	lines := bufio.NewScanner(out)
	url := ""
	for url == "" && lines.Scan() {
		_, url, _ = strings.Cut(lines.Text(), "the page is at ")
	}
	go func() {
		for lines.Scan() {
		}
	}()
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.NoSandbox, chromedp.WindowSize(1280, 820), chromedp.DisableGPU)...)
	t.Cleanup(stopAlloc)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	ctx, timeout := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(timeout)
	b.ctx = ctx
	log := chromedp.Console(ctx)
	go func() {
		for m, err := range log {
			if err != nil {
				return
			}
			b.mu.Lock()
			b.log = append(b.log, m.String())
			b.mu.Unlock()
		}
	}()
	if dark {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}})
		b.must(err)
	}
	b.do(chromedp.Navigate(url))
	b.until("the part is drawn", `Number(document.documentElement.dataset.seq) > 1`)
	return b
}

func (b *bench) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatalf("%v\n%s", err, b.complaints())
	}
}

// complaints is what the browser wrote into its log: what a policy forbids,
// errors of the page, files that are missing.
func (b *bench) complaints() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return strings.Join(b.log, "\n")
}

func (b *bench) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	b.must(chromedp.Do(b.ctx, actions...))
}

// ask evaluates an expression in the page.
func ask[T any](b *bench, expression string, opts ...chromedp.EvaluateOption) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, opts...))
	b.must(err)
	return v
}

// until waits until a condition holds in the page.
func (b *bench) until(what, condition string) {
	b.t.Helper()
	for end := time.Now().Add(patient); !ask[bool](b, condition); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			b.t.Fatalf("waited in vain until %s\nthe page says:\n%s\nlog:\n%s", what, ask[string](b, `document.body.innerText`), b.complaints())
		}
	}
}

// patient ends a test that waits for what never comes. Nothing is asserted
// about time.
const patient = 60 * time.Second

// picture keeps a screenshot when a folder for them is named.
func (b *bench) picture(name string) {
	b.t.Helper()
	dir := os.Getenv("PERCH_SHOTS")
	if dir == "" {
		return
	}
	time.Sleep(400 * time.Millisecond) // the view has stopped moving
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	b.must(err)
	b.must(os.WriteFile(filepath.Join(dir, name+".png"), png, 0o666))
}
