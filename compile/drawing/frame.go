package drawing

import "perch/compile/geom"

// frame draws the border and the title block.
func (s *Sheet) frame(p Paper, b Block, scale string) {
	s.rectangle(Thick, filing, border, p.Width-border, p.Height-border)
	// Centring marks (ISO 5457).
	mid := geom.Vec2{X: (filing + p.Width - border) / 2, Y: p.Height / 2}
	s.stroke(Thick, geom.Vec2{X: mid.X, Y: border / 2}, geom.Vec2{X: mid.X, Y: border + 5})
	s.stroke(Thick, geom.Vec2{X: filing / 2, Y: mid.Y}, geom.Vec2{X: filing + 5, Y: mid.Y})
	s.stroke(Thick, geom.Vec2{X: p.Width - border/2, Y: mid.Y}, geom.Vec2{X: p.Width - border - 5, Y: mid.Y})
	s.titleBlock(p, b, scale)
}

// field is one field of the title block: its place from the left and the top
// of the block, what it is called and what it says.
type field struct {
	x, y, w, h float64
	name, text string
	height     float64
}

// blockWide is the width of the title block (ISO 7200: 180 mm).
const blockWide = 180.0

func (s *Sheet) titleBlock(p Paper, b Block, scale string) {
	x0, y0 := p.Width-border-blockWide, p.Height-border-block
	s.rectangle(Thick, x0, y0, x0+blockWide, y0+block)
	for _, f := range []field{
		{0, 0, 60, 12, "Owner", b.Owner, small},
		{0, 12, 60, 12, "Drawn by", b.Drawn, small},
		{0, 24, 30, 12, "Approved by", "", small},
		{30, 24, 30, 12, "Date of issue", b.Date, small},
		{60, 0, 70, 18, "Title", b.Title, large},
		{60, 18, 40, 9, "Material", b.Material, small},
		{100, 18, 30, 9, "Mass", b.Mass, small},
		{60, 27, 35, 9, "Document", b.Document, small},
		{95, 27, 35, 9, "Made with", b.Program, small},
		{130, 0, 25, 12, "Scale", scale, normal},
		{155, 0, 25, 12, "Projection", "", small},
		{130, 12, 50, 12, "Number", b.Number, normal},
		{130, 24, 25, 12, "Lengths in", "mm", normal},
		{155, 24, 25, 12, "Sheet", p.Name + b.Sheet, normal},
	} {
		x, y := x0+f.x, y0+f.y
		s.rectangle(Thin, x, y, x+f.w, y+f.h)
		s.write(x+1, y+2.7, 1.8, Left, f.name)
		h := f.height
		for h > 1.8 && wide(f.text, h) > f.w-2.5 {
			h -= 0.1
		}
		s.write(x+1.5, y+f.h-1.6, h, Left, f.text)
	}
	s.thirdAngle(x0+167.5, y0+7.3)
}

// thirdAngle draws the sign of the projection: a blunt cone from its small
// end, and beside it from the side (ISO 5456-2).
func (s *Sheet) thirdAngle(x, y float64) {
	for _, r := range []float64{1.5, 3} {
		s.stroke(Thin, circle(geom.Vec2{X: x - 4.5, Y: y}, r)...)
	}
	s.stroke(Thin, geom.Vec2{X: x + 1, Y: y - 1.5}, geom.Vec2{X: x + 7.5, Y: y - 3}, geom.Vec2{X: x + 7.5, Y: y + 3}, geom.Vec2{X: x + 1, Y: y + 1.5}, geom.Vec2{X: x + 1, Y: y - 1.5})
	s.stroke(Chain, geom.Vec2{X: x - 8.5, Y: y}, geom.Vec2{X: x + 9, Y: y})
	s.stroke(Chain, geom.Vec2{X: x - 4.5, Y: y - 4}, geom.Vec2{X: x - 4.5, Y: y + 4})
}

// circle returns a closed chain close enough to a circle for any pen.
func circle(c geom.Vec2, r float64) []geom.Vec2 {
	const n = 72
	var out []geom.Vec2
	for i := range n + 1 {
		out = append(out, c.Add(turned(geom.Vec2{X: r}, float64(i)*360/n)))
	}
	return out
}
