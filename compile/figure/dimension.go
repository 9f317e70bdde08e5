package figure

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"perch/compile/geom"
	"perch/compile/sketch"
)

// This file places dimensions (ISO 129-1): thin lines, filled arrowheads, the
// value above the line, read from below or from the right; sizes that follow
// from others in brackets; arrows from outside where there is little room.

// dimension is one on paper.
type dimension struct {
	sketch.Dimension
	a, b, centre geom.Vec2 // on paper
	words        string
	hint         string
	swing        float64 // how far a leader may be moved round the curve, either way
}

// written writes a size as drawings do: mm without a unit, degrees with a sign,
// at most so many decimals.
func written(d *sketch.Dimension) string {
	var s string
	switch d.Kind {
	case sketch.AngleBetween:
		s = decimals(d.Value*180/math.Pi, 2) + "°"
	case sketch.RadiusOf:
		s = "R" + decimals(d.Value, 2)
	case sketch.DiameterOf:
		s = "⌀" + decimals(d.Value, 2)
	case sketch.ArcLength:
		s = "⌒" + decimals(d.Value, 2)
	default:
		s = decimals(d.Value, 2)
	}
	if d.Count > 1 {
		s = fmt.Sprintf("%d× %s", d.Count, s)
	}
	if d.Follows {
		s = "(" + s + ")"
	}
	return s
}

// decimals writes a number with at most n decimals.
func decimals(x float64, n int) string {
	s := strconv.FormatFloat(x, 'f', n, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// explained is what viewers show beside a dimension: what gives it, and how
// well it is known.
func explained(d *sketch.Dimension) string {
	s := ""
	if d.At.Valid() {
		s = strings.Join(strings.Fields(d.At.Text()), " ")
	}
	if d.Uncertainty > 0 {
		u, unit := d.Uncertainty, "mm"
		if d.Kind == sketch.AngleBetween {
			u, unit = u*180/math.Pi, "deg"
		}
		s += fmt.Sprintf(" (standard uncertainty %.2g %s)", u, unit)
	}
	return s
}

// straight is a linear dimension with the side it lies on.
type straight struct {
	dimension
	from, to float64 // along the side, ascending
	swapped  bool    // b stands at from
}

// dimensions draws all dimensions of a figure round the box of its curves.
func (p *page) dimensions(all []dimension, box area) {
	mid := box.lo.Add(box.hi).Scale(0.5)
	var below, above, right, left []straight
	var rest []dimension
	for _, d := range all {
		flat := math.Abs(d.a.Y-d.b.Y) < 1e-6*(1+math.Abs(d.a.X-d.b.X))
		steep := math.Abs(d.a.X-d.b.X) < 1e-6*(1+math.Abs(d.a.Y-d.b.Y))
		switch {
		case d.Kind == sketch.Horizontal, d.Kind == sketch.Linear && flat:
			s := straight{d, min(d.a.X, d.b.X), max(d.a.X, d.b.X), d.b.X < d.a.X}
			if d.a.Y+d.b.Y >= 2*mid.Y-1e-6 {
				below = append(below, s)
			} else {
				above = append(above, s)
			}
		case d.Kind == sketch.Vertical, d.Kind == sketch.Linear && steep:
			s := straight{d, min(d.a.Y, d.b.Y), max(d.a.Y, d.b.Y), d.b.Y < d.a.Y}
			if d.a.X+d.b.X >= 2*mid.X-1e-6 {
				right = append(right, s)
			} else {
				left = append(left, s)
			}
		default:
			rest = append(rest, d)
		}
	}
	p.side(below, func(x, off float64) geom.Vec2 { return geom.Vec2{X: x, Y: box.hi.Y + off} })
	p.side(above, func(x, off float64) geom.Vec2 { return geom.Vec2{X: x, Y: box.lo.Y - off} })
	p.side(right, func(y, off float64) geom.Vec2 { return geom.Vec2{X: box.hi.X + off, Y: y} })
	p.side(left, func(y, off float64) geom.Vec2 { return geom.Vec2{X: box.lo.X - off, Y: y} })
	for i := range rest {
		d := &rest[i]
		switch d.Kind {
		case sketch.Linear:
			p.slanted(d, mid)
		case sketch.AngleBetween:
			p.angle(d)
		case sketch.ArcLength:
			p.arcLength(d)
		}
	}
	for i := range rest { // last: leaders find their way round the others
		if d := &rest[i]; d.Kind == sketch.RadiusOf || d.Kind == sketch.DiameterOf {
			p.leader(d)
		}
	}
}

// side stacks dimensions beside the figure, short ones first; those of one
// row do not overlap.
func (p *page) side(ds []straight, at func(along, off float64) geom.Vec2) {
	slices.SortStableFunc(ds, func(a, b straight) int {
		switch x, y := a.to-a.from, b.to-b.from; {
		case x < y-1e-6:
			return -1
		case x > y+1e-6:
			return 1
		}
		return 0
	})
	var rows [][]straight
	for _, d := range ds {
		row := 0
		for ; row < len(rows); row++ {
			if !slices.ContainsFunc(rows[row], func(o straight) bool { return overlap(d, o) }) {
				break
			}
		}
		if row == len(rows) {
			rows = append(rows, nil)
		}
		rows[row] = append(rows[row], d)
		off := fromPart + float64(between*float64(row))
		a, b := d.a, d.b
		if d.swapped {
			a, b = b, a
		}
		p.extension(a, at(d.from, off))
		p.extension(b, at(d.to, off))
	}
	for row, ds := range rows {
		off := fromPart + float64(between*float64(row))
		for _, d := range ds {
			p.measured(&d.dimension, at(d.from, off), at(d.to, off))
		}
	}
}

// overlap reports whether two dimensions need two rows: with their letters
// they would run into each other.
func overlap(a, b straight) bool {
	room := func(d straight) (from, to float64) {
		w := lettersWide(d.words, letter) + float64(2*arrow) + 2
		if d.to-d.from < w {
			return d.from - 2*arrow, d.to + w
		}
		return d.from, d.to
	}
	af, at := room(a)
	bf, bt := room(b)
	return af < bt-1e-6 && bf < at-1e-6
}

// extension draws an extension line from a corner to beyond the dimension
// line.
func (p *page) extension(from, to geom.Vec2) {
	v := to.Sub(from)
	if v.Len() < 1e-6 {
		return
	}
	u := v.Scale(1 / v.Len())
	p.line("thin", from.Add(u.Scale(min(clear, v.Len()/2))), to.Add(u.Scale(overrun)), "")
}

// measured draws a dimension line with its arrows and its value above.
func (p *page) measured(d *dimension, a, b geom.Vec2) {
	if a.X > b.X+1e-9 || math.Abs(a.X-b.X) <= 1e-9 && a.Y < b.Y {
		a, b = b, a // read from below or from the right
	}
	v := b.Sub(a)
	l := v.Len()
	if l < 1e-6 {
		return
	}
	u := v.Scale(1 / l)
	angle := math.Atan2(u.Y, u.X) * 180 / math.Pi
	up := geom.Vec2{X: u.Y, Y: -u.X}
	width := lettersWide(d.words, letter)
	mid := a.Add(v.Scale(0.5))
	if l >= 3*arrow {
		p.tip(a, u.Scale(-1))
		p.tip(b, u)
		p.line("thin", a, b, d.hint)
	} else { // arrows from outside
		p.tip(a, u)
		p.tip(b, u.Scale(-1))
		p.line("thin", a.Sub(u.Scale(2*arrow)), b.Add(u.Scale(2*arrow)), d.hint)
	}
	if l < width+1 {
		out := b.Add(u.Scale(float64(2*arrow) + width + 1))
		p.line("thin", b, out, "")
		mid = out.Sub(u.Scale(width / 2))
	}
	best, least := label{}, math.Inf(1)
	slack := max(0, l/2-width/2-arrow) // how far the value may stand off the middle
	for _, k := range []float64{0, 0.4, -0.4, 0.8, -0.8} {
		t := label{d.words, mid.Add(up.Scale(0.8)).Add(u.Scale(k * slack)), angle, letter}
		if c := p.crowded(t) + math.Abs(k); c < least-1e-9 {
			best, least = t, c
		}
	}
	p.write("size", best, d.hint)
}

// slanted draws a dimension along a slanted way, away from the middle of the
// figure, further out until its letters stand free.
func (p *page) slanted(d *dimension, mid geom.Vec2) {
	v := d.b.Sub(d.a)
	if v.Len() < 1e-6 {
		return
	}
	n := v.Scale(1 / v.Len()).Perp()
	if n.Dot(d.a.Add(d.b).Scale(0.5).Sub(mid)) < 0 {
		n = n.Scale(-1)
	}
	best, least := fromPart, math.Inf(1)
	for _, side := range []float64{1, -1} {
		for k := range 4 {
			off := side * (fromPart - 1 + float64(between*float64(k)))
			m := d.a.Add(d.b).Scale(0.5).Add(n.Scale(off))
			l := label{d.words, m, math.Atan2(v.Y, v.X) * 180 / math.Pi, letter}
			if c := p.crowded(l) + float64(0.1*math.Abs(off)); c < least-1e-9 {
				best, least = off, c
			}
		}
	}
	a, b := d.a.Add(n.Scale(best)), d.b.Add(n.Scale(best))
	p.extension(d.a, a)
	p.extension(d.b, b)
	p.measured(d, a, b)
}

// leader draws the size of a circle or an arc: an arrow that ends on the curve
// and points to the centre, and the value on a level shelf.
func (p *page) leader(d *dimension) {
	to := d.b
	if d.centre.Sub(to).Len() < 1e-9 {
		return
	}
	width := lettersWide(d.words, letter) + 1
	type way struct {
		tip, knee, end geom.Vec2
		l              label
	}
	var best way
	least := math.Inf(1)
	shelf := geom.Vec2{Y: 1.5} // letters stand that far below the shelf
	turns := []float64{0, 15, -15, 30, -30, 45, -45, 60, -60, 90, -90, 120, -120, 180}
	for _, turn := range turns {
		if math.Abs(turn)*math.Pi/180 > d.swing {
			continue
		}
		q := about(d.centre, to, turn*math.Pi/180)
		out := q.Sub(d.centre).Scale(1 / q.Sub(d.centre).Len())
		for _, reach := range []float64{7, 12, 18, 26, -8, -14} {
			knee := q.Add(out.Scale(reach))
			side := 1.0
			if knee.X < q.X-1e-9 {
				side = -1
			}
			end := knee.Add(geom.Vec2{X: side * width})
			l := label{d.words, geom.Vec2{X: (knee.X + end.X) / 2, Y: knee.Y - 0.8}, 0, letter}
			c := p.crowded(l) + p.through(q, knee) + p.through(knee.Add(shelf), end.Add(shelf)) + float64(0.05*math.Abs(reach)) + float64(0.01*math.Abs(turn))
			if c < least-1e-9 {
				best, least = way{q, knee, end, l}, c
			}
		}
	}
	dir := best.tip.Sub(best.knee)
	p.tip(best.tip, dir)
	p.line("thin", best.tip, best.knee, d.hint)
	p.line("thin", best.knee, best.end, "")
	p.write("size", best.l, d.hint)
}

// angle draws an angle as an arc about its apex, counter-clockwise from leg a
// to leg b, which is clockwise downward on paper.
func (p *page) angle(d *dimension) {
	la, lb := d.a.Sub(d.centre).Len(), d.b.Sub(d.centre).Len()
	if la < 1e-9 || lb < 1e-9 {
		return
	}
	r := min(max(0.6*min(la, lb), 9), 28)
	u := d.a.Sub(d.centre).Scale(1 / la)
	w := d.b.Sub(d.centre).Scale(1 / lb)
	place := func(r float64) label {
		m := about(d.centre, d.centre.Add(u.Scale(r+letter*0.9)), -d.Value/2)
		out := m.Sub(d.centre).Scale(1 / m.Sub(d.centre).Len())
		// the letters stand level outside the arc
		shift := geom.Vec2{X: out.X * (lettersWide(d.words, letter)/2 - 0.4), Y: letter / 2}
		return label{d.words, m.Add(shift), 0, letter}
	}
	best, least := r, math.Inf(1)
	for _, k := range []float64{1, 0.75, 1.3, 1.7, 2.2} {
		if c := p.crowded(place(r*k)) + math.Abs(k-1); c < least-1e-9 {
			best, least = r*k, c
		}
	}
	r = best
	a := d.centre.Add(u.Scale(r))
	for _, dir := range []geom.Vec2{u, w} { // under the lines of the part, where there are some
		p.line("thin", d.centre, d.centre.Add(dir.Scale(r+overrun)), "")
	}
	b := p.arc("thin", d.centre, a, -d.Value, d.hint)
	if r*d.Value >= 3*arrow {
		p.tip(a, turned(a.Sub(d.centre), 1))
		p.tip(b, turned(b.Sub(d.centre), -1))
	} else {
		p.arc("thin", d.centre, a, 2*arrow/r, "")
		p.arc("thin", d.centre, b, -2*arrow/r, "")
		p.tip(a, turned(a.Sub(d.centre), -1))
		p.tip(b, turned(b.Sub(d.centre), 1))
	}
	p.write("size", place(r), d.hint)
}

// turned is a direction square to v: clockwise on paper for way 1.
func turned(v geom.Vec2, way float64) geom.Vec2 { return v.Perp().Scale(way) }

// arcLength draws the length of an arc beside it.
func (p *page) arcLength(d *dimension) {
	v := d.a.Sub(d.centre)
	r := v.Len()
	if r < 1e-9 {
		return
	}
	w := d.b.Sub(d.centre)
	sweep := math.Atan2(v.Cross(w), v.Dot(w))
	if sweep >= 0 {
		sweep -= 2 * math.Pi // counter-clockwise upward
	}
	k := (r + fromPart) / r
	a, b := d.centre.Add(v.Scale(k)), d.centre.Add(w.Scale(k))
	p.extension(d.a, a)
	p.extension(d.b, b)
	p.arc("thin", d.centre, a, sweep, d.hint)
	p.tip(a, turned(a.Sub(d.centre), 1))
	p.tip(b, turned(b.Sub(d.centre), -1))
	m := about(d.centre, d.centre.Add(v.Scale((r+fromPart+1)/r)), sweep/2)
	out := m.Sub(d.centre).Scale(1 / m.Sub(d.centre).Len())
	l := label{d.words, m.Add(geom.Vec2{X: out.X * lettersWide(d.words, letter) / 2, Y: (out.Y + 1) / 2 * letter}), 0, letter}
	p.write("size", l, d.hint)
}
