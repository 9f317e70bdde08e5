package sketch

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
)

// Five circles in the ring between two others; the last contact closes it.
const ring = "o(0, 0), i(13.3089, 0), c1(-23, 0), c2(9, 30), c3(35, 12), c4(35, -14), c5(9, -32); circle ko at o r~50, circle ki at i r~12, circle k1 at c1 r~24, circle k2 at c2 r~18, circle k3 at c3 r~12, circle k4 at c4 r~12, circle k5 at c5 r~18"

const ringHolds = "ko radius 50; ki radius 12; ko contains k1, tangent inside; ki, k1 tangent outside; ko contains k2, tangent inside; ki, k2 tangent outside; k1, k2 tangent outside; ko contains k3, tangent inside; ki, k3 tangent outside; k2, k3 tangent outside; ko contains k4, tangent inside; ki, k4 tangent outside; k3, k4 tangent outside; ko contains k5, tangent inside; ki, k5 tangent outside; k4, k5 tangent outside"

// degenerate cases: what a drawing that has too much, too little or barely
// enough must be told. What follows from what is elementary geometry; the
// theorems are named.
var degenerate = []struct {
	name, draw, hold string
	say              []string // messages in short, in order
	places           map[string]geom.Vec2
}{
	{name: "three sides, nothing held", // SSS, Euclid I.8
		draw: "a(0, 0), b(9, 1), c(3, 7)", hold: "distance a b = 10; distance b c = 8; distance c a = 6",
		say: []string{"free 3: `a`, `b` and `c` can slide together sideways | `a`, `b` and `c` can slide together up and down | `a`, `b` and `c` can turn together"}},
	{name: "a right angle that three sides make", // converse of Pythagoras, Euclid I.48
		draw: "a(0, 0), b(9, 1), c(3, 7)", hold: "distance a b = 10; distance b c = 8; distance c a = 6; a at (0, 0); ab horizontal; angle acb = 90",
		say:    []string{"idle: angle acb = 90 <- distance a b = 10, distance b c = 8, distance c a = 6"},
		places: map[string]geom.Vec2{"b": {X: 10}, "c": {X: 3.6, Y: 4.8}}},
	{name: "60 degrees where the sides make 90",
		draw: "a(0, 0), b(9, 1), c(3, 7)", hold: "distance a b = 10; distance b c = 8; distance c a = 6; a at (0, 0); ab horizontal; angle acb = 60",
		say: []string{"clash: angle acb = 60 <- distance a b = 10, distance b c = 8, distance c a = 6: 30 deg"}},
	{name: "a side longer than the two others", // Euclid I.20
		draw: "a(0, 0), b(9, 1), c(3, 7), d(12, 9)", hold: "a at (0, 0); ab horizontal; distance a b = 3; distance b c = 4; distance c a = 10; distance c d = 5",
		say: []string{"clash: distance c a = 10 <- distance a b = 3, distance b c = 4: 3 mm"}},
	{name: "a triangle at its limit", // Euclid I.20
		draw: "a(0, 0), b(9, 1), c(3, 7)", hold: "a at (0, 0); ab horizontal; distance a b = 7; distance b c = 4; distance c a = 3",
		places: map[string]geom.Vec2{"c": {X: 3}}},
	{name: "a point of contact as a point of both", // Euclid III.18; the foot is √(25² - 10²) along the line
		draw: "a(0, 0), b(40, 30), c(11, 19), p(17, 12); circle k at c r~9", hold: "a at (0, 0); b at (40, 30); line ab tangent to k; k radius 10; distance a c = 25; p on line ab; p on k",
		places: map[string]geom.Vec2{"p": geom.Vec2{X: 0.8, Y: 0.6}.Scale(math.Sqrt(525))}},
	{name: "four right angles", // the angles of a quadrilateral sum to four right ones
		draw: "a(0, 0), b(10, 1), c(11, 6), d(-1, 5)", hold: "a at (0, 0); ab horizontal; ab perpendicular to bc; bc perpendicular to cd; cd perpendicular to da; da perpendicular to ab; distance a b = 10; length ab = length cd",
		say: []string{
			"idle: da perpendicular to ab <- ab perpendicular to bc, bc perpendicular to cd, cd perpendicular to da",
			"idle: length ab = length cd <- bc perpendicular to cd, cd perpendicular to da", // the distance of parallels, to first order
			"free 1: `c` and `d` can slide together up and down"},
		places: map[string]geom.Vec2{"b": {X: 10}}},
	{name: "a linkage",
		draw: "o(0, 0), p(5, 1), q(9, 4), r(4, 8); circle k at q r~2", hold: "o at (0, 0); distance o p = 5; distance p q = 5; r on line op",
		say: []string{"free 4: `p`, `q` and `r` can turn together about `o` | `q` can turn about `p` | `r` can slide along `op` | nothing sets the radius of `k`"}},
	{name: "a right angle in a half circle", // Thales, Euclid III.31
		draw: "a(-5, 0), b(5, 0), c(3, 4.2), m(0, 0.1); circle k at m r~5", hold: "a at (-5, 0); b at (5, 0); m midpoint of ab; a on k; c on k; distance a c = 9; b on k; ca perpendicular to cb",
		say: []string{
			"idle: b on k <- m midpoint of ab, a on k",
			"idle: ca perpendicular to cb <- m midpoint of ab, a on k, c on k"},
		places: map[string]geom.Vec2{"m": {}}},
	{name: "a rounded hypotenuse", // 30-40-50
		draw: "a(0, 0), b(30, 1), c(1, 40)", hold: "a at (0, 0); ab horizontal; ac vertical; distance a b = 30; distance a c = 40; distance b c = 50.01",
		say: []string{"clash: distance b c = 50.01 <- ab horizontal, ac vertical, distance a b = 30, distance a c = 40: 0.01 mm, rounded"}},
	{name: "level and upright",
		draw: "a(0, 0), b(4, 3)", hold: "ab horizontal; ab vertical; distance a b = 5",
		say: []string{"clash: distance a b = 5 <- ab horizontal, ab vertical: 5 mm"}},
	{name: "two clashes in one piece", // Euclid I.20, twice
		draw: "a(0, 0), b(9, 1), c(3, 7), d(14, 8)", hold: "distance a b = 3; distance b c = 4; distance c a = 10; distance b d = 2; distance c d = 20",
		say: []string{
			"clash: distance c d = 20 <- distance b c = 4, distance b d = 2: 14 mm",
			"clash: distance c a = 10 <- distance a b = 3, distance b c = 4: 3 mm"}},
	{name: "a circle between parallels", // its diameter is their distance
		draw: "a(0, 0), b(20, 0), c(0, 10), d(20, 10), o(9, 5); circle k at o r~4", hold: "a at (0, 0); ab horizontal; cd horizontal; c.y = 10; line ab tangent to k; line cd tangent to k; k radius 4",
		say: []string{"clash: k radius 4 <- ab horizontal, cd horizontal, c.y = 10, line ab tangent to k, line cd tangent to k: 1 mm"}},
	{name: "a line that starts without length runs to the right",
		draw: "a(2, 3), b(2, 3)", hold: "a at (2, 3); ab horizontal; distance a b = 4",
		places: map[string]geom.Vec2{"b": {X: 6, Y: 3}}},
	{name: "a start just above the mirror line stays above", // 3-4-5
		draw: "a(0, 0), b(6, 0), c(3, 0.001)", hold: "a at (0, 0); b at (6, 0); distance a c = 5; distance b c = 5",
		places: map[string]geom.Vec2{"c": {X: 3, Y: 4}}},
	{name: "a circle below a line stays below",
		draw: "a(0, 0), b(20, 0), o(9, -0.5); circle k at o r~4", hold: "a at (0, 0); b at (20, 0); line ab tangent to k; k radius 4",
		say:    []string{"free 1: `o` can move sideways"},
		places: map[string]geom.Vec2{"o": {X: 9, Y: -4}}},
	{name: "a distance of nothing is coincidence",
		draw: "p(0, 0), q(3, 4)", hold: "p at (0, 0); distance p q = 0",
		places: map[string]geom.Vec2{"q": {}}},
	{name: "one thing said twice",
		draw: "a(0, 0), b(9, 1)", hold: "a at (0, 0); ab horizontal; distance a b = 8; distance a b = 8",
		say:    []string{"idle: distance a b = 8 <- distance a b = 8"},
		places: map[string]geom.Vec2{"b": {X: 8}}},
	{name: "a start on the line between two pins goes to its left", // 3-4-5
		draw: "a(0, 0), b(6, 0), c(3, 0)", hold: "a at (0, 0); b at (6, 0); distance a c = 5; distance b c = 5",
		say:    []string{"`c` could lie on either side of the line from `a` to `b`"},
		places: map[string]geom.Vec2{"c": {X: 3, Y: 4}}},
	{name: "one circle inside another of its size",
		draw: "o(0, 0), p(0, 0); circle k at o r~5, circle m at p r~5", hold: "o at (0, 0); k radius 5; m radius 5; k contains m, tangent inside",
		say: []string{"`m` and `k` lie on each other: circles of one size touch nowhere in particular"}},
	{name: "the three heights of a triangle meet", // Euclid; Archimedes, Book of Lemmas 5
		draw:   "a(0, 0), b(90, 0), c(30, 70), p(60, 40), q(20, 50), r(31, 1), h(30, 25)",
		hold:   "a at (0, 0); b at (90, 0); c at (30, 70); p on line bc; ap perpendicular to bc; q on line ca; bq perpendicular to ca; r on line ab; cr perpendicular to ab; h on line ap; h on line bq; h on line cr",
		say:    []string{"idle: h on line cr <- ap perpendicular to bc, bq perpendicular to ca, cr perpendicular to ab, h on line ap, h on line bq"},
		places: map[string]geom.Vec2{"h": {X: 30, Y: 180. / 7}}}, // 30 · 60 / 70
	{name: "a chain that closes", // Steiner's porism, MathWorld "Steiner's Porism"
		draw: ring, hold: "o at (0, 0); i at (13.308880193277, 0); " + ringHolds + "; k5, k1 tangent outside",
		say: []string{
			"idle: k5, k1 tangent outside <- " + strings.ReplaceAll(ringHolds, "; ", ", "),
			"free 1: `c1` can move slantwise, and `c2`, `c3`, `c4`, `c5` with it"}},
	{name: "a chain that does not close", // no smaller set clashes
		draw: ring, hold: "o at (0, 0); i at (13.808880193277, 0); " + ringHolds + "; k5, k1 tangent outside",
		say: []string{"clash: k5, k1 tangent outside <- " + strings.ReplaceAll(ringHolds, "; ", ", ") + ": 0.6687 mm"}},
	{name: "a quadrilateral between two circles closes", // Poncelet; Fuss 1797 for the offset
		draw: "o(0, 0), i(16.367896851057, 0), a(44, 21), b(-17, 48), c(-10, -50), d(45, -18); circle ko at o r~50, circle ki at i r~30",
		hold: "o at (0, 0); i at (16.367896851057, 0); ko radius 50; ki radius 30; a on ko; b on ko; c on ko; d on ko; line ab tangent to ki; line bc tangent to ki; line cd tangent to ki; line da tangent to ki",
		say: []string{
			"idle: line da tangent to ki <- ko radius 50, ki radius 30, a on ko, b on ko, c on ko, d on ko, line ab tangent to ki, line bc tangent to ki, line cd tangent to ki",
			"free 1: `b` can move slantwise, and `a`, `c`, `d` with it"}},
	{name: "nine points of Pappus", // Pappus, Collection VII
		draw: "a(0, 0), b(30, 1), c(70, 0), d(0, 50), e(35, 52), f(80, 49), x(17, 25), y(42, 27), z(54, 24)",
		hold: "b on line ac; e on line df; x on line ae; x on line bd; y on line af; y on line cd; z on line bf; z on line ce; z on line xy",
		say: []string{
			"idle: z on line xy <- b on line ac, e on line df, x on line ae, x on line bd, y on line af, y on line cd, z on line bf, z on line ce",
			"free 10: `a`, `b`, `c`, `d`, `e`, `f`, `x`, `y` and 1 more can slide together sideways | `a`, `b`, `c`, `d`, `e`, `f`, `x`, `y` and 1 more can slide together up and down | `a`, `b`, `c`, `d`, `e`, `f`, `x`, `y` and 1 more can turn together | `c` can move slantwise, and `y`, `z` with it | `f` can move slantwise, and `y`, `z` with it | `a` can move sideways, and `c`, `x`, `y`, `z` with it | `c` can move up and down, and `a`, `x`, `y`, `z` with it | `b` can move sideways, and `c`, `x`, `y`, `z` with it | `c` can move up and down, and `b`, `x`, `y`, `z` with it | `d` can move sideways, and `f`, `x`, `y`, `z` with it"}},
	{name: "a bar on a pin",
		draw: "a(0, 0), b(9, 0)", hold: "a at (0, 0); distance a b = 8",
		say:    []string{"free 1: `b` can turn about `a`"},
		places: map[string]geom.Vec2{"b": {X: 8}}},
}

func TestDegenerate(t *testing.T) {
	for _, c := range degenerate {
		t.Run(c.name, func(t *testing.T) {
			var at, rest []string
			for _, h := range strings.Split(c.hold, "; ") {
				if strings.Contains(h, " at (") {
					at = append(at, h)
				} else {
					rest = append(rest, h)
				}
			}
			d := drawCase(t, c.draw, strings.Join(at, ";"))
			words := map[int]string{}
			for _, h := range rest {
				n := d.n
				d.hold(h)
				for n++; n <= d.n; n++ {
					words[n] = h
				}
			}
			v, list, err := d.s.Solve(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, g := range list {
				got = append(got, inShort(g, words))
			}
			if fmt.Sprintf("%q", got) != fmt.Sprintf("%q", c.say) {
				t.Errorf("says\n  %q, want\n  %q", got, c.say)
			}
			for name, want := range c.places {
				if v == nil {
					t.Fatal("no solution")
				}
				if p := v.Place(d.points[name]); p.Sub(want).Len() > 1e-9 {
					t.Errorf("%s = %v, want %v", name, p, want)
				}
			}
		})
	}
}

// TestWeak: a long band of triangles given by its sides alone is pinned, but
// only just; a triangle is plainly.
func TestWeak(t *testing.T) {
	for n, want := range map[int]string{3: "", 1500: "the sketch `band` is pinned, but only just"} {
		s := New("band", nowhere)
		p := []*Point{s.pin(0, 0)}
		apart := func(a, b *Point) {
			d := s.StartOf(b).Sub(s.StartOf(a)).Len()
			s.Equation(distance(a, b), solve.Const(d), LengthOf, nowhere)
		}
		for i := 1; i < n; i++ {
			q := s.FreePoint("", geom.Vec2{X: 5 * float64(i), Y: 8 * float64(i%2)}, nowhere)
			if i == 1 {
				s.Equation(q.Y, mm(8), LengthOf, nowhere)
			}
			for _, k := range p[max(0, i-2):] {
				apart(k, q)
			}
			p = append(p, q)
		}
		_, list, err := s.Solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, d := range list {
			got += d.Message
		}
		if got != want {
			t.Errorf("%d corners: %q, want %q", n, got, want)
		}
	}
}

// TestSides: a circle that has no room on the side as drawn, and a pair that
// changes sides of its mirror, are told.
func TestSides(t *testing.T) {
	s := New("s", nowhere)
	l := s.NewLine("l", s.pin(0, 0), s.pin(10, 0), nowhere)
	q := s.FreePoint("q", geom.Vec2{X: 4, Y: 5}, nowhere)
	k := s.CircleOf("k", q, mm(2), nowhere)
	if err := s.Relate("tangent", Sentence{Subjects: []Entity{k}, Objects: []Entity{l}}); err != nil {
		t.Fatal(err)
	}
	s.Equation(distance(q, s.pin(4, -5)), mm(3), LengthOf, nowhere)
	v, list, err := s.Solve(context.Background())
	if err != nil || v == nil || len(list) == 0 || list[0].Message != "the circle `k` touches the line `l` on the other side than drawn" {
		t.Fatalf("%v %v", list, err)
	}
	if p := v.Place(q); math.Abs(p.Y+2) > 1e-9 {
		t.Errorf("centre at %v", p)
	}
	s = New("s", nowhere)
	a, b := s.FreePoint("a", geom.Vec2{X: 3, Y: 2}, nowhere), s.FreePoint("b", geom.Vec2{X: -2, Y: 2}, nowhere)
	if err := s.Relate("mirrors", Sentence{Subjects: []Entity{a}, Objects: []Entity{b}, Axis: "x", About: solve.Const(0)}); err != nil {
		t.Fatal(err)
	}
	s.Equation(a.X, mm(-4), LengthOf, nowhere)
	s.Equation(a.Y, mm(1), LengthOf, nowhere)
	if v, list, err = s.Solve(context.Background()); err != nil || v == nil || len(list) != 1 || list[0].Message != "`a` and `b` have changed sides of the mirror" {
		t.Errorf("%v %v", list, err)
	}
}

// TestSidesOfRounds: circles that have no room as drawn touch the other way,
// and places where arcs run on that turn over are told.
func TestSidesOfRounds(t *testing.T) {
	relate := func(s *Sketch, a, b Entity, mode string) {
		if err := s.Relate("tangent", Sentence{Subjects: []Entity{a}, Objects: []Entity{b}, Mode: mode}); err != nil {
			t.Fatal(err)
		}
	}
	type figure struct {
		name string
		draw func(s *Sketch)
		want string
	}
	// Two circles of which one is held, drawn so far apart, and how far apart
	// they are to be.
	circles := func(drawn, radius, asked float64, mode string) func(s *Sketch) {
		return func(s *Sketch) {
			o := s.pin(0, 0)
			q := s.FreePoint("q", geom.Vec2{X: drawn}, nowhere)
			relate(s, s.CircleOf("k", q, mm(radius), nowhere), s.CircleOf("m", o, mm(5), nowhere), mode)
			s.Equation(distance(q, o), mm(asked), LengthOf, nowhere)
		}
	}
	// An arc from the end of a line, drawn with its centre above, that is to
	// end above or below.
	bent := func(height float64) func(s *Sketch) {
		return func(s *Sketch) {
			a, b := s.pin(-10, 0), s.pin(0, 0)
			c, e := s.FreePoint("c", geom.Vec2{Y: 4}, nowhere), s.FreePoint("e", geom.Vec2{X: 4, Y: 4}, nowhere)
			l := s.NewLine("l", a, b, nowhere)
			relate(s, s.NewArc("k", b, e, c, nil, false, nowhere), l, "")
			s.Equation(e.X, mm(4), LengthOf, nowhere)
			s.Equation(e.Y, mm(height), LengthOf, nowhere)
		}
	}
	// Two arcs that run on into each other at the origin, the first held with
	// its centre below, the second drawn with its centre above.
	arcs := func(y float64) func(s *Sketch) {
		return func(s *Sketch) {
			p, c := s.pin(0, 0), s.pin(0, -5)
			d := s.FreePoint("d", geom.Vec2{X: 0.3, Y: 4}, nowhere)
			e := s.FreePoint("e", geom.Vec2{X: 4, Y: 4}, nowhere)
			k := s.NewArc("k", s.pin(-5, -5), p, c, nil, true, nowhere)
			relate(s, s.NewArc("m", p, e, d, nil, false, nowhere), k, "")
			s.Equation(d.Y, mm(y), LengthOf, nowhere)
			s.Equation(e.Y, mm(y), LengthOf, nowhere)
		}
	}
	// A point, or a circle of 1 mm, drawn above a line that keeps 2 mm from it,
	// and is to be at a height.
	besides := func(height float64, gap bool) func(s *Sketch) {
		return func(s *Sketch) {
			l := s.NewLine("l", s.pin(0, 0), s.pin(10, 0), nowhere)
			q := s.FreePoint("q", geom.Vec2{X: 4, Y: 3}, nowhere)
			d, err := s.Distance(q, l)
			if gap {
				d, err = s.Gap(s.CircleOf("k", q, mm(1), nowhere), l)
			}
			if err != nil {
				t.Fatal(err)
			}
			s.Equation(d, mm(2), LengthOf, nowhere)
			s.Equation(q.Y, mm(height), LengthOf, nowhere)
		}
	}
	for _, f := range []figure{
		{"point as drawn", besides(2, false), ""},
		{"point below", besides(-2, false), "the point `q` lies on the other side of the line `l` than drawn"},
		{"circle below", besides(-3, true), "the circle `k` lies on the other side of the line `l` than drawn"},
		{"point nowhere", besides(-3, false), "these 2 lines cannot all hold"},
		{"outside as drawn", circles(7.2, 2, 7, ""), ""},
		{"inside as drawn", circles(2.8, 2, 3, ""), ""},
		{"drawn outside", circles(6.8, 2, 3, ""), "the circle `k` touches the circle `m` from inside, not as drawn"},
		{"drawn inside", circles(3.1, 2, 7, ""), "the circle `k` touches the circle `m` from outside, not as drawn"},
		{"drawn outside, larger", circles(12.8, 8, 3, ""), "the circle `m` touches the circle `k` from inside, not as drawn"},
		{"said", circles(6.8, 2, 3, "outside"), "these 2 lines cannot all hold"},
		{"nowhere", circles(6.8, 2, 5, ""), "these 2 lines cannot all hold"},
		{"arc as drawn", bent(4), ""},
		{"arc turned over", bent(-4), "the arc `k` bends to the other side of the line `l` than drawn"},
		{"arcs as drawn", arcs(3), ""},
		{"arcs turned over", arcs(-3), "the arc `m` bends the other way beside the arc `k` than drawn"},
	} {
		s := New("s", nowhere)
		f.draw(s)
		_, list, err := s.Solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, d := range list {
			if d.Code == CodeSide || d.Code == CodeConflict {
				got += d.Message
			}
		}
		if got != f.want {
			t.Errorf("%s: %q, want %q", f.name, got, f.want)
		}
	}
}

// inShort is a message with its places in the words of the statements.
func inShort(g diag.Diagnostic, words map[int]string) string {
	var from, why, do []string
	for _, l := range g.Labels {
		from = append(from, words[l.At.Start])
	}
	for _, n := range g.Notes {
		kind, text := diag.SplitNote(n)
		if kind == "why" {
			why = append(why, text)
		} else {
			do = append(do, text)
		}
	}
	if len(do) == 0 {
		return "no remedy: " + g.Message
	}
	tied := words[g.At.Start] + " <- " + strings.Join(from, ", ")
	switch {
	case g.Code == CodeRedundant && g.Severity == diag.Info:
		return "idle: " + tied
	case g.Code == CodeConflict && g.Severity == diag.Error:
		s := "clash: " + tied + ": " + strings.TrimPrefix(why[0], "the closest they come is a miss of ")
		if strings.Contains(do[0], "rounded") {
			s += ", rounded"
		}
		return s
	case g.Code == CodeFree && g.Severity == diag.Warning:
		return fmt.Sprintf("free %d: %s", len(why), strings.Join(why, " | "))
	}
	return g.Message
}
