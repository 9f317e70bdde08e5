package resolve

import (
	"slices"
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/spell"
)

// Info is what resolving found out about a file.
type Info struct {
	// Names lists the declared names in the order of the text.
	Names []string
	// Decls finds the declaration of a name; of two, the first.
	Decls map[string]ast.Decl
	// Sizes finds the table of sizes of a part of this file.
	Sizes map[string]*ast.Sizes
	// Unused warns of what is declared and nowhere used. For a file that
	// others use it means nothing. It is empty for a file with faults.
	Unused diag.List
}

// File binds the names of f. It reports each fault once and nothing that only
// follows from statements that were left out of the tree.
func File(f *ast.File, env Env) (*Info, diag.List) {
	r := &resolver{
		env:  env,
		file: f,
		info: &Info{Decls: map[string]ast.Decl{}, Sizes: map[string]*ast.Sizes{}},
		all:  map[string]ast.Ident{},
		top:  newScope(nil),
		used: map[int]bool{}, members: map[string]bool{}, missing: map[string]*unknownName{},
	}
	r.words()
	r.top.lose(f.Gaps)
	r.collect(f)
	for _, d := range f.Decls {
		r.decl(d)
	}
	r.nameLines()
	if len(r.diags) == 0 && !f.Partial {
		r.info.Unused = r.unused(f)
	}
	return r.info, r.diags
}

type resolver struct {
	env     Env
	file    *ast.File
	info    *Info
	diags   diag.List
	all     map[string]ast.Ident // every top-level name, wherever it stands
	top     *scope
	modules map[string][]string
	known   [Library + 1]map[string]bool
	now     string          // the name that the current declaration gives
	used    map[int]bool    // by where the name is declared
	members map[string]bool // names that stand behind a point
	text    ast.Expr        // the expression that now stands where a text is wanted

	missing  map[string]*unknownName
	unknowns []*unknownName // the same in the order of the text
}

func (r *resolver) words() {
	r.modules = map[string][]string{}
	for k := range r.known {
		r.known[k] = map[string]bool{}
		for _, w := range r.env.Words(Words(k)) {
			r.known[k][w] = true
		}
	}
}

// scope holds names that are known at some place.
type scope struct {
	outer  *scope
	names  map[string]ast.Ident
	order  []string
	lost   map[string]bool
	to     map[string]ast.Ident // names that are declared further on
	extra  Words                // builtin words known only here, if hasOwn
	anon   bool                 // a name was declared that cannot be told
	hasOwn bool
}

func newScope(outer *scope) *scope {
	return &scope{outer: outer, names: map[string]ast.Ident{}, lost: map[string]bool{}}
}

func (s *scope) lose(g ast.Gaps) {
	for _, n := range g.Lost {
		s.lost[n.Name] = true
	}
	s.anon = s.anon || g.Nameless
}

func (s *scope) put(n ast.Ident) {
	if _, ok := s.names[n.Name]; !ok {
		s.names[n.Name] = n
		s.order = append(s.order, n.Name)
	}
}

// declare adds n to s, or reports that the name is taken.
func (r *resolver) declare(s *scope, n ast.Ident) {
	if n.Name == "" {
		return
	}
	if first, ok := s.names[n.Name]; ok {
		r.twice(n, first)
		return
	}
	s.put(n)
}

func (r *resolver) twice(n, first ast.Ident) {
	r.diags.Add(diag.Diagnostic{
		Code: "name-twice", At: n.Place,
		Message: "`" + n.Name + "` is declared a second time",
		Labels:  []diag.Label{{At: first.Place, Text: "first declared here"}},
		Notes:   []string{diag.Do("give one of the two another name")},
	})
}

// collect notes every top-level name, so that a name used too early can be told
// from one that does not exist.
func (r *resolver) collect(f *ast.File) {
	for _, d := range f.Decls {
		for _, n := range names(d) {
			if _, ok := r.all[n.Name]; !ok {
				r.all[n.Name] = n
				r.info.Decls[n.Name] = d
				r.info.Names = append(r.info.Names, n.Name)
			}
		}
	}
}

// names returns the names a declaration gives.
func names(d ast.Decl) []ast.Ident {
	switch d := d.(type) {
	case *ast.Use:
		return d.Names
	case *ast.Measure:
		return []ast.Ident{d.Name}
	case *ast.Let:
		return []ast.Ident{d.Name}
	case *ast.Sketch:
		return []ast.Ident{d.Name}
	case *ast.Part:
		return []ast.Ident{d.Name}
	}
	return nil
}

func (r *resolver) decl(d ast.Decl) {
	r.now = ""
	switch d := d.(type) {
	case *ast.Use:
		r.use(d)
	case *ast.Measure:
		r.now = d.Name.Name
		r.exprs(r.top, d.Readings)
		r.expr(r.top, d.Error)
		r.expr(r.top, d.Limit)
	case *ast.Let:
		r.now = d.Name.Name
		r.expr(r.params(r.top, d.Params), d.Value)
	case *ast.Sketch:
		r.now = d.Name.Name
		r.sketch(d)
	case *ast.Part:
		r.now = d.Name.Name
		r.part(d)
	case *ast.Sizes:
		r.sizes(d)
	case *ast.Workshop:
		for _, e := range d.Entries {
			r.exprs(r.top, e.Readings)
			r.expr(r.top, e.Error)
			r.expr(r.top, e.Limit)
		}
	}
	for _, n := range names(d) {
		r.declare(r.top, n)
	}
}

func (r *resolver) use(d *ast.Use) {
	for _, n := range d.Names {
		if list := r.env.Words(Modules); d.Path == nil && len(list) > 0 && !r.known[Modules][n.Name] {
			r.unknown("module-unknown", n.Place, "the library has no module `"+n.Name+"`", n.Name, list,
				"its modules are "+strings.Join(list, ", ")+"; a file of your own is brought in by `use "+n.Name+" from \""+n.Name+".perch\"`")
			continue
		}
		if list, ok := r.env.Module(d, n.Name); ok {
			r.modules[n.Name] = list
		} else if near, ok := spell.Nearest(n.Name, r.env.Words(Library)); ok && d.Path == nil {
			r.top.lost[near] = true // the module that was meant
		}
	}
}

// params opens a scope with parameters in it. A default may use the
// parameters before it.
func (r *resolver) params(outer *scope, list []ast.Param) *scope {
	s := newScope(outer)
	for _, p := range list {
		if !r.known[Kinds][p.Kind.Name] {
			kinds := r.env.Words(Kinds)
			r.unknown("kind-unknown", p.Kind.Place, "unknown kind of parameter `"+p.Kind.Name+"`", p.Kind.Name, kinds,
				"the kinds are "+strings.Join(kinds, ", "))
		}
		if p.Kind.Name == "text" {
			r.text = p.Default
		}
		r.expr(s, p.Default)
		r.declare(s, p.Name)
	}
	return s
}

// inside declares a let or a mating body within a declaration: it must not
// hide a top-level name, as a parameter may.
func (r *resolver) inside(s *scope, n ast.Ident) {
	if first, ok := r.all[n.Name]; ok {
		r.diags.Add(diag.Diagnostic{
			Code: "name-hides", At: n.Place,
			Message: "this would hide the `" + n.Name + "` of the whole file",
			Labels:  []diag.Label{{At: first.Place, Text: "declared here for the whole file"}},
			Notes:   []string{diag.Do("give it another name")},
		})
	}
	r.declare(s, n)
}

func (r *resolver) part(d *ast.Part) {
	s := r.params(r.top, d.Params)
	s.lose(d.Gaps)
	s.to = map[string]ast.Ident{}
	for _, step := range d.Steps {
		switch step := step.(type) {
		case *ast.Let:
			s.to[step.Name.Name] = step.Name
		case *ast.Mating:
			s.to[step.Name.Name] = step.Name
		}
	}
	for _, step := range d.Steps {
		switch step := step.(type) {
		case *ast.Let:
			r.expr(r.params(s, step.Params), step.Value)
			r.inside(s, step.Name)
		case *ast.Mating:
			r.expr(s, step.Body)
			r.inside(s, step.Name)
		case *ast.Make:
			if x, ok := step.Body.(*ast.Phrase); ok && x.Head == step.Verb {
				r.text = x.Subject
				r.expr(s, x.Subject)
				r.clauseWords(x.Head.Name, x.Clauses)
				r.clauses(s, x.Clauses)
				continue
			}
			r.expr(s, step.Body)
		case *ast.Material:
			r.material(step)
		case *ast.Print:
			r.clauses(s, step.Turns)
		case *ast.Check:
			c := newScope(s)
			c.extra, c.hasOwn = Results, true
			r.expr(c, step.Cond)
		case *ast.Caution:
			r.caution(s, step)
		}
	}
}

// caution notes the name that a caution asks for: one for a filter reads how
// many retainers hold it.
func (r *resolver) caution(s *scope, c *ast.Caution) {
	for _, w := range c.Words {
		if w.Name == "filter" {
			r.use1(s, "retainers")
		}
	}
}

func (r *resolver) material(m *ast.Material) {
	list := r.env.Words(Materials)
	if len(list) == 0 || r.known[Materials][m.Name.Name] {
		return
	}
	r.unknown("material-unknown", m.Name.Place, "unknown material `"+m.Name.Name+"`", m.Name.Name, list,
		"the materials are "+strings.Join(list, ", "))
}

func (r *resolver) sizes(d *ast.Sizes) {
	part, ok := r.info.Decls[d.Part.Name].(*ast.Part)
	if !ok {
		if !r.top.lost[d.Part.Name] {
			r.unknown("sizes-part", d.Part.Place, "no part is called `"+d.Part.Name+"`", d.Part.Name, r.parts(),
				"sizes belong to a part of the same file")
		}
	} else {
		if r.info.Sizes[d.Part.Name] == nil {
			r.info.Sizes[d.Part.Name] = d
		} else {
			r.twice(d.Part, r.info.Sizes[d.Part.Name].Part)
		}
		if _, declared := r.top.names[d.Part.Name]; !declared {
			r.early(d.Part)
		}
	}
	rows := newScope(nil)
	for _, row := range d.Rows {
		if _, above := rows.names[row.Base.Name]; row.Base.Name != "" && !above && !d.Partial {
			r.unknown("sizes-base", row.Base.Place, "no size above is called `"+row.Base.Name+"`", row.Base.Name, rows.order,
				"a size builds on one that stands above it in the same table")
		}
		r.declare(rows, row.Name)
		sets := newScope(nil)
		for _, set := range row.Sets {
			r.declare(sets, set.Name)
			r.setting(set, part)
			if kindIn(part, set.Name.Name) == "text" {
				r.text = set.Value
			}
			if !r.joinedSettings(set) {
				r.expr(r.top, set.Value)
			}
		}
	}
}

// joinedSettings reports settings joined by `and`, which would compare.
func (r *resolver) joinedSettings(set ast.Setting) bool {
	both, ok := set.Value.(*ast.Binary)
	if !ok || both.Op != "and" {
		return false
	}
	next, ok := both.Y.(*ast.Binary)
	if !ok || next.Op != "=" {
		return false
	}
	r.diags.Add(diag.Diagnostic{
		Code: "sizes-setting", At: both.OpAt,
		Message: "what a size sets is listed with commas",
		Notes:   []string{diag.Do("write `" + set.Name.Name + " = " + both.X.Span().Text() + ", " + next.Span().Text() + "`")},
	})
	return true
}

// kindIn is the kind of a parameter of a part, or "".
func kindIn(part *ast.Part, name string) string {
	if part == nil {
		return ""
	}
	for _, p := range part.Params {
		if p.Name.Name == name {
			return p.Kind.Name
		}
	}
	return ""
}

// parts lists the parts of the file.
func (r *resolver) parts() []string {
	var out []string
	for _, n := range r.info.Names {
		if _, ok := r.info.Decls[n].(*ast.Part); ok {
			out = append(out, n)
		}
	}
	return out
}

// setting checks that a size sets a measure, a let or a parameter.
func (r *resolver) setting(set ast.Setting, part *ast.Part) {
	var can []string
	if part != nil {
		for _, p := range part.Params {
			can = append(can, p.Name.Name)
		}
	}
	for _, n := range r.info.Names {
		switch d := r.info.Decls[n].(type) {
		case *ast.Measure:
			can = append(can, n)
		case *ast.Let:
			if d.Params == nil {
				can = append(can, n)
			}
		}
	}
	if u := r.missing[set.Name.Name]; u != nil && r.diags[u.message].Code == "name-unknown" {
		return // told of where it is used
	}
	if part == nil || slices.Contains(can, set.Name.Name) || r.top.lost[set.Name.Name] {
		return
	}
	otherwise := "a size sets the parameters of its part, and the measures and lets of the file"
	var each []string // a parameter may have the name of a let
	for _, n := range can {
		if !slices.Contains(each, n) {
			each = append(each, n)
		}
	}
	if len(each) <= 8 {
		otherwise += ": " + strings.Join(each, ", ")
	}
	r.unknown("sizes-setting", set.Name.Place, "`"+set.Name.Name+"` cannot be set by a size", set.Name.Name, can, otherwise)
}

// unknown reports word at a place, with the closest of list as the remedy, or
// else with the remedy otherwise.
func (r *resolver) unknown(code diag.Code, at source.Span, message, word string, list []string, otherwise string) {
	d := diag.Diagnostic{Code: code, At: at, Message: message}
	if s, ok := spell.Nearest(word, list); ok {
		d.Notes = []string{diag.Do("did you mean `" + s + "`?")}
		if at.Text() == word {
			d.Fixes = []diag.Fix{{Text: "write `" + s + "`", Edits: []diag.Edit{{At: at, New: s}}}}
		}
	} else if otherwise != "" {
		d.Notes = []string{diag.Do(otherwise)}
	}
	r.diags.Add(d)
}

func (r *resolver) early(n ast.Ident) {
	r.diags.Add(diag.Diagnostic{
		Code: "name-early", At: n.Place,
		Message: "`" + n.Name + "` is used before it is declared",
		Labels:  []diag.Label{{At: r.all[n.Name].Place, Text: "declared here"}},
		Notes:   []string{diag.Do("move its declaration above this line")},
	})
}
