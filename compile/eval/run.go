package eval

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// run evaluates the file once as written, then once more for every set of
// values that the settings and sizes ask for, and makes the parts from these.
func (e *evaluator) run() *Result {
	r := &Result{}
	base := &module{Module: e.main}
	e.file(base, nil, true)
	r.Measures = e.measures
	jobs := e.jobs(base)
	for _, j := range jobs {
		r.Builds = append(r.Builds, j.named())
	}
	settings := e.settings(base)
	e.overSizes(jobs, settings)
	envs := map[string]*module{}
	if len(settings) == 0 {
		envs[""] = base
	}
	var used []sized
	for _, j := range jobs {
		if e.size, e.row = "", ""; j.row != nil {
			e.size, e.row = FullName(j.part.Name.Name, j.row.Name.Name), j.row.Name.Name
		}
		set := overrides{}
		for name, o := range e.rowValues(base, j.part, j.row) {
			set[name] = o
		}
		for name, o := range settings {
			set[name] = o
		}
		env := base
		if len(set) > 0 || j.row != nil {
			key := ""
			if j.row != nil {
				key = j.part.Name.Name + "/" + j.row.Name.Name
			}
			if env = envs[key]; env == nil {
				e.steps = 0
				env = &module{Module: e.main}
				e.file(env, set, false)
				envs[key] = env
			}
		}
		if p := e.build(j, env, set); p != nil {
			r.Parts = append(r.Parts, p)
		}
		if !slices.ContainsFunc(used, func(u sized) bool { return u.env == env }) {
			used = append(used, sized{env, j.size()})
		}
	}
	if len(jobs) == 0 {
		used = append(used, sized{base, ""})
	}
	for _, u := range used {
		r.Sketches = append(r.Sketches, e.figures(u)...)
	}
	e.size, e.row = "", ""
	e.otherRows(base, jobs)
	return r
}

// otherRows warns of faults in the rows of sizes that are not built.
func (e *evaluator) otherRows(base *module, jobs []job) {
	sizes := map[string][]*ast.SizeRow{}
	for _, d := range e.main.File.Decls {
		if d, ok := d.(*ast.Sizes); ok {
			e.sizeRows(d, sizes)
		}
	}
	for _, d := range e.main.File.Decls {
		p, ok := d.(*ast.Part)
		if !ok {
			continue
		}
		for _, row := range sizes[p.Name.Name] {
			if slices.ContainsFunc(jobs, func(j job) bool { return j.part == p && j.row != nil && j.row.Name.Name == row.Name.Name }) {
				continue
			}
			for _, f := range e.rowFaults(base, p, row) {
				f.Severity = diag.Warning
				f.Notes = append([]string{diag.Why(fmt.Sprintf("the size %s cannot be built as it stands", row.Name.Name))}, f.Notes...)
				e.report(f)
			}
		}
	}
}

// rowFaults tries the values of a row that is not built.
func (e *evaluator) rowFaults(base *module, p *ast.Part, row *ast.SizeRow) diag.List {
	j := *e // a branch of the evaluator with diagnostics of its own
	j.sources, j.scatters, j.operations, j.bare = slices.Clone(e.sources), maps.Clone(e.scatters), map[*solid.Body]Operation{}, nil
	j.diags, j.seen, j.frames, j.steps, j.stopped = nil, map[seenKey]bool{}, nil, 0, false
	set, s := j.rowValues(base, p, row), newScope(base.scope)
	for _, q := range p.Params {
		if o, given := set[q.Name.Name]; given {
			j.bindOne(q, o.value, o.at, s)
		}
	}
	for _, st := range row.Sets {
		name := st.Name.Name
		o, given := set[name]
		was, ok1 := base.scope.names[name].value.(value.Number)
		now, ok2 := o.value.(value.Number)
		if given && ok1 && ok2 && now.As(was.Dim).Dim != was.Dim {
			j.fault(o.at, value.Faultf(value.DimMismatch, "`%s` is %s, this is %s", name, value.A(was.Dim), describeWith(now)).
				Do("write it with a unit, as where `%s` is declared", name))
		}
	}
	j.diags.Sort()
	return j.diags
}

// sized is the file evaluated with the values of a size.
type sized struct {
	env  *module
	size string
}

// figures lists the solved sketches of a file.
func (e *evaluator) figures(u sized) []Sketch {
	var out []Sketch
	for _, d := range u.env.File.Decls {
		d, ok := d.(*ast.Sketch)
		if !ok {
			continue
		}
		if def, ok := u.env.scope.names[d.Name.Name].value.(*sketchDef); ok && def.decl == d {
			for _, s := range def.drawn {
				out = append(out, Sketch{s.name, u.size, s.of.solved.Figure()})
			}
		}
	}
	return out
}

// job is one part to build in one size; row is nil for the base size.
type job struct {
	part *ast.Part
	row  *ast.SizeRow
}

func (j job) named() Build {
	b := Build{Part: j.part.Name.Name, At: j.part.Name.Span()}
	if j.row != nil {
		b.Size, b.At = j.row.Name.Name, j.row.Name.Span()
	}
	return b
}

// overSizes warns of settings that take the place of what sizes set: the rows
// then come out alike where they should differ.
func (e *evaluator) overSizes(jobs []job, settings overrides) {
	for _, st := range e.opts.Settings {
		if _, ok := settings[st.Name.Name]; !ok {
			continue
		}
		d := diag.Diagnostic{Code: SettingOverSize, Severity: diag.Warning}
		var rows []string
		for _, j := range jobs {
			if j.row == nil {
				continue
			}
			for _, set := range j.row.Sets {
				if set.Name.Name != st.Name.Name {
					continue
				}
				rows = append(rows, j.row.Name.Name)
				if !d.At.Valid() {
					d.At = set.Name.Span()
				} else if at := set.Name.Span(); at != d.At && !slices.ContainsFunc(d.Labels, func(l diag.Label) bool { return l.At == at }) {
					d.Labels = append(d.Labels, diag.Label{At: at, Text: "and here"})
				}
			}
		}
		if len(rows) == 0 {
			continue
		}
		d.Message = fmt.Sprintf("`--set %s=…` is taken instead of what the sizes say: %s", st.Name.Name, strings.Join(rows, ", "))
		d.Notes = []string{
			diag.Why("what is set from outside wins over the table"),
			diag.Do(fmt.Sprintf("leave `%s` out of --set to build the sizes as they are in the table", st.Name.Name)),
		}
		e.report(d)
	}
}

// size is the name of the size; "" for the base size.
func (j job) size() string {
	if j.row == nil {
		return ""
	}
	return j.row.Name.Name
}

// jobs lists what the options choose.
func (e *evaluator) jobs(base *module) []job {
	var parts []*ast.Part
	sizes := map[string][]*ast.SizeRow{}
	for _, d := range e.main.File.Decls {
		switch d := d.(type) {
		case *ast.Part:
			if !slices.ContainsFunc(parts, func(p *ast.Part) bool { return p.Name.Name == d.Name.Name }) {
				parts = append(parts, d)
			}
		case *ast.Sizes:
			e.sizeRows(d, sizes)
		}
	}
	e.choiceFaults(parts, sizes)
	var jobs []job
	for _, p := range parts {
		if len(e.opts.Parts) > 0 && !slices.Contains(e.opts.Parts, p.Name.Name) {
			continue
		}
		if len(e.opts.Sizes) == 0 && !e.opts.AllSizes || e.opts.AllSizes && len(sizes[p.Name.Name]) == 0 {
			jobs = append(jobs, job{part: p})
		}
		for _, row := range sizes[p.Name.Name] {
			if e.opts.AllSizes || slices.Contains(e.opts.Sizes, row.Name.Name) {
				jobs = append(jobs, job{p, row})
			}
		}
	}
	jobs = slices.DeleteFunc(jobs, func(j job) bool { return !e.buildable(j) })
	if len(jobs) == 0 && shopDecl(e.main.File) == nil && !e.diags.HasErrors() && !e.main.File.Partial {
		e.noPart(parts)
	}
	return jobs
}

// buildable reports whether every parameter has a value from somewhere.
func (e *evaluator) buildable(j job) bool {
	for _, p := range j.part.Params {
		if p.Default != nil || slices.ContainsFunc(e.opts.Settings, func(s ast.Setting) bool { return s.Name.Name == p.Name.Name }) {
			continue
		}
		if j.row == nil || !slices.ContainsFunc(j.row.Sets, func(s ast.Setting) bool { return s.Name.Name == p.Name.Name }) {
			return false
		}
	}
	return true
}

func (e *evaluator) noPart(parts []*ast.Part) {
	d := diag.Diagnostic{Code: NoPart, Severity: diag.Warning, At: fileStart(e.main.File), Message: "there is no part to build in this file"}
	if len(parts) > 0 {
		d.At = parts[0].Name.Span()
		d.Message = fmt.Sprintf("part %s cannot be built: a parameter has no value", parts[0].Name.Name)
		d.Notes = []string{diag.Do("give every parameter a default, or set it when building")}
	} else {
		d.Notes = []string{diag.Do("declare one: `part NAME { join … }`")}
	}
	e.report(d)
}

// sizeRows collects the rows of one table of sizes, each with what it takes
// from the row it builds on. A table of no part, names that stand twice and
// rows that build on none above are reported by package resolve.
func (e *evaluator) sizeRows(d *ast.Sizes, sizes map[string][]*ast.SizeRow) {
	above := map[string]*ast.SizeRow{}
	for i := range d.Rows {
		row := &d.Rows[i]
		if base := above[row.Base.Name]; base != nil {
			row = grown(row, base)
		}
		if above[row.Name.Name] == nil {
			above[row.Name.Name] = row
		}
		sizes[d.Part.Name] = append(sizes[d.Part.Name], row)
	}
}

// grown is a row with the settings of the row it builds on before its own; of
// a name in both its own counts.
func grown(row, base *ast.SizeRow) *ast.SizeRow {
	out := *row
	out.Sets = nil
	for _, s := range base.Sets {
		if !slices.ContainsFunc(row.Sets, func(own ast.Setting) bool { return own.Name.Name == s.Name.Name }) {
			out.Sets = append(out.Sets, s)
		}
	}
	out.Sets = append(out.Sets, row.Sets...)
	return &out
}

// choiceFaults reports parts and sizes that were asked for and do not exist.
func (e *evaluator) choiceFaults(parts []*ast.Part, sizes map[string][]*ast.SizeRow) {
	var partNames, sizeNames []string
	for _, p := range parts {
		partNames = append(partNames, p.Name.Name)
		for _, r := range sizes[p.Name.Name] {
			if !slices.Contains(sizeNames, r.Name.Name) {
				sizeNames = append(sizeNames, r.Name.Name)
			}
		}
	}
	for _, name := range e.opts.Parts {
		if !slices.Contains(partNames, name) {
			e.report(diag.Diagnostic{Code: PartUnknown,
				Message: fmt.Sprintf("%s has no part called `%s`", e.main.File.Source.Path, name), Notes: listOf(name, partNames, "parts")})
		}
	}
	for _, name := range e.opts.Sizes {
		if !slices.Contains(sizeNames, name) {
			e.report(diag.Diagnostic{Code: SizeUnknown,
				Message: fmt.Sprintf("%s has no size called `%s`", e.main.File.Source.Path, name), Notes: listOf(name, sizeNames, "sizes")})
		}
	}
}

func listOf(name string, names []string, what string) []string {
	if len(names) == 0 {
		if what == "sizes" {
			return []string{diag.Why("it has no table of sizes"), diag.Do("leave --size out, or add a table: `sizes PART { " + name + ": … }`")}
		}
		return []string{diag.Why("it has no " + what)}
	}
	if n := nearest(name, names); len(n) > 0 && strings.Contains(n[0], "did you mean") {
		return n
	}
	return []string{diag.Do("its " + what + " are: " + strings.Join(names, ", "))}
}

// settable lists what a setting can name: measures, lets, and the parameters
// of the given parts.
func settable(m *module, parts []*ast.Part) []string {
	var names []string
	for _, d := range m.File.Decls {
		switch d := d.(type) {
		case *ast.Measure:
			names = append(names, d.Name.Name)
		case *ast.Let:
			if d.Params == nil {
				names = append(names, d.Name.Name)
			}
		}
	}
	for _, p := range parts {
		names = append(names, paramNames(p.Params)...)
	}
	return names
}

// settings evaluates the settings of the options.
func (e *evaluator) settings(base *module) overrides {
	var parts []*ast.Part
	for _, d := range e.main.File.Decls {
		if p, ok := d.(*ast.Part); ok {
			parts = append(parts, p)
		}
	}
	return e.evalSettings(base, e.opts.Settings, settable(base, parts))
}

// rowValues evaluates one row of the table of sizes of a part.
func (e *evaluator) rowValues(base *module, part *ast.Part, row *ast.SizeRow) overrides {
	if row == nil {
		return nil
	}
	return e.evalSettings(base, row.Sets, settable(base, []*ast.Part{part}))
}

func (e *evaluator) evalSettings(base *module, sets []ast.Setting, names []string) overrides {
	out := overrides{}
	for _, st := range sets {
		var v value.Value
		if st.Measured != nil {
			v = e.measure(st.Measured, base.scope)
		} else {
			v = e.expr(st.Value, base.scope)
		}
		if !slices.Contains(names, st.Name.Name) {
			f := value.Faultf(SettingName, "there is no measure, let or parameter called `%s`", st.Name.Name)
			if f.Notes = nearest(st.Name.Name, names); len(f.Notes) == 0 {
				f.Do("set a measure, a let, or a parameter of a part")
			}
			e.fault(st.Name.Span(), f)
			continue
		}
		if first, ok := out[st.Name.Name]; ok {
			e.fault(st.Name.Span(), value.Faultf(ArgTwice, "`%s` is set twice", st.Name.Name).Do("keep one of the two"), diag.Label{At: first.at, Text: "first set here"})
			continue
		}
		out[st.Name.Name] = override{v, st.Span()}
	}
	return out
}

// build makes one part in one size, or nil when it has a fault.
func (e *evaluator) build(j job, env *module, set overrides) *Part {
	e.steps = 0
	s := newScope(env.scope)
	st := &steps{e: e, decl: j.part, scope: s}
	st.choose()
	e.material = st.material
	defer func() { e.material = nil }()
	ok := true
	for _, p := range j.part.Params {
		switch o, given := set[p.Name.Name]; {
		case given:
			ok = e.bindOne(p, o.value, o.at, s) && ok
		case p.Default != nil:
			ok = e.bindOne(p, e.expr(p.Default, s), p.Default.Span(), s) && ok
		}
	}
	if !ok || e.stopped {
		return nil
	}
	st.run()
	st.held()
	checks := st.conditions()
	if st.bad || e.stopped {
		return nil
	}
	if st.body.Endless {
		// Joins refuse endless bodies and trims keep ends, so this part would
		// be a fault of this package.
		panic("part " + j.part.Name.Name + " became endless")
	}
	out := &Part{Name: j.part.Name.Name, At: j.part.Name.Span(), Body: st.body.Solid, Mating: st.mating, Checks: checks, Steps: st.done, Operations: e.operations, Print: st.turn}
	for _, c := range st.said {
		out.Said = append(out.Said, c.word)
	}
	if j.row != nil {
		out.Size = j.row.Name.Name
	}
	out.Assumed, out.Material = st.assumed, *st.material
	return out
}

// fileStart is the place of messages about a whole file.
func fileStart(f *ast.File) source.Span { return source.Span{File: f.Source} }
