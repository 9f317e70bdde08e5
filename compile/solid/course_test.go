package solid

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
)

// An area swept square to a path has its size times the length of the way of
// its centroid (Pappus); a mitre moves material from the inside to the outside
// of a corner and keeps that of a centroid on the path.
func TestCourseVolume(t *testing.T) {
	bar := Profile{oblong(-2, -1, 2, 3)} // 16 mm²
	pipe := Profile{oblong(-3, -3, 3, 3), hole(oblong(-2, -2, 2, 2))}
	off := Profile{oblong(1, 0, 3, 4)} // 8 mm², centroid 2 mm to the left
	line := func(ax, ay, bx, by float64) Piece {
		return Piece{A: geom.Vec2{X: ax, Y: ay}, B: geom.Vec2{X: bx, Y: by}}
	}
	arc := func(ax, ay, bx, by, cx, cy, turn float64) Piece {
		return Piece{geom.Vec2{X: ax, Y: ay}, geom.Vec2{X: bx, Y: by}, geom.Vec2{X: cx, Y: cy}, turn}
	}
	quarter := math.Pi / 2
	cases := []struct {
		name string
		area Profile
		c    Course
		want float64
	}{
		{"a line", bar, Course{Pieces: []Piece{line(0, 0, 30, 0)}}, 16 * 30},
		{"line and left bend", pipe, Course{Pieces: []Piece{line(0, 0, 30, 0), arc(30, 0, 40, 10, 30, 10, quarter)}}, 20 * (30 + 5*math.Pi)},
		{"inside of the bend", off, Course{Pieces: []Piece{arc(0, 0, 10, 10, 0, 10, quarter), line(10, 10, 10, 30)}}, 8 * (20 + 8*quarter)},
		{"outside of the bend", off, Course{Pieces: []Piece{arc(0, 0, 10, -10, 0, -10, -quarter)}}, 8 * 12 * quarter},
		{"mitred", bar, Course{Pieces: []Piece{line(0, 0, 30, 0), line(30, 0, 30, 40), line(30, 40, 0, 70)}}, 16 * (70 + 30*math.Sqrt2)},
		{"a frame", bar, Course{Pieces: []Piece{line(0, 0, 30, 0), line(30, 0, 30, 40), line(30, 40, 0, 40), line(0, 40, 0, 0)}, Closed: true}, 16 * 140},
		{"a ring", bar, Course{Pieces: []Piece{arc(10, 0, 10, 0, 0, 0, 2*math.Pi)}, Closed: true}, 16 * 20 * math.Pi},
		{"a race track", pipe, Course{Pieces: []Piece{line(0, -10, 50, -10), arc(50, -10, 50, 10, 50, 0, math.Pi), line(50, 10, 0, 10), arc(0, 10, 0, -10, 0, 0, math.Pi)}, Closed: true}, 20 * (100 + 20*math.Pi)},
	}
	for _, c := range cases {
		for _, to := range []geom.Transform{geom.Identity(), geom.Turn(geom.Vec3{X: 1}, geom.Vec3{X: 1, Y: 2, Z: 3}.Unit(), 0.7)} {
			m, err := Build(context.Background(), CourseArea(fixed(c.area), c.c).Placed(to), Options{Tolerance: 0.01})
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			if err := m.Check(); err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			if got := m.Volume(); math.Abs(got-c.want) > 2e-3*c.want {
				t.Errorf("%s: volume %.4f, want %.4f", c.name, got, c.want)
			}
		}
	}
	for _, c := range []struct {
		name string
		c    Course
		want error
	}{
		{"tight", Course{Pieces: []Piece{arc(0, 0, 1.5, 1.5, 0, 1.5, quarter)}}, ErrBendTight},
		{"kink at an arc", Course{Pieces: []Piece{line(0, -20, 0, 0), arc(0, 0, 10, 10, 0, 10, quarter)}}, ErrKink},
		{"back", Course{Pieces: []Piece{line(0, 0, 20, 0), line(20, 0, 0, 1)}}, ErrKink},
		{"through itself", Course{Pieces: []Piece{line(0, 0, 40, 0), line(40, 0, 40, 20), line(40, 20, 20, 20), line(20, 20, 20, -20)}}, ErrFolds},
		{"a short leg between mitres", Course{Pieces: []Piece{line(0, 0, 40, 0), line(40, 0, 40, 1), line(40, 1, 0, 1)}}, ErrFolds},
	} {
		if err := CheckLeaf(CourseArea(fixed(bar), c.c), 0.01); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Random ways of lines and bends that run on smoothly: every body that is not
// refused is closed, does not cross itself, and has the volume of Pappus.
func TestCourseRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(*treeSeed, 22))
	built := 0
	for n := range 40 {
		var c Course
		at, heading, length := geom.Vec2{}, r.Float64(), 0.0
		ahead := func() geom.Vec2 { return geom.Vec2{X: math.Cos(heading), Y: math.Sin(heading)} }
		for range 2 + r.IntN(4) {
			l := 2 + 20*r.Float64()
			to := at.Add(ahead().Scale(l))
			c.Pieces = append(c.Pieces, Piece{A: at, B: to})
			radius, turn := 5+6*r.Float64(), 5*r.Float64()-2.5
			left := geom.Vec2{X: -ahead().Y, Y: ahead().X}.Scale(math.Copysign(radius, turn))
			centre := to.Add(left)
			sin, cos := math.Sincos(turn)
			at = centre.Sub(geom.Vec2{X: cos*left.X - sin*left.Y, Y: sin*left.X + cos*left.Y})
			c.Pieces = append(c.Pieces, Piece{to, at, centre, turn})
			heading += turn
			length += l + radius*math.Abs(turn)
		}
		area := Profile{Circle(geom.Vec2{}, 1+4*r.Float64(), 3+r.IntN(12))}
		b := CourseArea(fixed(area), c)
		if CheckLeaf(b, 0.02) != nil {
			continue
		}
		built++
		near(t, "volume", alone(t, "course", b, 0.02), length*ringArea(area[0]), 5e-3)
		if t.Failed() {
			t.Fatalf("seed %d course %d: %+v", *treeSeed, n, c)
		}
	}
	if built < 10 {
		t.Errorf("only %d of the bodies can be", built)
	}
}
