package drawing

import (
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/surface"
)

// Template draws two paper templates of a seat, each in its true size with a
// bar to check the printer by: the profile of the seat, to cut out and hold
// against the tube, and the outline of the seat unrolled, to wrap round it and
// see where the part and its slots come to lie. face is a hollow cylinder of
// the part. The sheets are the smallest that hold them; an error says that
// none does.
func Template(s *surface.Surface, face int32, title string) ([]*Sheet, error) {
	c := newCylinder(s, face)
	var sheets []*Sheet
	for _, f := range []struct {
		figure projection
		marks  []Stroke
		title  string
		lines  []string
	}{
		c.gauge(title), c.wrap(title),
	} {
		sheet, ok := onPaper(f.figure, f.marks, f.title, f.lines)
		if !ok {
			return nil, fmt.Errorf("%s takes %.0f x %.0f mm and goes on no sheet up to A0 in its true size", f.title, f.figure.width(), f.figure.height())
		}
		sheets = append(sheets, sheet)
	}
	return sheets, nil
}

// cylinder is the seat in its own frame: along the axis, round it from the
// middle of the seat, and out from it.
type cylinder struct {
	radius           float64
	centre, axis     geom.Vec3
	middle, sideways geom.Vec3 // square to the axis; middle points at the middle of the seat
	rims             [][]geom.Vec3
	from, to         float64 // along the axis
	turn             float64 // half the angle the seat takes, rad
}

func newCylinder(s *surface.Surface, face int32) *cylinder {
	f := s.Faces[face]
	c := &cylinder{radius: f.Radius, centre: f.Centre, axis: f.Axis.Unit(), rims: s.Rims(face)}
	// The axis runs to the right, away or up: the way people look at it.
	if a := c.axis; a.X+a.Y+a.Z < 0 {
		c.axis = a.Scale(-1)
	}
	var sum geom.Vec3
	c.from, c.to = math.Inf(1), math.Inf(-1)
	for t, g := range s.FaceOf {
		if g != face {
			continue
		}
		p, q, r := s.Mesh.Corners(t)
		weight := q.Sub(p).Cross(r.Sub(p)).Len()
		sum = sum.Add(c.out(p.Add(q).Add(r).Scale(1.0 / 3)).Scale(weight))
		for _, v := range []geom.Vec3{p, q, r} {
			along := v.Sub(c.centre).Dot(c.axis)
			c.from, c.to = min(c.from, along), max(c.to, along)
		}
	}
	c.middle = sum.Unit()
	if sum.Len() < 1e-6 { // all round: begin anywhere
		c.middle = c.out(c.rims[0][0]).Unit()
	}
	c.sideways = c.axis.Cross(c.middle)
	lo, hi := c.reach()
	if hi-lo < 2*math.Pi-0.01 { // to the middle of what it takes, whatever is cut out
		sin, cos := geom.SinCos((lo + hi) / 2)
		c.middle, c.sideways = c.middle.Scale(cos).Add(c.sideways.Scale(sin)), c.sideways.Scale(cos).Sub(c.middle.Scale(sin))
	}
	c.turn = (hi - lo) / 2
	return c
}

// reach returns the least and greatest angle of the seat.
func (c *cylinder) reach() (lo, hi float64) {
	for _, rim := range c.rims {
		for _, p := range rim {
			a := c.angle(p)
			lo, hi = min(lo, a), max(hi, a)
		}
	}
	return lo, hi
}

// out returns the part of p − centre that is square to the axis.
func (c *cylinder) out(p geom.Vec3) geom.Vec3 {
	d := p.Sub(c.centre)
	return d.Sub(c.axis.Scale(d.Dot(c.axis)))
}

// angle of p round the axis, 0 at the middle of the seat.
func (c *cylinder) angle(p geom.Vec3) float64 {
	d := c.out(p)
	return math.Atan2(d.Dot(c.sideways), d.Dot(c.middle))
}

// templated is a template before it is on paper.
type templated = struct {
	figure projection
	marks  []Stroke
	title  string
	lines  []string
}

// Room round the arc of a gauge, mm.
const (
	gaugeBack = 22.0
	gaugeMore = 8 * math.Pi / 180
	mostGauge = 80 * math.Pi / 180 // half the angle: beyond it the paper does not go over the tube
)

// gauge is a card whose hollow side must touch the tube everywhere.
func (c *cylinder) gauge(title string) templated {
	half := min(c.turn+gaugeMore, mostGauge)
	at := func(a, r float64) geom.Vec2 {
		sin, cos := geom.SinCos(a)
		return geom.Vec2{X: r * sin, Y: r * cos}
	}
	var arc []geom.Vec2
	n := max(8, int(math.Ceil(float64(half*c.radius)/0.5)))
	for i := range 2*n + 1 {
		arc = append(arc, at(half*float64(i-n)/float64(n), c.radius))
	}
	w := at(half, c.radius).X
	top := c.radius + gaugeBack
	outline := slices.Concat(arc, []geom.Vec2{{X: w, Y: top}, {X: -w, Y: top}, arc[0]})
	fig := newFigure([]Line{{Points: outline}})
	var marks []Stroke
	for _, a := range []float64{-c.turn, c.turn} {
		if c.turn < half {
			marks = append(marks, Stroke{[]geom.Vec2{at(a, c.radius), at(a, c.radius+6)}, Thin})
		}
	}
	marks = append(marks, Stroke{[]geom.Vec2{at(0, c.radius), at(0, c.radius+10)}, Chain})
	return templated{fig, marks, "Gauge of the seat of " + title, []string{
		fmt.Sprintf("R %s mm, \u00f8 %s mm", short2(c.radius), short2(2*c.radius)),
		"Cut along the thick line and hold the hollow edge against the tube, square to it.",
		"Light in the middle: the tube is flatter than drawn. Light at the ends: it is rounder.",
		"The short lines mark the ends of the seat.",
	}}
}

// wrap is the seat unrolled, seen from outside the tube.
func (c *cylinder) wrap(title string) templated {
	var lines []Line
	for _, rim := range c.rims {
		var chain []geom.Vec2
		last := 0.0
		for i := range len(rim) + 1 {
			p := rim[i%len(rim)]
			a, y := c.angle(p), p.Sub(c.centre).Dot(c.axis)
			if i > 0 && math.Abs(a-last) > math.Pi { // past the back: on at the other end
				back := math.Copysign(math.Pi, last)
				chain = append(chain, geom.Vec2{X: c.radius * back, Y: y})
				lines = append(lines, Line{Points: chain})
				chain = []geom.Vec2{{X: -c.radius * back, Y: y}}
			}
			chain = append(chain, geom.Vec2{X: c.radius * a, Y: y})
			last = a
		}
		lines = append(lines, Line{Points: chain})
	}
	fig := newFigure(lines)
	marks := []Stroke{{[]geom.Vec2{{X: 0, Y: fig.min.Y - 6}, {X: 0, Y: fig.max.Y + 6}}, Chain}}
	if c.turn > math.Pi-0.01 { // all round: the strip ends where it meets itself
		girth := math.Pi * c.radius
		for _, x := range []float64{-girth, girth} {
			marks = append(marks, Stroke{[]geom.Vec2{{X: x, Y: fig.min.Y - 4}, {X: x, Y: fig.max.Y + 4}}, Thin})
		}
	}
	return templated{fig, marks, "Seat of " + title + ", unrolled", []string{
		fmt.Sprintf("for a tube of R %s mm, \u00f8 %s mm, girth %s mm", short2(c.radius), short2(2*c.radius), short2(2*math.Pi*c.radius)),
		"Cut along the thick lines and lay it round the tube, this side out.",
		"The dash-dotted line runs along the tube, through the middle of the seat.",
	}}
}

// Room on a template sheet, mm.
const (
	rimRoom  = 12.0
	headRoom = 16.0
	lineRoom = 6.0
	barRoom  = 18.0
)

// onPaper puts a template on the smallest sheet that holds it in its true
// size.
func onPaper(f projection, marks []Stroke, title string, lines []string) (*Sheet, bool) {
	for _, p := range Papers {
		for _, size := range [2]geom.Vec2{{X: p.Width, Y: p.Height}, {X: p.Height, Y: p.Width}} {
			head := headRoom + float64(lineRoom*float64(len(lines)))
			if f.width()+12 > size.X-2*rimRoom || f.height()+12 > size.Y-2*rimRoom-head-barRoom {
				continue
			}
			s := &Sheet{Title: title, Width: size.X, Height: size.Y}
			s.write(rimRoom, rimRoom+large, large, Left, title)
			for i, l := range lines {
				s.write(rimRoom, rimRoom+headRoom+float64(lineRoom*float64(i)), normal, Left, l)
			}
			v := s.view(&f, 1, (size.X-f.width())/2, rimRoom+head+(size.Y-float64(2*rimRoom)-head-barRoom-f.height())/2)
			for _, m := range marks {
				var ps []geom.Vec2
				for _, q := range m.Points {
					ps = append(ps, v.at(q))
				}
				s.stroke(m.Pen, ps...)
			}
			s.bar(rimRoom, size.Y-rimRoom-6)
			return s, true
		}
	}
	return nil, false
}

// bar draws the 100 mm by which one sees whether the paper was printed in its
// true size.
func (s *Sheet) bar(x, y float64) {
	s.stroke(Thin, geom.Vec2{X: x, Y: y}, geom.Vec2{X: x + 100, Y: y})
	for i := range 11 {
		h := 2.0
		if i%5 == 0 {
			h = 4
		}
		s.stroke(Thin, geom.Vec2{X: x + float64(10*float64(i)), Y: y - h}, geom.Vec2{X: x + float64(10*float64(i)), Y: y})
	}
	s.write(x, y+4.5, small, Left, "Measure this bar: it must be 100 mm long. If not, print at 100 %, not fitted to the page.")
}
