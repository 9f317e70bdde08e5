package sketch_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"perch/compile/eval"
	"perch/compile/sketch"
	"perch/lang/parse"
	"perch/lang/source"
)

// figureOf solves a file of one sketch called s.
func figureOf(t *testing.T, text string) *sketch.Figure {
	t.Helper()
	f, list := parse.File(source.New("s.perch", text))
	if len(list) > 0 {
		t.Fatalf("%s\ndoes not parse: %v", text, list)
	}
	r, err := eval.Inspect(context.Background(), &eval.Module{File: f}, eval.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Sketches) != 1 || r.Sketches[0].Name != "s" {
		t.Fatalf("sketches %v, %v", r.Sketches, r.Diags)
	}
	return r.Sketches[0].Figure
}

// shown writes a dimension in one line, to a thousandth.
func shown(d *sketch.Dimension) string {
	x, u := d.Value, d.Uncertainty
	if d.Kind == sketch.AngleBetween {
		x, u = x*180/math.Pi, u*180/math.Pi
	}
	s := fmt.Sprintf("%s %.3f", d.Kind, x)
	if u > 0 {
		s += fmt.Sprintf(" u %.3f", u)
	}
	if d.Count > 1 {
		s += fmt.Sprintf(" x%d", d.Count)
	}
	if d.Follows {
		s += " follows"
	}
	p := func(x, y float64) string {
		return strings.ReplaceAll(fmt.Sprintf("(%.3f, %.3f)", x, y), "-0.000", "0.000")
	}
	s += " " + p(d.A.X, d.A.Y) + " " + p(d.B.X, d.B.Y)
	switch d.Kind {
	case sketch.Linear, sketch.Horizontal, sketch.Vertical:
	default:
		s += " about " + p(d.Centre.X, d.Centre.Y)
	}
	return s + ": " + d.At.Text()
}

// Every way to give a size comes out as a dimension at its place. Values by
// hand: a 3-4-5 triangle, √2/2 at 45 degrees, an arc of 9 on a chord of 6
// (sin x / x = 2/3, x = 1.4958, radius 3.0085).
func TestDimensions(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`point a at (0, 0)
point b near (4mm, 1mm)
line ab from a to b
distance(a, b) = 5mm
b.x = 4mm`, `
linear 5.000 (0.000, 0.000) (4.000, 3.000): distance(a, b) = 5mm
horizontal 4.000 (0.000, 3.000) (4.000, 3.000): b.x = 4mm`},
		{`point a near (1mm, 1mm)
point b near (5mm, 3mm)
line ab from a to b
b.x - a.x = 4mm
5mm = ab.length
a.y = 1mm
a.x = 1mm`, `
horizontal 4.000 (1.000, 1.000) (5.000, 4.000): b.x - a.x = 4mm
linear 5.000 (1.000, 1.000) (5.000, 4.000): 5mm = ab.length
vertical 1.000 (1.000, 0.000) (1.000, 1.000): a.y = 1mm
horizontal 1.000 (0.000, 1.000) (1.000, 1.000): a.x = 1mm`},
		{`circle k centre (0, 0), diameter lead
circle l centre (9mm, 0), radius near 3mm
l.radius = k.radius + 1mm
circle m centre (20mm, 0)
m.diameter = lead`, `
diameter 4.000 u 0.100 (-1.414, -1.414) (1.414, 1.414) about (0.000, 0.000): diameter lead
radius 3.000 u 0.050 (9.000, 0.000) (11.121, 2.121) about (9.000, 0.000): l.radius = k.radius + 1mm
diameter 4.000 u 0.100 (18.586, -1.414) (21.414, 1.414) about (20.000, 0.000): m.diameter = lead`},
		{`point a at (0, 0)
point b near (9mm, 0)
point c near (5mm, 5mm)
line ab from a to b
line ac from a to c
ab horizontal
ab.length = 10mm
distance(c, ab) = 4mm
angle(ab, ac) = 45deg`, `
linear 10.000 (0.000, 0.000) (10.000, 0.000): ab.length = 10mm
linear 4.000 (4.000, 0.000) (4.000, 4.000): distance(c, ab) = 4mm
angle 45.000 (10.000, 0.000) (4.000, 4.000) about (0.000, 0.000): angle(ab, ac) = 45deg`},
		{`outline o {
    from a at (0, 0)
    line right 20mm to b
    line 10mm at 90deg to c
    arc left radius 5mm through 90deg to d
    line left to e
    close
}
e.x = 0
round a, b by 2mm
bevel e by 1mm`, `
linear 20.000 (0.000, 0.000) (20.000, 0.000): 20mm
linear 10.000 (20.000, 0.000) (20.000, 10.000): 10mm
angle 90.000 (30.000, 0.000) (20.000, 10.000) about (20.000, 0.000): 90deg
radius 5.000 (15.000, 10.000) (18.536, 13.536) about (15.000, 10.000): radius 5mm
angle 90.000 (20.000, 10.000) (15.000, 15.000) about (15.000, 10.000): 90deg
radius 2.000 x2 (18.000, 2.000) (19.414, 0.586) about (18.000, 2.000): b
linear 1.000 (1.000, 15.000) (0.000, 15.000): e`},
		{`rectangle r centre (0, 0), width 30mm, height 20mm, corners 2mm
slot s from (-5mm, 0) to (5mm, 0), width 4mm
polygon h sides 6, centre (0, 7mm), across flats 3mm`, `
horizontal 30.000 (-15.000, -10.000) (15.000, -10.000): 30mm
vertical 20.000 (15.000, -10.000) (15.000, 10.000): 20mm
linear 4.000 (0.000, -2.000) (0.000, 2.000): 4mm
linear 3.000 (0.000, 5.500) (0.000, 8.500): 3mm
radius 2.000 x4 (13.000, -8.000) (14.414, -9.414) about (13.000, -8.000): r`},
		{`point a at (3mm, 4mm)
point b at (-3mm, 4mm)
arc top from a to b, centre o near (0, 1mm)
o.x = 0
length(top) = 9mm`, `
arc length 9.000 (3.000, 4.000) (-3.000, 4.000) about (0.000, 3.775): length(top) = 9mm`},
	} {
		f := figureOf(t, "measure lead = 4mm +- 0.1mm\nsketch s {\n"+c.text+"\n}\n")
		got := ""
		for i := range f.Dimensions {
			got += "\n" + shown(&f.Dimensions[i])
		}
		if got != c.want {
			t.Errorf("%s\ngives%s\nwant%s", c.text, got, c.want)
		}
	}
}

// What bounds an area, what is a guide, and what can still move.
func TestFigure(t *testing.T) {
	f := figureOf(t, `sketch s {
    outline o {
        from a at (0, 0)
        line floor right 20mm to b
        line up 10mm to c
        line left to d near (1mm, 10mm)
        close
    }
    circle hole centre h near (10mm, 5mm), diameter 3mm
    guide line g from a to c
    guide circle rim centre a, radius 40mm
    round b by 2mm
    h on g
    area o less hole
}`)
	var got []string
	for _, c := range f.Curves {
		s := c.Sort + " " + c.Name + " of " + c.Shape
		if c.Guide {
			s += " guide"
		}
		if c.Motion != "" {
			s += ": " + c.Motion
		}
		got = append(got, s)
	}
	for _, p := range f.Points {
		s := fmt.Sprintf("%s (%g, %g)", p.Name, p.X, p.Y)
		if p.Motion != "" {
			s += ": " + p.Motion
		}
		got = append(got, s)
	}
	want := []string{
		"line floor of o", "arc  of o", "line  of o", "line  of o: `d` can move sideways", "line  of o: `d` can move sideways",
		"circle hole of hole: `h` can slide along `g`", "circle rim of rim guide", "line g of  guide",
		"a (0, 0)", "b (20, 0)", "c (20, 10)", "d (1, 10): `d` can move sideways", "h (10, 5): `h` can slide along `g`",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if f.Free != 2 || len(f.Motions) != 2 {
		t.Errorf("%d free: %q", f.Free, f.Motions)
	}
	if f.Min.X != -40 || f.Min.Y != -40 || f.Max.X != 40 || f.Max.Y != 40 {
		t.Errorf("box %v %v", f.Min, f.Max)
	}
}
