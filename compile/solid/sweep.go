package solid

import (
	"errors"
	"fmt"
	"math"

	"perch/compile/geom"
)

// Errors of paths.
var (
	// ErrLegShort says that a leg of a path has no room for its bends.
	ErrLegShort = errors.New("a straight piece is too short for the bends at its ends")
	// ErrBendTight says that a bend is tighter than the area is wide.
	ErrBendTight = errors.New("the bend is tighter than the area reaches to its inside")
	// ErrTurnsBack says that a path turns straight back.
	ErrTurnsBack = errors.New("the path turns straight back")
)

// Path is a way along straight legs with round bends at the corners between.
type Path struct {
	Corners []geom.Vec3 // two or more, mm
	Radius  float64     // of every bend, to the path itself, mm
}

// step is a straight piece or a bend of a path.
type step struct {
	to     geom.Transform // frame at its start; z runs along the path
	length float64        // of a straight piece
	angle  float64        // of a bend, radians; 0: straight
	centre geom.Vec3
	axis   geom.Vec3
	inside geom.Vec2 // of a bend: direction to its centre in the area
}

// steps works the path out. The frame is turned with each bend and not about
// the path itself.
func (p Path) steps() ([]step, error) {
	var out []step
	n := len(p.Corners)
	frame := FrameAt(p.Corners[0], p.Corners[1].Sub(p.Corners[0]))
	cut := 0.0 // taken from the start of the leg by the bend before
	for i := 1; i < n; i++ {
		leg := p.Corners[i].Sub(p.Corners[i-1])
		l, dir := leg.Len(), leg.Unit()
		var angle, back float64
		var axis geom.Vec3
		if i+1 < n {
			next := p.Corners[i+1].Sub(p.Corners[i]).Unit()
			axis = dir.Cross(next)
			angle = math.Atan2(axis.Len(), dir.Dot(next))
			if angle > math.Pi-1e-6 {
				return nil, ErrTurnsBack
			}
			if angle < 1e-9 {
				angle = 0
			}
			back = p.Radius * math.Tan(angle/2)
			axis = axis.Unit()
		}
		straight := l - cut - back
		if straight < -1e-9 {
			return nil, fmt.Errorf("leg %d is %.4g mm long and its bends take %.4g mm: %w", i, l, cut+back, ErrLegShort)
		}
		if straight > 1e-6 {
			out = append(out, step{to: frame, length: straight})
		}
		frame.T = p.Corners[i].Sub(dir.Scale(back))
		if angle > 0 {
			in := axis.Cross(dir)
			x := geom.Vec3{X: frame.R[0].X, Y: frame.R[1].X, Z: frame.R[2].X}
			y := geom.Vec3{X: frame.R[0].Y, Y: frame.R[1].Y, Z: frame.R[2].Y}
			s := step{to: frame, angle: angle, axis: axis, centre: frame.T.Add(in.Scale(p.Radius)), inside: geom.Vec2{X: in.Dot(x), Y: in.Dot(y)}}
			out = append(out, s)
			frame = frame.Then(geom.Turn(s.centre, axis, angle))
			frame.T = p.Corners[i].Add(p.Corners[i+1].Sub(p.Corners[i]).Unit().Scale(back))
		}
		cut = back
	}
	return out, nil
}

// Length returns the length of the path in mm.
func (p Path) Length() (float64, error) {
	steps, err := p.steps()
	l := 0.0
	for _, s := range steps {
		l += s.length + float64(p.Radius*s.angle)
	}
	return l, err
}

// SweepArea leads an area along a path, square to it: the origin of the
// drawing stays on the path. At the start the drawing stands as FrameAt
// tells; each bend carries it along without turning it about the path. Build
// fails with ErrLegShort, ErrBendTight, ErrTurnsBack, or with ErrFolds when
// the body would run through itself.
func SweepArea(a Area, p Path) *Body { return leafBody(&sweep{a, p}) }

type sweep struct {
	area Area
	path Path
}

func (s *sweep) profile(tol float64) (Profile, error) { return s.area(tol) }

func (s *sweep) bounds(p Profile) geom.Box {
	far := 0.0
	for _, r := range p {
		for _, v := range r {
			far = max(far, v.Len())
		}
	}
	b := geom.EmptyBox()
	d := geom.Vec3{X: far, Y: far, Z: far}
	for _, c := range s.path.Corners {
		b.Add(c.Sub(d))
		b.Add(c.Add(d))
	}
	return b
}

func (s *sweep) build(k *kernel, g *grid, p Profile, tol float64) error {
	steps, err := s.path.steps()
	if err != nil {
		return err
	}
	p = plainRings(p)
	b := newFacets(k, g)
	ring := func(t geom.Transform) [][]int32 {
		out := make([][]int32, len(p))
		for r := range p {
			for _, v := range p[r] {
				out[r] = append(out[r], b.point(t.Apply(geom.Vec3{X: v.X, Y: v.Y})))
			}
		}
		return out
	}
	first := ring(steps[0].to)
	last := first
	join := func(next [][]int32) {
		for r := range next {
			b.band(last[r], next[r])
		}
		last = next
	}
	for i, st := range steps {
		if st.angle == 0 {
			if i+1 < len(steps) {
				join(ring(steps[i+1].to))
				continue
			}
			end := st.to
			end.T = s.path.Corners[len(s.path.Corners)-1]
			join(ring(end))
			continue
		}
		inner, outer := 0.0, 0.0
		for _, r := range p {
			for _, v := range r {
				inner, outer = max(inner, v.Dot(st.inside)), max(outer, -v.Dot(st.inside))
			}
		}
		if inner > s.path.Radius-1e-3 {
			return fmt.Errorf("radius %.4g mm, the area reaches %.4g mm: %w", s.path.Radius, inner, ErrBendTight)
		}
		n := max(1, int(math.Ceil(float64(geom.Sides(s.path.Radius+outer, tol))*st.angle/(2*math.Pi)-1e-9)))
		for j := 1; j < n; j++ {
			join(ring(st.to.Then(geom.Turn(st.centre, st.axis, st.angle*float64(j)/float64(n)))))
		}
		if i+1 < len(steps) {
			join(ring(steps[i+1].to))
		} else {
			join(ring(st.to.Then(geom.Turn(st.centre, st.axis, st.angle))))
		}
	}
	for _, l := range first {
		reverse(l)
	}
	b.add(first...)
	b.add(last...)
	if b.folds() {
		return ErrFolds
	}
	return b.done()
}
