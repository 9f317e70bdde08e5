package sketch

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
	"perch/lang/unit"
)

// Codes of the messages about sketches.
const (
	CodeFree      diag.Code = "sketch-free"      // something can still move
	CodeConflict  diag.Code = "sketch-conflict"  // lines that cannot all hold
	CodeRedundant diag.Code = "sketch-redundant" // a line that follows from others
	CodeCheck     diag.Code = "sketch-check"     // an inequality that does not hold
	CodeFlat      diag.Code = "sketch-flat"      // a line, circle or arc of no size
	CodeCorner    diag.Code = "sketch-corner"    // no room to round or bevel
	CodeCrossing  diag.Code = "outline-crosses"  // an outline that crosses itself
	CodeOpen      diag.Code = "outline-open"     // an outline that does not close
	CodeHollow    diag.Code = "outline-flat"     // an outline that goes round nothing
	CodeBackward  diag.Code = "outline-backward" // a line that goes against its direction
	CodeSide      diag.Code = "sketch-side"      // a side that is not as drawn, or not drawn
	CodeWeak      diag.Code = "sketch-weak"      // small errors grow large
)

// Solved is a sketch with its numbers.
type Solved struct {
	sketch *Sketch
	// Result is what the solver found.
	Result *solve.Result

	following following
}

// Value returns the value of an expression over the sketch.
func (v *Solved) Value(e *solve.Expr) float64 {
	return v.Result.Value(e)
}

// Place returns where a point lies.
func (v *Solved) Place(p *Point) geom.Vec2 {
	return geom.Vec2{X: v.Value(p.X), Y: v.Value(p.Y)}
}

// Solve solves the sketch. The error is that of ctx; what is wrong with the
// sketch stands in the list, in which case Solved is nil if there is an
// Error among it.
func (s *Sketch) Solve(ctx context.Context) (*Solved, diag.List, error) {
	astride := s.astride()
	r, err := s.sys.Solve(ctx)
	if err != nil {
		return nil, nil, err
	}
	var list diag.List
	if !r.Solved {
		if r, err = s.otherSide(ctx, r, &list); err != nil {
			return nil, nil, err
		}
	}
	v := &Solved{sketch: s, Result: r}
	for _, c := range r.Conflicts {
		list.Add(s.conflict(c))
	}
	if list.HasErrors() {
		return nil, list, nil
	}
	v.sizes(&list)
	if !list.HasErrors() {
		v.backward(&list)
	}
	if list.HasErrors() {
		return nil, list, nil
	}
	v.inequalities(&list)
	if v.coinciding(&list) {
		return nil, list, nil
	}
	v.sides(astride, &list)
	v.weak(&list)
	list.Add(v.redundant()...)
	if d, free := v.free(); free {
		list.Add(d)
	}
	if list.HasErrors() {
		return nil, list, nil
	}
	return v, list, nil
}

func (s *Sketch) conflict(c solve.Conflict) diag.Diagnostic {
	st, last := c.Origins, c.Latest
	miss, small := s.missOf(c)
	d := diag.Diagnostic{
		Code: CodeConflict, Severity: diag.Error, At: s.statements[last].at,
		Message: "this cannot hold together with what is written before",
		Notes:   []string{diag.Why(miss)},
	}
	if len(st) == 1 {
		d.Message = "this cannot hold as drawn"
	}
	for _, i := range st {
		if i != last {
			d.Labels = append(d.Labels, diag.Label{At: s.statements[i].at, Text: "clashes with it"})
		}
	}
	if len(st) > 1 {
		d.Message = fmt.Sprintf("these %d lines cannot all hold", len(st))
	}
	if c.Unsure {
		d.Notes = append(d.Notes, diag.Why("the search ended at its limit: it may be that not all of these lines clash, or that they meet far from where they are drawn"))
	}
	switch {
	case c.Unsure && !c.Undefined:
		d.Notes = append(d.Notes, diag.Do("let points start nearer to where they belong, change a dimension, or take out one of the marked lines"))
	case c.Undefined:
		d.Notes = append(d.Notes, diag.Do("look for a root or an arc function of something out of its range, or a division by zero"))
	case small:
		d.Notes = append(d.Notes, diag.Do("a miss this small is probably a rounded dimension: give it with more digits, or let one of the lines go"))
	default:
		d.Notes = append(d.Notes, diag.Do("change a dimension, or take out one of the marked lines"))
	}
	return d
}

// missOf words how close a conflict comes, and whether that is little.
func (s *Sketch) missOf(c solve.Conflict) (words string, small bool) {
	const little = 0.05 // mm or degrees: what the last digit of a drawing may hide
	const prefix = "the closest they come is a miss of "
	if c.Undefined {
		return "it has no value where the others hold", false
	}
	if c.Miss < 1e-7 {
		return "they ask for opposite sides or directions: they meet only where something shrinks to nothing", false
	}
	if arm := s.statements[c.Latest].arm; arm > 0 {
		deg := c.Miss / arm * 180 / math.Pi
		return fmt.Sprintf("%s%.4g deg", prefix, deg), deg < little
	}
	return fmt.Sprintf("%s%.4g mm", prefix, c.Miss), c.Miss < little
}

func millimetres(x float64) string { return fmt.Sprintf("%.4g mm", x) }

// redundant remarks on statements all of whose equations follow from others.
func (v *Solved) redundant() diag.List {
	s := v.sketch
	idle := make([]int, len(s.statements)) // equations that add nothing
	from := make([][]int, len(s.statements))
	for _, d := range v.Result.Redundant {
		idle[d.Origin]++
		from[d.Origin] = append(from[d.Origin], d.From...)
	}
	var list diag.List
	for i, st := range s.statements {
		if idle[i] == 0 || idle[i] < st.equations || st.quiet {
			continue
		}
		on := from[i]
		slices.Sort(on)
		d := diag.Diagnostic{Code: CodeRedundant, Severity: diag.Info, At: s.statements[i].at, Message: "this adds nothing: it follows from other lines"}
		for _, j := range slices.Compact(on) {
			if j != i && s.statements[j].at.Valid() {
				d.Labels = append(d.Labels, diag.Label{At: s.statements[j].at, Text: "it follows from this"})
			}
		}
		d.Notes = []string{diag.Do("no harm is done; take it out if it was meant to pin something down")}
		list.Add(d)
	}
	return list
}

// sizes finds what has no size.
func (v *Solved) sizes(list *diag.List) {
	s := v.sketch
	bad := func(e Entity, what string) {
		list.Add(diag.Diagnostic{Code: CodeFlat, Severity: diag.Error, At: e.Where(),
			Message: fmt.Sprintf("%s %s", known(e), what),
			Notes:   []string{diag.Do("check the dimensions that set it")}})
	}
	for _, l := range s.lines {
		if !(v.Place(l.B).Sub(v.Place(l.A)).Len() > 1e-7) {
			bad(l, "has no length: its ends fall on one place")
		}
	}
	for _, c := range s.circles {
		if r := v.Value(c.R); !(r > 1e-7) || math.IsInf(r, 0) {
			v.noRadius(list, c, r)
		}
	}
	for _, a := range s.arcs {
		if r := v.Value(a.R); !(r > 1e-7) || math.IsInf(r, 0) {
			v.noRadius(list, a, r)
		}
	}
}

// noRadius tells of a circle or an arc that could only be drawn with a radius
// of nothing or less.
func (v *Solved) noRadius(list *diag.List, e Entity, r float64) {
	d := diag.Diagnostic{Code: CodeFlat, Severity: diag.Error, At: e.Where(),
		Message: fmt.Sprintf("%s would have no size: its radius comes out as %s", known(e), millimetres(r)),
		Notes:   []string{diag.Do("check the dimensions that set it; a radius is more than nothing")}}
	for _, g := range v.sketch.givens { // the equation that sets it, where there is one
		if g.left != nil && (g.left == radiusOf(e) || g.right == radiusOf(e)) {
			d.Labels = append(d.Labels, diag.Label{At: g.at, Text: "this sets it"})
		}
	}
	list.Add(d)
}

// known names an entity with what it is: "the line `floor`", "this line".
func known(e Entity) string {
	if e.EntityName() == "" {
		return nameOf(e)
	}
	return "the " + e.Sort() + " " + nameOf(e)
}

// backward finds lines that run against where they were told to go.
func (v *Solved) backward(list *diag.List) {
	for i := range v.sketch.ways {
		w := &v.sketch.ways[i]
		if along := v.Value(w.along); !(along > 0) {
			list.Add(diag.Diagnostic{Code: CodeBackward, Severity: diag.Error, At: w.line.at,
				Message: fmt.Sprintf("this line is to go %s, but what is asked of it takes it %s the other way", w.words(), millimetres(-along)),
				Notes:   []string{diag.Do("turn it round, or correct the dimensions that set its end")}})
		}
	}
}

func (v *Solved) inequalities(list *diag.List) {
	for _, c := range v.sketch.checks {
		l, r := v.Value(c.left), v.Value(c.right)
		const e = 1e-9
		ok := false
		switch c.op {
		case "<":
			ok = l < r
		case "<=":
			ok = l <= r+e
		case ">":
			ok = l > r
		case ">=":
			ok = l >= r-e
		case "!=":
			ok = math.Abs(l-r) > e
		}
		if !ok {
			list.Add(diag.Diagnostic{Code: CodeCheck, Severity: diag.Error, At: c.at,
				Message: fmt.Sprintf("this does not hold once the sketch is solved: %s %s %s", unit.Format(l, c.dim), c.op, unit.Format(r, c.dim)),
				Notes:   []string{diag.Why(c.excess(l, r)), diag.Do("change the dimensions that set it, or the limit")}})
		}
	}
}

// excess words by how much an inequality does not hold.
func (c *inequality) excess(l, r float64) string {
	d := unit.Format(math.Abs(l-r), c.dim)
	switch {
	case c.op == "!=":
		return "the two are equal"
	case l == r:
		return "the two are equal, and the limit itself does not count"
	case l < r:
		return d + " too little"
	}
	return d + " too much"
}

// Boundary returns the exact boundary of a circle or an outline, with its
// corners rounded. Faults are reported at the place that causes them.
func (v *Solved) Boundary(e Entity) (Boundary, diag.List) {
	var list diag.List
	switch e := e.(type) {
	case *Circle:
		return Boundary{v.circle(e)}, nil
	case *Outline:
		return v.outline(e)
	}
	list.Add(diag.Diagnostic{Code: CodeOpen, Severity: diag.Error, At: e.Where(),
		Message: fmt.Sprintf("a %s encloses no area", e.Sort()),
		Notes:   []string{diag.Why("an area is made of outlines, circles and ready shapes")}})
	return nil, list
}

func (v *Solved) line(l *Line) Curve {
	return Curve{A: v.Place(l.A), B: v.Place(l.B), Name: l.name, of: l}
}

func (v *Solved) arc(a *Arc) Curve {
	return Curve{A: v.Place(a.A), B: v.Place(a.B), Round: true, Centre: v.Place(a.Centre), Radius: v.Value(a.R), Clockwise: a.Clockwise, Name: a.name, of: a}
}

func (v *Solved) circle(c *Circle) Curve {
	at, r := v.Place(c.Centre), v.Value(c.R)
	p := at.Add(geom.Vec2{X: r})
	return Curve{A: p, B: p, Round: true, Centre: at, Radius: r, Name: c.name, of: c}
}

func (v *Solved) outline(o *Outline) (Boundary, diag.List) {
	var list diag.List
	if !o.closed || o.last != o.Start() {
		list.Add(diag.Diagnostic{Code: CodeOpen, Severity: diag.Error, At: o.at,
			Message: fmt.Sprintf("the outline %s does not come back to its start", nameOf(o)),
			Notes:   []string{diag.Do("end the last segment at the first point, or write `close`")}})
		return nil, list
	}
	out, list := v.chain(o)
	if list.HasErrors() {
		return nil, list
	}
	if d, crosses := v.crossing(o, out); crosses {
		list.Add(d)
		return nil, list
	}
	// a thread of the width of a grid step is nothing to print
	if out.Surface() <= 1e-5*out.Perimeter() {
		list.Add(diag.Diagnostic{Code: CodeHollow, Severity: diag.Error, At: o.at,
			Message: fmt.Sprintf("the outline %s goes round nothing: it comes back on itself", nameOf(o)),
			Notes:   []string{diag.Do("check the segments and the points they go to")}})
		return nil, list
	}
	return out, nil
}

// Course returns the pieces of a path, its corners rounded, and whether it
// ends where it begins.
func (v *Solved) Course(o *Outline) (way []Curve, closed bool, faults diag.List) {
	b, list := v.chain(o)
	return b, o.last == o.Start(), list
}

// chain returns the segments of an outline with its corners rounded.
func (v *Solved) chain(o *Outline) (Boundary, diag.List) {
	var list diag.List
	b := make(Boundary, len(o.Segments))
	for i, g := range o.Segments {
		if g.Arc != nil {
			b[i] = v.arc(g.Arc)
		} else {
			b[i] = v.line(g.Line)
		}
	}
	n := len(b)
	after := make([]*Curve, n) // the blend at the end of each segment
	for i := range b {
		p := o.Segments[i].to()
		if p.round == nil || i == n-1 && o.last != o.Start() {
			continue
		}
		by := v.Value(p.round.by)
		if by == 0 {
			continue
		}
		c, ok := Curve{}, false
		if by > 0 {
			c, ok = blend(&b[i], &b[(i+1)%n], by, p.round.bevel)
		}
		if !ok {
			word := "round"
			if p.round.bevel {
				word = "bevel"
			}
			d := diag.Diagnostic{Code: CodeCorner, Severity: diag.Error, At: p.round.at,
				Message: fmt.Sprintf("there is no room to %s %s by %s", word, cornerName(p), millimetres(by)),
				Notes:   []string{diag.Do("make it smaller, or the sides longer")}}
			if smooth(&b[i], &b[(i+1)%n]) {
				d.Message = fmt.Sprintf("%s is smooth: there is nothing to %s", cornerName(p), word)
				d.Notes = []string{diag.Do("take it out of the list")}
			}
			list.Add(d)
			continue
		}
		c.of = p
		after[i] = &c
	}
	if list.HasErrors() {
		return nil, list
	}
	var out Boundary
	for i := range b {
		if b[i].Round || b[i].B.Sub(b[i].A).Len() > 1e-9 {
			out = append(out, b[i])
		}
		if after[i] != nil {
			out = append(out, *after[i])
		}
	}
	return out, nil
}

func cornerName(p *Point) string {
	if p.name == "" {
		return "this corner"
	}
	return "the corner `" + p.name + "`"
}

// crossing looks for two pieces of the boundary that cross each other.
func (v *Solved) crossing(o *Outline, b Boundary) (diag.Diagnostic, bool) {
	type chord struct {
		a, b  geom.Vec2
		curve int
	}
	var cs []chord
	for i := range b {
		p := b[i].points(0.01, nil)
		for j := range p {
			next := b[i].B
			if j+1 < len(p) {
				next = p[j+1]
			}
			cs = append(cs, chord{p[j], next, i})
		}
	}
	order := make([]int, len(cs))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(x, y int) int {
		a, b := min(cs[x].a.X, cs[x].b.X), min(cs[y].a.X, cs[y].b.X)
		switch {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return x - y
	})
	var active []int
	for _, x := range order {
		c := cs[x]
		keep := active[:0]
		for _, y := range active {
			d := cs[y]
			if max(d.a.X, d.b.X) < min(c.a.X, c.b.X) {
				continue
			}
			keep = append(keep, y)
			if crosses(c.a, c.b, d.a, d.b) {
				at := c.a.Add(c.b).Scale(0.5)
				names := strings.Join(named(b[c.curve].Name, b[d.curve].Name), " and ")
				msg := fmt.Sprintf("the outline %s crosses itself near (%.3g, %.3g) mm", nameOf(o), at.X, at.Y)
				if names != "" {
					msg += ", where " + names + " run"
				}
				return diag.Diagnostic{Code: CodeCrossing, Severity: diag.Error, At: o.at, Message: msg,
					Labels: crossed(b[d.curve].of, b[c.curve].of),
					Notes:  []string{diag.Do("draw it as one loop, or as two outlines joined by `with`")}}, true
			}
		}
		active = append(keep, x)
	}
	return diag.Diagnostic{}, false
}

// crossed marks two pieces of a boundary that cross.
func crossed(x, y Entity) []diag.Label {
	var out []diag.Label
	for i, e := range []Entity{x, y} {
		if e != nil && e.Where().Valid() {
			out = append(out, diag.Label{At: e.Where(), Text: []string{"this one", "crosses this one"}[i]})
		}
	}
	return out
}

func named(names ...string) []string {
	var out []string
	for _, n := range names {
		if n != "" && !slices.Contains(out, "`"+n+"`") {
			out = append(out, "`"+n+"`")
		}
	}
	return out
}

// crosses reports whether two segments cross properly, by more than what
// rounding of touching ends can feign.
func crosses(a, b, c, d geom.Vec2) bool {
	const e = 1e-7
	u, v := b.Sub(a), d.Sub(c)
	if u.Len() < e || v.Len() < e {
		return false
	}
	side := func(p, q, r geom.Vec2) float64 { return q.Sub(p).Cross(r.Sub(p)) / q.Sub(p).Len() }
	s1, s2 := side(a, b, c), side(a, b, d)
	t1, t2 := side(c, d, a), side(c, d, b)
	return min(s1, s2) < -e && max(s1, s2) > e && min(t1, t2) < -e && max(t1, t2) > e
}

// Members of a sketch by name.

// Entities returns everything drawn that has a name, in written order of
// each kind.
func (s *Sketch) Entities() []Entity {
	var out []Entity
	for _, p := range s.points {
		out = append(out, p)
	}
	for _, l := range s.lines {
		out = append(out, l)
	}
	for _, c := range s.circles {
		out = append(out, c)
	}
	for _, a := range s.arcs {
		out = append(out, a)
	}
	for _, o := range s.outlines {
		out = append(out, o)
	}
	return slices.DeleteFunc(out, func(e Entity) bool { return e.EntityName() == "" })
}
