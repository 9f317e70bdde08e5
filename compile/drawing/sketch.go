package drawing

import (
	"math"
	"strings"

	"perch/compile/figure"
	"perch/compile/geom"
	"perch/compile/sketch"
)

// Sketch draws a solved sketch on a sheet of A4 with the sizes that its text
// gives, at the largest scale of ISO 5455 that goes.
func Sketch(f *sketch.Figure, b Block) *Sheet {
	p := Papers[0]
	room := geom.Vec2{X: p.Width - filing - border - 10, Y: p.Height - 2*border - block - 10}
	square := room.X
	marks, lo, hi, scale := figure.Layout(f, square)
	for size := hi.Sub(lo); (size.X > room.X || size.Y > room.Y) && square > 20; size = hi.Sub(lo) {
		square *= 0.8
		marks, lo, hi, scale = figure.Layout(f, square)
	}
	s := &Sheet{Title: b.Title, Width: p.Width, Height: p.Height}
	s.frame(p, b, scale)
	size := hi.Sub(lo)
	move := geom.Vec2{X: filing + 5 + (room.X-size.X)/2, Y: border + 5 + (room.Y-size.Y)/2}.Sub(lo)
	for i := range marks {
		s.mark(&marks[i], move)
	}
	return s
}

// penOf gives the pen of each class of a figure; what can still move is drawn
// like what cannot.
func penOf(class string) Pen {
	switch class {
	case "help", "help moves-line":
		return Chain
	case "part", "part moves-line":
		return Thick
	}
	return Thin
}

// plainer writes the signs that the lettering lacks.
var plainer = strings.NewReplacer("\u2300", "\u00f8", "\u2312", "arc ")

// mark puts one mark of a figure on the sheet.
func (s *Sheet) mark(m *figure.Mark, move geom.Vec2) {
	a, b, c := m.A.Add(move), m.B.Add(move), m.Centre.Add(move)
	switch m.Sort {
	case figure.Line:
		s.stroke(penOf(m.Class), a, b)
	case figure.Circle:
		ring := circle(c, m.Radius)
		if m.Class == "dot" {
			s.Fills = append(s.Fills, ring)
		} else {
			s.stroke(penOf(m.Class), ring...)
		}
	case figure.Arc:
		n := max(4, int(math.Ceil(math.Abs(m.Sweep)*math.Sqrt(m.Radius)*8)))
		var ps []geom.Vec2
		for i := range n + 1 {
			ps = append(ps, c.Add(turned(a.Sub(c), -m.Sweep*float64(i)/float64(n)*180/math.Pi)))
		}
		s.stroke(penOf(m.Class), ps...)
	case figure.Tip:
		s.Fills = append(s.Fills, []geom.Vec2{a, b, c})
	case figure.Letters:
		anchor := Left
		if m.Middle {
			anchor = Middle
		}
		s.Texts = append(s.Texts, Text{At: a, Height: m.Height, Turn: -m.Angle, Anchor: anchor, Text: plainer.Replace(m.Words)})
	}
}
