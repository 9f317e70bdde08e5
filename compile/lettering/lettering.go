// Package lettering draws lines of text as polygons, with the Go font
// (golang.org/x/image/font/gofont, bold: its strokes are a sixth of the height
// of its capitals, so that small lettering still prints).
package lettering

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"perch/compile/geom"
)

// MaxSigns is how many signs a line may have.
const MaxSigns = 200

// NoSignError says that the font lacks a sign.
type NoSignError struct{ Sign rune }

func (e *NoSignError) Error() string { return fmt.Sprintf("the font has no sign %q", string(e.Sign)) }

// face is the font with its units.
type face struct {
	font *sfnt.Font
	em   fixed.Int26_6 // a size at which one unit of the font is a whole 1.0
	caps float64       // height of a capital H, units of the font
	stem float64       // the thinner of the upright and the level strokes of an H
}

var bold = sync.OnceValue(func() face {
	f, err := sfnt.Parse(gobold.TTF)
	if err != nil {
		panic(err) // it is part of the program
	}
	l := face{font: f, em: fixed.I(int(f.UnitsPerEm()))}
	g, err := f.GlyphIndex(nil, 'H')
	if err != nil {
		panic(err)
	}
	b, _, err := f.GlyphBounds(nil, g, l.em, font.HintingNone)
	if err != nil {
		panic(err)
	}
	l.caps = -float64(b.Min.Y) / 64
	h, err := f.LoadGlyph(nil, g, l.em, nil)
	if err != nil {
		panic(err)
	}
	// The corners of an H stand in four columns and four rows: of the first two
	// columns, and the middle two rows, each bound a stroke.
	var xs, ys []float64
	for _, s := range h {
		xs, ys = append(xs, float64(s.Args[0].X)/64), append(ys, float64(s.Args[0].Y)/64)
	}
	slices.Sort(xs)
	slices.Sort(ys)
	xs, ys = slices.Compact(xs), slices.Compact(ys)
	l.stem = min(xs[1]-xs[0], ys[2]-ys[1])
	return l
})

// Stroke returns how wide the strokes of capitals of a height are, mm: the
// thinner ones of an H of the font.
func Stroke(caps float64) float64 {
	l := bold()
	return float64(caps * l.stem / l.caps)
}

// Line is a line of text, its outlines as quadratic curves in mm.
type Line struct {
	strokes [][]arch // closed
	width   float64
}

// arch is a quadratic Bézier curve; a straight piece has its middle in b.
type arch struct {
	a, b, c  geom.Vec2
	straight bool
}

// Set sets a line of text whose capitals are caps mm high. It begins at x = 0
// and stands on y = 0. It returns a *NoSignError for a sign that the font
// lacks.
func Set(text string, caps float64) (*Line, error) {
	l := bold()
	scale := caps / l.caps
	line := &Line{}
	var buf sfnt.Buffer
	var last sfnt.GlyphIndex
	pen := 0.0
	for _, r := range text {
		g, err := l.font.GlyphIndex(&buf, r)
		if err != nil {
			return nil, err
		}
		if g == 0 {
			return nil, &NoSignError{r}
		}
		if k, err := l.font.Kern(&buf, last, g, l.em, font.HintingNone); err == nil && last != 0 {
			pen += float64(float64(k) / 64)
		}
		segments, err := l.font.LoadGlyph(&buf, g, l.em, nil)
		if err != nil {
			return nil, err
		}
		line.add(segments, func(p fixed.Point26_6) geom.Vec2 {
			return geom.Vec2{X: float64(scale * (pen + float64(float64(p.X)/64))), Y: float64(-scale * float64(p.Y) / 64)}
		})
		adv, err := l.font.GlyphAdvance(&buf, g, l.em, font.HintingNone)
		if err != nil {
			return nil, err
		}
		pen += float64(float64(adv) / 64)
		last = g
	}
	line.width = float64(scale * pen)
	return line, nil
}

// add adds the outlines of one sign. The font is of TrueType: it has lines and
// quadratic curves only.
func (l *Line) add(segments sfnt.Segments, at func(fixed.Point26_6) geom.Vec2) {
	var pen geom.Vec2
	for _, s := range segments {
		p := at(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			l.strokes = append(l.strokes, nil)
		case sfnt.SegmentOpLineTo:
			l.put(arch{a: pen, c: p, straight: true})
		case sfnt.SegmentOpQuadTo:
			q := at(s.Args[1])
			l.put(arch{a: pen, b: p, c: q})
			p = q
		}
		pen = p
	}
}

func (l *Line) put(a arch) {
	n := len(l.strokes) - 1
	l.strokes[n] = append(l.strokes[n], a)
}

// Width returns how far the line reaches, mm, from its beginning to where the
// next sign would stand.
func (l *Line) Width() float64 { return l.width }

// Rings returns the outlines as closed polygons, moved by a vector. A curve is
// divided evenly: with d = a - 2b + c its chords leave it by |d|/(4n²).
func (l *Line) Rings(tolerance float64, by geom.Vec2) [][]geom.Vec2 {
	var out [][]geom.Vec2
	for _, s := range l.strokes {
		var ring []geom.Vec2
		for _, q := range s {
			n := 1
			if !q.straight {
				d := q.a.Sub(q.b.Scale(2)).Add(q.c)
				n = max(1, int(math.Ceil(math.Sqrt(d.Len()/(4*tolerance)))))
			}
			for i := range n {
				t := float64(i) / float64(n)
				p := q.a
				if i > 0 {
					u := 1 - t
					p = q.a.Scale(u * u).Add(q.b.Scale(2 * u * t)).Add(q.c.Scale(t * t))
				}
				ring = append(ring, p.Add(by))
			}
		}
		out = append(out, ring)
	}
	return out
}
