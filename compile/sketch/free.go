package sketch

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
)

// free words what can still move in the language of the workshop: whole
// groups first, then single things.
func (v *Solved) free() (diag.Diagnostic, bool) {
	if len(v.Result.Freedoms) == 0 {
		return diag.Diagnostic{}, false
	}
	s := v.sketch
	d := diag.Diagnostic{Code: CodeFree, Severity: diag.Warning, At: s.At}
	for _, group := range v.groups() {
		for _, m := range v.motions(group) {
			d.Notes = append(d.Notes, diag.Why(m))
		}
	}
	n := len(v.Result.Freedoms)
	what := "one thing"
	if n > 1 {
		what = fmt.Sprintf("%d things", n)
	}
	d.Message = fmt.Sprintf("the sketch `%s` is not fully pinned: %s can still move", s.Name, what)
	d.Notes = append(d.Notes, diag.Do("add dimensions or relations to pin it; the shape nearest to what is written was taken"))
	return d, true
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
func (v *Solved) groups() [][][]float64 {
	var groups [][][]float64
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
		groups[g] = append(groups[g], v.moves(f))
	}
	return groups
}

// partOf returns, for each variable, the first variable it is tied to by a
// freedom.
func (v *Solved) partOf() []int {
	root := make([]int, len(v.Result.Values))
	for i := range root {
		root[i] = i
	}
	find := func(x int) int {
		for root[x] != x {
			x = root[x]
		}
		return x
	}
	for _, f := range v.Result.Freedoms {
		for _, i := range f.Vars[1:] {
			a, b := find(f.Vars[0]), find(i)
			root[max(a, b)] = min(a, b)
		}
	}
	for i := range root {
		root[i] = find(i)
	}
	return root
}

// motions words the freedoms of one group.
func (v *Solved) motions(basis [][]float64) []string {
	var out []string
	moved := v.movers(basis)
	rest := orthonormal(basis)
	take := func(z []float64, words string) {
		if l := length(z); l > 0 && inSpan(rest, z) {
			rest = without(rest, z)
			out = append(out, words)
		}
	}
	if len(moved) >= 2 {
		names := nameList(moved)
		n := len(v.Result.Values)
		sideways, upDown := make([]float64, n), make([]float64, n)
		for _, p := range moved {
			sideways[p.vx], upDown[p.vy] = 1, 1
		}
		take(sideways, names+" can slide together sideways")
		take(upDown, names+" can slide together up and down")
		for _, c := range v.pivots(moved) {
			turn := make([]float64, n)
			for _, p := range moved {
				r := v.Place(p).Sub(c.at)
				turn[p.vx], turn[p.vy] = -r.Y, r.X
			}
			before := len(out)
			take(turn, names+" can turn together"+c.words)
			if len(out) > before {
				break
			}
		}
	}
	for _, z := range echelon(rest) {
		out = append(out, v.single(z))
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

// turning returns the named fixed point about which p turns in motion z: the
// one at the other end of a line of p, square to the motion.
func (v *Solved) turning(p *Point, z []float64) string {
	for _, l := range v.sketch.lines {
		q := l.A
		if q == p {
			q = l.B
		} else if l.B != p {
			continue
		}
		if q.name == "" || q.vx >= 0 && (math.Abs(z[q.vx]) > 1e-7 || math.Abs(z[q.vy]) > 1e-7) {
			continue
		}
		r := v.Place(p).Sub(v.Place(q))
		if math.Abs(r.X*z[p.vx]+r.Y*z[p.vy]) < 1e-6*r.Len() {
			return q.name
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
		return fmt.Sprintf("%s and %d more corners", strings.Join(n, ", "), nameless)
	case len(n) == 1:
		return n[0]
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}

// Small linear algebra on motions.

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

// orthonormal returns an orthonormal basis of the span.
func orthonormal(vs [][]float64) [][]float64 {
	var out [][]float64
	for _, v := range vs {
		w := append([]float64(nil), v...)
		for range 2 {
			for _, b := range out {
				d := inner(b, w)
				for i := range w {
					w[i] -= float64(d * b[i])
				}
			}
		}
		if l := length(w); l > 1e-7*(length(v)+1e-300) {
			for i := range w {
				w[i] /= l
			}
			out = append(out, w)
		}
	}
	return out
}

func inSpan(basis [][]float64, z []float64) bool {
	s := 0.0
	for _, b := range basis {
		d := inner(b, z)
		s += float64(d * d)
	}
	return math.Sqrt(s) > (1-1e-9)*length(z)
}

// without returns a basis of what is left of the span square to z.
func without(basis [][]float64, z []float64) [][]float64 {
	all := append([][]float64{z}, basis...)
	return orthonormal(all)[1:]
}

// echelon returns a basis in which each motion has a variable of its own, so
// that motions come out one by one.
func echelon(basis [][]float64) [][]float64 {
	m := make([][]float64, len(basis))
	for i, b := range basis {
		m[i] = append([]float64(nil), b...)
	}
	for r := range m {
		// The largest entry of the rows left is the next variable.
		br, bc := r, 0
		for i := r; i < len(m); i++ {
			for c, x := range m[i] {
				if math.Abs(x) > math.Abs(m[br][bc])*(1+1e-9) {
					br, bc = i, c
				}
			}
		}
		m[r], m[br] = m[br], m[r]
		p := m[r][bc]
		if p == 0 {
			return m[:r]
		}
		for c := range m[r] {
			m[r][c] /= p
		}
		for i := range m {
			if i != r {
				k := m[i][bc]
				for c := range m[i] {
					m[i][c] -= float64(k * m[r][c])
				}
			}
		}
	}
	for i := range m {
		for c := range m[i] {
			if math.Abs(m[i][c]) < 1e-9 {
				m[i][c] = 0
			}
		}
	}
	return m
}
