// Package drawing lays out drawings of parts on paper: views with hidden
// lines, dimensions, a title block, and templates to hold against the tube. A
// drawing is a list of strokes and texts in mm, written as SVG or as PDF.
//
// Line widths and kinds follow ISO 128, dimensions ISO 129-1, lettering
// heights ISO 3098, sheet sizes and borders ISO 5457, the fields of the title
// block ISO 7200, scales ISO 5455. Values are those of the handbook tables
// that quote these standards.
package drawing

import (
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"perch/compile/geom"
)

// Sheet is one sheet of paper. Lengths are in mm, x to the right and y down
// from its upper left corner.
type Sheet struct {
	Title         string
	Width, Height float64
	Strokes       []Stroke
	Fills         [][]geom.Vec2 // solid areas, such as arrow heads
	Texts         []Text
}

// Pen is a kind of line (ISO 128-2, group of 0.5 mm).
type Pen int

const (
	Thick  Pen = iota // edges in sight
	Thin              // dimensions, leaders, frames of fields
	Dashed            // hidden edges
	Chain             // centre lines
)

// pens gives the width of each pen and its dashes and gaps, mm. Source: ISO
// 128-2: dashes of 12 and gaps of 3 line widths, long dashes of 24 and dots of
// 0.5 widths; wide lines are twice as wide as narrow ones.
var pens = [...]struct {
	width  float64
	dashes []float64
}{
	Thick:  {0.5, nil},
	Thin:   {0.25, nil},
	Dashed: {0.25, []float64{3, 0.75}},
	Chain:  {0.25, []float64{6, 0.75, 0.125, 0.75}},
}

// Stroke is a chain of straight pieces.
type Stroke struct {
	Points []geom.Vec2
	Pen    Pen
}

// Anchor is the point of a text that stands at its place, on the base line.
type Anchor int

const (
	Left Anchor = iota
	Middle
	Right
)

// Text is one line of lettering. Height is that of capitals, in mm; Turn is
// anticlockwise in degrees.
type Text struct {
	At     geom.Vec2
	Height float64
	Turn   float64
	Anchor Anchor
	Text   string
}

// Lettering heights of ISO 3098, mm.
const (
	small  = 2.5
	normal = 3.5
	large  = 5.0
)

func (s *Sheet) stroke(p Pen, points ...geom.Vec2) {
	s.Strokes = append(s.Strokes, Stroke{points, p})
}

func (s *Sheet) write(x, y, height float64, a Anchor, text string) {
	if text == "" {
		return
	}
	s.Texts = append(s.Texts, Text{At: geom.Vec2{X: x, Y: y}, Height: height, Anchor: a, Text: text})
}

func (s *Sheet) rectangle(p Pen, x0, y0, x1, y1 float64) {
	s.stroke(p, geom.Vec2{X: x0, Y: y0}, geom.Vec2{X: x1, Y: y0}, geom.Vec2{X: x1, Y: y1}, geom.Vec2{X: x0, Y: y1}, geom.Vec2{X: x0, Y: y0})
}

// em is the size of a font whose capitals are 1 mm high, and letters its
// widths.
var letters = sync.OnceValues(func() (face font.Face, em float64) {
	f, err := opentype.Parse(goregular.TTF)
	if err == nil {
		face, err = opentype.NewFace(f, &opentype.FaceOptions{Size: 1000, DPI: 72})
	}
	if err != nil {
		panic(err) // the font is part of the program
	}
	b, _, _ := face.GlyphBounds('H')
	return face, 1000 / (-float64(b.Min.Y) / 64)
})

// wide returns the width of a text whose capitals are height mm high, mm.
func wide(text string, height float64) float64 {
	face, em := letters()
	return float64(font.MeasureString(face, text)) / 64 / 1000 * em * height
}

// turned returns v turned anticlockwise on paper, where y runs down.
func turned(v geom.Vec2, degrees float64) geom.Vec2 {
	s, c := geom.SinCos(degrees * math.Pi / 180)
	return geom.Vec2{X: float64(c*v.X) + float64(s*v.Y), Y: float64(c*v.Y) - float64(s*v.X)}
}
