// Package reference writes the reference of the language as Markdown, from the
// tables that define it and the sources of the standard library.
package reference

import (
	"fmt"
	"io/fs"
	"strings"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/sketch"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/parse"
	"perch/lang/source"
	"perch/lang/token"
	"perch/lang/unit"
	"perch/stdlib"
)

// Example is a whole file that builds, for a declaration.
type Example struct{ Word, Text string }

// Examples show the declarations in use.
var Examples = []Example{
	{"use", "use tube, strap\n"},
	{"measure", "measure lead  = 4.2mm +- 0.1mm\nmeasure girth = 361.2mm, 360.7mm, 361.1mm within 0.5mm\n"},
	{"let", "let wall = 2.4mm\nlet room(d: length) = d + 0.3mm\n"},
	{"sketch", "sketch plate(long: length = 40mm) {\n    rectangle rim width long, height 12mm, centre (0, 0)\n    circle hole centre (0, 0), diameter 3.4mm\n    area rim less hole\n}\n"},
	{"part", "part foot(long: length = 20mm) {\n    mating pipe = cylinder radius 57mm, along y, centre (0, 0, -57mm)\n    join box width 20mm, depth long, from z = -2mm to z = 5mm\n    cut  pipe\n    material petg\n    check mass <= 20g\n}\n"},
	{"sizes", "part foot(long: length = 20mm) {\n    join box width 20mm, depth long, height 5mm\n}\n\nsizes foot {\n    short: long = 12mm\n    long:  long = 60mm\n}\n"},
	{"workshop", "workshop {\n    nozzle               = 0.6mm\n    fit.snug.on_diameter = 0.12mm +- 0.02mm\n    hole 4mm             = 3.84mm, 3.87mm, 3.86mm within 0.02mm\n    petg.price           = 24 / 1kg\n}\n"},
}

// Markdown returns the whole reference.
func Markdown() string {
	w := &writer{}
	w.line("# The language of Perch")
	w.declarations()
	w.lines(parse.InPart, "Steps of a part", "A part is a list of steps on one body, carried out in their order.")
	w.lines(parse.InSketch, "Lines of a sketch", "They may stand in any order, between relations (`floor horizontal`) and equations or inequalities between measures (`floor.length = 12mm`, `jaw.length >= 3mm`). Inequalities are checked once the sketch is solved.")
	w.lines(parse.InOutline, "Segments of an outline", "They are walked in their order. A point gets its name where it is reached: `line right 40mm to b`.")
	w.names()
	w.shapes()
	w.units()
	w.kinds()
	w.functions()
	w.bodies()
	w.sketches()
	w.checks()
	w.materials()
	w.workshop()
	w.modules()
	return w.b.String()
}

type writer struct{ b strings.Builder }

func (w *writer) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

func (w *writer) head(title string) { w.line("\n## %s\n", title) }

func (w *writer) code(text string) { w.line("\n```\n%s\n```", strings.TrimRight(text, "\n")) }

func (w *writer) declarations() {
	w.head("Declarations")
	w.line("They stand at the top level of a file, each after those it uses.")
	for _, s := range parse.Statements {
		if s.Block != parse.Top {
			continue
		}
		w.line("\n`%s`: %s.", s.Form, s.Doc)
		for _, x := range Examples {
			if x.Word == s.Word {
				w.code(x.Text)
			}
		}
	}
}

// lines lists the statements of a block.
func (w *writer) lines(b parse.Block, title, about string) {
	w.head(title)
	w.line("%s\n", about)
	for _, s := range parse.Statements {
		if s.Block == b {
			w.line("- `%s`: %s", s.Form, s.Doc)
		}
	}
}

func (w *writer) names() {
	w.head("Names")
	w.line("A name is a letter followed by letters, digits and `_`, without a hyphen: `tube_r`. Reserved words cannot be names: `%s`.",
		strings.Join(token.ReservedWords, "`, `"))
}

func (w *writer) shapes() {
	w.head("Ready shapes")
	for _, s := range builtin.Shapes {
		w.line("\n`%s`:\n", s.Word)
		for _, c := range s.Clauses {
			w.line("- `%s`: %s", c.Text, c.Doc)
		}
	}
}

func (w *writer) units() {
	w.head("Units")
	w.line("A unit follows its number without a space, and units make products, quotients and powers: `1.27g/cm^3`. Only `0` needs none, and a fraction is written as a decimal: `0.25in`.\n")
	for _, word := range unit.Words() {
		u, err := unit.Parse(word)
		if err != nil {
			panic(err) // the table of units is wrong
		}
		w.line("- `1%s` is %s", word, unit.Format(u.Factor, u.Dim))
	}
}

func (w *writer) kinds() {
	w.head("Kinds of parameters")
	for _, k := range builtin.All.Kinds {
		w.line("- `%s`: %s, such as %s", k.Word, k.Doc, strings.Trim(k.Sample, "`"))
	}
}

func (w *writer) functions() {
	w.head("Constants and functions")
	for _, c := range builtin.All.Constants {
		w.line("- `%s`: %s", c.Name, c.Doc)
	}
	w.line("- `%s`: the name of the size that is being built, as a text; \"\" for the part as written", builtin.SizeWord)
	for _, f := range builtin.All.Functions {
		var params []string
		for i, p := range f.Params {
			word := p.Name
			if p.Kind != "" {
				word += ": " + p.Kind
			}
			if i >= len(f.Params)-f.Optional {
				word = "[" + word + "]"
			}
			params = append(params, word)
		}
		more := ""
		if f.Variadic {
			more = ", …"
		}
		w.line("- `%s(%s%s)`: %s. True: `%s`", f.Name, strings.Join(params, ", "), more, f.Doc, f.Example)
	}
}

func (w *writer) bodies() {
	w.head("Bodies")
	w.phrases(builtin.All.Heads)
	w.head("Marks: steps that letter a part")
	w.phrases(builtin.All.Marks)
	w.head("Placing a body")
	for _, p := range builtin.All.Placements {
		w.line("\n`%s`: %s.", p.Text, p.Doc)
		w.code(p.Example)
	}
}

func (w *writer) phrases(list []builtin.Head) {
	for _, h := range list {
		w.line("\n`%s`: %s.\n", h.Name, h.Doc)
		for _, f := range h.Clauses {
			w.line("- `%s`: %s", f.Text, f.Doc)
		}
		w.code(h.Example)
	}
}

func (w *writer) sketches() {
	w.head("Relations of a sketch")
	for _, r := range sketch.Relations() {
		w.line("\n`%s`: %s", r.Word, r.Doc)
		w.code(r.Example)
	}
	w.head("Measures of a sketch")
	for _, f := range sketch.Functions {
		w.line("- `%s`: %s, such as `%s`", f.Name, f.Doc, f.Example)
	}
}

func (w *writer) checks() {
	w.head("What a check may ask of the finished part")
	w.line("In formulas and comparisons:\n")
	for _, c := range check.Words {
		w.line("- `%s`: %s", c.Name, c.Doc)
	}
	w.line("\nIn words, worked out on the finished mesh:\n")
	for i := range check.Queries {
		q := &check.Queries[i]
		w.line("- `%s`: %s. Found as %s. Source: %s. When it fails: %s. Such as `check %s`", q.Phrase(), q.Doc, q.Formula, q.Source, q.Change, q.Example)
	}
	w.head("Cautions")
	for _, c := range check.Cautions {
		w.line("- `caution %s`: %s", c.Word, c.Text)
	}
}

func (w *writer) materials() {
	w.head("Materials")
	for _, m := range builtin.All.Materials {
		w.line("- `%s`: %s. Water: %s. Sun: %s.%s", m.Name, m.Doc, m.Moisture, m.Sun, fumes(m))
		for _, p := range builtin.Properties {
			if f := *p.Of(&m); f.Known() {
				w.line("  - `material.%s` is %s: %s", p.Name, printed(f, p.Dim), f.Source)
			}
		}
	}
	w.line("\nWhat a material can be asked, in a part; what is not listed for it is not known:\n")
	for _, p := range builtin.Properties {
		w.line("- `material.%s`: %s", p.Name, p.Doc)
	}
}

func fumes(m builtin.Material) string {
	if m.Fumes {
		return " Ventilate when printing it."
	}
	return ""
}

func (w *writer) workshop() {
	w.head("The workshop")
	w.line("What `workshop { … }` can state; a part asks for it by `workshop.NAME`:\n")
	p := workshop.New("")
	for _, e := range workshop.Entries {
		text := ""
		if s := p.Look(e.Name); s.Value != nil {
			text = fmt.Sprintf("; else %s (%s)", workshop.Show(s.Value), s.Source)
		}
		w.line("- `%s = %s`: %s%s", e.Name, e.Sample, e.Doc, text)
	}
	w.line("- `hole 4mm = 3.84mm, 3.87mm`, `peg 4mm = …`: what a hole, or a peg, drawn with that diameter came out at; far from the sizes read (under half the smallest, over twice the largest, a quarter away from a single one) the correction is good to 0.05 mm more, as common practice has it")
	w.line("- `petg.price = 24 / 1kg`, `green.like = \"petg\"`, `green.density = …`: values of a known material, or of one of your own")
	w.line("\nThe fits: clearances between two printed things, on diameter, here as common practice has them. A workshop states `fit.NAME.on_diameter` or `fit.NAME.per_side`:\n")
	for _, f := range workshop.Fits {
		w.line("- `fit.%s`: %s; %s +- %s on diameter", f.Name, f.Doc, unit.Format(f.Clearance, unit.Length), unit.Format(f.Give, unit.Length))
	}
	w.line("\n`fit.snug.hole(d)` is the diameter to draw for a hole that something of diameter d goes into, `fit.snug.peg(d)` that of a peg that goes into a hole of d; both with what holes and pegs of this workshop come out at. `fit.snug.on_diameter` and `fit.snug.per_side` are the clearances alone.")
}

// printed writes a value of the table with its uncertainty or its range.
func printed(f builtin.Fact, d unit.Dim) string {
	s := unit.Format(f.X, d)
	switch {
	case f.U > 0:
		s += " +- " + unit.Format(f.U, d)
	case f.Low < f.High:
		s += fmt.Sprintf(" (%s to %s)", unit.Format(f.Low, d), unit.Format(f.High, d))
	}
	return s
}

// modules writes what each module of the library declares, with the comments
// above it.
func (w *writer) modules() {
	w.head("The standard library")
	names, err := fs.Glob(stdlib.Files, "*.perch")
	if err != nil {
		panic(err) // the pattern is wrong
	}
	for _, name := range names {
		data, err := fs.ReadFile(stdlib.Files, name)
		if err != nil {
			panic(err) // it is part of the program
		}
		file, _ := parse.File(source.New(name, string(data)))
		w.line("\n### %s", strings.TrimSuffix(name, ".perch"))
		if len(file.Comments) > 0 && file.Comments[0].At.Start == 0 {
			w.line("\n%s", paragraph(file, 0))
		}
		for _, d := range file.Decls {
			if text := signature(d); text != "" {
				w.code(text)
				if about := above(file, d); about != "" {
					w.about(about)
				}
			}
		}
	}
}

// about writes the comment above a declaration: the prose, and what it shows
// after `True:` (a comparison that holds) and `As in:` (steps of a part).
func (w *writer) about(text string) {
	var prose, truth, steps []string
	for _, l := range strings.Split(text, "\n") {
		if x, ok := strings.CutPrefix(l, "True: "); ok {
			truth = append(truth, "True: `"+x+"`")
		} else if x, ok := strings.CutPrefix(l, "As in: "); ok {
			steps = append(steps, x)
		} else {
			prose = append(prose, l)
		}
	}
	if prose = append(prose, truth...); len(prose) > 0 {
		w.line("\n%s", strings.Join(prose, "\n"))
	}
	if len(steps) > 0 {
		w.line("\nAs in:")
		w.code(strings.Join(steps, "\n"))
	}
}

// signature returns the first line of what a module offers.
func signature(d ast.Decl) string {
	text, end := d.Span().Text(), 0
	switch d := d.(type) {
	case *ast.Let:
		if d.Params == nil {
			return text
		}
		end = d.Value.Span().Start - d.Place.Start
		return strings.Join(strings.Fields(strings.TrimRight(text[:end], " =(\n")), " ")
	case *ast.Sketch, *ast.Part:
		end = strings.IndexByte(text, '{')
		return strings.Join(strings.Fields(text[:end]), " ")
	}
	return ""
}

// above returns the comment that stands straight above d.
func above(file *ast.File, d ast.Decl) string {
	line := file.Source.Position(d.Span().Start).Line
	first := -1
	for i := len(file.Comments) - 1; i >= 0; i-- {
		if file.Source.Position(file.Comments[i].At.Start).Line == line-1 {
			first, line = i, line-1
		}
	}
	if first < 0 {
		return ""
	}
	return paragraph(file, first)
}

// paragraph joins the comment lines from number first on.
func paragraph(file *ast.File, first int) string {
	var lines []string
	line := file.Source.Position(file.Comments[first].At.Start).Line
	for _, c := range file.Comments[first:] {
		if file.Source.Position(c.At.Start).Line != line || !strings.HasPrefix(file.Source.Line(line), "#") {
			break
		}
		lines = append(lines, strings.TrimSpace(c.Text))
		line++
	}
	return strings.Join(lines, "\n")
}
