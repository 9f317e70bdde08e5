package sketch

import (
	"context"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/source"
)

// The corpus in testdata/sketch/corpus.txt: sketches whose solution is known
// in closed form, each with its source.

type corpusCase struct{ name, draw, hold, want, from string }

func readCorpus(t testing.TB) []corpusCase {
	t.Helper()
	data, err := os.ReadFile("../../testdata/sketch/corpus.txt")
	if err != nil {
		t.Fatal(err)
	}
	var cases []corpusCase
	for _, line := range strings.Split(string(data), "\n") {
		word, rest, _ := strings.Cut(line, " ")
		if word == "case" {
			cases = append(cases, corpusCase{name: rest})
			continue
		}
		if len(cases) == 0 {
			continue
		}
		c := &cases[len(cases)-1]
		switch word {
		case "draw":
			c.draw = rest
		case "hold":
			c.hold = rest
		case "want":
			c.want = rest
		case "from":
			c.from = rest
		}
	}
	return cases
}

// drawing is a corpus case as a sketch.
type drawing struct {
	t       testing.TB
	s       *Sketch
	points  map[string]*Point
	circles map[string]*Circle
	lines   map[string]*Line
	fixed   map[string]geom.Vec2
	start   map[string]geom.Vec2
	n       int
}

var (
	pointRE  = regexp.MustCompile(`(\w+)\((-?[\d.]+), (-?[\d.]+)\)`)
	circleRE = regexp.MustCompile(`circle (\w+) at (\w+) r~([\d.]+)`)
)

func number(s string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		panic(err)
	}
	return v
}

// place returns a span of its own for every statement, so that messages can
// be told apart.
func (d *drawing) place() source.Span {
	d.n++
	return source.Span{File: corpusFile, Start: d.n, End: d.n + 1}
}

var corpusFile = source.New("corpus", strings.Repeat("\n", 500))

func drawCase(t testing.TB, draw, hold string) *drawing {
	d := &drawing{t: t, s: New("case", source.Span{}), points: map[string]*Point{}, circles: map[string]*Circle{}, lines: map[string]*Line{}, start: map[string]geom.Vec2{}}
	d.build(draw, hold, geom.Vec2{}, 0)
	return d
}

func (d *drawing) build(draw, hold string, shift geom.Vec2, turn float64) {
	fixed := map[string]geom.Vec2{}
	for _, h := range strings.Split(hold, ";") {
		if m := regexp.MustCompile(`^\s*(\w+) at \((-?[\d.]+), (-?[\d.]+)\)`).FindStringSubmatch(h); m != nil {
			fixed[m[1]] = geom.Vec2{X: number(m[2]), Y: number(m[3])}
		}
	}
	entities := strings.Split(draw, ";")
	for _, m := range pointRE.FindAllStringSubmatch(entities[0], -1) {
		if p, ok := fixed[m[1]]; ok {
			d.points[m[1]] = d.s.FixedPoint(m[1], solve.Const(p.X), solve.Const(p.Y), d.place())
			continue
		}
		d.points[m[1]] = d.s.FreePoint(m[1], geom.Vec2{X: number(m[2]), Y: number(m[3])}, d.place())
	}
	if len(entities) > 1 {
		for _, m := range circleRE.FindAllStringSubmatch(entities[1], -1) {
			d.circles[m[1]] = d.s.CircleNear(m[1], d.points[m[2]], number(m[3]), d.place())
		}
	}
	for _, h := range strings.Split(hold, ";") {
		if h = strings.TrimSpace(h); h != "" {
			d.hold(h)
		}
	}
}

// line returns the line between two points, written as in "ab" or "p0p1".
func (d *drawing) line(name string) *Line {
	name = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(name), "line "))
	if l, ok := d.lines[name]; ok {
		return l
	}
	for i := 1; i < len(name); i++ {
		a, b := d.points[name[:i]], d.points[name[i:]]
		if a != nil && b != nil {
			l := d.s.NewLine(name, a, b, d.place())
			d.lines[name] = l
			return l
		}
	}
	d.t.Fatalf("no line %q", name)
	return nil
}

func (d *drawing) entity(name string) Entity {
	name = strings.TrimSpace(name)
	if c := d.circles[name]; c != nil {
		return c
	}
	if p := d.points[name]; p != nil {
		return p
	}
	return d.line(name)
}

func (d *drawing) relate(word string, r Sentence) {
	r.At = d.place()
	if err := d.s.Relate(word, r); err != nil {
		d.t.Fatal(err)
	}
}

// cornerAngle is the angle at b from ba to bc, counter-clockwise.
func (d *drawing) cornerAngle(abc string) *solve.Expr {
	a, b, c := d.points[abc[:1]], d.points[abc[1:2]], d.points[abc[2:]]
	return d.s.Angle(&Line{A: b, B: a}, &Line{A: b, B: c})
}

func (d *drawing) triangleAngle(at string) float64 {
	p := map[string]geom.Vec2{}
	for _, n := range []string{"a", "b", "c"} {
		p[n] = d.s.StartOf(d.points[n])
	}
	n := strings.ToLower(at)
	var o []geom.Vec2
	for _, m := range []string{"a", "b", "c"} {
		if m != n {
			o = append(o, p[m].Sub(p[n]))
		}
	}
	return math.Abs(math.Atan2(o[0].Cross(o[1]), o[0].Dot(o[1])))
}

func (d *drawing) hold(h string) {
	two := func(sep string) (string, string) {
		a, b, ok := strings.Cut(h, sep)
		if !ok {
			d.t.Fatalf("cannot read %q", h)
		}
		return strings.TrimSpace(a), strings.TrimSpace(b)
	}
	length := func(e Entity) *solve.Expr {
		l, err := d.s.Length(e)
		if err != nil {
			d.t.Fatal(err)
		}
		return l
	}
	switch {
	case strings.Contains(h, " at ("):
	case strings.HasPrefix(h, "belt length = 420"):
		p, q, k1, k2 := d.points["p"], d.points["q"], d.circles["k1"].R, d.circles["k2"].R
		span := distance(p, q)
		wrap := solve.Scale(2, solve.Atan2(solve.Sub(k1, k2), span))
		belt := solve.Add(solve.Scale(2, span), solve.Add(
			solve.Mul(k1, solve.Add(solve.Const(math.Pi), wrap)), solve.Mul(k2, solve.Sub(solve.Const(math.Pi), wrap))))
		d.s.Equation(belt, solve.Const(420), LengthOf, d.place())
	case strings.Contains(h, " contains "):
		a, b := two(" contains ")
		b = strings.TrimSuffix(b, ", tangent inside")
		d.relate("tangent", Sentence{Subjects: []Entity{d.entity(b)}, Objects: []Entity{d.entity(a)}, Mode: "inside"})
	case strings.HasSuffix(h, "tangent outside"):
		h = strings.TrimSuffix(h, " tangent outside")
		a, b := two(",")
		d.relate("tangent", Sentence{Subjects: []Entity{d.entity(a)}, Objects: []Entity{d.entity(b)}, Mode: "outside"})
	case strings.HasSuffix(h, "equal radius"):
		h = strings.TrimSuffix(h, " equal radius")
		a, b := two(",")
		d.relate("equal", Sentence{Subjects: []Entity{d.entity(a), d.entity(b)}})
	case strings.Contains(h, " tangent at end: perpendicular to "):
		a, b := two(" tangent at end: perpendicular to ")
		d.relate("perpendicular", Sentence{Subjects: []Entity{d.line(a)}, Objects: []Entity{d.line(b)}})
	case strings.Contains(h, " tangent to "):
		a, b := two(" tangent to ")
		d.relate("tangent", Sentence{Subjects: []Entity{d.entity(b)}, Objects: []Entity{d.line(a)}})
	case strings.Contains(h, " perpendicular to "):
		a, b := two(" perpendicular to ")
		d.relate("perpendicular", Sentence{Subjects: []Entity{d.line(a)}, Objects: []Entity{d.line(b)}})
	case strings.Contains(h, " midpoint of "):
		a, b := two(" midpoint of ")
		d.relate("midpoint", Sentence{Subjects: []Entity{d.entity(a)}, Objects: []Entity{d.line(b)}})
	case strings.HasSuffix(h, " horizontal"), strings.HasSuffix(h, " vertical"):
		f := strings.Fields(h)
		d.relate(f[1], Sentence{Subjects: []Entity{d.line(f[0])}})
	case strings.HasPrefix(h, "angle from "):
		f := strings.Fields(h) // angle from va to vb = 50 deg
		d.s.Equation(d.s.Angle(d.line(f[2]), d.line(f[4])), solve.Const(number(f[6])*math.Pi/180), AngleOf, d.place())
	case strings.HasPrefix(h, "angle ") && strings.Contains(h, "= angle "):
		f := strings.Fields(h)
		d.s.Equation(d.cornerAngle(f[1]), d.cornerAngle(f[4]), AngleOf, d.place())
	case strings.HasPrefix(h, "angle "):
		f := strings.Fields(h)
		e := d.cornerAngle(f[1])
		var v float64
		if third, of := strings.CutSuffix(f[3], "/3"); of {
			v = d.triangleAngle(third) / 3
		} else {
			v = number(f[3]) * math.Pi / 180
		}
		if d.s.start(e) < 0 {
			v = -v
		}
		d.s.Equation(e, solve.Const(v), AngleOf, d.place())
	case strings.HasPrefix(h, "length "):
		f := strings.Fields(h) // length ab = length cd
		d.s.Equation(length(d.line(f[1])), length(d.line(f[4])), LengthOf, d.place())
	case strings.HasPrefix(h, "distance "):
		f := strings.Fields(h)
		apart, err := d.s.Distance(d.points[f[1]], d.points[f[2]])
		if err != nil {
			d.t.Fatal(err)
		}
		d.s.Equation(apart, solve.Const(number(f[4])), LengthOf, d.place())
	case strings.Contains(h, " radius "):
		a, b := two(" radius ")
		d.s.Equation(d.circles[a].R, solve.Const(number(b)), LengthOf, d.place())
	case strings.Contains(h, " on "):
		a, b := two(" on ")
		d.relate("on", Sentence{Subjects: []Entity{d.points[a]}, Objects: []Entity{d.entity(b)}})
	case h == "p.a = 2 p.b":
		d.s.Equation(distance(d.points["p"], d.points["a"]), solve.Scale(2, distance(d.points["p"], d.points["b"])), LengthOf, d.place())
	default:
		a, b := two(" = ")
		d.s.Equation(d.coordinate(a), solve.Const(number(b)), LengthOf, d.place())
	}
}

func (d *drawing) coordinate(name string) *solve.Expr {
	n, c, _ := strings.Cut(name, ".")
	switch c {
	case "x":
		return d.points[n].X
	case "y":
		return d.points[n].Y
	case "radius":
		return d.circles[n].R
	}
	d.t.Fatalf("no measure %q", name)
	return nil
}

// measured returns the value of an expected quantity.
func (d *drawing) measured(v *Solved, name string) float64 {
	dist := func(a, b string) float64 { return v.Place(d.points[a]).Sub(v.Place(d.points[b])).Len() }
	if m := regexp.MustCompile(`^\|(\w)(\w)\|$`).FindStringSubmatch(name); m != nil {
		return dist(m[1], m[2])
	}
	belt := func(sign float64) float64 {
		r, s := v.Value(d.circles["k1"].R), v.Value(d.circles["k2"].R)
		t := dist("p", "q")
		w := 2 * math.Atan2(r-sign*s, t)
		return 2*t + r*(math.Pi+w) + s*(math.Pi-sign*w)
	}
	switch name {
	case "free span":
		return dist("p", "q")
	case "belt length":
		if v.Place(d.points["q"]).Y < 0 {
			return belt(-1)
		}
		return belt(1)
	case "centre distance":
		return dist("a", "b")
	case "tangent length":
		return dist("p", "q")
	case "diagonal":
		return dist("a", "c")
	case "diagonal ad":
		return dist("a", "d")
	case "long side":
		return dist("a", "e")
	case "offset i.x":
		return v.Value(d.points["i"].X)
	case "width":
		return dist("a", "b")
	case "sum of distances":
		return dist("f", "a") + dist("f", "b") + dist("f", "c")
	case "rocker angle, degrees":
		r := v.Place(d.points["b"]).Sub(v.Place(d.points["g"]))
		return math.Atan2(r.Y, r.X) * 180 / math.Pi
	}
	return v.Value(d.coordinate(name))
}

func TestCorpus(t *testing.T) {
	cases := readCorpus(t)
	if len(cases) < 38 {
		t.Fatalf("%d cases", len(cases))
	}
	for _, c := range cases {
		id, _, _ := strings.Cut(c.name, " ")
		t.Run(id, func(t *testing.T) {
			d := drawCase(t, c.draw, c.hold)
			v, list, err := d.s.Solve(context.Background())
			if err != nil || v == nil {
				t.Fatalf("%s: %v %v", c.name, err, list)
			}
			worst := 0.0
			for _, w := range strings.Split(c.want, ";") {
				name, value, _ := strings.Cut(w, " = ")
				got := d.measured(v, strings.TrimSpace(name))
				off := math.Abs(got - number(value))
				worst = max(worst, off)
				// The expected values carry 14 digits.
				if off > 1e-9 {
					t.Errorf("%s = %.13g, want %s (%s)", name, got, value, c.from)
				}
			}
			t.Logf("%s: off by at most %.1e mm, %d iterations", c.name, worst, v.Result.Iterations)
		})
	}
}

func ExampleSketch_Solve() {
	// The circle through three points (Euclid IV.5).
	at := source.Span{}
	s := New("circumcircle", at)
	a := s.FixedPoint("a", solve.Const(0), solve.Const(0), at)
	b := s.FixedPoint("b", solve.Const(6), solve.Const(0), at)
	c := s.FixedPoint("c", solve.Const(0), solve.Const(8), at)
	o := s.FreePoint("o", geom.Vec2{X: 2, Y: 3}, at)
	k := s.CircleNear("k", o, 4, at)
	if err := s.Relate("on", Sentence{Subjects: []Entity{a, b, c}, Objects: []Entity{k}}); err != nil {
		fmt.Println(err)
	}
	v, _, _ := s.Solve(context.Background())
	fmt.Printf("%.3f mm about (%.3f, %.3f)\n", v.Value(k.R), v.Place(o).X, v.Place(o).Y)
	// Output: 5.000 mm about (3.000, 4.000)
}
