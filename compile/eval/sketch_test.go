package eval

import (
	"math"
	"testing"
)

// Sketches solved through the language, against closed forms.
func TestSketchMeasures(t *testing.T) {
	for _, c := range []struct{ name, sketch, x, want string }{
		// Circle through three points, R = abc/(4K): (0,0) (30,40) (70,10) give
		// R 35.355339 about (35, 5).
		{"circumcircle", `
    point a at (0, 0)
    point b at (30mm, 40mm)
    point c at (70mm, 10mm)
    point o near (30mm, 10mm)
    circle k centre o, radius near 30mm
    a, b, c on k`, "s.k.radius; s.o.x; s.o.y", "35.355339 35 5"},
		// Tube radius from chord and sagitta: c 80, s 10 give 85.
		{"sagitta", `
    point a at (-40mm, 0)
    point b at (40mm, 0)
    point top at (0, 10mm)
    point o near (0, -60mm)
    circle k centre o, radius near 60mm
    a, b, top on k`, "s.k.diameter", "170"},
		// Hexagon of 7.2 across flats: corners on a circle of 8.314 (2 s/√3).
		{"hexagon", `polygon hex sides 6, centre (0, 0), across flats 7.2mm`, "2 * s.hex.radius", "8.313844"},
		// A 3-4-5 triangle by its sides, drawn in any order; names are used
		// before they are drawn.
		{"triangle", `
    length(ab) = 4mm
    length(bc) = 3mm
    ca.length = 5mm
    ab horizontal
    line ab from a to b near (4mm, 0)
    line bc from b to c near (4mm, 3mm)
    line ca from c to a
    point a at (0, 0)`, "s.c.x; s.c.y", "4 3"},
		// Equations with functions and constants of the file.
		{"equations", `
    point o at (0, 0)
    circle k centre o, radius near 3mm
    circle l centre o, radius k.radius + wall
    k.diameter = 2 * wall * sqrt(2.25) + hypot(3mm, 4mm)`, "s.k.radius; s.l.radius; s.twice", "5.5 7.5 11"},
		// A walked outline: the closing line of a right triangle.
		{"walk", `
    outline tri {
        from (0, 0)
        line right 30mm
        line up 40mm to c
        close
    }
    line back from c to (0, 0)`, "s.back.length; s.back.angle / 1deg + 180", "50 53.130102"},
		// Half turn of a walked arc: diameter 12.
		{"bend", `
    outline u {
        from a at (0, 0)
        line right 10mm
        arc left, radius 6mm, through 180deg to c
        line ahead 10mm
        close
    }`, "s.c.y; s.c.x", "12 10"},
		{"mirror", `
    point a at (-3mm, 4mm)
    point b near (2mm, 3mm)
    a mirrors b about x = 1mm`, "s.b.x; s.b.y", "5 4"},
		{"angle", `
    point o at (0, 0)
    line l from o to (10mm, 0)
    line m from o to p near (5mm, 5mm)
    angle(l, m) = 30deg
    distance(p, l) = 3mm
    p.x >= 1mm`, "s.m.length; s.p.x", "6 5.196152"},
		{"slot", `slot w from (0, 0) to (10mm, 0), width 4mm`, "s.w.width; s.w.end.x", "4 10"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := "let wall = 2mm\nsketch s {\n" + c.sketch + "\n    let twice = wall * 5.5\n}\n"
			checkValues(t, text, c.x, c.want)
		})
	}
}

// checkValues compares expressions, apart by ;, with numbers in base units.
func checkValues(t *testing.T, text, xs, want string) {
	t.Helper()
	wants := fields(t, want)
	for i, x := range splitTrim(xs, ";") {
		v, _ := quantity(t, text, x)
		if math.Abs(v-wants[i]) > 5e-7 {
			t.Errorf("%s = %.9f, want %v", x, v, wants[i])
		}
	}
}

// Areas against closed forms, by the volume of 1 mm of them.
func TestSketchAreas(t *testing.T) {
	for _, c := range []struct {
		name, sketch, area string
		want               float64
	}{
		{"plain circle", "circle k centre (0, 0), radius 10mm", "s", math.Pi * 100},
		{"less", "circle k centre (0, 0), radius 10mm\ncircle l centre (0, 0), radius 8mm\narea k less l", "s", math.Pi * 36},
		// Segment of R 50 and sagitta 5: 146.81476719.
		{"between corners", "point p at (11mm, 2mm)\nrectangle r from p to (1mm, 7mm), corners 1mm", "s", 50 - 4 + 3.14159265359},
		{"within", "circle k centre (0, 0), radius 50mm\nrectangle r width 100mm, height 50mm, centre (0, 70mm)\narea k within r", "s", 146.81476719},
		{"with", "rectangle r width 4mm, height 4mm, centre (0, 0)\nrectangle q width 4mm, height 4mm, centre (2mm, 0)\narea r with q", "s", 24},
		{"named", "rectangle r width 4mm, height 4mm\nrectangle q width 2mm, height 2mm, centre (1mm, 0)\narea r less q\narea rest = q", "s.rest", 4},
		{"a shape of a sketch", "rectangle r width 4mm, height 4mm\nrectangle q width 2mm, height 2mm, centre (1mm, 0)\narea r", "s.q", 4},
		{"guides bound nothing", "guide circle g centre (0, 0), radius 10mm\nrectangle r width 4mm, height 5mm", "s", 20},
		// Hexagon area (√3/2) s²: s 8 gives 55.4256.
		{"hexagon", "polygon hex sides 6, centre (0, 0), across flats 8mm, turned 15deg", "s", 55.42562584},
		// Rounding a square corner by r takes (1 - π/4) r² off; a bevel b²/2.
		{"corners", "rectangle r width 10mm, height 10mm, corners 2mm", "s", 100 - 4*4*(1-math.Pi/4)},
		{"round and bevel", `outline o {
    from a at (0, 0)
    line right 10mm to b
    line up 10mm to c
    line left 10mm
    close
}
round b by 2mm
bevel a, c by 1mm`, "s", 100 - 4*(1-math.Pi/4) - 2*0.5},
		{"slot", "slot w from (0, 0) to (10mm, 0), width 4mm", "s", 40 + math.Pi*4},
		{"in place", "rectangle r width 4mm, height 5mm", "s less s.r with s", 20},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := evaluated(t, "sketch s {\n"+c.sketch+"\n}\npart p { join extrude ("+c.area+") by 1mm }", Options{})
			if len(r.Diags) > 0 || len(r.Parts) != 1 {
				t.Fatal(listed(r.Diags))
			}
			// Chords within 0.0005 mm of the curves.
			if v := volume(t, r.Parts[0], 0.0005); math.Abs(v-c.want) > 5e-4*c.want {
				t.Errorf("area %.6f, want %.6f", v, c.want)
			}
		})
	}
}

// A sketch with parameters is drawn anew for each set of arguments, and its
// faults are told once however often it is used.
func TestSketchParameters(t *testing.T) {
	text := "sketch s(d: length = 4mm) { circle k centre (0, 0), diameter d }\n"
	checkValues(t, text, "s.k.radius; s(6mm).k.radius; s(d: 8mm).k.radius; s().k.radius", "2 3 4 2")
	r := evaluated(t, "sketch s { circle k centre (0, 0), radius 1mm + 1deg }\npart p { join extrude s by 1mm\ncut extrude s by 2mm at (1mm, 0) }", Options{})
	if len(r.Diags) != 1 || r.Diags[0].Code != "dim-mismatch" {
		t.Error(listed(r.Diags))
	}
}
