package solid

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
)

// Errors of borders that move, as causes of a MovedError.
var (
	ErrCloses = errors.New("nothing is left between two walls")
	ErrMeets  = errors.New("two walls run into each other")
)

// MovedError says how far a border could move, and why no farther.
type MovedError struct {
	Way   float64 // mm
	Cause error   // ErrCloses or ErrMeets
}

func (e *MovedError) Error() string {
	return fmt.Sprintf("the border of the area can move by %.4g mm, then %v", e.Way, e.Cause)
}

// Unwrap returns the cause.
func (e *MovedError) Unwrap() error { return e.Cause }

// front is the border of an area on its way inward and outward: every side
// keeps its direction and moves at unit speed, so that corners move along
// their bisectors (the straight skeleton: O. Aichholzer, F. Aurenhammer, D.
// Alberts, B. Gärtner, "A novel type of skeleton for polygons", 1995). Sides
// that shrink to nothing leave; a border that meets itself is refused.
type front struct {
	stages []stage // from the outermost to the innermost
}

// stage is a stretch of depths in which the corners stay the same; depth
// counts inward from the drawn border.
type stage struct {
	from, to float64
	rings    [][]runner
	// outer and inner lead from a corner to that of the stage before and after
	// where the stage ends by an event: in it, several corners become one.
	outer, inner [][]int32
}

// runner is a corner and the side that begins there.
type runner struct {
	p, v geom.Vec2 // place at depth 0 and speed
	n    geom.Vec2 // of the side: unit normal, inward
}

func (r *runner) at(depth float64) geom.Vec2 {
	return geom.Vec2{X: r.p.X + float64(depth*r.v.X), Y: r.p.Y + float64(depth*r.v.Y)}
}

// together is how close in depth events are taken as one, mm: far below what
// a printer can show, far above the grid.
const together = 5e-4

// newFront follows the border of p from the depth least (<= 0) to most (>= 0).
func newFront(p Profile, least, most float64) (*front, error) {
	base := stage{}
	for _, ring := range p {
		r := straighten(ring)
		if len(r) < 3 {
			continue
		}
		n := len(r)
		normals := make([]geom.Vec2, n)
		for i, a := range r {
			d := r[(i+1)%n].Sub(a)
			normals[i] = d.Perp().Scale(1 / d.Len())
		}
		run := make([]runner, n)
		for i, a := range r {
			v, ok := bisector(normals[(i+n-1)%n], normals[i])
			if !ok {
				return nil, &MovedError{0, ErrCloses}
			}
			run[i] = runner{p: a, v: v, n: normals[i]}
		}
		base.rings = append(base.rings, run)
	}
	f := &front{}
	in, err := base.march(1, most)
	if err != nil {
		return nil, err
	}
	out, err := base.march(-1, -least)
	if err != nil {
		return nil, err
	}
	for i := len(out) - 1; i > 0; i-- {
		f.stages = append(f.stages, out[i])
	}
	both := in[0] // the stage of the drawn border reaches both ways
	both.from, both.outer = out[0].from, out[0].outer
	f.stages = append(f.stages, both)
	f.stages = append(f.stages, in[1:]...)
	return f, nil
}

// bisector is the speed of the corner between two sides.
func bisector(m, n geom.Vec2) (geom.Vec2, bool) {
	k := 1 + m.Dot(n)
	if k < 1e-4 { // sharper than 0.8 degrees: no corner to follow
		return geom.Vec2{}, false
	}
	return m.Add(n).Scale(1 / k), true
}

// march follows the corners inward (dir 1) or outward (dir -1) and returns
// the stages on the way, beginning with s.
func (s stage) march(dir, far float64) ([]stage, error) {
	var out []stage
	at := 0.0 // way gone
	for {
		next, gone := s.event(dir, at, far)
		to := min(next, far)
		if dir > 0 {
			s.from, s.to = at, to
		} else {
			s.from, s.to = -to, -at
		}
		if next >= far {
			if err := s.sound(dir, at, to); err != nil {
				return nil, err
			}
			return append(out, s), nil
		}
		then, to2, ok := s.without(gone, dir*next)
		if !ok {
			return nil, &MovedError{next, ErrCloses}
		}
		if err := s.sound(dir, at, next-together); err != nil {
			return nil, err
		}
		if dir > 0 {
			s.inner = to2
		} else {
			s.outer = to2
		}
		out = append(out, s)
		s, at = then, next
	}
}

// event returns the way at which the next sides vanish, and which.
func (s *stage) event(dir, at, far float64) (float64, [][]bool) {
	next := math.Inf(1)
	way := func(r []runner, i int) float64 {
		a, b := &r[i], &r[(i+1)%len(r)]
		u := geom.Vec2{X: a.n.Y, Y: -a.n.X}
		length := b.p.Sub(a.p).Dot(u)
		rate := dir * b.v.Sub(a.v).Dot(u)
		if rate >= -1e-12 {
			return math.Inf(1)
		}
		return max(at, -length/rate)
	}
	for _, r := range s.rings {
		for i := range r {
			next = min(next, way(r, i))
		}
	}
	if next >= far {
		return next, nil
	}
	gone := make([][]bool, len(s.rings))
	last := next
	for k, r := range s.rings {
		gone[k] = make([]bool, len(r))
		for i := range r {
			if w := way(r, i); w <= next+together {
				gone[k][i] = true
				last = max(last, w)
			}
		}
	}
	return min(last, far), gone
}

// without returns the stage after the sides marked are gone, and for every
// corner the one it becomes.
func (s *stage) without(gone [][]bool, depth float64) (stage, [][]int32, bool) {
	var then stage
	to := make([][]int32, len(s.rings))
	for k, r := range s.rings {
		n := len(r)
		var kept []int
		for i := range r {
			if !gone[k][i] {
				kept = append(kept, i)
			}
		}
		if len(kept) < 3 {
			return then, nil, false
		}
		run := make([]runner, len(kept))
		to[k] = make([]int32, n)
		for j, i := range kept {
			h := kept[(j+len(kept)-1)%len(kept)] // the side before
			v, ok := bisector(r[h].n, r[i].n)
			if !ok {
				return then, nil, false
			}
			where := r[i].at(depth)
			if (h+1)%n != i {
				where = meeting(&r[h], &r[i], &r[(h+1)%n], depth)
			}
			run[j] = runner{p: where.Sub(v.Scale(depth)), v: v, n: r[i].n}
			for c := (h + 1) % n; ; c = (c + 1) % n {
				to[k][c] = int32(j)
				if c == i {
					break
				}
			}
		}
		then.rings = append(then.rings, run)
	}
	return then, to, true
}

// meeting returns where the sides that begin at a and b meet at a depth, or,
// for sides nearly in line, the middle of what lies between them.
func meeting(a, b, first *runner, depth float64) geom.Vec2 {
	p, q := a.at(depth), b.at(depth)
	u, w := geom.Vec2{X: a.n.Y, Y: -a.n.X}, geom.Vec2{X: b.n.Y, Y: -b.n.X}
	den := u.Cross(w)
	if math.Abs(den) < 1e-3 {
		return first.at(depth).Add(q).Scale(0.5)
	}
	return p.Add(u.Scale(q.Sub(p).Cross(w) / den))
}

// sound reports a border that meets itself between two ways gone.
func (s *stage) sound(dir, from, to float64) error {
	p := s.profile(dir * to)
	if to > 0 && touches(p) {
		for range 40 { // where it does so first
			if mid := (from + to) / 2; touches(s.profile(dir * mid)) {
				to = mid
			} else {
				from = mid
			}
		}
		return &MovedError{to, ErrMeets}
	}
	for k, r := range p {
		want := 0 // holes lie in one outer ring, outer rings in none
		if ringArea(r) < 0 {
			want = 1
		}
		got := 0
		for j, o := range p {
			if j != k {
				got += winding(o, r[0])
			}
		}
		if got != want {
			return &MovedError{to, ErrCloses}
		}
	}
	return nil
}

func (s *stage) profile(depth float64) Profile {
	p := make(Profile, len(s.rings))
	for k, r := range s.rings {
		p[k] = make([]geom.Vec2, len(r))
		for i := range r {
			p[k][i] = r[i].at(depth)
		}
	}
	return p
}

// touches reports whether two sides that are no neighbours have a point in
// common.
func touches(p Profile) bool {
	type side struct {
		a, b       geom.Vec2
		ring, i, n int
	}
	var sides []side
	for k, r := range p {
		for i, a := range r {
			sides = append(sides, side{a, r[(i+1)%len(r)], k, i, len(r)})
		}
	}
	left := func(s side) float64 { return min(s.a.X, s.b.X) }
	slices.SortStableFunc(sides, func(s, t side) int { return cmp.Compare(left(s), left(t)) })
	var active []side
	for _, s := range sides {
		keep := active[:0]
		for _, t := range active {
			if max(t.a.X, t.b.X) < left(s) {
				continue
			}
			keep = append(keep, t)
			if d := (s.i - t.i + s.n) % s.n; s.ring == t.ring && (d == 1 || d == s.n-1) {
				continue
			}
			if max(t.a.Y, t.b.Y) < min(s.a.Y, s.b.Y) || max(s.a.Y, s.b.Y) < min(t.a.Y, t.b.Y) {
				continue
			}
			u, v := s.b.Sub(s.a), t.b.Sub(t.a)
			if u.Cross(t.a.Sub(s.a))*u.Cross(t.b.Sub(s.a)) <= 0 && v.Cross(s.a.Sub(t.a))*v.Cross(s.b.Sub(t.a)) <= 0 {
				return true
			}
		}
		active = append(keep, s)
	}
	return false
}

func ringArea(r []geom.Vec2) float64 {
	s := 0.0
	for i, p := range r {
		s += p.Cross(r[(i+1)%len(r)])
	}
	return s / 2
}

// winding tells how often a ring goes round a point.
func winding(r []geom.Vec2, p geom.Vec2) int {
	w := 0
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (a.Y > p.Y) == (b.Y > p.Y) {
			continue
		}
		left := b.Sub(a).Cross(p.Sub(a)) > 0
		switch {
		case b.Y > a.Y && left:
			w++
		case b.Y < a.Y && !left:
			w--
		}
	}
	return w
}

// find returns the stage for depths between a and b.
func (f *front) find(a, b float64) int {
	mid := (a + b) / 2
	for i := range f.stages {
		if mid <= f.stages[i].to {
			return i
		}
	}
	return len(f.stages) - 1
}

// rings returns where the corners of stage i are at a depth of it. Corners
// that become one at its end lie in one place there.
func (f *front) rings(i int, depth float64) Profile {
	s := &f.stages[i]
	p := s.profile(depth)
	over := func(to [][]int32, next *stage) {
		for k := range p {
			for c := range p[k] {
				p[k][c] = next.rings[k][to[k][c]].at(depth)
			}
		}
	}
	switch {
	case s.inner != nil && depth >= s.to:
		over(s.inner, &f.stages[i+1])
	case s.outer != nil && depth <= s.from:
		over(s.outer, &f.stages[i-1])
	}
	return p
}

// between lists the depths strictly between a and b at which corners join,
// in the order from a to b.
func (f *front) between(a, b float64) []float64 {
	lo, hi := min(a, b), max(a, b)
	var d []float64
	for i := range f.stages[:len(f.stages)-1] {
		if t := f.stages[i].to; t > lo && t < hi {
			d = append(d, t)
		}
	}
	if b < a {
		reverse(d)
	}
	return d
}
