package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/sketch"
	"perch/lang/source"
)

// element is one element of a drawing.
type element struct {
	name  string
	attr  map[string]string
	title string
	text  string
}

func (e *element) number(t *testing.T, name string) float64 {
	x, err := strconv.ParseFloat(e.attr[name], 64)
	if err != nil {
		t.Fatalf("%s of %v: %v", name, e, err)
	}
	return x
}

// elements reads a drawing, which must be well-formed.
func elements(t *testing.T, svg []byte) (out []element) {
	d := xml.NewDecoder(bytes.NewReader(svg))
	open := []int{}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, svg)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			out = append(out, e)
			open = append(open, len(out)-1)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) == 0 {
				continue
			}
			e := &out[open[len(open)-1]]
			if e.name == "title" && len(open) > 1 {
				out[open[len(open)-2]].title = string(tok)
			} else {
				e.text += string(tok)
			}
		}
	}
}

func draw(t *testing.T, f *sketch.Figure) []element {
	var b, again bytes.Buffer
	if err := Write(&b, f); err != nil {
		t.Fatal(err)
	}
	if err := Write(&again, f); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("two drawings of one figure differ")
	}
	return elements(t, b.Bytes())
}

func texts(es []element, class string) []string {
	var out []string
	for _, e := range es {
		if e.name == "text" && e.attr["class"] == class {
			out = append(out, e.text)
		}
	}
	return out
}

func round(x, y, r float64) sketch.Curve {
	p := geom.Vec2{X: x + r, Y: y}
	return sketch.Curve{A: p, B: p, Round: true, Centre: geom.Vec2{X: x, Y: y}, Radius: r}
}

// A plate of 40 x 12 mm with a hole of 5 mm: all in place, at 2:1, the scale
// of ISO 5455 that fits.
func TestPlate(t *testing.T) {
	v := func(x, y float64) geom.Vec2 { return geom.Vec2{X: x, Y: y} }
	corner := []geom.Vec2{v(0, 0), v(40, 0), v(40, 12), v(0, 12)}
	f := &sketch.Figure{Name: "plate", Max: v(40, 12)}
	for i, a := range corner {
		f.Curves = append(f.Curves, sketch.Stroke{Curve: sketch.Curve{A: a, B: corner[(i+1)%4]}, Sort: "line", Shape: "body"})
	}
	f.Curves = append(f.Curves, sketch.Stroke{Curve: round(10, 6, 2.5), Sort: "circle", Shape: "hole", Motion: "`h` can move sideways"})
	f.Points = []sketch.Dot{{Name: "h", Vec2: v(10, 6), Motion: "`h` can move sideways"}}
	f.Motions, f.Free = []string{"`h` can move sideways"}, 1
	text := source.New("plate.perch", "width 40mm")
	f.Dimensions = []sketch.Dimension{
		{Kind: sketch.Horizontal, Value: 40, A: v(0, 0), B: v(40, 0), Count: 1, Uncertainty: 0.1, At: source.Span{File: text, End: len(text.Text)}},
		{Kind: sketch.Vertical, Value: 12, A: v(40, 0), B: v(40, 12), Count: 1, Follows: true},
		{Kind: sketch.DiameterOf, Value: 5, A: v(7.5, 6), B: v(12.5, 6), Centre: v(10, 6), Count: 3},
		{Kind: sketch.AngleBetween, Value: math.Pi / 6, A: v(40, 0), B: v(20*math.Sqrt(3), 20), Count: 1},
		{Kind: sketch.Linear, Value: 5, A: v(0, 0), B: v(3, 4), Count: 1},
	}
	es := draw(t, f)
	for _, want := range []string{"40", "(12)", "3× ⌀5", "30°", "5"} {
		if !strings.Contains(strings.Join(texts(es, "size"), "|")+"|", want+"|") {
			t.Errorf("no dimension %q among %q", want, texts(es, "size"))
		}
	}
	if got := texts(es, "title"); len(got) != 1 || got[0] != "plate, 2:1, in mm" {
		t.Errorf("title %q", got)
	}
	if got := texts(es, "moves"); len(got) != 2 || got[0] != "h" || got[1] != "still free: h can move sideways" {
		t.Errorf("what can move: %q", got)
	}
	found, ringed, explained := false, false, false
	for i := range es {
		e := &es[i]
		if e.name == "circle" && strings.HasPrefix(e.attr["class"], "part") {
			found = e.number(t, "r") == 5 && e.number(t, "cx") == 20 && e.number(t, "cy") == 12
		}
		ringed = ringed || e.name == "circle" && e.attr["class"] == "loose"
		explained = explained || e.title == "width 40mm (standard uncertainty 0.1 mm)"
	}
	if !found || !ringed || !explained {
		t.Errorf("hole in place: %t, free point ringed: %t, size explained: %t", found, ringed, explained)
	}
	// Dimension lines lie outside the part, so many mm apart.
	for _, e := range es {
		if e.name == "line" && e.title == "width 40mm (standard uncertainty 0.1 mm)" {
			if y := e.number(t, "y1"); y != 24+fromPart || e.number(t, "y2") != y || e.number(t, "x2")-e.number(t, "x1") != 80 {
				t.Errorf("dimension line %v", e.attr)
			}
		}
	}
}

// Letters of text and names that mean something in XML do no harm.
func TestLettersEscaped(t *testing.T) {
	f := &sketch.Figure{Name: "<&>", Points: []sketch.Dot{{Name: `"<`}}}
	es := draw(t, f)
	if got := texts(es, "name"); len(got) != 1 || got[0] != `"<` {
		t.Errorf("names %q", got)
	}
}

func TestEmptyAndLarge(t *testing.T) {
	draw(t, &sketch.Figure{Name: "nothing"})
	v := geom.Vec2{X: 1e7}
	es := draw(t, &sketch.Figure{Name: "far", Max: v, Curves: []sketch.Stroke{{Curve: sketch.Curve{B: v}, Sort: "line"}}})
	if w, _ := strconv.ParseFloat(strings.TrimSuffix(es[0].attr["width"], "mm"), 64); w > 250 {
		t.Errorf("a drawing %g mm wide", w)
	}
}

// Scales as in ISO 5455.
func TestScale(t *testing.T) {
	for _, c := range []struct {
		size, scale float64
		words       string
	}{{3, 50, "50:1"}, {15, 10, "10:1"}, {40, 2, "2:1"}, {150, 1, "1:1"}, {151, 0.5, "1:2"}, {1000, 0.1, "1:10"}} {
		if got := scaleFor(c.size, room); got != c.scale || scaleWords(got) != c.words {
			t.Errorf("%g mm: %g, %s", c.size, got, scaleWords(got))
		}
	}
}
