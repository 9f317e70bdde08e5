package check

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"

	"perch/compile/builtin"
	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/unit"
)

// Query is something a check can ask of the finished part that is worked out
// on its mesh, and only when asked.
type Query struct {
	Name string // in words: "tip angle"
	Link string // the word that brings in a body, or ""
	Dim  unit.Dim
	Flag bool // the answer is yes or no
	Doc  string
	// Source of the rule or the limit that people use.
	Source  string
	Example string // a check
	Change  string // what to change when it fails
	Find    func(p *Finished, to *value.Body, limit float64) Finding
}

// Finding is the answer to a Query.
type Finding struct {
	Value   float64 // of a Flag: 1 for yes
	Unknown string  // why it cannot be told, or ""
	Where   string
	Places  []diag.Place
}

// Queries lists what can be asked.
var Queries = []Query{
	fitsBed, firstLayer, overhang, wall, gap, looseIslands, leastTime, tipAngle, gapTo, clearanceTo,
}

// LookupQuery returns the query of that name and link.
func LookupQuery(name, link string) (*Query, bool) {
	for i := range Queries {
		if Queries[i].Name == name && Queries[i].Link == link {
			return &Queries[i], true
		}
	}
	return nil, false
}

// Phrases lists the queries as they are written.
func Phrases() []string {
	var out []string
	for _, q := range Queries {
		if q.Link != "" {
			out = append(out, q.Name+" "+q.Link+" BODY")
		} else {
			out = append(out, q.Name)
		}
	}
	return out
}

// Workshop is what a check must know of the printer. Lengths are in mm.
type Workshop interface {
	Bed() geom.Vec3  // what can be printed
	Line() float64   // width of a track
	Layer() float64  // height of a layer
	Bridge() float64 // the longest bridge
	Flow() float64   // mean, mm³/s
}

// Practice is a common desktop printer with a nozzle of 0.4 mm. The values are
// common practice; bridges up to 10 mm are printed by most design tables.
type Practice struct{}

// Bed implements Workshop.
func (Practice) Bed() geom.Vec3 { return geom.Vec3{X: 220, Y: 220, Z: 220} }

// Line implements Workshop.
func (Practice) Line() float64 { return 0.45 }

// Layer implements Workshop.
func (Practice) Layer() float64 { return 0.2 }

// Bridge implements Workshop.
func (Practice) Bridge() float64 { return 10 }

// Flow implements Workshop.
func (Practice) Flow() float64 { return 8 }

// Finished is a built part. What is costly is done once, when first asked.
type Finished struct {
	Mesh *mesh.Mesh
	Shop Workshop
	// Material is what the part is printed in, or nil when that is not known.
	Material *builtin.Material

	once sync.Once
	tree *mesh.Tree
}

// Tree returns the tree of the mesh.
func (p *Finished) Tree() *mesh.Tree {
	p.once.Do(func() { p.tree = mesh.NewTree(p.Mesh) })
	return p.tree
}

// flat is how far from the lowest point a face still lies on the bed, mm.
const flat = 0.02

func placeOf(b geom.Box) diag.Place {
	return diag.Place{b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z}
}

func spot(ps ...geom.Vec3) (string, []diag.Place) {
	b := geom.EmptyBox()
	for _, p := range ps {
		b.Add(p)
	}
	m := b.Min.Add(b.Max).Scale(0.5)
	return fmt.Sprintf("at x %.1f, y %.1f, z %.1f mm", m.X, m.Y, m.Z), []diag.Place{placeOf(b)}
}

// mate builds a body that is not printed; an endless one is cut off 20 mm
// beyond the part.
func (p *Finished) mate(b *value.Body) (*mesh.Tree, error) {
	s := b.Solid
	if b.Endless {
		box := p.Mesh.Bounds()
		m := geom.Vec3{X: 20, Y: 20, Z: 20}
		s = solid.Trim(s, solid.Box(box.Min.Sub(m), box.Max.Add(m)))
	}
	m, err := solid.Build(context.Background(), s, solid.Options{})
	if err != nil {
		return nil, err
	}
	return mesh.NewTree(m), nil
}

var fitsBed = Query{
	Name: "fits bed", Flag: true, Doc: "whether the part fits the printer's bed, either way round",
	Source: "a bed of 220 x 220 x 220 mm, common practice", Example: "fits bed",
	Change: "divide the part, or turn it",
	Find: func(p *Finished, _ *value.Body, _ float64) Finding {
		s, b := p.Mesh.Bounds().Size(), p.Shop.Bed()
		f := Finding{Where: fmt.Sprintf("the part is %.1f x %.1f x %.1f mm, the bed %g x %g x %g mm", s.X, s.Y, s.Z, b.X, b.Y, b.Z)}
		if s.Z <= b.Z && (s.X <= b.X && s.Y <= b.Y || s.X <= b.Y && s.Y <= b.X) {
			f.Value = 1
		}
		return f
	},
}

var firstLayer = Query{
	Name: "first layer", Dim: unit.AreaDim, Doc: "the area that lies flat on the bed",
	Source: "plane geometry", Example: "first layer >= 40mm^2",
	Change: "give the part a flat face to stand on",
	Find: func(p *Finished, _ *value.Body, _ float64) Finding {
		area, box, _ := p.Tree().Foot(flat)
		f := Finding{Value: area}
		if !box.Empty() {
			f.Places = []diag.Place{placeOf(box)}
		}
		return f
	},
}

var overhang = Query{
	Name: "overhang", Dim: unit.Angle, Doc: "the steepest lean from upright outside of bridges",
	Source: "45 degrees from upright without support: design tables of filament printing, common practice", Example: "overhang <= 45deg",
	Change: "bevel below what hangs over, turn the part, or support it",
	Find: func(p *Finished, _ *value.Body, limit float64) Finding {
		t := p.Tree()
		if math.IsNaN(limit) {
			limit = math.Pi / 4
		}
		f := Finding{}
		area, bridges := 0.0, 0
		for _, o := range t.Overhangs(limit, flat) {
			switch {
			case o.Bridge <= p.Shop.Bridge():
				bridges++
			case o.Area >= p.Shop.Line()*p.Shop.Line(): // less is finer than the nozzle lays
				f.Value = max(f.Value, o.Angle)
				area += o.Area
				f.Places = append(f.Places, placeOf(o.Box))
			}
		}
		if len(f.Places) > 0 {
			f.Where = fmt.Sprintf("%.1f mm2 lean more, in %d places, the first from z %.1f mm up", area, len(f.Places), f.Places[0][2])
		}
		if bridges > 0 {
			f.Where = strings.TrimPrefix(f.Where+fmt.Sprintf("; %d bridges of at most %g mm are left out", bridges, p.Shop.Bridge()), "; ")
		}
		if f.Value > 0 {
			return f
		}
		bed := p.Mesh.Bounds().Min.Z + flat
		for i := range p.Mesh.Triangles {
			a, b, c := p.Mesh.Corners(i)
			if l := t.Lean(i); l <= limit && max(a.Z, b.Z, c.Z) > bed {
				f.Value = max(f.Value, l)
			}
		}
		return f
	},
}

func thinnest(side mesh.Side, none string) func(*Finished, *value.Body, float64) Finding {
	return func(p *Finished, _ *value.Body, _ float64) Finding {
		s, _, ok := p.Tree().Thinnest(side)
		if !ok {
			return Finding{Unknown: none}
		}
		f := Finding{Value: s.Length}
		f.Where, f.Places = spot(s.A, s.B)
		return f
	}
}

var wall = Query{
	Name: "wall", Dim: unit.Length, Doc: "the thinnest wall, measured across it on the mesh",
	Source: "0.8 mm, two lines of a 0.4 mm nozzle, 1.2 mm where it carries: design tables of filament printing", Example: "wall >= 1.2mm",
	Change: "thicken the wall there", Find: thinnest(mesh.Walls, "no two faces of the part are the sides of a wall"),
}

var gap = Query{
	Name: "gap", Dim: unit.Length, Doc: "the narrowest gap between two faces of the part",
	Source: "plane geometry", Example: "gap >= 0.4mm",
	Change: "widen the gap there, or close it", Find: thinnest(mesh.Gaps, "no two faces of the part look at each other"),
}

var looseIslands = Query{
	Name: "loose islands", Doc: "the number of places that are begun in the air, with nothing below",
	Source: "a layer needs something below it", Example: "loose islands = 0",
	Change: "let them stand on something, or turn the part",
	Find: func(p *Finished, _ *value.Body, _ float64) Finding {
		list := p.Mesh.Islands(p.Shop.Layer())
		f := Finding{Value: float64(len(list))}
		for _, s := range list {
			w, at := spot(s.At)
			if f.Where == "" {
				f.Where = w
			}
			f.Places = append(f.Places, at...)
		}
		return f
	},
}

var leastTime = Query{
	Name: "least time", Dim: unit.Time, Doc: "a lower bound of the printing time: the solid volume by a mean flow",
	Source: "time = volume / mean flow; 8 mm3/s, common practice", Example: "least time <= 90min",
	Change: "make the part smaller or hollow",
	Find: func(p *Finished, _ *value.Body, _ float64) Finding {
		return Finding{
			Value: p.Mesh.Volume() / p.Shop.Flow(),
			Where: fmt.Sprintf("printed solid at %g mm3/s; travel, layer changes and heating come on top", p.Shop.Flow()),
		}
	},
}

var tipAngle = Query{
	Name: "tip angle", Dim: unit.Angle, Doc: "the slope at which the part tips over in the worst direction, standing on what touches the bed",
	Source: "statics: atan(distance from centre of mass to the edge / its height)", Example: "tip angle >= 15deg",
	Change: "widen the foot, or lower the mass",
	Find: func(p *Finished, _ *value.Body, _ float64) Finding {
		_, _, hull := p.Tree().Foot(flat)
		c := p.Mesh.Centroid()
		f := Finding{Where: fmt.Sprintf("the centre of mass is at x %.1f, y %.1f, z %.1f mm", c.X, c.Y, c.Z)}
		if len(hull) < 3 {
			f.Unknown = "the part stands on a line or a point"
			return f
		}
		least := math.Inf(1)
		for i, a := range hull {
			side := hull[(i+1)%len(hull)].Sub(a)
			least = min(least, side.Cross(geom.Vec2{X: c.X, Y: c.Y}.Sub(a))/side.Len())
		}
		f.Value = math.Atan2(least, c.Z-p.Mesh.Bounds().Min.Z)
		return f
	},
}

var clearanceTo = Query{
	Name: "clearance", Link: "to", Dim: unit.Length, Doc: "the least distance between the part and a body; 0 when they touch or overlap",
	Source: "exact distance of the two meshes", Example: "clearance to pipe >= 0.2mm",
	Change: "cut the part further away there",
	Find: func(p *Finished, to *value.Body, _ float64) Finding {
		t, err := p.mate(to)
		if err != nil {
			return Finding{Unknown: err.Error()}
		}
		s, ok := mesh.Between(p.Tree(), t)
		if !ok {
			return Finding{Unknown: "there is nothing to measure to"}
		}
		f := Finding{Value: s.Length}
		f.Where, f.Places = spot(s.A, s.B)
		return f
	},
}

// seat is how much farther than the nearest place a face may be from the
// other body and still belong to the seat, mm.
const seat = 1.0

var gapTo = Query{
	Name: "gap", Link: "to", Dim: unit.Length,
	Doc:    "the largest gap over the seat: the faces that look at a body, within 30 degrees, and are at most 1 mm farther from it than the nearest place",
	Source: "distance of the two meshes along the face", Example: "gap to pipe <= 0.15mm",
	Change: "let the seat follow the body: `cut` the part with it",
	Find: func(p *Finished, to *value.Body, _ float64) Finding {
		t, err := p.mate(to)
		if err != nil {
			return Finding{Unknown: err.Error()}
		}
		own := p.Tree()
		near, ok := mesh.Between(own, t)
		if !ok {
			return Finding{Unknown: "there is nothing to measure to"}
		}
		f, found := Finding{}, false
		for i := range p.Mesh.Triangles {
			n := own.Normals[i]
			p.Mesh.Sample(i, 2, func(q geom.Vec3) {
				// From a little behind the face, so that one that touches counts.
				const back = 0.01
				j, at, ok := t.Ray(q.Sub(n.Scale(back)), n, near.Length+seat+back, nil)
				if !ok || t.Normals[j].Dot(n) > -math.Cos(mesh.Opposed) {
					return
				}
				if d := max(0, at-back); !found || d > f.Value {
					found, f.Value = true, d
					f.Where, f.Places = spot(q)
				}
			})
		}
		if !found {
			return Finding{Unknown: "no face of the part looks at this body"}
		}
		return f
	},
}
