package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"perch/compile"
	"perch/compile/output"
	"perch/lang/diag/render"
	"perch/lang/spell"
)

// buildCommand writes a mesh file for every part.
type buildCommand struct {
	meshes
	perPart
}

// Help implements kong.HelpProvider.
func (*buildCommand) Help() string {
	return `A part named comb becomes comb.stl, its size thin comb-thin.stl. A file is written whole or not at all: when anything fails, the old one stays.

A part file with faults writes nothing, and the exit status is 1. A fault that only one row of its sizes table brings keeps only that size from being written. When only a check of a part does not hold, the mesh is written all the same, the check is reported, and the exit status is 1.`
}

// Run implements the command.
func (b *buildCommand) Run(ctx context.Context, c *console) error {
	return b.run(ctx, c, b.format().Extension(), b.putMesh, uncertain)
}

// checkCommand reports on parts without writing them.
type checkCommand struct {
	Files []string `arg:"" name:"file" help:"Part files."`
	choice
	Materials bool `help:"Compare what the parts could be printed in: mass, softening, strength."`
}

// Help implements kong.HelpProvider.
func (*checkCommand) Help() string {
	return `Reads the part files, solves their sketches, builds their parts and reports faults, sizes, masses and every check, also those that hold, with the value, its uncertainty and the place. What matters for every print is looked at without being asked: bed, first layer, overhangs, bridges, walls, gaps, loose islands, time and filament, and bodies that the part overlaps.

pass: the value keeps the limit with its expanded uncertainty (95 %, k = 2). fail: it misses the limit by more than that. open: it cannot be told with these measurements. look: something that was not asked for and is worth a look. Nothing is written. The exit status is 1 when there are faults or when a check of a part fails.`
}

// Run implements the command.
func (k *checkCommand) Run(ctx context.Context, c *console) error {
	opts, err := k.options()
	if err != nil {
		return err
	}
	if k.Materials && k.JSON {
		return errors.New("--materials prints a table to read, and --json has none: give one of the two")
	}
	unasked(&opts)
	jobs, err := runAll(ctx, c, k.Files, opts)
	if err != nil {
		return err
	}
	told := c.report(jobs, k.JSON)
	if !k.Materials {
		return told
	}
	for _, j := range jobs {
		if j.result == nil || j.result.Workshop == nil {
			continue
		}
		for _, p := range j.result.Parts {
			fmt.Fprintln(c.out, render.Clean(fullName(p)))
			c.materials(p, j.result.Workshop)
		}
	}
	return told
}

// runAll builds every file in turn. It fails only when it is stopped; what is
// wrong with one file does not keep the others from being built.
func runAll(ctx context.Context, c *console, names []string, opts compile.Options) ([]*job, error) {
	session := compile.New()
	var jobs []*job
	for _, name := range names {
		p := newProgress(c)
		opts.Progress = p.note
		j := &job{file: name, session: session}
		j.result, j.err = session.Build(ctx, name, opts)
		p.clear()
		if errors.Is(j.err, fs.ErrNotExist) {
			j.err = nearFile(name, j.err)
		}
		if j.err != nil && ctx.Err() != nil {
			return nil, context.Canceled
		}
		jobs = append(jobs, j)
	}
	return jobs, nil
}

// nearFile adds to the error of a file that is missing the part file beside it
// that may have been meant.
func nearFile(name string, err error) error {
	entries, _ := os.ReadDir(filepath.Dir(name))
	var names []string
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ".perch") {
			names = append(names, e.Name())
		}
	}
	base := filepath.Base(name)
	near, ok := spell.Nearest(base, names)
	if slices.Contains(names, base+".perch") {
		near, ok = base+".perch", true
	}
	if !ok {
		return err
	}
	return fmt.Errorf("%w: did you mean %s?", err, filepath.Join(filepath.Dir(name), near))
}

// writeObject writes one mesh file.
func writeObject(path string, f output.Format, o output.Object) error {
	info := output.Info{Application: "Perch " + version}
	return output.WriteFile(path, func(w io.Writer) error {
		return output.Write(w, f, info, o)
	})
}
