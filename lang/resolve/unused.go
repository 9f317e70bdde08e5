package resolve

import (
	"slices"
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
)

// use1 notes that the nearest declaration of a name is used.
func (r *resolver) use1(s *scope, name string) {
	for ; s != nil; s = s.outer {
		if n, ok := s.names[name]; ok {
			r.used[n.Place.Start] = true
			return
		}
	}
}

// unused warns of declarations that nothing speaks of. Names that begin with
// an underscore are left alone, and so is what takes parameters: other files
// may use it.
func (r *resolver) unused(f *ast.File) diag.List {
	u := unused{r: r}
	for _, d := range f.Decls {
		switch d := d.(type) {
		case *ast.Use:
			for _, n := range d.Names {
				u.name(n, "the module", "take it out of this line")
			}
		case *ast.Measure:
			u.name(d.Name, "the measure", "use it in a size or a formula, or take it out")
		case *ast.Let:
			u.params(d.Params)
			if d.Params == nil { // a function may be there for other files
				u.let(d)
			}
		case *ast.Sketch:
			u.params(d.Params)
			if d.Params == nil {
				u.name(d.Name, "the sketch", "make a body of it: `join extrude "+d.Name.Name+" by 4mm`, or take it out")
			}
			u.shapes(d)
		case *ast.Part:
			u.params(d.Params)
			u.steps(d)
		}
	}
	return u.list
}

type unused struct {
	r    *resolver
	list diag.List
}

func (u *unused) name(n ast.Ident, what, todo string) {
	if n.Name == "" || strings.HasPrefix(n.Name, "_") || u.r.used[n.Place.Start] || u.r.members[n.Name] {
		return
	}
	u.list.Add(diag.Diagnostic{
		Code: "name-unused", Severity: diag.Warning, At: n.Place,
		Message: what + " `" + n.Name + "` is not used",
		Notes:   []string{diag.Do(todo)},
	})
}

func (u *unused) let(d *ast.Let) { u.name(d.Name, "the let", "use it, or take it out") }

func (u *unused) params(list []ast.Param) {
	for _, p := range list {
		u.name(p.Name, "the parameter", "use it, or take it out: setting it changes nothing")
	}
}

func (u *unused) steps(d *ast.Part) {
	for _, st := range d.Steps {
		switch st := st.(type) {
		case *ast.Let:
			u.params(st.Params)
			u.let(st)
		case *ast.Mating:
			u.name(st.Name, "the mating body", "shape the part by it (`cut "+st.Name.Name+"`), check against it (`check clearance to "+st.Name.Name+" >= 0.2mm`), or take it out")
		}
	}
}

// shapes warns of closed shapes that no area of the sketch speaks of, where it
// has areas. Without any, the one closed shape is the area.
func (u *unused) shapes(d *ast.Sketch) {
	var areas []string
	some := false
	for _, stmt := range d.Body {
		switch x := stmt.(type) {
		case *ast.Area:
			some = true
			areas = append(areas, namesIn(x.Value)...)
		case *ast.Let:
			areas = append(areas, namesIn(x.Value)...)
			u.params(x.Params)
			u.let(x)
		}
	}
	if !some {
		return
	}
	for _, stmt := range d.Body {
		word, n := "", ast.Ident{}
		switch x := stmt.(type) {
		case *ast.Circle:
			if !x.Guide {
				word, n = "circle", x.Name
			}
		case *ast.Outline:
			if !x.Guide && !x.Path {
				word, n = "outline", x.Name
			}
		case *ast.Shape:
			if !x.Guide {
				word, n = x.Kind, x.Name
			}
		}
		if n.Name == "" || strings.HasPrefix(n.Name, "_") || slices.Contains(areas, n.Name) || u.r.members[n.Name] {
			continue
		}
		u.list.Add(diag.Diagnostic{
			Code: "shape-unused", Severity: diag.Warning, At: n.Place,
			Message: "the " + word + " `" + n.Name + "` is drawn, but the area of the sketch leaves it out",
			Notes:   []string{diag.Do("name it in the area, as in `less " + n.Name + "`; or, if it only helps to place other lines, write `guide " + word + " " + n.Name + "`")},
			Fixes:   []diag.Fix{{Text: "mark it as a guide", Edits: []diag.Edit{{At: stmt.Span().Before(), New: "guide "}}}},
		})
	}
}

// namesIn lists the names that an expression of areas speaks of.
func namesIn(x ast.Expr) []string {
	switch x := x.(type) {
	case *ast.Ref:
		return []string{x.Name}
	case *ast.Combine:
		out := namesIn(x.Left)
		for _, y := range x.Right {
			out = append(out, namesIn(y)...)
		}
		return out
	case *ast.Phrase:
		return append(namesIn(x.Subject), x.Head.Name)
	case *ast.If:
		return append(namesIn(x.Then), namesIn(x.Else)...)
	case *ast.Call:
		out := namesIn(x.Fn)
		for _, a := range x.Args {
			out = append(out, namesIn(a.Value)...)
		}
		return out
	case *ast.Member:
		return namesIn(x.X)
	case *ast.Binary:
		return append(namesIn(x.X), namesIn(x.Y)...)
	}
	return nil
}
