package resolve

import (
	"slices"
	"strconv"
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
		if r.calledHead(s, x) {
			return
		}
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
	anon := false
	for sc := s; sc != nil; sc = sc.outer {
		if _, ok := sc.names[x.Name]; ok || sc.lost[x.Name] {
			return
		}
		anon = anon || sc.anon
		if sc.hasOwn && r.known[sc.extra][x.Name] {
			return
		}
		if n, ok := sc.to[x.Name]; ok {
			if !r.toldUnknown(x) {
				r.tooEarly(x, n)
			}
			return
		}
	}
	if x.Name == r.now {
		r.diags.Add(diag.Diagnostic{
			Code: "name-itself", At: x.Place,
			Message: "`" + x.Name + "` is used in its own declaration",
			Notes:   []string{diag.Do(r.insteadOfItself())},
		})
		return
	}
	if anon && r.all[x.Name].Name == "" {
		if _, close := spell.Nearest(x.Name, r.visible(s)); !close {
			return // it may be the one whose declaration could not be read
		}
	}
	if r.toldUnknown(x) {
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

// insteadOfItself is what to do about a declaration that uses its own name.
func (r *resolver) insteadOfItself() string {
	if _, ok := r.info.Decls[r.now].(*ast.Sketch); ok {
		return "name a shape, a line or a point that is drawn in the sketch"
	}
	return "give the inner one another name, or take it out"
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
	case x == r.text && !token.Clause(x.Name):
		d.Message = "nothing is called `" + x.Name + "` here, and a text stands in quotes"
		write(`"` + x.Name + `"`)
	case x.Name == "x" || x.Name == "y" || x.Name == "z":
		d.Message = "`" + x.Name + "` is the name of an axis and no value"
		d.Notes = []string{diag.Do("write a place in coordinates; along " + x.Name + " it is `" +
			map[string]string{"x": "(5mm, 0, 0)", "y": "(0, 5mm, 0)", "z": "(0, 0, 5mm)"}[x.Name] + "`")}
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
		if word, ok := spell.Other(x.Name, operators); ok {
			d.Notes = []string{diag.Do("write `" + word + "` between two bodies or areas: `plate less hole` takes away, `with` adds, `within` keeps what both share")}
			return d, true
		}
		if now := r.qualified(x.Name); now != "" {
			write(now)
			return d, true
		}
		word, ok := spell.Nearest(x.Name, r.env.Clauses("box"))
		if !ok || len(x.Name) < 4 {
			return d, false
		}
		d.Notes = []string{diag.Do("did you mean `" + word + "`?")}
		d.Fixes = []diag.Fix{{Text: "write `" + word + "`", Edits: []diag.Edit{{At: x.Place, New: word}}}}
	}
	return d, true
}

// unknownName is a name that nobody declares, or only further on: where its
// message stands among the diagnostics, and the other lines that it is used in.
type unknownName struct {
	message int
	lines   []string
}

// toldUnknown reports whether a name was told to be unknown, or used too early,
// before: that is one cause, wherever the name is used.
func (r *resolver) toldUnknown(x *ast.Ref) bool {
	u, ok := r.missing[x.Name]
	if !ok {
		u = &unknownName{message: len(r.diags)}
		r.missing[x.Name] = u
		r.unknowns = append(r.unknowns, u)
		return false
	}
	told := r.diags[u.message].At
	line := x.Place.File.Position(x.Place.Start).Line
	if now := strconv.Itoa(line); line != told.File.Position(told.Start).Line && !slices.Contains(u.lines, now) {
		u.lines = append(u.lines, now)
	}
	return true
}

// nameLines adds to the message of an unknown name the other lines that use it.
func (r *resolver) nameLines() {
	for _, u := range r.unknowns {
		if n := len(u.lines); n > 0 {
			const most = 6
			list := strings.Join(u.lines[:min(n, most)], ", ")
			if n > most {
				list += ", …"
			}
			d := &r.diags[u.message]
			word := "line "
			if n > 1 {
				word = "lines "
			}
			d.Notes = append([]string{diag.Why("it is used in " + word + list + " as well")}, d.Notes...)
		}
	}
}

// qualified is a name as it is written that a module in use declares: with the
// module before it.
func (r *resolver) qualified(name string) string {
	for _, n := range r.info.Names {
		if slices.Contains(r.modules[n], name) {
			return n + "." + name
		}
	}
	return ""
}

// calledHead reports a body that is written like a call: `box(width: 3mm)`.
func (r *resolver) calledHead(s *scope, x *ast.Call) bool {
	ref, ok := x.Fn.(*ast.Ref)
	if !ok || !r.known[Heads][ref.Name] || r.known[Values][ref.Name] || r.declared(s, ref.Name) || len(x.Args) == 0 {
		return false
	}
	words := []string{}
	for _, a := range x.Args {
		if a.Name.Name == "" {
			return false
		}
		words = append(words, a.Name.Name+" "+strings.Join(strings.Fields(a.Value.Span().Text()), " "))
		r.expr(s, a.Value)
	}
	now := ref.Name + " " + strings.Join(words, ", ")
	r.diags.Add(diag.Diagnostic{
		Code: "name-unknown", At: ref.Place,
		Message: "the sizes of a body stand behind it without parentheses and colons",
		Notes:   []string{diag.Do("write `" + now + "`")},
		Fixes:   []diag.Fix{{Text: "write `" + now + "`", Edits: []diag.Edit{{At: x.Place, New: now}}}},
	})
	return true
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
	if r.noExtent(s, x) || r.bareArguments(x) || r.numberAsBody(x) {
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

// noExtent reports an `extrude` or a `loft` whose `by` was left out, so that its
// extent reads like a clause: `extrude tooth long along y`.
func (r *resolver) noExtent(s *scope, x *ast.Phrase) bool {
	if x.Head.Name != "extrude" && x.Head.Name != "loft" || len(x.Clauses) == 0 {
		return false
	}
	for _, c := range x.Clauses {
		if c.Word.Name == "by" || c.Word.Name == "from" {
			return false
		}
	}
	word := x.Clauses[0].Word
	if slices.Contains(r.env.Clauses(x.Head.Name), word.Name) || !s.has(word.Name) {
		return false
	}
	r.diags.Add(diag.Diagnostic{
		Code: "clause-unknown", At: word.Place,
		Message: "this does not say by how much `" + x.Head.Name + "` goes: its `by` is missing",
		Notes:   []string{diag.Do("write `by " + word.Name + "`")},
		Fixes:   []diag.Fix{{Text: "write `by` before it", Edits: []diag.Edit{{At: word.Place.Before(), New: "by "}}}},
	})
	return true
}

// bareArguments reports a part whose arguments are written like the clauses of
// a body: `foot.dovetail wide 32mm, tall 8mm`.
func (r *resolver) bareArguments(x *ast.Phrase) bool {
	if x.Head.Name != "" || len(x.Clauses) == 0 || !r.takesArguments(x.Subject) {
		return false
	}
	can := r.env.Clauses("")
	var args []string
	for _, c := range x.Clauses {
		if slices.Contains(can, c.Word.Name) {
			break
		}
		if _, close := spell.Nearest(c.Word.Name, can); close || len(c.Args) != 1 {
			return false
		}
		args = append(args, c.Word.Name+": "+strings.Join(strings.Fields(c.Args[0].Span().Text()), " "))
	}
	if len(args) == 0 {
		return false
	}
	now := x.Subject.Span().Text() + "(" + strings.Join(args, ", ") + ")"
	r.diags.Add(diag.Diagnostic{
		Code: "clause-unknown", At: x.Clauses[0].Word.Place,
		Message: "what a part of its own is given stands in parentheses, each with a colon",
		Notes:   []string{diag.Do("write `" + now + "`")},
		Fixes: []diag.Fix{{Text: "write `" + now + "`",
			Edits: []diag.Edit{{At: x.Subject.Span().To(x.Clauses[len(args)-1].Place), New: now}}}},
	})
	return true
}

// numberAsBody reports a number in the place of a body: the size of the one
// before, whose word is missing.
func (r *resolver) numberAsBody(x *ast.Phrase) bool {
	n, ok := x.Subject.(*ast.Number)
	if !ok || x.Head.Name != "" {
		return false
	}
	r.diags.Add(diag.Diagnostic{
		Code: "kind-mismatch", At: n.Place,
		Message: "a body is wanted here, this is a number",
		Notes:   []string{diag.Do("if it is a size of the body before it, write its word: `by " + n.Span().Text() + "`, `height " + n.Span().Text() + "`")},
	})
	return true
}

// takesArguments reports whether x names a part, of this file or of a module.
func (r *resolver) takesArguments(x ast.Expr) bool {
	switch x := x.(type) {
	case *ast.Ref:
		p, ok := r.info.Decls[x.Name].(*ast.Part)
		return ok && len(p.Params) > 0
	case *ast.Member:
		ref, ok := x.X.(*ast.Ref)
		return ok && slices.Contains(r.modules[ref.Name], x.Name.Name)
	}
	return false
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
