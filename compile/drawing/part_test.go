package drawing

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/picture"
	"perch/compile/solid"
)

func texts(s *Sheet) []string {
	var out []string
	for _, t := range s.Texts {
		out = append(out, t.Text)
	}
	return out
}

// extent is the box around all strokes of one pen inside a rectangle.
func extent(s *Sheet, p Pen, x0, y0, x1, y1 float64) geom.Vec2 {
	lo, hi := geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, k := range s.Strokes {
		inside := !slices.ContainsFunc(k.Points, func(q geom.Vec2) bool { return q.X < x0 || q.Y < y0 || q.X > x1 || q.Y > y1 })
		if k.Pen != p || !inside {
			continue
		}
		for _, q := range k.Points {
			lo = geom.Vec2{X: min(lo.X, q.X), Y: min(lo.Y, q.Y)}
			hi = geom.Vec2{X: max(hi.X, q.X), Y: max(hi.Y, q.Y)}
		}
	}
	return hi.Sub(lo)
}

// plate is 60 x 40 x 8 with four holes of 5 and one of 12.
func plate() *solid.Body {
	b := slab(-30, -20, 0, 30, 20, 8)
	tools := []*solid.Body{solid.Cylinder(6, -1, 9)}
	for _, x := range []float64{-24, 24} {
		for _, y := range []float64{-14, 14} {
			tools = append(tools, solid.Cylinder(2.5, -1, 9).Placed(geom.Move(geom.Vec3{X: x, Y: y})))
		}
	}
	return solid.Cut(b, tools...)
}

func TestPartTrueSize(t *testing.T) {
	s := Part(built(t, plate()), Block{Title: "plate", Mass: "5 g"}, nil)
	if s.Width != 210 || s.Height != 297 {
		t.Errorf("sheet of %g x %g", s.Width, s.Height)
	}
	got := texts(s)
	for _, want := range []string{"60", "40", "8", "4× ø5", "ø12", "plate", "1:1", "A4", "5 g"} {
		if !slices.Contains(got, want) {
			t.Errorf("%q is not on the sheet: %q", want, got)
		}
	}
	// The views together, without the frame: 60 + 13 + the view from the corner
	// of 45 or the 40 of the right view wide, 40 + 13 + the sizes over a view + 8 high.
	if e := extent(s, Thick, 21, 16, 195, 240); e.X < 60+13+40 || e.X > 60+13+45.1 || e.Y < 40+13+8-0.01 {
		t.Errorf("the views take %g x %g", e.X, e.Y)
	}
	for _, k := range s.Strokes {
		for _, p := range k.Points {
			if p.X < border/2 || p.Y < border/2 || p.X > s.Width-border/2 || p.Y > s.Height-border/2 {
				t.Fatalf("a line at (%g, %g) runs over the rim of the sheet", p.X, p.Y)
			}
		}
	}
}

// ISO 216 sheets and ISO 5455 scales: 400 mm does not go on A3 lying; on A4
// it goes at one to five.
func TestPartPaperAndScale(t *testing.T) {
	long := built(t, slab(0, 0, 0, 400, 30, 20))
	if s := Part(long, Block{}, nil); s.Width != 594 || !slices.Contains(texts(s), "1:1") {
		t.Errorf("%g wide, %q", s.Width, texts(s))
	}
	a4, _ := PaperNamed("A4")
	if s := Part(long, Block{}, &a4); s.Width != 210 || !slices.Contains(texts(s), "1:5") || !slices.Contains(texts(s), "400") {
		t.Errorf("%g wide, %q", s.Width, texts(s))
	}
	if s := Part(built(t, slab(0, 0, 0, 1200, 30, 20)), Block{}, nil); s.Width != 1189 || slices.Contains(texts(s), "1:1") {
		t.Errorf("%g wide", s.Width)
	}
	if _, ok := PaperNamed("A9"); ok {
		t.Error("A9")
	}
}

// The seven-tenths circle of a keyhole counts as round, the quarter of a
// rounded corner as a radius, and short roundings not at all.
func TestArcs(t *testing.T) {
	bend := func(r, from, sweep float64) (ps []geom.Vec2) {
		n := int(math.Ceil(math.Abs(sweep) / 0.1))
		for i := range n + 1 {
			s, c := geom.SinCos(from + sweep*float64(i)/float64(n))
			ps = append(ps, geom.Vec2{X: 7 + r*c, Y: 2 + r*s})
		}
		return ps
	}
	for _, c := range []struct {
		points []geom.Vec2
		want   string
	}{
		{bend(4, 0, 2*math.Pi), "ø8"},
		{bend(4, 1, -1.4*math.Pi), "ø8"},
		{slices.Concat([]geom.Vec2{{X: 30, Y: 30}}, bend(3, 0, math.Pi/2), []geom.Vec2{{X: 0, Y: 5}}), "R3"},
		{bend(3, 0, 1), ""},
		{bend(0.5, 0, 2*math.Pi), ""},
		{[]geom.Vec2{{}, {X: 1}, {X: 1, Y: 1}, {Y: 1}, {}}, ""},
	} {
		var got []string
		for _, a := range arcs(Line{Points: c.points}) {
			got = append(got, a.text())
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestLinearDimension(t *testing.T) {
	s := &Sheet{}
	s.linear(geom.Vec2{X: 10, Y: 50}, geom.Vec2{X: 40, Y: 60}, geom.Vec2{X: 1}, geom.Vec2{Y: 1}, 9, "30")
	// Two extension lines, the dimension line 9 below the lower point, two heads.
	line := s.Strokes[2].Points
	if len(s.Strokes) != 3 || len(s.Fills) != 2 || line[0] != (geom.Vec2{X: 10, Y: 69}) || line[1] != (geom.Vec2{X: 40, Y: 69}) {
		t.Errorf("%+v", s.Strokes)
	}
	if s.Fills[0][0] != line[0] || s.Fills[1][0] != line[1] {
		t.Errorf("heads at %v and %v", s.Fills[0][0], s.Fills[1][0])
	}
	// Read from the right (ISO 129-1): turned by 90 degrees anticlockwise.
	s = &Sheet{}
	s.linear(geom.Vec2{X: 10, Y: 50}, geom.Vec2{X: 10, Y: 20}, geom.Vec2{Y: -1}, geom.Vec2{X: -1}, 9, "30")
	if x := s.Texts[0]; math.Abs(x.Turn-90) > 1e-9 || x.At.X >= 1 || math.Abs(x.At.Y-35) > 1e-9 {
		t.Errorf("%+v", x)
	}
}

func TestSVGIsWellFormed(t *testing.T) {
	s := Part(built(t, plate()), Block{Title: `a <b> & "c"`}, nil)
	var b bytes.Buffer
	if err := s.WriteSVG(&b); err != nil {
		t.Fatal(err)
	}
	d := xml.NewDecoder(&b)
	paths, size := 0, ""
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok {
			switch e.Name.Local {
			case "path":
				paths++
			case "svg":
				for _, a := range e.Attr {
					if a.Name.Local == "width" {
						size = a.Value
					}
				}
			}
		}
	}
	if paths != len(s.Strokes)+len(s.Fills) || size != "210mm" {
		t.Errorf("%d paths for %d, width %s", paths, len(s.Strokes)+len(s.Fills), size)
	}
}

// PDF (ISO 32000) counts in points of 1/72 inch: A4 is 595.28 x 841.89.
func TestPDF(t *testing.T) {
	s := Part(built(t, plate()), Block{Title: "plate"}, nil)
	var b, c bytes.Buffer
	for _, w := range []io.Writer{&b, &c} {
		if err := WritePDF(w, "Perch", s, s); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(b.Bytes(), c.Bytes()) {
		t.Error("not the same bytes the second time")
	}
	if text := b.String(); !strings.HasPrefix(text, "%PDF-1.") || !strings.Contains(text, "/MediaBox [0 0 595.28 841.89]") || !strings.Contains(text, "/Count 2") {
		t.Errorf("%.300s", text)
	}
}

func BenchmarkLines(b *testing.B) {
	t := built(b, plate())
	for _, name := range []string{"front", "top", "corner"} {
		v, _ := picture.Named(name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Lines(t, v)
			}
		})
	}
}

// lettering is the box that a text takes up on the sheet.
func lettering(x Text) (lo, hi geom.Vec2) {
	w, h := wide(x.Text, x.Height), x.Height
	left := map[Anchor]float64{Left: 0, Middle: -w / 2, Right: -w}[x.Anchor]
	lo, hi = geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, p := range []geom.Vec2{{X: left}, {X: left + w}, {X: left, Y: -h}, {X: left + w, Y: -h}} {
		q := x.At.Add(turned(p, x.Turn))
		lo = geom.Vec2{X: min(lo.X, q.X), Y: min(lo.Y, q.Y)}
		hi = geom.Vec2{X: max(hi.X, q.X), Y: max(hi.Y, q.Y)}
	}
	return lo, hi
}

// Whatever the height and the depth, also where their texts have no room
// between the extension lines, no text lies on another.
func TestTextsApart(t *testing.T) {
	for _, size := range [][3]float64{{42, 16, 11.56}, {42, 11.56, 16}, {42, 11.56, 11.56}, {5.25, 5.25, 5.25}, {60, 3.15, 2.85}, {60, 30, 1.25}} {
		s := Part(built(t, slab(0, 0, 0, size[0], size[1], size[2])), Block{}, nil)
		for i, a := range s.Texts {
			for _, b := range s.Texts[:i] {
				alo, ahi := lettering(a)
				blo, bhi := lettering(b)
				if alo.X < bhi.X && blo.X < ahi.X && alo.Y < bhi.Y && blo.Y < ahi.Y {
					t.Errorf("%v: %q lies on %q", size, a.Text, b.Text)
				}
			}
		}
	}
}
