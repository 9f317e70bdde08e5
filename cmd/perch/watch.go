package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"perch/cmd/internal/view"
	"perch/cmd/internal/watch"
	"perch/compile"
	"perch/compile/workshop"
	"perch/lang/diag"
	"perch/lang/diag/render"
)

// watchCommand builds after every save.
type watchCommand struct {
	Paths []string `arg:"" name:"file|folder" help:"Part files, or folders whose part files are all built."`
	Out   string   `short:"o" placeholder:"FOLDER" help:"Folder for what is written, made when missing; without it, it goes beside the part file."`
	meshes
	choice
	View bool `help:"Show the parts on a page for a browser on this machine."`
	Port int  `placeholder:"PORT" help:"Port of that page; without it any that is free."`
}

// Help implements kong.HelpProvider.
func (*watchCommand) Help() string {
	return `Builds once, then again after each save of a part file or of a file that it uses; part files that are new in a folder are taken up. While a part file has faults its last good mesh stays. One line tells of each build and of what it changed. Ctrl-C ends the watch.

With --view the address of a page is printed; open it in a browser on this machine. It shows the parts, sketches, checks and messages, and follows every save. The page can be reached from this machine alone, and only with that address. From another machine, give --port and make a tunnel: ssh -L 8111:localhost:8111 MACHINE.`
}

// Run implements the command.
func (w *watchCommand) Run(ctx context.Context, c *console) error {
	opts, err := w.options()
	if err != nil {
		return err
	}
	if w.Port != 0 && !w.View {
		return errors.New("--port is that of the page: give --view as well")
	}
	if w.Port < 0 || w.Port > 65535 {
		return fmt.Errorf("--port: there is no port %d: give one from 1024 to 65535", w.Port)
	}
	k := &watcher{console: c, meshes: w.meshes, folder: w.Out, json: w.JSON, opts: opts, session: compile.New(), said: map[string]map[string]string{}, good: map[string][]string{}, facts: map[string]facts{},
		ctx: ctx, later: map[string]context.CancelFunc{}}
	if w.View {
		if k.view, err = view.Listen(w.Port); err != nil {
			return err
		}
		k.address()
		go func() {
			if err := k.view.Serve(ctx); err != nil {
				c.complain(err)
			}
		}()
	}
	return watch.Run(ctx, watch.Config{
		Paths: w.Paths,
		Accept: func(name string) bool {
			return strings.HasSuffix(name, ".perch") && !strings.HasPrefix(name, ".") && name != workshop.FileName
		},
		Build:   k.build,
		Gone:    k.gone,
		Trouble: c.complain,
	})
}

// watcher builds and prints. Its methods are called one at a time.
type watcher struct {
	*console
	meshes  meshes
	folder  string
	json    bool
	opts    compile.Options
	session *compile.Session
	said    map[string]map[string]string  // warnings and remarks of the last build of each file
	good    map[string][]string           // outputs of the last good build of each file
	facts   map[string]facts              // and what its parts came to
	view    *view.Server                  // nil without --view
	ctx     context.Context               // of the watch
	later   map[string]context.CancelFunc // ends the building of sizes for the page
	sizing  sync.Mutex
}

// address tells where the page is.
func (k *watcher) address() {
	if !k.json {
		fmt.Fprintf(k.out, "the page is at %s\n", k.view.URL())
		return
	}
	if err := k.console.json(struct {
		Page string `json:"page"`
	}{k.view.URL()}); err != nil {
		k.complain(err)
	}
}

// build is the watch.Builder.
func (k *watcher) build(ctx context.Context, file string, settled func(map[string]watch.Stamp) bool) map[string]watch.Stamp {
	if stop := k.later[file]; stop != nil {
		stop()
	}
	saved := savedAt(file)
	began := time.Now()
	slow := time.AfterFunc(busyAfter, func() {
		if k.view != nil {
			k.view.Busy(file, saved)
		}
	})
	opts, early := k.opts, &preview{}
	if k.view != nil {
		opts.Shapes = func(r *compile.Result) {
			early.all.Go(func() { k.preview(ctx, early, &job{file: file, result: r}, saved, began, settled) })
		}
	}
	j := k.run(ctx, file, opts)
	early.done.Store(true)
	early.all.Wait()
	slow.Stop()
	took := time.Since(began)
	seen := j.seen()
	if ctx.Err() != nil || !settled(seen) {
		return nil
	}
	goesOn := time.Now()
	now := factsOf(j.result.Parts)
	whole := j.writable() // what is wrong with the writing comes after
	if whole {
		j.changes = now.since(k.facts[file])
	}
	k.show(ctx, j, saved, took)
	if whole {
		k.facts[file] = now
		j.plan(k.folder, k.meshes.format().Extension())
		if j.err = k.refuse(j); j.err == nil {
			j.err = j.write(k.folder, k.meshes.putMesh)
		}
		if j.err != nil && k.view != nil {
			k.view.Tell(file, j.err)
		}
	}
	old := k.good[file]
	if j.whole() {
		k.good[file] = j.outputs
	}
	k.tell(j, old, took+time.Since(goesOn))
	if k.view != nil && whole {
		var later context.Context
		later, k.later[file] = context.WithCancel(k.ctx)
		go k.showSizes(later, j, saved)
	}
	return seen
}

// preview shows shapes on the page before they are judged.
type preview struct {
	done atomic.Bool // the verdicts are there as well
	all  sync.WaitGroup
}

func (k *watcher) preview(ctx context.Context, p *preview, j *job, saved, began time.Time, settled func(map[string]watch.Stamp) bool) {
	if settled(j.seen()) && !p.done.Load() && j.writable() {
		b := k.shown(j, saved, time.Since(began))
		b.Judging = true
		k.view.Show(ctx, b)
	}
}

// seen is what the build read.
func (j *job) seen() map[string]watch.Stamp {
	seen := make(map[string]watch.Stamp, len(j.result.Files))
	for _, f := range j.result.Files {
		seen[f.Path] = watch.Stamp{Found: f.Found, Sum: f.Sum}
	}
	return seen
}

// run builds one file.
func (k *watcher) run(ctx context.Context, file string, opts compile.Options) *job {
	p := newProgress(k.console)
	opts.Progress = p.note
	j := &job{file: file}
	j.result, j.err = k.session.Build(ctx, file, opts)
	p.clear()
	return j
}

// savedAt is when a file was written, or zero.
func savedAt(file string) time.Time {
	info, err := os.Stat(file)
	if err != nil {
		return time.Time{}
	}
	return info.ModTime()
}

// show puts a build on the page.
func (k *watcher) show(ctx context.Context, j *job, saved time.Time, took time.Duration) {
	if k.view != nil {
		k.view.Show(ctx, k.shown(j, saved, took))
	}
}

func (k *watcher) shown(j *job, saved time.Time, took time.Duration) view.Build {
	tolerance := k.opts.Tolerance
	if tolerance == 0 {
		tolerance = compile.DefaultTolerance
	}
	return view.Build{
		File: j.file, Saved: saved, Took: took, Result: j.result, Err: j.err,
		Tolerance: tolerance, Whole: j.writable(), Changes: j.changes,
	}
}

// busyAfter is how long a build may take before the page says that it runs.
const busyAfter = 300 * time.Millisecond

// rest is how long the sizes that nobody looks at wait, so that they do not
// take the time of the picture that somebody waits for.
const rest = 400 * time.Millisecond

// showSizes builds for the page the sizes that were not asked for, so that it
// can switch between them; the one it shows comes first.
func (k *watcher) showSizes(ctx context.Context, j *job, saved time.Time) {
	built := func(z compile.SizeName) bool {
		return slices.ContainsFunc(j.result.Parts, func(p compile.Part) bool { return p.Name == z.Part && p.Size == z.Size })
	}
	var first, others []string
	for _, z := range j.result.Sizes {
		switch {
		case built(z) || slices.Contains(first, z.Size) || slices.Contains(others, z.Size):
		case k.view.Looking(j.file, z):
			first = append(first, z.Size)
		default:
			others = append(others, z.Size)
		}
	}
	k.sizing.Lock() // one file at a time
	defer k.sizing.Unlock()
	if len(first) > 0 {
		k.showMore(ctx, j, saved, first, len(others) == 0)
	}
	select {
	case <-ctx.Done():
	case <-time.After(rest):
		if len(others) > 0 {
			k.showMore(ctx, j, saved, others, true)
		}
	}
}

func (k *watcher) showMore(ctx context.Context, j *job, saved time.Time, sizes []string, last bool) {
	opts := k.opts
	opts.AllSizes, opts.Sizes = false, sizes
	more := &job{file: j.file}
	if more.result, more.err = k.session.Build(ctx, j.file, opts); ctx.Err() == nil {
		k.view.More(ctx, k.shown(more, saved, 0), last)
	}
}

// refuse keeps outputs off files that were read and off the outputs of other
// files under watch.
func (k *watcher) refuse(j *job) error {
	if err := refuse([]*job{j}); err != nil {
		return err
	}
	for _, name := range sortedNames(k.good) {
		if name == j.file {
			continue
		}
		for _, theirs := range k.good[name] {
			for _, ours := range j.outputs {
				if sameName(ours, theirs) {
					return fmt.Errorf("%s is already written by %s: rename one of the two parts", ours, name)
				}
			}
		}
	}
	return nil
}

// tell prints the faults of a build and then its one line.
func (k *watcher) tell(j *job, old []string, took time.Duration) {
	if k.json {
		if err := k.console.json(j.report()); err != nil {
			k.complain(err)
		}
		return
	}
	k.diagnostics(k.unsaid(j))
	k.line(j.file, j.line(old, took))
}

// unsaid returns what is to be printed of a build: all faults, and of warnings
// and remarks those that the last build of the file did not have, at whatever
// line. It prints how many are as before, and which are gone.
func (k *watcher) unsaid(j *job) diag.List {
	now, last := map[string]string{}, k.said[j.file]
	var fresh diag.List
	same := 0
	for _, d := range j.result.Diags {
		if d.Severity == diag.Error {
			fresh.Add(d)
			continue
		}
		key := strings.Join(append([]string{string(d.Code), d.Message}, d.Sizes...), "\n")
		now[key] = d.Message
		if _, ok := last[key]; ok {
			if d.Severity == diag.Warning {
				same++ // what is no warning needs no second word
			}
		} else {
			fresh.Add(d)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(last)) {
		switch _, ok := now[key]; {
		case ok:
		case j.writable():
			k.line(j.file, "no longer: "+last[key])
		default: // a build that stopped at a fault did not come so far
			now[key] = last[key]
		}
	}
	k.said[j.file] = now
	if same > 0 {
		k.line(j.file, plural(same, "warning")+" as before")
	}
	return fresh
}

func (k *watcher) line(file, what string) {
	fmt.Fprintf(k.out, "%s %s: %s\n", time.Now().Format(time.TimeOnly), render.Clean(file), render.Clean(what))
}

// line says what a build did; old are the outputs of the last good one.
func (j *job) line(old []string, took time.Duration) string {
	stays := ""
	if len(old) > 0 {
		stays = "; the last good " + baseNames(old) + " stays"
	}
	written := baseNames(j.outputs) + " written in " + span(took)
	switch {
	case j.err != nil:
		return strings.TrimPrefix(j.err.Error(), j.file+": ") + stays
	case !j.whole():
		return j.verdict() + ", nothing written" + stays
	case len(j.outputs) == 0:
		return "no part to build"
	case j.faults() > 0:
		return j.verdict() + ", " + written + j.news()
	}
	return written + j.news()
}

// mostNews bounds the changes that one line tells of.
const mostNews = 6

// news tells what the build changed.
func (j *job) news() string {
	n := len(j.changes)
	if n == 0 {
		return ""
	}
	text := "; " + strings.Join(j.changes[:min(n, mostNews)], ", ")
	if n > mostNews {
		text += fmt.Sprintf(" and %d more", n-mostNews)
	}
	return text
}

func baseNames(paths []string) string {
	names := make([]string, len(paths))
	for i, p := range paths {
		names[i] = filepath.Base(p)
	}
	return strings.Join(names, ", ")
}

// gone is told when a part file of a folder is no longer there.
func (k *watcher) gone(file string) {
	delete(k.good, file)
	delete(k.facts, file)
	delete(k.said, file)
	if stop := k.later[file]; stop != nil {
		stop()
		delete(k.later, file)
	}
	if k.view != nil {
		k.view.Drop(file)
	}
	err := errors.New("no longer there; what was written of it stays")
	if k.json {
		if err := k.console.json(fileReport{File: file, Status: int(trouble), Error: err.Error(), Parts: []partReport{}, Diagnostics: []render.Entry{}}); err != nil {
			k.complain(err)
		}
		return
	}
	k.line(file, err.Error())
}

func sortedNames(m map[string][]string) []string {
	names := make([]string, 0, len(m))
	for n := range m {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}
