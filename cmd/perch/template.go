package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"perch/compile"
	"perch/compile/drawing"
	"perch/compile/output"
	"perch/compile/surface"
)

// templateCommand draws what is held against the tube before printing.
type templateCommand struct {
	To string `placeholder:"NAME" help:"The mating body whose seat is meant; the first round one when not given."`
	perPart
}

// Help implements kong.HelpProvider.
func (*templateCommand) Help() string {
	return `A part named comb becomes comb-template.pdf, in true size: a gauge of the seat to cut out and hold against the tube, and the seat unrolled, to lay round the tube and see where the part comes to sit. Print it at 100 %, and measure the bar of 100 mm before you trust it.`
}

// Run implements the command.
func (p *templateCommand) Run(ctx context.Context, c *console) error {
	jobs, err := p.make(ctx, c, "-template.pdf", func(_ *job, path string, part compile.Part) error {
		sheets, err := p.sheets(ctx, part)
		if err != nil {
			return err
		}
		return output.WriteFile(path, func(w io.Writer) error {
			return drawing.WritePDF(w, "Perch "+version, sheets...)
		})
	})
	if err != nil {
		return err
	}
	for _, j := range jobs {
		if j.whole() && !slices.Contains(j.written, true) {
			j.err = fmt.Errorf("no part of %s has a mating body, so there is no seat to draw: state the tube as a mating body and cut it", j.file)
		}
	}
	return c.report(jobs, p.JSON)
}

// sheets draws the templates of a part.
func (p *templateCommand) sheets(ctx context.Context, part compile.Part) ([]*drawing.Sheet, error) {
	s := surface.Of(part.Mesh, cmp.Or(float64(p.Tolerance), compile.DefaultTolerance))
	face, err := part.Seat(ctx, s, p.To)
	switch {
	case err != nil:
		return nil, err
	case face >= 0:
		return drawing.Template(s, face, fullName(part))
	case len(part.Mating) == 0:
		return nil, errNothing
	}
	var names []string
	for _, m := range part.Mating {
		names = append(names, m.Name)
	}
	if p.To != "" {
		names = []string{p.To}
	}
	return nil, fmt.Errorf("%s has no round seat on %s: a template needs a tube that the part is cut to, stated as a mating body", fullName(part), strings.Join(names, " or "))
}
