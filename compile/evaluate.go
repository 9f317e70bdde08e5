package compile

import (
	"context"
	"slices"
	"strings"

	"perch/compile/eval"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
)

// evaluate works out the loaded files and builds the parts of the main one.
// Parts are built only when nothing is wrong but single sizes: half a design
// is no design.
func (s *Session) evaluate(ctx context.Context, l *loader, o Options, res *Result) error {
	settings, entries := o.settings(res)
	res.Sizes = sizeNames(l.main.tree)
	if res.Diags.HasErrors() {
		return nil
	}
	all := modules(l)
	r, err := eval.Run(ctx, all[l.main], eval.Options{
		Settings: settings, Sizes: o.Sizes, AllSizes: o.AllSizes, Parts: o.Parts, Tolerance: o.Tolerance,
		Workshop: all[l.shop], Entries: entries,
		Shifts: o.Uncertainty, Bodies: s.bodies,
	})
	if err != nil {
		return err
	}
	res.Workshop = r.Workshop
	defer func() { res.Diags = gathered(res.Diags, r.Builds) }()
	res.Diags.Add(r.Diags...)
	res.Sketches = r.Sketches
	if res.Diags.Blocks() {
		return nil
	}
	drafts := make([]draft, len(r.Parts))
	for i, p := range r.Parts {
		drafts[i] = draft{
			file: l.main.path, name: p.Name, size: p.Size, at: p.At,
			body: p.Body, material: p.Material, assumed: p.Assumed, checks: p.Checks, mating: p.Mating, steps: p.Steps, operations: p.Operations, shop: r.Workshop, shifts: p.Shifts, said: p.Said, turn: p.Print,
		}
	}
	var shapes func([]Part)
	if o.Shapes != nil {
		shapes = func(parts []Part) {
			early := *res
			early.Parts, early.Diags, early.Files = parts, gathered(slices.Clone(res.Diags), r.Builds), l.sortedFiles()
			o.Shapes(&early)
		}
	}
	return finish(ctx, s.bodies, drafts, o, res, shapes)
}

// sizeNames lists the rows of the tables of sizes in a file.
func sizeNames(f *ast.File) []SizeName {
	var out []SizeName
	for _, d := range f.Decls {
		if t, ok := d.(*ast.Sizes); ok {
			for i := range t.Rows {
				out = append(out, SizeName{t.Part.Name, t.Rows[i].Name.Name})
			}
		}
	}
	return out
}

// modules turns the loaded files into what eval takes. A file has one module
// however often it is used.
func modules(l *loader) map[*module]*eval.Module {
	all := make(map[*module]*eval.Module, len(l.order))
	for _, m := range l.order { // each after those it uses
		e := &eval.Module{Standard: m.path == "", File: m.tree, Uses: map[string]*eval.Module{}}
		if m != l.main {
			e.Name = m.shown
		}
		for name, used := range m.uses {
			e.Uses[name] = all[used]
		}
		all[m] = e
	}
	return all
}

// settingFile begins the names of the texts that --set gives; messages about
// them are about the command line and not about a file.
const settingFile = "--set "

// settings parses the values from the command line, each as the `measure` or
// the `let` it stands for; a name with a point in it sets an entry of the
// workshop.
func (o Options) settings(res *Result) (out []ast.Setting, entries []ast.Entry) {
	for _, s := range o.Settings {
		if strings.Contains(s.Name, ".") {
			entries = append(entries, s.entry(res)...)
			continue
		}
		if m := readings(s); m != nil {
			out = append(out, ast.Setting{At: m.At, Name: m.Name, Measured: m})
			continue
		}
		src := source.New(settingFile+s.Name, "let "+s.Name+" = "+s.Value)
		tree, diags := parse.File(src)
		for _, d := range diags {
			if d.Code == "syntax" && len(d.Fixes) == 0 { // its form is that of a let
				d.Notes = []string{diag.Do("write NAME=VALUE with the value as in a part file, such as --set " + s.Name + "=4.2mm")}
			}
			res.Diags.Add(d)
		}
		if diags.HasErrors() {
			continue
		}
		let := (*ast.Let)(nil)
		if len(tree.Decls) == 1 {
			let, _ = tree.Decls[0].(*ast.Let)
		}
		if let == nil || let.Params != nil || let.Name.Name != s.Name || let.Value == nil {
			res.Diags.Add(diag.Diagnostic{
				Code: SettingNotValue, At: source.Span{File: src, End: len(src.Text)},
				Message: "a setting is one name and one value",
				Notes:   []string{diag.Do("write NAME=VALUE with the value as in a part file, such as lead=4.2mm")},
			})
			continue
		}
		out = append(out, ast.Setting{At: let.At, Name: let.Name, Value: let.Value})
	}
	return out, entries
}

// entry parses a setting of the workshop: workshop.nozzle=0.6mm,
// fit.snug.on_diameter=0.2mm, petg.density=1.3g/cm^3.
func (s Setting) entry(res *Result) []ast.Entry {
	name := strings.TrimPrefix(s.Name, workshop.Word+".")
	src := source.New(settingFile+s.Name, workshop.Word+" { "+name+" = "+s.Value+" }")
	tree, diags := parse.File(src)
	res.Diags.Add(diags...)
	if len(tree.Decls) == 1 {
		if w, ok := tree.Decls[0].(*ast.Workshop); ok && len(w.Entries) == 1 {
			return w.Entries
		}
	}
	if !diags.HasErrors() {
		res.Diags.Add(diag.Diagnostic{
			Code: SettingNotValue, At: source.Span{File: src, End: len(src.Text)},
			Message: "a setting is one name and one value",
			Notes:   []string{diag.Do("write NAME=VALUE with the value as in a workshop, such as workshop.nozzle=0.6mm")},
		})
	}
	return nil
}

// readings reads a setting that only a measure can have: several readings, or
// one with its uncertainty.
func readings(s Setting) *ast.Measure {
	tree, diags := parse.File(source.New(settingFile+s.Name, "measure "+s.Name+" = "+s.Value))
	if len(diags) > 0 || len(tree.Decls) != 1 {
		return nil
	}
	m, ok := tree.Decls[0].(*ast.Measure)
	if !ok || m.Name.Name != s.Name || len(m.Readings) < 2 && m.Error == nil && m.Limit == nil {
		return nil
	}
	return m
}

// WrongUse reports whether a diagnostic is about what Options ask for, a
// setting or a name that the file does not have, and not about the file.
func WrongUse(d diag.Diagnostic) bool {
	switch d.Code {
	case eval.SizeUnknown, eval.PartUnknown:
		return true
	}
	return d.At.Valid() && strings.HasPrefix(d.At.File.Path, settingFile)
}
