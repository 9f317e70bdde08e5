package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"perch/cmd/internal/watch"
	"perch/compile"
	"perch/compile/workshop"
	"perch/lang/diag/render"
)

// watchCommand builds after every save.
type watchCommand struct {
	Paths []string `arg:"" name:"file|folder" help:"Part files, or folders whose part files are all built."`
	files
	choice
}

// Help implements kong.HelpProvider.
func (*watchCommand) Help() string {
	return `Builds once, then again after each save of a part file or of a file that it uses; part files that are new in a folder are taken up. While a part file has faults its last good mesh stays. One line tells of each build. Ctrl-C ends the watch.`
}

// Run implements the command.
func (w *watchCommand) Run(ctx context.Context, c *console) error {
	opts, err := w.options()
	if err != nil {
		return err
	}
	k := &watcher{console: c, files: w.files, json: w.JSON, opts: opts, session: compile.New(), good: map[string][]string{}}
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
	files   files
	json    bool
	opts    compile.Options
	session *compile.Session
	good    map[string][]string // outputs of the last good build of each file
}

// build is the watch.Builder.
func (k *watcher) build(ctx context.Context, file string) map[string]watch.Stamp {
	began := time.Now()
	p := newProgress(k.console)
	opts := k.opts
	opts.Progress = p.note
	j := &job{file: file}
	j.result, j.err = k.session.Build(ctx, file, opts)
	p.clear()
	if ctx.Err() != nil {
		return nil
	}
	if j.writable() {
		j.plan(k.files.Out, k.files.format().Extension())
		if j.err = k.refuse(j); j.err == nil {
			j.err = j.write(k.files.Out, k.files.putMesh)
		}
	}
	old := k.good[file]
	if j.whole() {
		k.good[file] = j.outputs
	}
	k.tell(j, old, time.Since(began))
	seen := make(map[string]watch.Stamp, len(j.result.Files))
	for _, f := range j.result.Files {
		seen[f.Path] = watch.Stamp{Found: f.Found, Sum: f.Sum}
	}
	return seen
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
	k.diagnostics(j.result.Diags)
	k.line(j.file, j.line(old, took))
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
		return j.err.Error() + stays
	case !j.whole():
		return j.verdict() + ", nothing written" + stays
	case len(j.outputs) == 0:
		return "no part to build"
	case j.faults() > 0:
		return j.verdict() + ", " + written
	}
	return written
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
