package resolve

import (
	"slices"
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/spell"
	"perch/lang/token"
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
		for _, w := range x.Words[1:] { // `gap pipe`: the question is told of, not the body
			r.use1(s, w.Name)
		}
		for _, l := range x.Links {
			if ref, ok := l.Value.(*ast.Ref); ok && len(ref.Name) == 1 && strings.Contains("xyz", ref.Name) && !s.has(ref.Name) {
				r.axisAsked(l, ref)
				continue
			}
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

// has reports whether name is declared in or around s.
func (s *scope) has(name string) bool {
	for ; s != nil; s = s.outer {
		if _, ok := s.names[name]; ok {
			return true
		}
	}
	return false
}

// axisAsked reports an axis where a check wants a place or a way, which have a
// length too.
func (r *resolver) axisAsked(l ast.Link, ref *ast.Ref) {
	what, now := "place", map[string]string{"x": "(100mm, 0, 0)", "y": "(0, 100mm, 0)", "z": "(0, 0, 100mm)"}[ref.Name]
	if l.Word.Name == "along" {
		what = "way"
	}
	r.diags.Add(diag.Diagnostic{
		Code: "name-unknown", At: ref.Place,
		Message: "`" + l.Word.Name + "` takes a " + what + " in three coordinates here, this is the name of an axis",
		Notes:   []string{diag.Do("write it as in `" + l.Word.Name + " " + now + "`")},
	})
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
	if d, ok := r.guess(s, x); ok {
		d.Code, d.At = "name-unknown", x.Place
		r.diags.Add(d)
		return
	}
	r.unknown("name-unknown", x.Place, "nothing is called `"+x.Name+"` here", x.Name, r.visible(s), "declare it above, or correct the name")
}

// guess explains a name that is no name, where it shows what was meant.
func (r *resolver) guess(s *scope, x *ast.Ref) (diag.Diagnostic, bool) {
	d := diag.Diagnostic{Message: "nothing is called `" + x.Name + "` here"}
	write := func(now string) {
		d.Notes = append(d.Notes, diag.Do("write `"+now+"`"))
		d.Fixes = []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: x.Place, New: now}}}}
	}
	switch asks := s.questions(r, x.Name); {
	case len(asks) > 0:
		d.Notes = []string{diag.Do("write " + strings.Join(asks, " or "))}
	case x.Name == "X" || x.Name == "Y" || x.Name == "Z":
		d.Message = "the axes are called x, y and z"
		write(strings.ToLower(x.Name))
	case isThread(x.Name):
		d.Message = "`" + x.Name + "` is no name; the size of a thread stands in quotes"
		d.Notes = []string{diag.Do("write `size \"" + x.Name + "\"` of a thread; functions of the library take the diameter, `" + strings.TrimLeft(x.Name, "Mm") + "mm`")}
	case r.known[Modules][x.Name] || r.known[Library][x.Name]:
		d.Message = "the module `" + x.Name + "` is not in use here"
		d.Notes = []string{diag.Do("write `use " + x.Name + "` at the top of the file")}
		if r.file != nil && len(r.file.Decls) > 0 {
			at := r.file.Decls[0].Span().Before()
			d.Fixes = []diag.Fix{{Text: "add `use " + x.Name + "`", Edits: []diag.Edit{{At: at, New: "use " + x.Name + "\n"}}}}
		}
	case r.known[Heads][x.Name]:
		d.Message = "`" + x.Name + "` begins a body, but what follows does not go on with one"
		d.Notes = []string{diag.Do("write its sizes after it, as in `ball radius 3mm`")}
	case slices.Contains([]string{"front", "back", "left", "right", "top", "bottom"}, x.Name):
		d.Message = "`" + x.Name + "` is a side and no place"
		d.Notes = []string{diag.Do("to engrave or emboss there write `on " + x.Name + "`; a place is written (x, y, z)")}
	case token.Clause(x.Name):
		d.Message = "`" + x.Name + "` has no value behind it"
		d.Notes = []string{diag.Do("write it with its value, as in `" + x.Name + " " + sample(x.Name) + "`")}
	default:
		if _, ok := spell.Nearest(x.Name, r.visible(s)); ok {
			return d, false
		}
		word, ok := spell.Nearest(x.Name, r.env.Clauses("box"))
		if !ok {
			return d, false
		}
		d.Notes = []string{diag.Do("did you mean `" + word + "`?")}
		d.Fixes = []diag.Fix{{Text: "write `" + word + "`", Edits: []diag.Edit{{At: x.Place, New: word}}}}
	}
	return d, true
}

// questions lists what a check may ask that a word is the first of: `tip angle`
// for tip. Outside a check there are none.
func (s *scope) questions(r *resolver, word string) []string {
	var out []string
	for ; s != nil; s = s.outer {
		if !s.hasOwn || s.extra != Results {
			continue
		}
		for _, w := range r.env.Words(Questions) {
			if strings.HasPrefix(w, word+" ") {
				out = append(out, "`"+w+"`")
			}
		}
	}
	return out
}

// isThread reports whether a name reads like the designation of a thread: M4.
func isThread(name string) bool {
	return len(name) > 1 && (name[0] == 'M' || name[0] == 'm') && strings.Trim(name[1:], "0123456789") == ""
}

// sample is a value that may stand behind a clause word.
func sample(word string) string {
	switch word {
	case "at", "centre":
		return "(0, 0, 5mm)"
	case "along", "about":
		return "y"
	case "turned":
		return "30deg about z"
	}
	return "12mm"
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
	if r.spokenOperator(x) {
		return
	}
	if head != "" && !r.known[Heads][head] && r.declared(s, head) {
		r.ref(s, &ast.Ref{At: x.Head.At, Name: head})
		r.clauseWords("", x.Clauses)
	} else if head != "" && !r.known[Heads][head] {
		r.unknown("head-unknown", x.Head.Place, "no body is made by `"+head+"`", head, r.env.Words(Heads),
			"bodies begin with box, cylinder, cone, ball, thread, tap, extrude, revolve, loft, sweep, wrap, or with the name of one made before")
	} else {
		r.clauseWords(head, x.Clauses)
	}
	r.clauses(s, x.Clauses)
}

// operators holds words that are said for those between bodies and areas.
var operators = []string{"less", "with", "within"}

// verbs begin the steps of a part.
var verbs = []string{"join", "cut", "trim", "check", "material", "mating"}

// spokenOperator finds `minus` and its like in the place of a clause. What
// follows belongs to another body, so nothing more is said of this one.
func (r *resolver) spokenOperator(x *ast.Phrase) bool {
	for _, c := range x.Clauses {
		if slices.Contains(verbs, c.Word.Name) {
			r.diags.Add(diag.Diagnostic{
				Code: "clause-unknown", At: c.Word.Place,
				Message: "`" + c.Word.Name + "` begins a step of its own",
				Notes:   []string{diag.Do("put it on a new line")},
				Fixes:   []diag.Fix{{Text: "begin a new line", Edits: []diag.Edit{{At: c.Word.Place.Before(), New: "\n"}}}},
			})
			return true
		}
		if c.Word.Name == "by" && x.Head.Name == "" {
			name := strings.Join(strings.Fields(x.Subject.Span().Text()), " ")
			r.diags.Add(diag.Diagnostic{
				Code: "clause-unknown", At: c.Word.Place,
				Message: "`by` belongs to `extrude`",
				Notes:   []string{diag.Do("write `extrude " + name + " by …`, which makes an area thick")},
				Fixes:   []diag.Fix{{Text: "write `extrude` before it", Edits: []diag.Edit{{At: x.Place.Before(), New: "extrude "}}}},
			})
			return true
		}
		word, ok := spell.Other(c.Word.Name, operators)
		if !ok || slices.Contains(r.env.Clauses(x.Head.Name), c.Word.Name) {
			continue
		}
		r.diags.Add(diag.Diagnostic{
			Code: "clause-unknown", At: c.Word.Place,
			Message: "`" + c.Word.Name + "` does not join two bodies or areas",
			Notes:   []string{diag.Do("write `" + word + "`: `plate less hole` takes away, `with` adds, `within` keeps what both share")},
			Fixes:   []diag.Fix{{Text: "write `" + word + "`", Edits: []diag.Edit{{At: c.Word.Place, New: word}}}},
		})
		return true
	}
	return false
}

// clauseWords checks that each clause belongs to the head and stands once;
// clauses that place a body may be repeated, and so may `from`, once an axis.
func (r *resolver) clauseWords(head string, list []ast.Clause) {
	can := r.env.Clauses(head)
	placing := r.env.Clauses("")
	seen := map[string]ast.Ident{}
	lost := false // the clause before is not known, so what it takes is not
	for _, c := range list {
		word := c.Word.Name
		known := slices.Contains(can, word)
		if !known && lost && slices.Contains(bound, word) {
			continue
		}
		if lost = !known; lost {
			what := "`" + head + "`"
			if head == "" {
				what = "a body that has a name"
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

// bound lists the words that go on with the clause before them.
var bound = []string{"about", "along", "through", "by", "of", "every", "to"}

// joined lists clause words, each once and as it is written.
func joined(list []string) string {
	var words []string
	for _, w := range list {
		if w == "row" || w == "ring" {
			w = "in a " + w
		}
		if !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return strings.Join(words, ", ")
}

func (r *resolver) clauses(s *scope, list []ast.Clause) {
	for _, c := range list {
		r.exprs(s, c.Args)
		if c.Axis != nil {
			r.expr(s, c.Axis.Dir)
		}
	}
}
