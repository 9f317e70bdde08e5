package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"perch/compile"
	"perch/compile/check"
	"perch/compile/eval"
	"perch/compile/figure"
	"perch/compile/output"
	"perch/compile/picture"
	"perch/compile/report"
	"perch/lang/diag"
)

// reportCommand writes all that is known of a part.
type reportCommand struct {
	perPart
}

// Help implements kong.HelpProvider.
func (*reportCommand) Help() string {
	return `A part named comb becomes comb-report.html, one page that needs nothing else, and comb-report.json: pictures, sketches, figures, measures with their uncertainty, checks, assumptions, cautions, and the exact texts and settings, so that the part can be made again years later.`
}

// Run implements the command.
func (r *reportCommand) Run(ctx context.Context, c *console) error {
	opts, err := r.options()
	if err != nil {
		return err
	}
	return r.run(ctx, c, "-report.html", func(j *job, path string, p compile.Part) error {
		page, err := r.page(ctx, j, p, opts)
		if err != nil {
			return err
		}
		if err := output.WriteFile(path, page.WriteHTML); err != nil {
			return err
		}
		return output.WriteFile(strings.TrimSuffix(path, ".html")+".json", page.WriteJSON)
	}, unasked)
}

// page gathers the report on one part.
func (r *reportCommand) page(ctx context.Context, j *job, p compile.Part, opts compile.Options) (report.Page, error) {
	page := report.Page{
		Program: "Perch " + version, Part: p.Name, Size: p.Size, File: filepath.Base(j.file), State: j.state(),
		Command: r.again(j, p), Figures: figuresOf(p), Settings: r.Set, Cautions: cautionsOf(j, p), Remarks: remarksOf(j, p),
		Assumptions: assumptionsOf(j, p, opts),
	}
	for _, r := range slices.Concat(p.Checks, p.Standing) {
		c := reportOf(r)
		if u := r.Expanded(); u > 0 && c.Value != "" {
			c.Value = r.Rounded(u)
		}
		page.Checks = append(page.Checks, report.Check{
			Text: c.Check, Status: c.Status, Value: c.Value, Limit: c.Limit, Note: noteOf(c),
		})
	}
	img, err := picture.Sheet(p.Mesh, 1200, 900)
	if err != nil {
		return page, err
	}
	all, err := report.NewPicture("from the top, the front, the right and the corner", img)
	if err != nil {
		return page, err
	}
	page.Pictures = []report.Picture{all}
	for _, s := range j.result.Sketches {
		if s.Size != p.Size {
			continue
		}
		d, err := report.NewDrawing("sketch "+s.Name, func(w io.Writer) error { return figure.Write(w, s.Figure) })
		if err != nil {
			return page, err
		}
		page.Drawings = append(page.Drawings, d)
	}
	if page.Quantities, err = quantitiesOf(ctx, j, p, opts); err != nil {
		return page, err
	}
	for _, t := range j.result.Texts {
		sum := sha256.Sum256([]byte(t.File.Text))
		page.Sources = append(page.Sources, report.Source{Name: t.Name, Text: t.File.Text, Sum: hex.EncodeToString(sum[:]), Library: t.Library})
	}
	return page, nil
}

// again is the command that builds the part once more.
func (r *reportCommand) again(j *job, p compile.Part) string {
	words := []string{"perch", "build", filepath.Base(j.file)}
	for _, s := range r.Set {
		words = append(words, "--set", quoted(s))
	}
	if p.Size != "" {
		words = append(words, "--size", p.Size)
	}
	if r.Tolerance != 0 {
		words = append(words, "--tolerance", fixed(float64(r.Tolerance), 6)+"mm")
	}
	return strings.Join(words, " ")
}

// quoted is fit for a shell.
func quoted(s string) string {
	if strings.ContainsFunc(s, func(r rune) bool { return strings.ContainsRune(" \t\"'$&|;<>()*?", r) }) {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return s
}

func figuresOf(p compile.Part) []report.Figure {
	out := []report.Figure{{Name: "size", Value: extents(p.Bounds.Size())}}
	if p.Printed != p.Mesh {
		out = append(out, report.Figure{Name: "printed", Value: extents(p.Printed.Bounds().Size()) + "; the pictures show it as drawn"})
	}
	return append(out, []report.Figure{
		{Name: "volume", Value: volume(p.Volume)},
		{Name: "surface", Value: figures(p.Surface/100, 4) + " cm2"},
		{Name: "mass", Value: figures(p.Mass, 3) + " g"},
		{Name: "material", Value: p.Material + assumed(p)},
		{Name: "mesh", Value: plural(len(p.Mesh.Triangles), "triangle")},
	}...)
}

// noteOf says what stands below a check.
func noteOf(c checkReport) string {
	var s []string
	for _, t := range []string{c.Unknown, c.Remark, c.Where, c.Change} {
		if t != "" {
			s = append(s, t)
		}
	}
	if f := c.Figures; f != nil && f.Expanded > 0 {
		s = append(s, fmt.Sprintf("± %s %s (95 %%), at worst ± %s %s", figures(f.Expanded, 2), f.Unit, figures(math.Abs(f.Worst), 2), f.Unit))
	}
	if len(c.Measurements) > 0 {
		var from []string
		for _, m := range c.Measurements[:min(3, len(c.Measurements))] {
			from = append(from, fmt.Sprintf("%s %s %%", m.Name, percent(m.Share)))
		}
		s = append(s, "uncertainty from "+strings.Join(from, ", "))
	}
	if q := c.Query; q != nil && q.Formula != "" {
		s = append(s, q.Formula)
	}
	return strings.Join(s, "; ")
}

// concerns reports whether a message is about a part in its size.
func concerns(d diag.Diagnostic, p compile.Part) bool {
	return len(d.Sizes) == 0 || slices.Contains(d.Sizes, fullName(p))
}

// cautionsOf lists the cautions that the build gave for a part.
func cautionsOf(j *job, p compile.Part) []string {
	var out []string
	for _, d := range j.result.Diags {
		if d.Code == eval.Cautioned && concerns(d, p) && !slices.Contains(out, d.Message) {
			out = append(out, d.Message)
		}
	}
	for _, c := range p.Cautions {
		if !slices.Contains(out, c.Text) {
			out = append(out, c.Text)
		}
	}
	return append(out, check.Estimates, "A printed part is not certified to any standard, and nothing here claims that one is.")
}

// remarksOf lists the other messages of the build.
func remarksOf(j *job, p compile.Part) []string {
	var out []string
	for _, d := range j.result.Diags {
		if d.Code == eval.Cautioned || d.Code == check.Failed || d.Code == check.CannotTell || !concerns(d, p) {
			continue
		}
		out = append(out, d.Severity.String()+": "+strings.Join(append([]string{d.Message}, d.Notes...), "; "))
	}
	return out
}

func assumptionsOf(j *job, p compile.Part, opts compile.Options) []string {
	tolerance := opts.Tolerance
	if tolerance == 0 {
		tolerance = compile.DefaultTolerance
	}
	out := []string{
		"Mass, filament and time are those of a solid part.",
		fmt.Sprintf("Curves are made of flats that leave them by at most %s mm.", fixed(tolerance, 4)),
	}
	if p.MaterialAssumed {
		out = append(out, "The part names no material; "+p.Material+" is assumed.")
	}
	if w := j.result.Workshop; w != nil {
		if w.File != "" {
			out = append(out, "The workshop is that of "+filepath.Base(w.File)+".")
		}
		for _, a := range w.Assumptions() {
			out = append(out, a+" (common practice)")
		}
	}
	return out
}

// quantitiesOf inspects the file in the size of the part.
func quantitiesOf(ctx context.Context, j *job, p compile.Part, opts compile.Options) ([]report.Quantity, error) {
	opts.AllSizes, opts.Sizes = false, nil
	if p.Size != "" {
		opts.Sizes = []string{p.Size}
	}
	in, err := j.session.Inspect(ctx, j.file, opts)
	if err != nil {
		return nil, err
	}
	var out []report.Quantity
	for _, q := range in.Quantities {
		l := lineOf(q, in.Sources)
		out = append(out, report.Quantity{Kind: q.Kind, Name: l.name, Value: l.value, Unit: l.unit, Spread: l.spread, From: l.from})
	}
	return out, nil
}
