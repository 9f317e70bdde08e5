package compile

import (
	"io/fs"
	"slices"
	"strings"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/sketch"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/resolve"
	"perch/stdlib"
)

// vocabulary tells package resolve what is builtin, from the tables of the
// packages that carry it out. Unknown standard modules are not its matter: the
// loader has reported them.
var vocabulary = struct {
	lists  map[resolve.Words][]string
	ofHead map[string][]string
}{words(), clauses()}

func words() map[resolve.Words][]string {
	w := map[resolve.Words][]string{}
	add := func(k resolve.Words, name string) { w[k] = append(w[k], name) }
	for _, f := range sketch.Functions {
		add(resolve.Measures, f.Name)
	}
	for _, r := range sketch.Relations() {
		add(resolve.Relations, r.Word)
	}
	for _, f := range builtin.All.Functions {
		add(resolve.Values, f.Name)
	}
	for _, c := range builtin.All.Constants {
		add(resolve.Values, c.Name)
	}
	add(resolve.Values, builtin.MaterialWord)
	add(resolve.Values, workshop.Word)
	add(resolve.Values, workshop.FitWord)
	add(resolve.Values, builtin.SizeWord)
	for _, c := range check.Words {
		add(resolve.Results, c.Name)
	}
	for _, q := range check.Queries {
		add(resolve.Results, q.Name)
		add(resolve.Questions, q.Phrase())
	}
	for _, k := range builtin.All.Kinds {
		add(resolve.Kinds, k.Word)
	}
	for _, h := range builtin.All.Heads {
		add(resolve.Heads, h.Name)
	}
	for _, m := range builtin.All.Materials {
		add(resolve.Materials, m.Name)
	}
	entries, err := fs.ReadDir(stdlib.Files, ".")
	if err != nil {
		panic(err) // the files are in the program
	}
	for _, e := range entries {
		add(resolve.Library, strings.TrimSuffix(e.Name(), extension))
	}
	return w
}

func clauses() map[string][]string {
	of := map[string][]string{}
	for _, s := range builtin.Shapes {
		for _, c := range s.Clauses {
			of[s.Word] = append(of[s.Word], c.Word)
		}
	}
	var placing []string
	for _, p := range builtin.All.Placements {
		placing = append(placing, p.Word)
	}
	of[""] = placing
	for _, h := range builtin.All.Heads {
		var own []string
		for _, c := range h.Clauses {
			own = append(own, c.Word)
		}
		of[h.Name] = append(own, placing...)
	}
	for _, h := range builtin.All.Marks {
		for _, c := range h.Clauses {
			of[h.Name] = append(of[h.Name], c.Word)
		}
	}
	return of
}

// bind resolves the loaded files in their order and adds what is wrong with
// them. It stands on what parse let through, so that one run tells of
// everything that can be told.
func (l *loader) bind() {
	declared := map[*module][]string{}
	faults := false
	lists := l.withMaterials(vocabulary.lists)
	for _, m := range l.order { // each after those it uses
		info, diags := resolve.File(m.tree, &resolve.Tables{
			Lists: lists, OfHead: vocabulary.ofHead,
			Declared: func(_ *ast.Use, name string) ([]string, bool) {
				used, ok := m.uses[name]
				return declared[used], ok
			},
		})
		declared[m] = info.Names
		m.diags.Add(diags...)
		faults = faults || m.diags.HasErrors()
		if m == l.main && !faults && hasPart(m.tree) { // it comes last
			l.unused = info.Unused
		}
	}
}

// hasPart reports whether a file makes something: one that does not is there
// to be used by others.
func hasPart(f *ast.File) bool {
	return slices.ContainsFunc(f.Decls, func(d ast.Decl) bool {
		_, ok := d.(*ast.Part)
		return ok
	})
}
