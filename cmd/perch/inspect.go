package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"perch/compile"
	"perch/compile/eval"
	"perch/compile/figure"
	"perch/compile/output"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/unit"
)

// inspectCommand lists the values of a part file.
type inspectCommand struct {
	File     string   `arg:"" name:"file" help:"Part file."`
	Set      []string `sep:"none" placeholder:"NAME=VALUE" help:"Give a measure or a let another value: --set lead=5mm."`
	Workshop string   `placeholder:"FILE" help:"File that states the workshop; without it the nearest workshop.perch beside the part file or in a folder above."`
	Size     string   `placeholder:"NAME" help:"Inspect this row of a sizes table."`
	SVG      string   `name:"svg" placeholder:"FOLDER" type:"path" help:"Also draw every sketch, with its dimensions and what can still move, as an SVG file in this folder."`
	JSON     bool     `name:"json" help:"Print JSON for another program."`
}

// Help implements kong.HelpProvider.
func (*inspectCommand) Help() string {
	return `Lists every measure, every let and every measure of a sketch with its value, its standard uncertainty (k = 1) and the measurements that the uncertainty comes from, the greatest first, each with its share in the variance. Nothing is built. With --svg every sketch that needs no arguments is drawn into a file FILE-SKETCH.svg; otherwise nothing is written.`
}

// Run implements the command.
func (n *inspectCommand) Run(ctx context.Context, c *console) error {
	ch := choice{Set: n.Set, Workshop: n.Workshop}
	if n.Size != "" {
		ch.Size = []string{n.Size}
	}
	opts, err := ch.options()
	if err != nil {
		return err
	}
	in, err := compile.New().Inspect(ctx, n.File, opts)
	if err != nil {
		c.diagnostics(in.Diags)
		return err
	}
	if n.SVG != "" {
		if err := n.draw(c, in); err != nil {
			return err
		}
	}
	worst := judged(in.Diags)
	if n.JSON {
		if err := c.json(inspectReport(n.File, worst, in)); err != nil {
			return err
		}
		return worst.worst()
	}
	c.diagnostics(in.Diags)
	c.quantities(in)
	return worst.worst()
}

// draw writes a drawing of every solved sketch.
func (n *inspectCommand) draw(c *console, in *compile.Inspection) error {
	if err := os.MkdirAll(n.SVG, 0o777); err != nil {
		return err
	}
	stem := strings.TrimSuffix(filepath.Base(n.File), filepath.Ext(n.File))
	for _, s := range in.Sketches {
		path := filepath.Join(n.SVG, stem+"-"+s.Figure.Name+".svg")
		if err := output.WriteFile(path, func(w io.Writer) error { return figure.Write(w, s.Figure) }); err != nil {
			return err
		}
	}
	return nil
}

// judged is the status that diagnostics ask for.
func judged(l diag.List) status {
	switch {
	case slices.ContainsFunc(l, compile.WrongUse):
		return trouble
	case l.HasErrors():
		return faulty
	}
	return done
}

// shown is one line of the table.
type shown struct {
	name, value, spread, unit, from string
}

// quantities prints the table: names and units to the left, numbers by their
// decimal point.
func (c *console) quantities(in *compile.Inspection) {
	rows := []shown{{"", "value", "u (k = 1)", "", "comes from"}}
	for _, q := range in.Quantities {
		rows = append(rows, lineOf(q, in.Sources))
	}
	if len(rows) == 1 {
		fmt.Fprintln(c.out, "no measures, lets or sketches in this file")
		return
	}
	var head, value, spread, units int
	for _, r := range rows[1:] {
		head = max(head, pointAt(r.value))
	}
	for i := range rows[1:] { // points below each other
		r := &rows[i+1]
		if r.unit != "" || pointAt(r.value) < utf8.RuneCountInString(r.value) || isDigit(r.value) {
			r.value = strings.Repeat(" ", max(0, head-pointAt(r.value))) + r.value
		}
	}
	names := 0
	for _, r := range rows {
		names = max(names, utf8.RuneCountInString(r.name))
		value = max(value, utf8.RuneCountInString(r.value))
		spread = max(spread, utf8.RuneCountInString(r.spread))
		units = max(units, utf8.RuneCountInString(r.unit))
	}
	for _, r := range rows {
		line := pad(r.name, names) + "  " + pad(r.value, value) + "  " + pad(r.unit, units) + "  " + pad(r.spread, spread) + "  " + r.from
		fmt.Fprintln(c.out, render.Clean(strings.TrimRight(line, " ")))
	}
}

func isDigit(s string) bool { return s != "" && (s[0] >= '0' && s[0] <= '9' || s[0] == '-') }

func pad(s string, n int) string {
	return s + strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s)))
}

// pointAt is the place of the decimal point, or the end of what has none.
func pointAt(s string) int {
	if i := strings.IndexByte(s, '.'); i >= 0 {
		return i
	}
	if i := strings.IndexByte(s, 'e'); i >= 0 && isDigit(s) {
		return i
	}
	return utf8.RuneCountInString(s)
}

func lineOf(q eval.Quantity, sources []eval.Source) shown {
	r := shown{name: q.Name}
	n, ok := q.Value.(value.Number)
	if !ok {
		r.value = value.Print(q.Value)
		return r
	}
	n = clean(n)
	factor, word := unit.Shown(n.X, n.Dim)
	r.unit = word
	x, u := n.X/factor, n.Uncertainty()/factor
	if u == 0 {
		r.value = strings.TrimSuffix(n.String(), " "+word)
		return r
	}
	r.value, r.spread = together(x, u)
	r.from = origin(n, sources, 3)
	return r
}

// dust is the share of a value below which a contribution to its uncertainty
// is only what the arithmetic of a derivative left over, and the least that
// share is taken of, in base units.
const dust, dustOf = 1e-12, 1e-3

// clean returns a number without contributions that are dust.
func clean(n value.Number) value.Number {
	n.U = slices.DeleteFunc(slices.Clone(n.U), func(u value.Contribution) bool {
		return math.Abs(u.C) < dust*max(math.Abs(n.X), dustOf)
	})
	return n
}

// together rounds an uncertainty to two significant digits and the value to
// the same place (GUM 7.2.6).
func together(x, u float64) (value, spread string) {
	places := 1 - int(math.Floor(math.Log10(u)))
	if r := math.Pow(10, float64(places)); math.Round(u*r) >= 100 {
		places-- // 0.0996 is 0.10
	}
	if places < 0 || places > 9 || math.Abs(x) >= 1e9 {
		return fmt.Sprintf("%.6g", x), fmt.Sprintf("%.2g", u)
	}
	return fmt.Sprintf("%.*f", places, x), fmt.Sprintf("%.*f", places, u)
}

// origin lists the sources of an uncertainty by their share in the variance,
// at most so many.
func origin(n value.Number, sources []eval.Source, most int) string {
	var words []string
	for i, c := range ranked(n, sources) {
		if i >= most {
			words = append(words, "…")
			break
		}
		words = append(words, fmt.Sprintf("%s %s %%", c.Name, percent(c.Share)))
	}
	return strings.Join(words, ", ")
}

func percent(share float64) string {
	if p := math.Round(share * 100); p >= 1 {
		return fmt.Sprintf("%.0f", p)
	}
	return "<1"
}

// contribution is what one source has in an uncertainty.
type contribution struct {
	Name  string  `json:"measure"`
	Share float64 `json:"share"` // in the variance, 0 to 1
	Of    float64 `json:"contribution"`
}

// least is the share below which a source does not count: what a derivative
// that is zero leaves after rounding.
const least = 1e-9

// ranked lists contributions, the greatest first.
func ranked(n value.Number, sources []eval.Source) []contribution {
	var out []contribution
	for _, u := range n.U {
		if s := n.Share(u.Source); s > least {
			out = append(out, contribution{sources[u.Source].Name, s, math.Abs(u.C)})
		}
	}
	slices.SortStableFunc(out, func(a, b contribution) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return strings.Compare(a.Name, b.Name)
	})
	return out
}

// inspectDocument is what --json prints. Values, uncertainties and
// contributions are in the unit of their line.
type inspectDocument struct {
	Version     string           `json:"perch"`
	Done        bool             `json:"done"`
	File        string           `json:"file"`
	Quantities  []quantityReport `json:"quantities"`
	Diagnostics []render.Entry   `json:"diagnostics"`
}

type quantityReport struct {
	Kind          string         `json:"kind"`
	Name          string         `json:"name"`
	Line          int            `json:"line"`
	Value         any            `json:"value"`
	Unit          string         `json:"unit,omitempty"`
	Uncertainty   float64        `json:"uncertainty"`
	Readings      int            `json:"readings,omitempty"`
	Contributions []contribution `json:"contributions,omitempty"`
}

func inspectReport(file string, worst status, in *compile.Inspection) inspectDocument {
	d := inspectDocument{Version: version, Done: worst == done, File: file, Quantities: []quantityReport{}, Diagnostics: render.Entries(in.Diags)}
	for _, q := range in.Quantities {
		r := quantityReport{Kind: q.Kind, Name: q.Name, Readings: q.Readings}
		if q.At.Valid() {
			r.Line = q.At.File.Position(q.At.Start).Line
		}
		switch v := q.Value.(type) {
		case value.Number:
			v = clean(v)
			factor, word := unit.Shown(v.X, v.Dim)
			r.Value, r.Unit, r.Uncertainty = v.X/factor, word, v.Uncertainty()/factor
			r.Contributions = ranked(v, in.Sources)
			for i := range r.Contributions {
				r.Contributions[i].Of /= factor
			}
		case value.Flag:
			r.Value = bool(v)
		case value.Text:
			r.Value = string(v)
		default:
			r.Value = value.Print(v)
		}
		d.Quantities = append(d.Quantities, r)
	}
	return d
}
