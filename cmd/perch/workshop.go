package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"perch/compile"
	"perch/compile/builtin"
	"perch/compile/output"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/diag/render"
	"perch/lang/unit"
)

// workshopCommand prints the workshop in force.
type workshopCommand struct {
	Path     string   `arg:"" optional:"" name:"file|folder" default:"." help:"Part file, or a folder; the folder you are in when not given."`
	Set      []string `sep:"none" placeholder:"NAME=VALUE" help:"Give an entry another value: --set workshop.nozzle=0.6mm."`
	Workshop string   `placeholder:"FILE" help:"File that states the workshop; without it the nearest workshop.perch beside the part file or in a folder above."`
	Begin    bool     `help:"Write a workshop.perch into the folder, with everything that it can state and what is assumed, each line a comment to be taken up."`
	JSON     bool     `name:"json" help:"Print JSON for another program."`
}

// Help implements kong.HelpProvider.
func (*workshopCommand) Help() string {
	return `Prints the printer, the fits, what holes and pegs come out at, and the materials that hold for the designs of a folder, each with where its value comes from: a line of workshop.perch, or common practice.

The file is the nearest workshop.perch from that folder upwards; the search ends at the folder that holds .git, or at the root.`
}

// Run implements the command.
func (w *workshopCommand) Run(ctx context.Context, c *console) error {
	opts, err := choice{Set: w.Set, Workshop: w.Workshop}.options()
	if err != nil {
		return err
	}
	if w.Begin {
		return w.begin(c)
	}
	in, err := compile.New().Workshop(ctx, w.Path, opts)
	if err != nil {
		c.diagnostics(in.Diags)
		return err
	}
	worst := judged(in.Diags)
	if w.JSON {
		d := shopDocument{Version: version, Done: worst == done, Diagnostics: render.Entries(in.Diags), Entries: []shopEntry{}}
		if in.Workshop != nil {
			d.File, d.Entries = in.Workshop.File, shopEntries(in.Workshop)
		}
		if err := c.json(d); err != nil {
			return err
		}
		return worst.worst()
	}
	c.diagnostics(in.Diags)
	if in.Workshop != nil {
		c.shop(in.Workshop)
	}
	return worst.worst()
}

// begin writes a workshop for the maker to fill in; one that is there stays.
func (w *workshopCommand) begin(c *console) error {
	info, err := os.Stat(w.Path)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("--begin takes a folder, %s is none", w.Path)
	}
	path := filepath.Join(w.Path, workshop.FileName)
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s is there already; nothing was written", path)
	}
	if err := output.WriteFile(path, func(to io.Writer) error {
		_, err := io.WriteString(to, workshop.Template())
		return err
	}); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "%s written: take the # off a line to state it\n", render.Clean(path))
	return err
}

// shopEntry is one value of the workshop. From is the place of its text, or
// who says so; a value that is not Stated is assumed.
type shopEntry struct {
	Name   string `json:"name"`
	Value  string `json:"value"`
	From   string `json:"from"`
	Stated bool   `json:"stated"`
}

type shopDocument struct {
	Version     string         `json:"perch"`
	Done        bool           `json:"done"`
	File        string         `json:"file,omitempty"`
	Entries     []shopEntry    `json:"entries"`
	Diagnostics []render.Entry `json:"diagnostics"`
}

// shopEntries lists what is in force, in the order of the tables.
func shopEntries(p *workshop.Profile) []shopEntry {
	var out []shopEntry
	add := func(name, text string, s workshop.Stated) {
		from := s.From
		if s.Assumed() {
			from = "assumed: " + s.Source
		}
		out = append(out, shopEntry{name, text, from, !s.Assumed()})
	}
	for _, e := range workshop.Entries {
		if s := p.Look(e.Name); s.Value != nil {
			add(e.Name, workshop.Show(s.Value), s)
		}
	}
	for _, f := range workshop.Fits {
		if f.Fixed {
			continue
		}
		s := p.LookFit(&f)
		n := s.Value.(value.Number)
		half := n.Apply(n.X/2, 0.5, n.Dim)
		add("fit."+f.Name, workshop.Show(n)+" on diameter, "+workshop.Show(half)+" per side", s)
	}
	out = append(out, correctionEntries("hole", p.Holes)...)
	out = append(out, correctionEntries("peg", p.Pegs)...)
	for _, m := range p.Materials {
		for _, q := range builtin.Properties {
			f := q.Of(&m)
			if f.Stated {
				out = append(out, shopEntry{m.Name + "." + q.Name, workshop.Show(value.Of(f.X, q.Dim).From(0, f.U)), f.Source, true})
			}
		}
	}
	return out
}

// correctionEntries tell what holes or pegs come out at.
func correctionEntries(word string, k *workshop.Correction) []shopEntry {
	if k == nil {
		text := "come out as drawn"
		if word == "hole" {
			text = "come out " + workshop.Show(workshop.Practice()) + " small"
		}
		return []shopEntry{{word + "s", text, "assumed: common practice; print the coupon", false}}
	}
	var out []shopEntry
	for _, size := range k.Sizes() {
		n := k.At(size)
		out = append(out, shopEntry{word + " " + unit.Format(size, unit.Length), "draw it " + signed(n), k.From, true})
	}
	from, to := k.Reach()
	return append(out, shopEntry{word + "s", "below " + unit.Format(from, unit.Length) + " and above " + unit.Format(to, unit.Length) +
		" good to ± " + unit.Format(workshop.FarOff, unit.Length) + " more", "common practice, far from the sizes read", false})
}

// signed prints how much larger or smaller something is to be drawn.
func signed(n value.Number) string {
	word := " larger"
	if n.X < 0 {
		n, word = value.Neg(n), " smaller"
	}
	return workshop.Show(n) + word
}

// shop prints the workshop as a table.
func (c *console) shop(p *workshop.Profile) {
	if p.File == "" {
		fmt.Fprintf(c.out, "no %s here or above: common practice holds\n", workshop.FileName)
	} else {
		fmt.Fprintln(c.out, render.Clean(p.File))
	}
	entries := shopEntries(p)
	names, values := 0, 0
	for _, e := range entries {
		names, values = max(names, len(e.Name)), max(values, len(e.Value))
	}
	for _, e := range entries {
		from := e.From
		if line, ok := strings.CutPrefix(from, p.File+":"); ok && p.File != "" {
			from = "line " + line
		}
		fmt.Fprintln(c.out, render.Clean("  "+pad(e.Name, names)+"  "+pad(e.Value, values)+"  "+from))
	}
}
