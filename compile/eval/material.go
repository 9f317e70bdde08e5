package eval

import (
	"perch/compile/builtin"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// Codes of questions about a material.
const (
	MaterialNowhere diag.Code = "material-nowhere" // asked outside a part
	NotKnown        diag.Code = "not-known"        // a fact that no table has
)

// printedIn is the material of a part as a value.
type printedIn struct{ of *builtin.Material }

// Kind implements value.Value.
func (printedIn) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (p printedIn) What() string { return "material " + p.of.Name }

// Members implements value.Object.
func (printedIn) Members() []string { return builtin.PropertyNames() }

// Member implements value.Object.
func (p printedIn) Member(name string) (value.Value, bool) {
	prop, ok := builtin.LookupProperty(name)
	if !ok {
		return nil, false
	}
	f := prop.Of(p.of)
	return value.Of(f.X, prop.Dim), f.Known()
}

// printedIn is what `material` stands for: what the part is printed in.
func (e *evaluator) printedIn(x *ast.Ref) value.Value {
	if e.material == nil {
		return e.fault(x.Span(), value.Faultf(MaterialNowhere, "`material` stands for what a part is printed in, and here is no part").
			Do("ask for it inside a part, or hand the value to a parameter: `part clip(limit: number = 0.017)`"))
	}
	return printedIn{e.material}
}

// property answers `material.NAME`. In a check what is not known leaves the
// check open; elsewhere it is a fault.
func (e *evaluator) property(x *ast.Member, m printedIn) value.Value {
	p, ok := builtin.LookupProperty(x.Name.Name)
	if !ok {
		f := value.Faultf(MemberUnknown, "a material has no `%s`", x.Name.Name)
		if f.Notes = nearest(x.Name.Name, builtin.PropertyNames()); len(f.Notes) == 0 {
			f.Do("`perch reference` lists what a material can be asked")
		}
		return e.fault(x.Name.Span(), f)
	}
	f := p.Of(m.of)
	switch {
	case !f.Known() && e.facts != nil:
		e.missing = "the " + p.Doc + " is not known of " + m.of.Name
		return value.Bad{}
	case !f.Known():
		return e.fault(x.Name.Span(), value.Faultf(NotKnown, "`%s` is not known of %s", p.Name, m.of.Name).
			Why("no source gives the %s", p.Doc).
			Do("measure it or look it up, and write the value in its place"))
	}
	n := value.Of(f.X, p.Dim)
	if f.U == 0 {
		return n
	}
	k := e.tableSource("the "+p.Name+" of "+m.of.Name, x.Span())
	return e.own(n.From(k, f.U), k)
}

// tableSource returns the source of the uncertainty of a value that a table
// has: each time the same one.
func (e *evaluator) tableSource(name string, at source.Span) int {
	k, ok := e.scatters[name]
	if !ok {
		k = len(e.sources)
		e.sources = append(e.sources, Source{Name: name, At: at})
		e.scatters[name] = k
	}
	return k
}
