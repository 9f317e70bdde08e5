// Package plate arranges parts on the bed of a printer.
//
// A part takes the room of its shadow on the bed, held between 32 directions.
// Where a part may stand beside another is then bounded by a polygon of the
// same directions, whose distances from its middle are the sums of the two
// parts' own (the no-fit polygon: R. C. Art, 1966). A part goes to the lowest
// and then leftmost corner of what these polygons leave free, in the best of
// its four quarter turns; large parts go first.
package plate

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// Part is what is to be printed, and how often.
type Part struct {
	Name  string
	Mesh  *mesh.Mesh
	Count int
}

// Bed is the room of a printer, in mm. Gap is the least distance between two
// parts, Border that from the edge of the bed.
type Bed struct{ Width, Depth, Height, Gap, Border float64 }

// Place is where one copy of a part stands: turned about the z axis by
// quarter turns anticlockwise from above, then moved. The front left corner
// of the bed is (0, 0, 0).
type Place struct {
	Part, Quarters int
	Move           geom.Vec3
}

// Plate is what one bed holds.
type Plate struct{ Places []Place }

// Mesh returns all that stands on the plate as one mesh, in mm on the bed.
func (p Plate) Mesh(parts []Part) *mesh.Mesh {
	all := &mesh.Mesh{}
	for _, s := range p.Places {
		base := int32(len(all.Vertices))
		for _, v := range parts[s.Part].Mesh.Vertices {
			for range s.Quarters {
				v.X, v.Y = -v.Y, v.X
			}
			all.Vertices = append(all.Vertices, v.Add(s.Move))
		}
		for _, t := range parts[s.Part].Mesh.Triangles {
			all.Triangles = append(all.Triangles, [3]int32{t[0] + base, t[1] + base, t[2] + base})
		}
	}
	return all
}

// TooBig is the error for a part that no empty bed can hold.
type TooBig struct {
	Name string
	Size geom.Vec3 // mm
	Bed  Bed
}

func (e *TooBig) Error() string {
	return fmt.Sprintf("%s is %.4g x %.4g x %.4g mm and does not go on a bed of %.4g x %.4g x %.4g mm with a border of %.4g mm",
		e.Name, e.Size.X, e.Size.Y, e.Size.Z, e.Bed.Width, e.Bed.Depth, e.Bed.Height, e.Bed.Border)
}

// Arrange puts every copy of every part on as few beds as it finds. The same
// parts give the same places on every machine.
func Arrange(ctx context.Context, parts []Part, bed Bed) ([]Plate, error) {
	shadows := make([]shadow, len(parts))
	var order []int
	for i, p := range parts {
		shadows[i] = cast(p.Mesh)
		if !bed.holds(&shadows[i]) {
			return nil, &TooBig{p.Name, p.Mesh.Bounds().Size(), bed}
		}
		for range p.Count {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(shadows[b].area(), shadows[a].area()) })
	var beds []*filling
	for _, part := range order {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(beds, func(f *filling) bool { return f.put(part, &shadows[part]) }) {
			f := &filling{bed: bed}
			f.put(part, &shadows[part])
			beds = append(beds, f)
		}
	}
	plates := make([]Plate, len(beds))
	for i, f := range beds {
		plates[i] = f.centred()
	}
	return plates, nil
}

// sides is the number of directions; quarter turns map them on each other.
const sides = 32

// directions are the unit vectors, anticlockwise from x.
var directions = func() (d [sides]geom.Vec2) {
	for k := range d {
		s, c := geom.SinCos(float64(k) * 2 * math.Pi / sides)
		d[k] = geom.Vec2{X: c, Y: s}
	}
	return d
}()

// shadow is what a part covers of the bed: how far it reaches from its own
// origin in each direction, mm, and its least and greatest height.
type shadow struct {
	reach       [sides]float64
	lowest, top float64
}

func cast(m *mesh.Mesh) shadow {
	b := m.Bounds()
	s := shadow{lowest: b.Min.Z, top: b.Max.Z}
	for k := range s.reach {
		s.reach[k] = math.Inf(-1)
	}
	for _, t := range m.Triangles {
		for _, v := range t {
			p := geom.Vec2{X: m.Vertices[v].X, Y: m.Vertices[v].Y}
			for k, d := range directions {
				s.reach[k] = max(s.reach[k], p.Dot(d))
			}
		}
	}
	return s
}

// turned is the shadow after quarter turns about the origin.
func (s *shadow) turned(quarters int) *shadow {
	t := &shadow{lowest: s.lowest, top: s.top}
	for k, r := range s.reach {
		t.reach[(k+quarters*sides/4)%sides] = r
	}
	return t
}

// width and depth of the shadow along x and y.
func (s *shadow) width() float64 { return s.reach[0] + s.reach[sides/2] }
func (s *shadow) depth() float64 { return s.reach[sides/4] + s.reach[3*sides/4] }

// area of the polygon that holds the shadow, mm².
func (s *shadow) area() float64 {
	c := corners(geom.Vec2{}, &s.reach)
	sum := 0.0
	for k, p := range c {
		sum += p.Cross(c[(k+1)%sides])
	}
	return sum / 2
}

// corners of the polygon that reaches so far around a point: corner k lies
// between the sides of directions k and k+1.
func corners(at geom.Vec2, reach *[sides]float64) (c [sides]geom.Vec2) {
	for k, d := range directions {
		n := (k + 1) % sides
		e := directions[n]
		w := d.Cross(e)
		c[k] = at.Add(geom.Vec2{
			X: (float64(reach[k]*e.Y) - float64(reach[n]*d.Y)) / w,
			Y: (float64(d.X*reach[n]) - float64(e.X*reach[k])) / w,
		})
	}
	return c
}

// slack forgives rounding, mm.
const slack = 1e-7

func (b Bed) holds(s *shadow) bool {
	w, d := b.Width-2*b.Border+slack, b.Depth-2*b.Border+slack
	flat := s.width() <= w && s.depth() <= d || s.depth() <= w && s.width() <= d
	return flat && s.top-s.lowest <= b.Height+slack
}

// filling is a bed on which parts have been put.
type filling struct {
	bed    Bed
	stands []standing
}

// standing is a part on the bed.
type standing struct {
	part, quarters int
	shadow         *shadow
	at             geom.Vec2 // its origin
}

// put places a part where it leaves the most room, if there is any.
func (f *filling) put(part int, s *shadow) bool {
	var best *standing
	for q := range 4 {
		t := s.turned(q)
		if q >= 2 && t.reach == s.turned(q-2).reach {
			break // alike after half a turn
		}
		at, ok := f.lowest(t)
		if ok && (best == nil || before(t, at, best.shadow, best.at)) {
			best = &standing{part, q, t, at}
		}
	}
	if best == nil {
		return false
	}
	f.stands = append(f.stands, *best)
	return true
}

// before orders places: the one that ends lower, then more to the left.
func before(s *shadow, at geom.Vec2, t *shadow, other geom.Vec2) bool {
	a, b := at.Y+s.reach[sides/4], other.Y+t.reach[sides/4]
	if math.Abs(a-b) > slack {
		return a < b
	}
	return at.X+s.reach[0] < other.X+t.reach[0]-slack
}

// lowest finds the lowest, then leftmost, place for the origin of a shadow.
func (f *filling) lowest(s *shadow) (geom.Vec2, bool) {
	in := geom.Box{
		Min: geom.Vec3{X: f.bed.Border + s.reach[sides/2], Y: f.bed.Border + s.reach[3*sides/4]},
		Max: geom.Vec3{X: f.bed.Width - f.bed.Border - s.reach[0], Y: f.bed.Depth - f.bed.Border - s.reach[sides/4]},
	}
	if in.Min.X > in.Max.X+slack || in.Min.Y > in.Max.Y+slack {
		return geom.Vec2{}, false
	}
	around := f.around(s)
	places := f.candidates(around, in)
	slices.SortFunc(places, func(a, b geom.Vec2) int {
		return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X))
	})
	for _, p := range places {
		inside := p.X >= in.Min.X-slack && p.X <= in.Max.X+slack && p.Y >= in.Min.Y-slack && p.Y <= in.Max.Y+slack
		if inside && !slices.ContainsFunc(around, func(n nofit) bool { return n.covers(p) }) {
			return p, true
		}
	}
	return geom.Vec2{}, false
}

// nofit is where the origin of a new part must not be, because of one that
// stands already.
type nofit struct {
	at      geom.Vec2
	reach   [sides]float64
	corners [sides]geom.Vec2
}

// around lists the places that the parts on the bed keep from a shadow.
func (f *filling) around(s *shadow) []nofit {
	out := make([]nofit, len(f.stands))
	for i, o := range f.stands {
		n := nofit{at: o.at}
		for k := range n.reach {
			n.reach[k] = o.shadow.reach[k] + s.reach[(k+sides/2)%sides] + f.bed.Gap
		}
		n.corners = corners(o.at, &n.reach)
		out[i] = n
	}
	return out
}

// covers reports whether p lies inside, not on the rim.
func (n *nofit) covers(p geom.Vec2) bool {
	d := p.Sub(n.at)
	for k, dir := range directions {
		if d.Dot(dir) >= n.reach[k]-slack {
			return false
		}
	}
	return true
}

// apart reports whether two such polygons cannot meet.
func (n *nofit) apart(m *nofit) bool {
	d := m.at.Sub(n.at)
	for k, dir := range directions {
		if d.Dot(dir) > n.reach[k]+m.reach[(k+sides/2)%sides] {
			return true
		}
	}
	return false
}

// candidates are the corners of what is free: those of the bed and of the
// polygons, and where their sides cross.
func (f *filling) candidates(around []nofit, in geom.Box) []geom.Vec2 {
	rim := [4]geom.Vec2{
		{X: in.Min.X, Y: in.Min.Y}, {X: in.Max.X, Y: in.Min.Y}, {X: in.Max.X, Y: in.Max.Y}, {X: in.Min.X, Y: in.Max.Y},
	}
	out := slices.Clone(rim[:])
	for i := range around {
		a := &around[i]
		out = append(out, a.corners[:]...)
		out = crossings(out, a.corners[:], rim[:])
		for j := range i {
			if b := &around[j]; !a.apart(b) {
				out = crossings(out, a.corners[:], b.corners[:])
			}
		}
	}
	return out
}

// crossings appends the points where the sides of two polygons cross.
func crossings(out, a, b []geom.Vec2) []geom.Vec2 {
	for i, p := range a {
		u := a[(i+1)%len(a)].Sub(p)
		for j, q := range b {
			v := b[(j+1)%len(b)].Sub(q)
			w := u.Cross(v)
			if w == 0 {
				continue
			}
			d := q.Sub(p)
			s, t := d.Cross(v)/w, d.Cross(u)/w
			if s >= 0 && s <= 1 && t >= 0 && t <= 1 {
				out = append(out, p.Add(u.Scale(s)))
			}
		}
	}
	return out
}

// centred moves all that stands on a bed into its middle.
func (f *filling) centred() Plate {
	b := geom.EmptyBox()
	for _, o := range f.stands {
		r := &o.shadow.reach
		b.Add(geom.Vec3{X: o.at.X - r[sides/2], Y: o.at.Y - r[3*sides/4]})
		b.Add(geom.Vec3{X: o.at.X + r[0], Y: o.at.Y + r[sides/4]})
	}
	dx := float64((f.bed.Width - b.Min.X - b.Max.X) / 2)
	dy := float64((f.bed.Depth - b.Min.Y - b.Max.Y) / 2)
	p := Plate{}
	for _, o := range f.stands {
		p.Places = append(p.Places, Place{o.part, o.quarters, geom.Vec3{X: o.at.X + dx, Y: o.at.Y + dy, Z: 0 - o.shadow.lowest}})
	}
	return p
}
