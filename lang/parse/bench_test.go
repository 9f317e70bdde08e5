package parse_test

import (
	"strconv"
	"strings"
	"testing"

	"perch/lang/parse"
	"perch/lang/source"
)

// large returns about n bytes of part text: sketches and parts as makers write
// them, with comments.
func large(n int) string {
	var b strings.Builder
	b.WriteString("let wall = 2.4mm\nlet lead = 4.2mm\n")
	for i := 0; b.Len() < n; i++ {
		k := strconv.Itoa(i)
		b.WriteString(strings.ReplaceAll(`
sketch tooth_@ {                                  # one tooth of the comb
    point  o at (0, 0)
    circle bore centre o, diameter lead + 0.4mm
    outline block {
        from a near (-5mm, -6mm)
        line floor to b near (5mm, -6mm)
        line r_side to c near (5mm, 0)
        arc  crown to d near (-5mm, 0), centre o
        line l_side to a
    }
    outline mouth {                               # narrower than the lead: it snaps in
        from e near (-1.5mm, 0)
        line to f near (1.5mm, 0)
        line jaw_r to g near (2mm, 9mm)
        line to h near (-2mm, 9mm)
        line jaw_l to e
    }
    floor horizontal
    r_side, l_side vertical
    a mirrors b about x = 0
    crown.radius = bore.radius + wall
    distance(o, floor) = bore.radius + wall
    distance(e, f) = 0.72 * lead
    angle(jaw_l, jaw_r) = 16deg
    area block less bore, mouth
}
part comb_@(teeth: count = 6, pitch: length = 9.2mm, depth: length = 12mm) {
    mating pipe = cylinder radius 90mm, along y, centre (0, 0, -90mm - 6mm)
    join extrude tooth_@ by depth along y, in a row of teeth every pitch along x
    join box width teeth * pitch, depth depth, from z = -10mm to z = -5mm
    cut  pipe
    check wall >= 1.2mm
}
sizes comb_@ {
    thin:  lead = 3.2mm
    thick: lead = 6.4mm, teeth = 4
}
`, "@", k))
	}
	return b.String()
}

func BenchmarkParse(b *testing.B) {
	src := source.New("in.perch", large(1<<20))
	b.SetBytes(int64(len(src.Text)))
	for b.Loop() {
		if _, list := parse.File(src); len(list) > 0 {
			b.Fatal(list[0].Message)
		}
	}
}
