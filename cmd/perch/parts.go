package main

import (
	"context"

	"perch/compile"
	"perch/compile/output"
)

// perPart holds the arguments of the commands that write a file for every part.
type perPart struct {
	Files []string `arg:"" name:"file" help:"Part files."`
	Out   string   `short:"o" placeholder:"FOLDER" help:"Folder for what is written, made when missing; without it, it goes beside the part file."`
	choice
}

// putter writes what a command makes of a part.
type putter func(j *job, path string, p compile.Part) error

// make builds the files and puts what becomes of each part into the file of
// its name and ending; opts may ask for more than the flags do.
func (k *perPart) make(ctx context.Context, c *console, ending string, put putter, more ...func(*compile.Options)) ([]*job, error) {
	opts, err := k.options()
	if err != nil {
		return nil, err
	}
	for _, ask := range more {
		ask(&opts)
	}
	return c.produce(ctx, k.Files, opts, k.Out, ending, put)
}

// run is make with the report of what became of it.
func (k *perPart) run(ctx context.Context, c *console, ending string, put putter, more ...func(*compile.Options)) error {
	jobs, err := k.make(ctx, c, ending, put, more...)
	if err != nil {
		return err
	}
	return c.report(jobs, k.JSON)
}

// uncertain asks for the uncertainty of checks.
func uncertain(o *compile.Options) { o.Uncertainty = true }

// unasked asks for the checks that nobody wrote, too.
func unasked(o *compile.Options) { o.Uncertainty, o.Standard = true, true }

// meshes holds the flag that says what kind of mesh file is written.
type meshes struct {
	Format string `enum:"stl,3mf" default:"stl" help:"Kind of mesh file: stl or 3mf."`
}

func (f meshes) format() output.Format { return output.Format(f.Format) }

// putMesh writes a part as a mesh file.
func (f meshes) putMesh(_ *job, path string, p compile.Part) error {
	return writeObject(path, f.format(), output.Object{Name: fullName(p), Mesh: p.Printed})
}
