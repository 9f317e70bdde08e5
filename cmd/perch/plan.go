package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"perch/compile"
	"perch/compile/output"
	"perch/lang/diag"
)

// job is one part file on its way through a command.
type job struct {
	file    string
	session *compile.Session // that built it
	result  *compile.Result
	err     error // of the world
	outputs []string
	written []bool
	changes []string // against the last good build, under watch
}

// status tells how the job ended.
func (j *job) status() status {
	if j.err != nil {
		return trouble
	}
	return judged(j.result.Diags)
}

// writable reports whether the parts may be written: the build came to its
// end, and the only errors are checks that do not hold, or are those of sizes
// that are missing among the parts. Such a part is what the file says; the
// maker may want to look at it.
func (j *job) writable() bool {
	return j.err == nil && !broken(j.result.Diags)
}

// whole reports whether every part was written.
func (j *job) whole() bool { return j.err == nil && j.outputs != nil }

// faults counts the errors among the diagnostics.
func (j *job) faults() int {
	n := 0
	for _, d := range j.result.Diags {
		if d.Severity == diag.Error {
			n++
		}
	}
	return n
}

// plan names the file of every part; out is the folder asked for, or "".
func (j *job) plan(out, extension string) {
	dir := out
	if dir == "" {
		dir = filepath.Dir(j.file)
	}
	j.outputs = []string{}
	for _, p := range j.result.Parts {
		j.outputs = append(j.outputs, filepath.Join(dir, fullName(p)+extension))
	}
	j.written = make([]bool, len(j.outputs))
}

// fullName is the part, and its size when it has one: comb, comb-thin.
func fullName(p compile.Part) string {
	if p.Size == "" {
		return p.Name
	}
	return p.Name + "-" + p.Size
}

// refuse looks for outputs that would be written twice or would replace a
// file that was read. Names that differ only in upper and lower case count as
// one: many disks do not tell them apart.
func refuse(jobs []*job) error {
	read := map[string]bool{}
	for _, j := range jobs {
		for _, f := range j.result.Files {
			if f.Found {
				read[f.Path] = true
			}
		}
	}
	owner := map[string]string{}
	for _, j := range jobs {
		for i, path := range j.outputs {
			by := fmt.Sprintf("part %s of %s", fullName(j.result.Parts[i]), j.file)
			key := place(path)
			if read[key] {
				return fmt.Errorf("%s would be replaced by %s, but it is a file that was read: give another folder with --out", path, by)
			}
			folded := folded(key)
			if other, ok := owner[folded]; ok {
				return fmt.Errorf("%s would be written by %s and by %s; nothing was written: build them one at a time, each with its own --out", path, other, by)
			}
			owner[folded] = by
		}
	}
	return nil
}

// folded is the same for names that a disk may take for one.
func folded(place string) string { return strings.ToLower(place) }

func sameName(a, b string) bool { return folded(place(a)) == folded(place(b)) }

// place returns one name for every way of writing a path: absolute, with
// links followed as far as it exists.
func place(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return filepath.Clean(path)
	}
	if target, err := output.Target(abs); err == nil {
		abs = target
	}
	if dir, err := filepath.EvalSymlinks(filepath.Dir(abs)); err == nil {
		return filepath.Join(dir, filepath.Base(abs))
	}
	return abs
}

// errNothing says that there is nothing to write for a part.
var errNothing = errors.New("nothing to write")

// write puts the parts of the job on disk, each by put. The first failure
// ends it; files that are already whole stay.
func (j *job) write(out string, put putter) error {
	if out != "" && len(j.outputs) > 0 {
		if err := os.MkdirAll(out, 0o777); err != nil {
			return fmt.Errorf("make the folder %s: %w", out, err)
		}
	}
	for i, p := range j.result.Parts {
		err := put(j, j.outputs[i], p)
		if errors.Is(err, errNothing) {
			continue
		}
		if err != nil {
			return err
		}
		j.written[i] = true
	}
	return nil
}

// produce builds the files and writes a file for every part that may be
// written: its name and ending, in the folder out or beside the part file. It
// fails when it is stopped or when two parts would take the same file; what is
// wrong with one file does not keep the others from being written.
func (c *console) produce(ctx context.Context, names []string, opts compile.Options, out, ending string, put putter) ([]*job, error) {
	jobs, err := runAll(ctx, c, names, opts)
	if err != nil {
		return nil, err
	}
	var ready []*job
	for _, j := range jobs {
		if j.writable() {
			j.plan(out, ending)
			ready = append(ready, j)
		}
	}
	if err := refuse(ready); err != nil {
		c.faults(jobs)
		return nil, err
	}
	for _, j := range ready {
		if j.err = ctx.Err(); j.err == nil {
			j.err = j.write(out, put)
		}
	}
	return jobs, nil
}
