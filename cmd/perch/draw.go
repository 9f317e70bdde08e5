package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"

	"perch/compile"
	"perch/compile/drawing"
	"perch/compile/eval"
	"perch/compile/mesh"
	"perch/compile/output"
)

// drawCommand draws parts on paper.
type drawCommand struct {
	As    string `enum:"pdf,svg" default:"pdf" help:"Kind of file: pdf or svg."`
	Paper string `placeholder:"SIZE" help:"Sheet size, A4 to A0, to which the scale is fitted; when not given, the smallest sheet that holds the part in its true size."`
	Owner string `placeholder:"TEXT" help:"Legal owner, for the title block."`
	By    string `placeholder:"NAME" help:"Who drew it, for the title block."`
	Date  string `placeholder:"DATE" help:"Date of issue, for the title block."`
	perPart
}

// Help implements kong.HelpProvider.
func (*drawCommand) Help() string {
	return `A part named comb becomes comb.pdf: front, top above it, right beside it, with hidden lines, outer dimensions and the diameters of round holes. A PDF has a sheet for every sketch of the file with the sizes that its text gives; perch inspect --svg draws those as SVG. Fields of the title block that are not given stay empty for handwriting. Print it at 100 %, not fitted to the page.`
}

// Run implements the command.
func (d *drawCommand) Run(ctx context.Context, c *console) error {
	var on *drawing.Paper
	if d.Paper != "" {
		p, ok := drawing.PaperNamed(strings.ToUpper(d.Paper))
		if !ok {
			return fmt.Errorf("--paper: there is no sheet %s: take A4, A3, A2, A1 or A0", d.Paper)
		}
		on = &p
	}
	return d.run(ctx, c, "."+d.As, func(j *job, path string, p compile.Part) error {
		sheets := d.sheets(j, p, on)
		return output.WriteFile(path, func(w io.Writer) error {
			if d.As == "svg" {
				return sheets[0].WriteSVG(w)
			}
			return drawing.WritePDF(w, "Perch "+version, sheets...)
		})
	})
}

// sheets draws a part, and in a PDF the sketches of its file and size.
func (d *drawCommand) sheets(j *job, p compile.Part, on *drawing.Paper) []*drawing.Sheet {
	var sketches []eval.Sketch
	if d.As == "pdf" {
		for _, s := range j.result.Sketches {
			if s.Size == p.Size {
				sketches = append(sketches, s)
			}
		}
	}
	of := func(i int) string {
		if len(sketches) == 0 {
			return ""
		}
		return fmt.Sprintf(", %d of %d", i, len(sketches)+1)
	}
	b := d.block(j, p)
	b.Document, b.Sheet = "part drawing", of(1)
	sheets := []*drawing.Sheet{drawing.Part(mesh.NewTree(p.Mesh), b, on)}
	for i, s := range sketches {
		b.Title, b.Document, b.Sheet = s.Name, "sketch", of(i+2)
		sheets = append(sheets, drawing.Sketch(s.Figure, b))
	}
	return sheets
}

func (d *drawCommand) block(j *job, p compile.Part) drawing.Block {
	return drawing.Block{
		Title: fullName(p), Number: fullName(p) + "-" + j.state(),
		Material: p.Material + assumed(p), Mass: figures(p.Mass, 3) + " g",
		Owner: d.Owner, Drawn: d.By, Date: d.Date, Program: "Perch " + version,
	}
}

// state names the state of everything a job was built from: the first digits
// of a sum over the files that were read.
func (j *job) state() string {
	h := sha256.New()
	for _, f := range j.result.Files {
		h.Write(f.Sum[:])
	}
	return hex.EncodeToString(h.Sum(nil)[:4])
}
