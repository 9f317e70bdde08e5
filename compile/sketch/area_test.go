package sketch

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/solve"
	"perch/lang/diag"
	"perch/lang/source"
)

var nowhere source.Span

func mm(x float64) *solve.Expr  { return solve.Const(x) }
func deg(x float64) *solve.Expr { return solve.Const(x * math.Pi / 180) }

func (s *Sketch) pin(x, y float64) *Point { return s.FixedPoint("", mm(x), mm(y), nowhere) }

func settle(t testing.TB, s *Sketch) *Solved {
	t.Helper()
	v, list, err := s.Solve(context.Background())
	if err != nil || v == nil {
		t.Fatal(err, list)
	}
	return v
}

func border(t testing.TB, v *Solved, e Entity) Boundary {
	t.Helper()
	b, list := v.Boundary(e)
	if len(list) > 0 {
		t.Fatal(list)
	}
	return b
}

// walked draws an outline through steps and back to its start.
func walked(t testing.TB, s *Sketch, start *Point, steps ...Step) *Outline {
	t.Helper()
	o := s.NewOutline("o", start, nowhere)
	for _, st := range steps {
		var err error
		if st.Turn != "" || st.Centre != nil || st.Radius != nil {
			_, err = o.Arc(st)
		} else {
			_, err = o.Line(st)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := o.Close(true, "", nowhere); err != nil {
		t.Fatal(err)
	}
	return o
}

// TestShapes holds areas and perimeters against the formulas of mensuration
// (Bronshtein and Semendyayev, Handbook of Mathematics, plane figures).
func TestShapes(t *testing.T) {
	const w, h, r = 40.0, 12.0, 3.0
	rounded := func(w, h, r float64) (area, length float64) {
		return w*h - (4-math.Pi)*r*r, 2*(w+h) - 8*r + 2*math.Pi*r
	}
	for _, c := range []struct {
		name string
		draw func(s *Sketch) Entity
		want func() (area, length float64)
	}{
		{"rectangle", func(s *Sketch) Entity { return s.Rectangle("", s.pin(1, 2), mm(w), mm(h), nil, nowhere) },
			func() (float64, float64) { return w * h, 2 * (w + h) }},
		{"rounded rectangle", func(s *Sketch) Entity { return s.Rectangle("", s.pin(1, 2), mm(w), mm(h), mm(r), nowhere) },
			func() (float64, float64) { return rounded(w, h, r) }},
		{"rectangle with whole ends rounded", func(s *Sketch) Entity { return s.Rectangle("", s.pin(1, 2), mm(w), mm(h), mm(h/2), nowhere) },
			func() (float64, float64) { return rounded(w, h, h/2) }},
		{"square rounded to a circle", func(s *Sketch) Entity { return s.Rectangle("", s.pin(1, 2), mm(h), mm(h), mm(h/2), nowhere) },
			func() (float64, float64) { return math.Pi * h * h / 4, math.Pi * h }},
		{"slot", func(s *Sketch) Entity { return s.SlotShape("", s.pin(0, 0), s.pin(3, 4), mm(2), nowhere) },
			func() (float64, float64) { return 5*2 + math.Pi, 2*5 + 2*math.Pi }},
		{"hexagon across flats", func(s *Sketch) Entity {
			return s.Polygon("", s.pin(2, 2), 6, AcrossFlats(mm(7), 6), mm(0), nowhere)
		}, func() (float64, float64) { return math.Sqrt(3) / 2 * 49, 2 * math.Sqrt(3) * 7 }},
		{"pentagon in a circle", func(s *Sketch) Entity { return s.Polygon("", s.pin(2, 2), 5, mm(10), deg(7), nowhere) },
			func() (float64, float64) {
				return 250 * math.Sin(2*math.Pi/5), 100 * math.Sin(math.Pi/5)
			}},
		{"circle", func(s *Sketch) Entity { return s.CircleOf("", s.pin(2, 2), mm(7), nowhere) },
			func() (float64, float64) { return 49 * math.Pi, 14 * math.Pi }},
		{"walked half disc", func(s *Sketch) Entity {
			return walked(t, s, s.pin(0, 0), Step{Dir: "right", Length: mm(10)}, Step{Dir: "up", Length: mm(2)}, Step{Turn: "left", Radius: mm(5), Through: deg(180)})
		}, func() (float64, float64) { return 20 + 12.5*math.Pi, 14 + 5*math.Pi }},
		{"walked with a turn to the right", func(s *Sketch) Entity {
			return walked(t, s, s.pin(0, 0), Step{Dir: "right", Length: mm(10)}, Step{Dir: "up", Length: mm(6)}, Step{Dir: "left", Length: mm(4)},
				Step{Dir: "down", Length: mm(1)}, Step{Turn: "right", Radius: mm(2), Through: deg(90)}, Step{Dir: "ahead", Length: mm(1)})
		}, func() (float64, float64) {
			// the turn to the right bulges into the shape
			return mensurate([]geom.Vec2{{}, {X: 10}, {X: 10, Y: 6}, {X: 6, Y: 6}, {X: 6, Y: 5}, {X: 4, Y: 3}, {X: 3, Y: 3}}) -
				(math.Pi/4-0.5)*4, 10 + 6 + 4 + 1 + math.Pi + 1 + math.Sqrt(18)
		}},
	} {
		s := New("s", nowhere)
		e := c.draw(s)
		b := border(t, settle(t, s), e)
		area, length := c.want()
		if math.Abs(b.Surface()-area) > 1e-9 || math.Abs(b.Perimeter()-length) > 1e-9 {
			t.Errorf("%s: area %.12g, length %.12g, want %.12g and %.12g", c.name, b.Surface(), b.Perimeter(), area, length)
		}
	}
}

// mensurate is the shoelace formula (Meister 1769).
func mensurate(ring []geom.Vec2) float64 {
	s := 0.0
	for i, p := range ring {
		s += p.Cross(ring[(i+1)%len(ring)]) / 2
	}
	return s
}

// TestRounding: C13 and C16 of the corpus, drawn as corners.
func TestRounding(t *testing.T) {
	s := New("s", nowhere)
	v := s.pin(0, 0)
	b := s.pin(40*math.Cos(50*math.Pi/180), 40*math.Sin(50*math.Pi/180))
	wedge := walked(t, s, v, Step{To: s.pin(40, 0)}, Step{To: b})
	if err := s.RoundCorner(v, mm(6), false, nowhere); err != nil {
		t.Fatal(err)
	}
	bevelled := s.pin(0, 0)
	square := walked(t, s, bevelled, Step{To: s.pin(10, 0)}, Step{To: s.pin(10, 10)}, Step{To: s.pin(0, 10)})
	if err := s.RoundCorner(bevelled, mm(2), true, nowhere); err != nil {
		t.Fatal(err)
	}
	foot, o := s.pin(math.Sqrt(800), 0), s.pin(0, 10)
	cove := walked(t, s, foot, Step{To: s.pin(60, 0)}, Step{To: s.pin(60, 30)}, Step{To: s.pin(math.Sqrt(500), 30)},
		Step{To: foot, Centre: o, Clockwise: true})
	if err := s.RoundCorner(foot, mm(8), false, nowhere); err != nil {
		t.Fatal(err)
	}
	d := settle(t, s)
	arcOf := func(e Entity, r float64) Curve {
		for _, c := range border(t, d, e) {
			if c.Round && math.Abs(c.Radius-r) < 1e-12 {
				return c
			}
		}
		t.Fatalf("no arc of radius %g", r)
		return Curve{}
	}
	// tangent length r/tan(a/2), centre at r/sin(a/2): elementary
	c := arcOf(wedge, 6)
	for _, k := range []struct{ got, want geom.Vec2 }{
		{c.B, geom.Vec2{X: 12.867041523057}},
		{c.A, geom.Vec2{X: 8.2707748643435, Y: 9.8567256581192}},
		{c.Centre, geom.Vec2{X: 12.867041523057, Y: 6}},
		// Pythagoras: 8 above the line and 38 from the centre of the circle
		{arcOf(cove, 8).Centre, geom.Vec2{X: 37.947331922021, Y: 8}},
	} {
		if k.got.Sub(k.want).Len() > 1e-9 {
			t.Errorf("%v, want %v", k.got, k.want)
		}
	}
	if a := border(t, d, square).Surface(); math.Abs(a-98) > 1e-12 {
		t.Errorf("a bevel of 2 leaves %g of 100, want 98", a)
	}
}

// TestBorderFaults: what is wrong with a border is told at its place.
func TestBorderFaults(t *testing.T) {
	text := source.New("s.perch", "outline o\nround here\n")
	at := source.Span{File: text, Start: 0, End: 9}
	for _, c := range []struct {
		name string
		draw func(s *Sketch, o func(ps ...*Point) *Outline) Entity
		code diag.Code
		says string
	}{
		{"bow tie", func(s *Sketch, o func(ps ...*Point) *Outline) Entity {
			return o(s.pin(0, 0), s.pin(10, 10), s.pin(10, 0), s.pin(0, 10))
		}, CodeCrossing, "crosses itself near (5, 5) mm"},
		{"there and back", func(s *Sketch, o func(ps ...*Point) *Outline) Entity {
			return o(s.pin(0, 0), s.pin(10, 0), s.pin(5, 0))
		}, CodeHollow, "goes round nothing"},
		{"up that goes down", func(s *Sketch, o func(ps ...*Point) *Outline) Entity {
			return walked(t, s, s.pin(0, 0), Step{Dir: "right", Length: mm(10)}, Step{Dir: "up", To: s.pin(10, -4)}, Step{Dir: "left", Length: mm(10)})
		}, CodeBackward, "is to go up, but what is asked of it takes it 4 mm the other way"},
		{"a line of no length", func(s *Sketch, o func(ps ...*Point) *Outline) Entity {
			return o(s.pin(0, 0), s.pin(10, 0), s.pin(10, 0), s.pin(5, 5))
		}, CodeFlat, "this line has no length"},
		{"no room to round", func(s *Sketch, o func(ps ...*Point) *Outline) Entity {
			p := s.pin(0, 0)
			e := o(p, s.pin(10, 0), s.pin(10, 10), s.pin(0, 10))
			if err := s.RoundCorner(p, mm(11), false, at); err != nil {
				t.Fatal(err)
			}
			return e
		}, CodeCorner, "no room"},
		{"two roundings that meet", func(s *Sketch, o func(ps ...*Point) *Outline) Entity {
			p, q := s.pin(0, 0), s.pin(10, 0)
			e := o(p, q, s.pin(10, 30), s.pin(0, 30))
			for _, k := range []*Point{p, q} {
				if err := s.RoundCorner(k, mm(6), false, at); err != nil {
					t.Fatal(err)
				}
			}
			return e
		}, CodeCorner, "no room"},
	} {
		s := New("s", at)
		e := c.draw(s, func(ps ...*Point) *Outline {
			var steps []Step
			for _, p := range ps[1:] {
				steps = append(steps, Step{To: p, At: at})
			}
			return walked(t, s, ps[0], steps...)
		})
		v, list, err := s.Solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if v != nil {
			var more diag.List
			_, more = v.Boundary(e)
			list.Add(more...)
		}
		if len(list) != 1 || list[0].Code != c.code || !strings.Contains(list[0].Message, c.says) {
			t.Errorf("%s: %v", c.name, list)
		}
	}
}

// TestRings: corners of chords lie on the circle, chords leave it by no more
// than the tolerance, and a circle begins at angle 0.
func TestRings(t *testing.T) {
	for _, r := range []float64{0.02, 1, 5, 91.46, 2000} {
		for _, tol := range []float64{0.1, 0.01, 0.001} {
			s := New("s", nowhere)
			whole := s.CircleOf("", s.pin(3, -2), mm(r), nowhere)
			part := walked(t, s, s.pin(3+r, -2), Step{To: s.pin(3+r*math.Cos(4), -2+r*math.Sin(4)), Centre: s.pin(3, -2)})
			v := settle(t, s)
			for _, e := range []Entity{whole, part} {
				rings, err := AreaOf(border(t, v, e)).Rings(tol)
				if err != nil || len(rings) != 1 {
					t.Fatal(err, rings)
				}
				ring := rings[0]
				if ring[0] != (geom.Vec2{X: 3 + r, Y: -2}) {
					t.Errorf("r %g: begins at %v", r, ring[0])
				}
				for i, p := range ring {
					u := p.Sub(geom.Vec2{X: 3, Y: -2})
					mid := p.Add(ring[(i+1)%len(ring)]).Scale(0.5).Sub(geom.Vec2{X: 3, Y: -2})
					off := r - mid.Len()
					last := e == Entity(part) && i == len(ring)-1
					if math.Abs(u.Len()-r) > 1e-12*(r+3) || off > tol*(1+1e-9) && !last && r > tol {
						t.Fatalf("r %g, tolerance %g: corner %d at %g, chord off by %g", r, tol, i, u.Len(), off)
					}
				}
				if e == Entity(whole) && len(ring)%4 != 0 {
					t.Errorf("r %g: %d sides", r, len(ring))
				}
			}
		}
	}
}

// TestLeftovers: corners on the way and hair lines do not come out.
func TestLeftovers(t *testing.T) {
	s := New("s", nowhere)
	o := walked(t, s, s.pin(0, 0), Step{To: s.pin(4, 0)}, Step{To: s.pin(10, 0)}, Step{To: s.pin(15, 0)}, Step{To: s.pin(10, 0)}, Step{To: s.pin(10, 7)})
	rings, err := AreaOf(border(t, settle(t, s), o)).Rings(0.01)
	if want := []geom.Vec2{{}, {X: 10}, {X: 10, Y: 7}}; err != nil || len(rings) != 1 || !slices.Equal(rings[0], want) {
		t.Errorf("%v, want %v; %v", rings, want, err)
	}
}

// TestSharedArcs: borders that run along one circle leave no slivers.
func TestSharedArcs(t *testing.T) {
	s := New("s", nowhere)
	const r = 10.0
	on := func(a float64) *Point { return s.pin(r*math.Cos(a), r*math.Sin(a)) }
	disc := s.CircleOf("", s.pin(0, 0), mm(r), nowhere)
	a, b, c := on(0.3), on(2), on(4.4)
	piece := func(p, q *Point) Entity {
		return walked(t, s, p, Step{To: q, Centre: s.pin(0, 0)}, Step{To: s.pin(0, 0)})
	}
	slices3 := []Entity{piece(a, b), piece(b, c), piece(c, a)}
	v := settle(t, s)
	area := func(e Entity) *Area { return AreaOf(border(t, v, e)) }
	rings := func(a *Area) [][]geom.Vec2 {
		rs, err := a.Rings(0.01)
		if err != nil {
			t.Fatal(err)
		}
		return rs
	}
	p, q, k := area(slices3[0]), area(slices3[1]), area(slices3[2])
	if rs := rings(With(p, q, k)); len(rs) != 1 {
		t.Errorf("three pieces of a cake make %d rings", len(rs))
	}
	if rs := rings(Less(area(disc), p, q, k)); len(rs) != 0 {
		t.Errorf("a cake less its pieces leaves %v", rs)
	}
	if rs := rings(Less(area(disc), q)); len(rs) != 1 || len(rs[0]) >= len(rings(area(disc))[0])+4 {
		t.Errorf("a cake less a piece: %d rings", len(rs))
	}
	if rs := rings(Within(area(disc), q)); len(rs) != 1 || !sameCorners(rs[0], rings(Within(q, q))[0], 1e-9) {
		t.Errorf("a piece within the cake is another: %v", rs)
	}
}

func sameCorners(a, b []geom.Vec2, tol float64) bool {
	return slices.EqualFunc(a, b, func(p, q geom.Vec2) bool { return p.Sub(q).Len() <= tol })
}

// TestAreas: areas of combinations within the chord tolerance; the lens of two
// circles by MathWorld "Circle-Circle Intersection", eq. 14.
func TestAreas(t *testing.T) {
	s := New("s", nowhere)
	const r, R, d = 7.0, 10.0, 11.0
	big, small := s.CircleOf("", s.pin(0, 0), mm(R), nowhere), s.CircleOf("", s.pin(d, 0), mm(r), nowhere)
	v := settle(t, s)
	a, b := AreaOf(border(t, v, big)), AreaOf(border(t, v, small))
	lens := r*r*math.Acos((d*d+r*r-R*R)/(2*d*r)) + R*R*math.Acos((d*d+R*R-r*r)/(2*d*R)) -
		math.Sqrt((-d+r+R)*(d+r-R)*(d-r+R)*(d+r+R))/2
	for _, c := range []struct {
		name string
		a    *Area
		want float64
	}{
		{"within", Within(a, b), lens},
		{"with", With(a, b), math.Pi*(r*r+R*R) - lens},
		{"less", Less(a, b), math.Pi*R*R - lens},
		{"less both ways", With(Less(a, b), Less(b, a)), math.Pi*(r*r+R*R) - 2*lens},
	} {
		got, err := c.a.Surface()
		if err != nil || math.Abs(got-c.want) > 1e-4*2*math.Pi*(r+R) {
			t.Errorf("%s: %.6f, want %.6f; %v", c.name, got, c.want, err)
		}
	}
}

// Extents by plane geometry: a disc, and a square turned onto its corner.
func TestExtent(t *testing.T) {
	disc := Drawn(func(tolerance float64) [][]geom.Vec2 {
		var ring []geom.Vec2
		for i := range 3600 {
			ring = append(ring, geom.Vec2{X: 1 + 5*math.Cos(float64(i)*math.Pi/1800), Y: 2 + 5*math.Sin(float64(i)*math.Pi/1800)})
		}
		return [][]geom.Vec2{ring}
	})
	square := Drawn(func(float64) [][]geom.Vec2 { return [][]geom.Vec2{{{}, {X: 4}, {X: 4, Y: 4}, {Y: 4}}} })
	h := 2 * math.Sqrt2
	for _, c := range []struct {
		area        *Area
		least, most geom.Vec2
	}{
		{disc, geom.Vec2{X: -4, Y: -3}, geom.Vec2{X: 6, Y: 7}},
		{Moved(square, math.Pi/4, geom.Vec2{X: 1}), geom.Vec2{X: 1 - h}, geom.Vec2{X: 1 + h, Y: 2 * h}},
		{Less(disc, disc), geom.Vec2{}, geom.Vec2{}},
	} {
		least, most, err := c.area.Extent()
		if err != nil || least.Sub(c.least).Len() > 1e-6 || most.Sub(c.most).Len() > 1e-6 {
			t.Errorf("%v to %v, want %v to %v (%v)", least, most, c.least, c.most, err)
		}
	}
}
