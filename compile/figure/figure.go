// Package figure draws a solved sketch for the screen, as SVG with hints: the
// sizes that its text gives, and what can still move.
//
// Lengths are in mm as on paper: a picture has its real size at the scale it
// names. The same figure gives the same bytes.
package figure

import (
	"fmt"
	"io"
	"math"
	"strings"

	"perch/compile/geom"
	"perch/compile/sketch"
)

// scales are those of ISO 5455, enlarging first.
var scales = []float64{50, 20, 10, 5, 2, 1, 1 / 2., 1 / 5., 1 / 10., 1 / 20., 1 / 50., 1 / 100., 1 / 200., 1 / 500., 1 / 1000.}

// room is the side of the square on paper, in mm, that the curves of a sketch
// are scaled into.
const room = 150

// scaleFor returns the largest scale at which a size in mm fits into so much
// paper.
func scaleFor(size, paper float64) float64 {
	for _, s := range scales {
		if size*s <= paper {
			return s
		}
	}
	return paper / size
}

// scaleWords writes a scale as drawings do: 2:1.
func scaleWords(s float64) string {
	if s >= 1 {
		return decimals(s, 0) + ":1"
	}
	return "1:" + decimals(1/s, 0)
}

// Write writes the picture of a solved sketch as an SVG document: the curves
// of the part wide, guides and loose lines thin and chain-dotted, dimensions as
// in ISO 129-1, points that can still move ringed, with sentences below that
// say how. Titles of elements tell what gives a size. The error is that of w.
func Write(w io.Writer, f *sketch.Figure) error {
	p := newPage()
	p.notes(f, p.draw(f, room))
	return p.writeTo(w, "sketch "+f.Name)
}

// Layout returns the same as marks without the sentences, the curves scaled
// into a square of so many mm, the box that all marks take, and the scale,
// written as on a drawing.
func Layout(f *sketch.Figure, square float64) (marks []Mark, lo, hi geom.Vec2, scale string) {
	p := newPage()
	s := p.draw(f, square)
	if !(p.lo.X <= p.hi.X) {
		p.reach(geom.Vec2{})
	}
	return p.marks, p.lo, p.hi, scaleWords(s)
}

// draw draws the figure at the largest scale that goes into a square, and
// returns the scale.
func (p *page) draw(f *sketch.Figure, square float64) float64 {
	size := f.Max.Sub(f.Min)
	s := scaleFor(math.Max(size.X, size.Y), square)
	at := func(v geom.Vec2) geom.Vec2 {
		return geom.Vec2{X: float64(s * (v.X - f.Min.X)), Y: float64(s * (f.Max.Y - v.Y))}
	}
	for i := range f.Curves {
		p.stroke(&f.Curves[i], at, s)
	}
	box := area{at(geom.Vec2{X: f.Min.X, Y: f.Max.Y}), at(geom.Vec2{X: f.Max.X, Y: f.Min.Y})}
	for i := range f.Points {
		p.point(&f.Points[i], at)
	}
	var ds []dimension
	for i := range f.Dimensions {
		d := &f.Dimensions[i]
		ds = append(ds, dimension{*d, at(d.A), at(d.B), at(d.Centre), written(d), explained(d), swing(f, d)})
	}
	p.axes(ds, box, at(geom.Vec2{}))
	p.dimensions(ds, box)
	return s
}

// stroke draws a curve, with its name as a hint.
func (p *page) stroke(c *sketch.Stroke, at func(geom.Vec2) geom.Vec2, scale float64) {
	class := "part"
	if c.Guide {
		class = "help"
	}
	if c.Motion != "" {
		class += " moves-line"
	}
	words := c.Name
	if words == "" {
		words = c.Shape
	}
	if c.Motion != "" {
		words = strings.TrimPrefix(words+": "+c.Motion, ": ")
	}
	samples := math.Ceil(scale * c.A.Sub(c.B).Len())
	if c.Round {
		samples = math.Ceil(scale * c.Radius * math.Abs(c.Sweep()))
	}
	for i := range int(samples) + 1 {
		p.inked = append(p.inked, at(along(&c.Curve, float64(i)/max(samples, 1))))
	}
	switch {
	case !c.Round:
		p.line(class, at(c.A), at(c.B), words)
	case c.A == c.B:
		p.circle(class, at(c.Centre), c.Radius*scale, words)
		p.cross(at(c.Centre), min(float64(c.Radius*scale)+1.5, 3))
	default:
		p.arc(class, at(c.Centre), at(c.A), -c.Sweep(), words)
	}
}

// along returns the place at a share of the way along a curve.
func along(c *sketch.Curve, share float64) geom.Vec2 {
	if !c.Round {
		return c.A.Add(c.B.Sub(c.A).Scale(share))
	}
	return about(c.Centre, c.A, c.Sweep()*share)
}

// axes draws the axes that dimensions are measured from.
func (p *page) axes(ds []dimension, box area, origin geom.Vec2) {
	upright, level := false, false
	for i := range ds {
		d := &ds[i]
		upright = upright || d.Kind == sketch.Horizontal && (d.A.X == 0 || d.B.X == 0)
		level = level || d.Kind == sketch.Vertical && (d.A.Y == 0 || d.B.Y == 0)
	}
	if upright {
		p.line("help", geom.Vec2{X: origin.X, Y: box.lo.Y - overrun}, geom.Vec2{X: origin.X, Y: box.hi.Y + overrun}, "x = 0")
	}
	if level {
		p.line("help", geom.Vec2{X: box.lo.X - overrun, Y: origin.Y}, geom.Vec2{X: box.hi.X + overrun, Y: origin.Y}, "y = 0")
	}
}

// cross marks the centre of a circle.
func (p *page) cross(c geom.Vec2, r float64) {
	for _, d := range []geom.Vec2{{X: r}, {Y: r}} {
		p.line("thin", c.Sub(d), c.Add(d), "")
	}
}

// point draws a point; one that can still move has a ring round it.
func (p *page) point(d *sketch.Dot, at func(geom.Vec2) geom.Vec2) {
	q := at(d.Vec2)
	words := d.Name
	if d.Motion != "" {
		words = strings.TrimPrefix(words+": "+d.Motion, ": ")
		p.circle("loose", q, 1.5, words)
	}
	p.circle("dot", q, 0.45, words)
	if d.Name == "" {
		return
	}
	class := "name"
	if d.Motion != "" {
		class = "moves"
	}
	const size = 1.8
	w := lettersWide(d.Name, size)/2 + 1
	best, least := label{}, math.Inf(1)
	for i, off := range []geom.Vec2{{X: w, Y: -1}, {X: -w, Y: -1}, {X: w, Y: 2.2}, {X: -w, Y: 2.2}, {Y: -2.2}, {Y: 3.6}} {
		l := label{d.Name, q.Add(off), 0, size}
		if c := p.crowded(l) + float64(0.1*float64(i)); c < least-1e-9 {
			best, least = l, c
		}
	}
	p.write(class, best, words)
}

// notes writes below the drawing what it is and what can still move.
func (p *page) notes(f *sketch.Figure, scale float64) {
	if !(p.lo.X <= p.hi.X) {
		p.reach(geom.Vec2{})
	}
	x, y := p.lo.X, p.hi.Y+fromPart
	line := func(class, words string, size float64) {
		p.letters(class, words, geom.Vec2{X: x, Y: y}, size)
		y += 1.8 * size
	}
	line("title", fmt.Sprintf("%s, %s, in mm", f.Name, scaleWords(scale)), 3.5)
	for _, m := range f.Motions {
		line("moves", "still free: "+strings.ReplaceAll(m, "`", ""), letter)
	}
	if more := f.Free - len(f.Motions); more > 0 && len(f.Motions) > 0 {
		line("moves", fmt.Sprintf("still free: %d more", more), letter)
	}
}

// swing returns how far the leader of a size may be moved to either side of
// the middle of its curve: round a whole circle, and not quite to the ends of
// an arc.
func swing(f *sketch.Figure, d *sketch.Dimension) float64 {
	for i := range f.Curves {
		c := &f.Curves[i]
		if c.Round && c.Centre == d.Centre && math.Abs(c.Radius-d.B.Sub(d.Centre).Len()) < 1e-9 {
			if c.Sort == "circle" {
				return math.Pi
			}
			return 0.4 * math.Abs(c.Sweep())
		}
	}
	return 0
}
