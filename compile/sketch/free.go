package sketch

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"perch/compile/disjoint"
	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
)

// mostMotions bounds the motions that are put into words.
const mostMotions = 12

// free words what can still move in the language of the workshop: whole
// groups first, then single things.
func (v *Solved) free() (diag.Diagnostic, bool) {
	if len(v.Result.Freedoms) == 0 {
		return diag.Diagnostic{}, false
	}
	s := v.sketch
	d := diag.Diagnostic{Code: CodeFree, Severity: diag.Warning, At: s.At}
	told := v.told()
	n := v.Result.DOF
	for _, m := range told[:min(len(told), mostMotions)] {
		d.Notes = append(d.Notes, diag.Why(m.words))
	}
	if n > mostMotions {
		d.Notes = append(d.Notes, diag.Why(fmt.Sprintf("and so on: these are the first %d", mostMotions)))
	}
	what := "one thing"
	if n > 1 {
		what = fmt.Sprintf("%d things", n)
	}
	d.Message = fmt.Sprintf("the sketch `%s` is not fully pinned: %s can still move", s.Name, what)
	d.Notes = append(d.Notes, diag.Do("add dimensions or relations to pin it; the shape nearest to what is written was taken"))
	return d, true
}

// told is a motion with its sentence.
type told struct {
	moves []float64 // of every variable
	words string
}

// told puts the first motions into words.
func (v *Solved) told() []told {
	var out []told
	for _, group := range v.groups() {
		if len(out) >= mostMotions {
			break
		}
		out = append(out, v.motions(group)...)
	}
	return out
}

// moves returns a motion over all variables.
func (v *Solved) moves(m solve.Motion) []float64 {
	z := make([]float64, len(v.Result.Values))
	for i, x := range m.Vars {
		z[x] = m.Moves[i]
	}
	return z
}

// groups collects the freedoms that concern the same variables.
func (v *Solved) groups() [][]solve.Motion {
	var groups [][]solve.Motion
	first := map[int]int{} // root variable to group
	part := v.partOf()
	for _, f := range v.Result.Freedoms {
		r := part[f.Vars[0]]
		g, ok := first[r]
		if !ok {
			g = len(groups)
			first[r] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], f)
	}
	return groups
}

// partOf returns, for each variable, the first variable it is tied to by a
// freedom.
func (v *Solved) partOf() []int {
	tied := disjoint.New(len(v.Result.Values))
	for _, f := range v.Result.Freedoms {
		for _, i := range f.Vars[1:] {
			tied.Unite(int32(f.Vars[0]), int32(i))
		}
	}
	of := make([]int, len(tied))
	for i := range of {
		of[i] = int(tied.Of(int32(i)))
	}
	return of
}

// motions words the freedoms of one group: those of the group as a whole, then
// what moves least beside them.
func (v *Solved) motions(group []solve.Motion) []told {
	slices.SortStableFunc(group, func(a, b solve.Motion) int { return len(a.Vars) - len(b.Vars) })
	var basis [][]float64
	for _, m := range group {
		basis = append(basis, v.moves(m))
	}
	var out []told
	var span [][]float64 // of what is told, orthonormal
	tell := func(z []float64, words func() string) bool {
		more := solve.Orthonormal(append(span[:len(span):len(span)], z), dependent)
		if len(more) == len(span) || len(span) == len(basis) {
			return false
		}
		span = more
		out = append(out, told{z, words()})
		return true
	}
	if moved := v.movers(basis); len(moved) >= 2 {
		all := solve.Orthonormal(basis, dependent)
		names := nameList(moved)
		together := func(how string, move func(p *Point) geom.Vec2) bool {
			z := make([]float64, len(v.Result.Values))
			for _, p := range moved {
				d := move(p)
				z[p.vx], z[p.vy] = d.X, d.Y
			}
			return length(z) > 0 && inSpan(all, z) && tell(z, func() string { return names + " can " + how })
		}
		together("slide together sideways", func(*Point) geom.Vec2 { return geom.Vec2{X: 1} })
		together("slide together up and down", func(*Point) geom.Vec2 { return geom.Vec2{Y: 1} })
		for _, c := range v.pivots(moved) {
			if together("turn together"+c.words, func(p *Point) geom.Vec2 { return v.Place(p).Sub(c.at).Perp() }) {
				break
			}
		}
	}
	for _, z := range basis {
		tell(z, func() string { return v.single(z) })
	}
	return out
}

// movers returns the points whose variables take part, in written order.
func (v *Solved) movers(basis [][]float64) []*Point {
	var out []*Point
	for _, p := range v.sketch.points {
		if p.vx < 0 {
			continue
		}
		for _, z := range basis {
			if math.Abs(z[p.vx]) > 1e-7 || math.Abs(z[p.vy]) > 1e-7 {
				out = append(out, p)
				break
			}
		}
	}
	return out
}

type pivot struct {
	at    geom.Vec2
	words string
}

// pivots returns places about which a group may turn: the named points that
// stay, then its own middle.
func (v *Solved) pivots(moved []*Point) []pivot {
	var out []pivot
	isMoved := map[*Point]bool{}
	var mid geom.Vec2
	for _, p := range moved {
		isMoved[p] = true
		mid = mid.Add(v.Place(p).Scale(1 / float64(len(moved))))
	}
	for _, p := range v.sketch.points {
		if !isMoved[p] && p.name != "" {
			out = append(out, pivot{v.Place(p), " about `" + p.name + "`"})
		}
	}
	return append(out, pivot{mid, ""})
}

// single words one motion by what moves most.
func (v *Solved) single(z []float64) string {
	s := v.sketch
	var names []string
	var leader *Point
	most := 0.0
	for _, p := range s.points {
		if p.vx < 0 {
			continue
		}
		m := math.Hypot(z[p.vx], z[p.vy])
		if m > 1e-7 && p.name != "" {
			names = append(names, "`"+p.name+"`")
		}
		if m > most*(1+1e-6) {
			leader, most = p, m
		}
	}
	for _, c := range s.circles {
		if c.vr >= 0 && math.Abs(z[c.vr]) > most {
			return fmt.Sprintf("nothing sets the radius of %s", nameOf(c))
		}
	}
	if leader == nil {
		return "something without a name can still move"
	}
	if pv := v.turning(leader, z); pv != "" && len(names) == 1 {
		return fmt.Sprintf("%s can turn about `%s`", names[0], pv)
	}
	if l := v.sliding(leader, z); l != "" && len(names) == 1 {
		return fmt.Sprintf("%s can slide along `%s`", names[0], l)
	}
	dir := math.Abs(math.Atan2(z[leader.vy], z[leader.vx]))
	way := "slantwise"
	if dir < 1e-6 || math.Pi-dir < 1e-6 {
		way = "sideways"
	} else if math.Abs(dir-math.Pi/2) < 1e-6 {
		way = "up and down"
	}
	switch len(names) {
	case 0:
		return fmt.Sprintf("a corner near (%.3g, %.3g) mm can move %s", v.Place(leader).X, v.Place(leader).Y, way)
	case 1:
		return fmt.Sprintf("%s can move %s", names[0], way)
	}
	return fmt.Sprintf("%s can move %s, and %s with it", nameOf(leader), way, strings.Join(others(names, nameOf(leader)), ", "))
}

func others(names []string, but string) []string {
	var out []string
	for _, n := range names {
		if n != but {
			out = append(out, n)
		}
	}
	return out
}

// turning returns the named point about which p turns in motion z: one that
// stays, to which p keeps its distance by a statement, square to the motion.
func (v *Solved) turning(p *Point, z []float64) string {
	for _, k := range v.sketch.spans {
		q := k[0]
		if q == p {
			q = k[1]
		} else if k[1] != p {
			continue
		}
		if q.name == "" || q.vx >= 0 && (math.Abs(z[q.vx]) > 1e-7 || math.Abs(z[q.vy]) > 1e-7) {
			continue
		}
		r := v.Place(p).Sub(v.Place(q))
		if math.Abs(float64(r.X*z[p.vx])+float64(r.Y*z[p.vy])) < 1e-6*r.Len() {
			return q.name
		}
	}
	return ""
}

// sliding returns the name of the line that p lies on and moves along.
func (v *Solved) sliding(p *Point, z []float64) string {
	way := geom.Vec2{X: z[p.vx], Y: z[p.vy]}
	at := v.Place(p)
	for _, l := range v.sketch.lines {
		a := v.Place(l.A)
		u := v.Place(l.B).Sub(a)
		n := u.Len()
		if l.name == "" || math.Abs(u.Cross(way)) > 1e-6*n*way.Len() || math.Abs(u.Cross(at.Sub(a))) > 1e-6*n {
			continue
		}
		stays := true
		for _, q := range []*Point{l.A, l.B} {
			stays = stays && q != p && (q.vx < 0 || math.Hypot(z[q.vx], z[q.vy]) < 1e-7)
		}
		if stays {
			return l.name
		}
	}
	return ""
}

func nameList(ps []*Point) string {
	var n []string
	nameless := 0
	for _, p := range ps {
		if p.name == "" {
			nameless++
		} else {
			n = append(n, "`"+p.name+"`")
		}
	}
	sort.Strings(n)
	if len(n) > 8 {
		nameless += len(n) - 8
		n = n[:8]
	}
	switch {
	case len(n) == 0:
		return fmt.Sprintf("%d corners", nameless)
	case nameless > 0:
		return fmt.Sprintf("%s and %d more", strings.Join(n, ", "), nameless)
	case len(n) == 1:
		return n[0]
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}

// Small linear algebra on motions.

// dependent is the share of a motion beside others that counts as none.
const dependent = 1e-7

func length(z []float64) float64 {
	s := 0.0
	for _, x := range z {
		s += float64(x * x)
	}
	return math.Sqrt(s)
}

func inner(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += float64(a[i] * b[i])
	}
	return s
}

func inSpan(basis [][]float64, z []float64) bool {
	s := 0.0
	for _, b := range basis {
		d := inner(b, z)
		s += float64(d * d)
	}
	return math.Sqrt(s) > (1-1e-9)*length(z)
}
