package solid

import (
	"errors"
	"fmt"
	"math"

	"perch/compile/geom"
)

// Errors of courses.
var (
	// ErrKink says that a path turns sharply where an arc begins or ends, or too
	// sharply between two lines.
	ErrKink = errors.New("the path turns sharply there")
	// ErrBendTight says that a bend is tighter than the area is wide.
	ErrBendTight = errors.New("the bend is tighter than the area reaches to its inside")
)

// Course is a way in the x, y plane along lines and arcs, each beginning where
// the one before ends. Two lines may meet at an angle: there the body is
// mitred.
type Course struct {
	Pieces []Piece
	Closed bool // it ends where it begins
}

// Piece is a line, or with Turn an arc about Centre through that angle
// (radians, counter-clockwise when positive).
type Piece struct {
	A, B, Centre geom.Vec2 // mm
	Turn         float64
}

// CourseArea leads an area along a course, square to it and upright: y of the
// area is z, and x points to the left of the way. The origin of the area stays
// on the course. Build fails with ErrBendTight, ErrKink, or with ErrFolds when
// the body would run through itself.
func CourseArea(a Area, c Course) *Body { return leafBody(&swept{area: a, course: c}) }

type swept struct {
	area   Area
	course Course
	smooth unfolded
}

func (s *swept) profile(tol float64) (Profile, error) { return s.area(tol) }

func (s *swept) inputs(float64) (any, []Profile, error) { return s.course, nil, nil }

func (s *swept) bounds(p Profile) geom.Box {
	far := 0.0
	b := geom.EmptyBox()
	for _, r := range p {
		for _, v := range r {
			far = max(far, v.Len())
		}
	}
	far = float64(far / math.Cos(sharpestMitre/2))
	for _, c := range s.course.Pieces {
		reach := far
		at := c.A
		if c.Turn != 0 {
			at, reach = c.Centre, far+c.A.Sub(c.Centre).Len()
		}
		for _, v := range []geom.Vec2{at, c.B} {
			b.Add(geom.Vec3{X: v.X - reach, Y: v.Y - reach, Z: -far})
			b.Add(geom.Vec3{X: v.X + reach, Y: v.Y + reach, Z: far})
		}
	}
	return b
}

// sharpestMitre is the largest angle by which two lines may turn, radians.
const sharpestMitre = 2.4

// station is a place on the course; x of the area goes along across.
type station struct{ at, across geom.Vec2 }

// left is the direction to the left of the way at the start or the end.
func (p *Piece) left(end bool) geom.Vec2 {
	if p.Turn == 0 {
		return p.B.Sub(p.A).Unit().Perp()
	}
	v := p.A
	if end {
		v = p.B
	}
	return p.Centre.Sub(v).Unit().Scale(math.Copysign(1, p.Turn))
}

// joint returns the station where one piece goes over into the next.
func joint(p, q *Piece) (station, error) {
	const smooth = 1e-5 // radians
	u, v := p.left(true), q.left(false)
	turn := math.Atan2(u.Cross(v), u.Dot(v))
	switch {
	case math.Abs(turn) < smooth:
		return station{q.A, v}, nil
	case p.Turn != 0 || q.Turn != 0 || math.Abs(turn) > sharpestMitre:
		return station{}, fmt.Errorf("by %.4g deg at (%.4g, %.4g) mm: %w", math.Abs(turn)*180/math.Pi, q.A.X, q.A.Y, ErrKink)
	}
	return station{q.A, u.Add(v).Scale(1 / (1 + u.Dot(v)))}, nil
}

// stations lists the places where the area stands.
func (s *swept) stations(p Profile, tol float64) ([]station, error) {
	var out []station
	pieces := s.course.Pieces
	n := len(pieces)
	for i := range pieces {
		c := &pieces[i]
		at := station{c.A, c.left(false)}
		if i > 0 || s.course.Closed {
			var err error
			if at, err = joint(&pieces[(i+n-1)%n], c); err != nil {
				return nil, err
			}
		}
		out = append(out, at)
		if c.Turn == 0 {
			continue
		}
		radius, side := c.A.Sub(c.Centre).Len(), math.Copysign(1, c.Turn)
		inner, outer := 0.0, 0.0
		for _, r := range p {
			for _, v := range r {
				inner, outer = max(inner, side*v.X), max(outer, -side*v.X)
			}
		}
		if inner > radius-1e-3 {
			return nil, fmt.Errorf("radius %.4g mm, the area reaches %.4g mm: %w", radius, inner, ErrBendTight)
		}
		steps := max(1, int(math.Ceil(float64(geom.Sides(radius+outer, tol))*math.Abs(c.Turn)/(2*math.Pi)-1e-9)))
		for j := 1; j < steps; j++ {
			sin, cos := geom.SinCos(c.Turn * float64(j) / float64(steps))
			d := c.A.Sub(c.Centre)
			d = d.Scale(cos).Add(d.Perp().Scale(sin))
			out = append(out, station{c.Centre.Add(d), d.Unit().Scale(-side)})
		}
	}
	if last := &pieces[n-1]; !s.course.Closed {
		out = append(out, station{last.B, last.left(true)})
	}
	return out, nil
}

func (s *swept) build(k *kernel, g *grid, p Profile, tol float64) error {
	stations, err := s.stations(p, tol)
	if err != nil {
		return err
	}
	p = plainRings(p)
	b := newFacets(k, g)
	rings := func(at station) [][]int32 {
		out := make([][]int32, len(p))
		for r := range p {
			for _, v := range p[r] {
				q := at.at.Add(at.across.Scale(v.X))
				out[r] = append(out[r], b.point(geom.Vec3{X: q.X, Y: q.Y, Z: v.Y}))
			}
		}
		return out
	}
	first := rings(stations[0])
	last := first
	join := func(next [][]int32) {
		for r := range next {
			b.band(last[r], next[r])
		}
		last = next
	}
	for _, at := range stations[1:] {
		join(rings(at))
	}
	if s.course.Closed {
		join(first)
	} else {
		b.add(last...)
		for i := range first {
			first[i] = append([]int32(nil), first[i]...)
			reverse(first[i])
		}
		b.add(first...)
	}
	if err := s.smooth.check(b); err != nil {
		return err
	}
	return b.done()
}
