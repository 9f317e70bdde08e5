package compile

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/surface"
)

// Trial says which slice of a part to print before the whole.
type Trial struct {
	// To names the mating body whose seat is tried; "" means the first with a
	// round seat.
	To string
	// Across is the direction through the slice; 0 means the axis of the seat,
	// or of the largest bore of a part without one.
	Across geom.Vec3
	// At is where the middle of the slice lies along Across, from the origin,
	// mm; NaN means the place nearest to the middle of the seat, or of the part,
	// where the slice hangs together as the part does.
	At float64
	// Thick is the thickness of the slice, mm.
	Thick float64
}

// Slice is a slice of a part, lying on the bed.
type Slice struct {
	Mesh   *mesh.Mesh
	Across geom.Vec3 // of length 1
	At     float64   // mm
	Volume float64   // mm³
	Mass   float64   // g
	// Rounds are the holes and pegs that go through the slice, largest last.
	Rounds []Round
}

// Round is a size of hole or peg and how often it occurs.
type Round struct {
	Hollow   bool
	Diameter float64 // as drawn, mm
	Count    int
}

// ErrNoSlice says that the part has nothing where the slice was to be.
var ErrNoSlice = errors.New("the part has nothing there")

// Slice builds the slice of a part. The error is that of a build that was
// stopped, ErrNoSlice, or one that names a mating body that the part has not.
func (p Part) Slice(ctx context.Context, t Trial) (*Slice, error) {
	s := surface.Of(p.Mesh, p.tolerance)
	axis, middle, err := p.interfaceOf(ctx, s, t)
	if err != nil {
		return nil, err
	}
	lo, hi := extent(p.Mesh, axis)
	down := laid(axis)
	var best *Slice
	least := math.MaxInt
	room := geom.EmptyBox()
	for _, v := range p.Mesh.Vertices {
		room.Add(down.Apply(v))
	}
	for _, at := range t.places(lo, hi, middle) {
		slab := solid.Box(
			geom.Vec3{X: room.Min.X - 1, Y: room.Min.Y - 1, Z: at - t.Thick/2},
			geom.Vec3{X: room.Max.X + 1, Y: room.Max.Y + 1, Z: at + t.Thick/2})
		body := solid.Trim(p.body.Placed(down), slab).Placed(geom.Move(geom.Vec3{Z: t.Thick/2 - at}))
		m, err := solid.Build(ctx, body, solid.Options{Tolerance: p.tolerance})
		if errors.Is(err, solid.ErrEmpty) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if pieces := m.Pieces(); pieces < least {
			v := m.Volume()
			best, least = &Slice{Mesh: m, Across: axis, At: at, Volume: v, Mass: v * p.Mass / p.Volume, Rounds: rounds(m, p.tolerance, t.Thick)}, pieces
		}
		if least <= p.Mesh.Pieces() {
			break
		}
	}
	if best == nil {
		return nil, ErrNoSlice
	}
	return best, nil
}

// laid returns the turn that lays a slice on the bed: the axis goes to z.
func laid(axis geom.Vec3) geom.Transform {
	f := solid.FrameAt(geom.Vec3{}, axis)
	return geom.Transform{R: [3]geom.Vec3{
		{X: f.R[0].X, Y: f.R[1].X, Z: f.R[2].X},
		{X: f.R[0].Y, Y: f.R[1].Y, Z: f.R[2].Y},
		{X: f.R[0].Z, Y: f.R[1].Z, Z: f.R[2].Z},
	}}
}

// places lists where to try the slice: what was asked for, or places from the
// middle outwards and both ends.
func (t Trial) places(lo, hi, middle float64) []float64 {
	if !math.IsNaN(t.At) {
		return []float64{t.At}
	}
	first, last := lo+t.Thick/2, hi-t.Thick/2
	if first >= last {
		return []float64{(lo + hi) / 2}
	}
	middle = min(max(middle, first), last)
	out := []float64{middle}
	const tries = 8
	for k := 1; k <= tries; k++ {
		share := float64(k) / tries
		out = append(out, middle+float64(share*(last-middle)), middle-float64(share*(middle-first)))
	}
	return out
}

// interfaceOf finds the direction through the slice and the middle of what is
// tried along it.
func (p Part) interfaceOf(ctx context.Context, s *surface.Surface, t Trial) (axis geom.Vec3, middle float64, err error) {
	face, err := p.Seat(ctx, s, t.To)
	if err != nil {
		return axis, 0, err
	}
	axis = t.Across
	if axis == (geom.Vec3{}) {
		axis = geom.Vec3{Y: 1}
		if face < 0 {
			face = largestBore(s)
		}
		if face >= 0 {
			axis = s.Faces[face].Axis
		}
	}
	axis = straightened(axis.Unit())
	if axis.X+axis.Y+axis.Z < 0 {
		axis = axis.Scale(-1)
	}
	lo, hi := extent(p.Mesh, axis)
	if face >= 0 {
		lo, hi = math.Inf(1), math.Inf(-1)
		for i, f := range s.FaceOf {
			if f != face {
				continue
			}
			for _, v := range p.Mesh.Triangles[i] {
				d := p.Mesh.Vertices[v].Dot(axis)
				lo, hi = min(lo, d), max(hi, d)
			}
		}
	}
	return axis, (lo + hi) / 2, nil
}

// straightened takes a direction along an axis of the drawing, but for
// rounding, for that axis.
func straightened(d geom.Vec3) geom.Vec3 {
	for _, a := range []geom.Vec3{{X: 1}, {Y: 1}, {Z: 1}} {
		if c := d.Dot(a); math.Abs(c) > 1-1e-9 {
			return a.Scale(math.Copysign(1, c))
		}
	}
	return d
}

// onSeat is how far a corner of a seat may be from the body it lies on, beside
// the chords of both, mm.
const onSeat = 0.02

// Seat returns the round face of a part that lies on a mating body, or -1; ""
// stands for the first body that has one. The error is that of a build that
// was stopped, or says that the part has no such body.
func (p Part) Seat(ctx context.Context, s *surface.Surface, to string) (int32, error) {
	known := false
	for _, m := range p.Mating {
		if to != "" && m.Name != to {
			continue
		}
		known = true
		body, err := m.Mesh(ctx)
		if err != nil {
			return -1, err
		}
		for _, f := range s.Seats(mesh.NewTree(body), 2*p.tolerance+onSeat) {
			if face := s.Faces[f]; face.Kind == surface.Cylinder && face.Hollow {
				return f, nil
			}
		}
	}
	if to != "" && !known {
		return -1, fmt.Errorf("part %s has no mating body %s", p.Name, to)
	}
	return -1, nil
}

func largestBore(s *surface.Surface) int32 {
	best := int32(-1)
	for i, f := range s.Faces {
		if f.Kind == surface.Cylinder && f.Hollow && (best < 0 || f.Area > s.Faces[best].Area) {
			best = int32(i)
		}
	}
	return best
}

func extent(m *mesh.Mesh, axis geom.Vec3) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range m.Vertices {
		d := v.Dot(axis)
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo, hi
}

// rounds lists the holes and pegs that stand upright in a slice: what calipers
// or a pin can measure, more than half a circle.
func rounds(m *mesh.Mesh, tolerance, thick float64) []Round {
	s := surface.Of(m, tolerance)
	var out []Round
	for _, f := range s.Faces {
		if f.Kind != surface.Cylinder || math.Abs(f.Axis.Z) < 1-1e-6 || f.Area < 1.05*math.Pi*f.Radius*thick {
			continue
		}
		d := math.Round(2*f.Radius*1000) / 1000
		i := slices.IndexFunc(out, func(r Round) bool { return r.Hollow == f.Hollow && math.Abs(r.Diameter-d) < 2e-3 })
		if i < 0 {
			out = append(out, Round{f.Hollow, d, 1})
			continue
		}
		out[i].Count++
	}
	slices.SortStableFunc(out, func(a, b Round) int { return cmp.Compare(a.Diameter, b.Diameter) })
	return out
}
