package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"perch/compile"
	"perch/compile/drawing"
	"perch/compile/mesh"
	"perch/compile/output"
	"perch/compile/surface"
)

// templateCommand draws what is held against the tube before printing.
type templateCommand struct {
	Files []string `arg:"" name:"file" help:"Part files."`
	To    string   `placeholder:"NAME" help:"The mating body whose seat is meant; the first round one when not given."`
	Out   string   `placeholder:"FOLDER" help:"Folder for the templates, made when missing; without it they go beside the part file."`
	choice
}

// Help implements kong.HelpProvider.
func (*templateCommand) Help() string {
	return `A part named comb becomes comb-template.pdf, in true size: a gauge of the seat to cut out and hold against the tube, and the seat unrolled, to lay round the tube and see where the part comes to sit. Print it at 100 %, and measure the bar of 100 mm before you trust it.`
}

// Run implements the command.
func (p *templateCommand) Run(ctx context.Context, c *console) error {
	opts, err := p.options()
	if err != nil {
		return err
	}
	jobs, err := runAll(ctx, c, p.Files, opts)
	if err != nil {
		return err
	}
	var ready []*job
	for _, j := range jobs {
		if j.writable() {
			j.plan(p.Out, "-template.pdf")
			ready = append(ready, j)
		}
	}
	if err := refuse(ready); err != nil {
		c.faults(jobs)
		return err
	}
	for _, j := range ready {
		j.err = j.write(p.Out, func(path string, part compile.Part) error {
			sheets, err := p.sheets(ctx, part, opts.Tolerance)
			if err != nil {
				return err
			}
			return output.WriteFile(path, func(w io.Writer) error {
				return drawing.WritePDF(w, "Perch "+version, sheets...)
			})
		})
	}
	return c.report(jobs, p.JSON)
}

// onSeat is how far a corner of a seat may be from the body it lies on, beside
// the chords of both, mm.
const onSeat = 0.02

// sheets draws the templates of a part.
func (p *templateCommand) sheets(ctx context.Context, part compile.Part, tolerance float64) ([]*drawing.Sheet, error) {
	if tolerance == 0 {
		tolerance = compile.DefaultTolerance
	}
	s := surface.Of(part.Mesh, tolerance)
	var names []string
	for _, m := range part.Mating {
		names = append(names, m.Name)
		if p.To != "" && m.Name != p.To {
			continue
		}
		body, err := m.Mesh(ctx)
		if err != nil {
			return nil, err
		}
		for _, f := range s.Seats(mesh.NewTree(body), 2*tolerance+onSeat) {
			if face := s.Faces[f]; face.Kind == surface.Cylinder && face.Hollow {
				return drawing.Template(s, f, fullName(part))
			}
		}
	}
	switch {
	case len(names) == 0:
		return nil, fmt.Errorf("%s has no mating body, so there is no seat to draw: state the tube as a mating body and cut it", fullName(part))
	case p.To == "":
		return nil, fmt.Errorf("%s lies on none of %s with a round seat", fullName(part), strings.Join(names, ", "))
	}
	return nil, fmt.Errorf("--to %s: %s has no round seat on such a body; its mating bodies are %s", p.To, fullName(part), strings.Join(names, ", "))
}
