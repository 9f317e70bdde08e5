package resolve

import (
	"slices"

	"perch/lang/ast"
	"perch/lang/diag"
)

func (r *resolver) exprs(s *scope, list []ast.Expr) {
	for _, x := range list {
		r.expr(s, x)
	}
}

// expr binds the names of an expression; x may be nil.
func (r *resolver) expr(s *scope, x ast.Expr) {
	switch x := x.(type) {
	case *ast.Ref:
		r.ref(s, x)
	case *ast.Member:
		r.member(s, x)
	case *ast.Call:
		r.expr(s, x.Fn)
		for _, a := range x.Args {
			r.expr(s, a.Value)
		}
	case *ast.Unary:
		r.expr(s, x.X)
	case *ast.Binary:
		r.expr(s, x.X)
		r.expr(s, x.Y)
	case *ast.Tuple:
		r.exprs(s, x.Elems)
	case *ast.If:
		r.expr(s, x.Cond)
		r.expr(s, x.Then)
		r.expr(s, x.Else)
	case *ast.Combine:
		r.expr(s, x.Left)
		r.exprs(s, x.Right)
	case *ast.Ask:
		for _, l := range x.Links {
			r.expr(s, l.Value)
		}
	case *ast.Phrase:
		r.phrase(s, x)
	}
}

func (r *resolver) member(s *scope, x *ast.Member) {
	r.expr(s, x.X)
	r.members[x.Name.Name] = true
	ref, ok := x.X.(*ast.Ref)
	if !ok || s.local(ref.Name) {
		return
	}
	list, ok := r.modules[ref.Name]
	if !ok || slices.Contains(list, x.Name.Name) {
		return
	}
	r.unknown("module-name", x.Name.Place, "the module `"+ref.Name+"` has no `"+x.Name.Name+"`", x.Name.Name, list,
		"look up what the module declares")
}

// local reports whether name is declared inside the current declaration.
func (s *scope) local(name string) bool {
	for ; s.outer != nil; s = s.outer {
		if _, ok := s.names[name]; ok {
			return true
		}
	}
	return false
}

// declared reports whether name is declared anywhere around s.
func (r *resolver) declared(s *scope, name string) bool {
	_, ok := r.all[name]
	return ok || s.local(name)
}

func (r *resolver) ref(s *scope, x *ast.Ref) {
	if x.Name == "true" || x.Name == "false" {
		return
	}
	r.use1(s, x.Name)
	if r.known[Values][x.Name] {
		return
	}
	for sc := s; sc != nil; sc = sc.outer {
		if _, ok := sc.names[x.Name]; ok || sc.lost[x.Name] {
			return
		}
		if sc.hasOwn && r.known[sc.extra][x.Name] {
			return
		}
		if n, ok := sc.to[x.Name]; ok {
			r.tooEarly(x, n)
			return
		}
	}
	if x.Name == r.now {
		r.diags.Add(diag.Diagnostic{
			Code: "name-itself", At: x.Place,
			Message: "`" + x.Name + "` is used in its own declaration",
			Notes:   []string{diag.Do("give the inner one another name, or take it out")},
		})
		return
	}
	if n, ok := r.all[x.Name]; ok {
		r.tooEarly(x, n)
		return
	}
	r.unknown("name-unknown", x.Place, "nothing is called `"+x.Name+"` here", x.Name, r.visible(s), "declare it above, or correct the name")
}

func (r *resolver) tooEarly(x *ast.Ref, declared ast.Ident) {
	r.diags.Add(diag.Diagnostic{
		Code: "name-early", At: x.Place,
		Message: "`" + x.Name + "` is used before it is declared",
		Labels:  []diag.Label{{At: declared.Place, Text: "declared here"}},
		Notes:   []string{diag.Do("move its declaration above this line")},
	})
}

// visible lists the names that could have been meant, nearest scope first.
func (r *resolver) visible(s *scope) []string {
	var out []string
	for ; s != nil; s = s.outer {
		out = append(out, s.order...)
		if s.hasOwn {
			out = append(out, r.env.Words(s.extra)...)
		}
	}
	return append(out, r.env.Words(Values)...)
}

func (r *resolver) phrase(s *scope, x *ast.Phrase) {
	r.expr(s, x.Subject)
	head := x.Head.Name
	if head != "" && !r.known[Heads][head] && r.declared(s, head) {
		r.ref(s, &ast.Ref{At: x.Head.At, Name: head})
		r.clauseWords("", x.Clauses)
	} else if head != "" && !r.known[Heads][head] {
		r.unknown("head-unknown", x.Head.Place, "no body is made by `"+head+"`", head, r.env.Words(Heads),
			"bodies begin with box, cylinder, cone, ball, thread, tap, extrude, revolve, loft, or with the name of one made before")
	} else {
		r.clauseWords(head, x.Clauses)
	}
	r.clauses(s, x.Clauses)
}

// clauseWords checks that each clause belongs to the head and stands once;
// clauses that place a body may be repeated, and so may `from`, once an axis.
func (r *resolver) clauseWords(head string, list []ast.Clause) {
	can := r.env.Clauses(head)
	placing := r.env.Clauses("")
	seen := map[string]ast.Ident{}
	for _, c := range list {
		word := c.Word.Name
		if !slices.Contains(can, word) {
			what := "`" + head + "`"
			if head == "" {
				what = "a body made before"
			}
			r.unknown("clause-unknown", c.Word.Place, "`"+word+"` does not belong to "+what, word, can, "what may be said of "+what+": "+joined(can))
			continue
		}
		key := word
		if word == "from" && c.Axis != nil {
			key += " " + c.Axis.Name
		}
		if c.Second.Name != "" && word != "across" {
			key += " " + c.Second.Name
		}
		if first, ok := seen[key]; ok && !slices.Contains(placing, word) {
			r.diags.Add(diag.Diagnostic{
				Code: "clause-twice", At: c.Word.Place,
				Message: "`" + key + "` is said a second time",
				Labels:  []diag.Label{{At: first.Place, Text: "first said here"}},
				Notes:   []string{diag.Do("keep one of the two")},
			})
		}
		seen[key] = c.Word
	}
}

func joined(list []string) string {
	s := ""
	for i, w := range list {
		if i > 0 {
			s += ", "
		}
		s += w
	}
	return s
}

func (r *resolver) clauses(s *scope, list []ast.Clause) {
	for _, c := range list {
		r.exprs(s, c.Args)
		if c.Axis != nil {
			r.expr(s, c.Axis.Dir)
		}
	}
}
