package check

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/lang/unit"
)

// This file bends an arm of the finished part: a beam held at one point and
// loaded at another, its sections those of the mesh.

func onArm(dims ...unit.Dim) []Link {
	return []Link{{Word: "of", Takes: Quantity, Dims: dims}, {Word: "at", Takes: Place}, {Word: "from", Takes: Place}}
}

// stations is how many sections an arm is looked at in: the sag of an even arm
// comes out short by one part in 4 stations².
const stations = 48

// arm is a beam along a straight line.
type arm struct {
	length float64
	along  geom.Vec3
	// give is ∫ (L - s)² J⁻¹ ds, mm: the tip moves by F/E times give times the
	// direction of the load, in the two directions across the arm.
	give [3]float64 // xx, xy, yy
	// bends is the greatest (L - s)·|J⁻¹ r| over the outlines of the sections,
	// 1/mm²: the stress in the worst direction for a load of 1.
	bends float64
	worst geom.Vec3 // where
}

// newArm looks at the part between two points; none is why it cannot.
func newArm(m *mesh.Mesh, g *Given) (a *arm, none string) {
	from, at := g.Get("from").Point, g.Get("at").Point
	d := at.Sub(from)
	a = &arm{length: d.Len()}
	if a.length < 1e-6 {
		return nil, "the load stands where the arm is held"
	}
	a.along = d.Scale(1 / a.length)
	step := a.length / stations
	for k := range stations {
		s := float64((float64(k) + 0.5) * step)
		c, ok := newSection(m, from.Add(a.along.Scale(s)), a.along)
		if !ok {
			return nil, fmt.Sprintf("there is nothing of the part at %s, between where it is held and the load", coordinates(from.Add(a.along.Scale(s))))
		}
		w := float64(step * (a.length - s) * (a.length - s))
		for i, x := range c.inverse() {
			a.give[i] += float64(w * x)
		}
		if k == 0 { // the root bends most in an even arm
			if r, ok := newSection(m, from.Add(a.along.Scale(min(0.01, step/2))), a.along); ok {
				a.stress(r, a.length)
			}
		}
		a.stress(c, a.length-s)
	}
	return a, ""
}

func (a *arm) stress(c *section, lever float64) {
	j := c.inverse()
	for i, p := range c.rim {
		x := float64(j[0]*p.X) + float64(j[1]*p.Y)
		y := float64(j[1]*p.X) + float64(j[2]*p.Y)
		if b := float64(lever * math.Hypot(x, y)); b > a.bends {
			a.bends, a.worst = b, c.places[i]
		}
	}
}

// softness is the greatest eigenvalue of give: the direction that gives way
// most, for a mount may turn the arm any way.
func (a *arm) softness() float64 {
	half, mean := float64((a.give[0]-a.give[2])/2), float64((a.give[0]+a.give[2])/2)
	return mean + math.Hypot(half, a.give[1])
}

// section is a cut through an arm about its centre of area.
type section struct {
	xx, xy, yy float64 // ∫ x², ∫ xy, ∫ y², mm⁴
	rim        []geom.Vec2
	places     []geom.Vec3
}

// newSection cuts the mesh square to the arm. Source: the moments of a polygon
// by Green's theorem.
func newSection(m *mesh.Mesh, point, normal geom.Vec3) (*section, bool) {
	u := normal.Cross(geom.Vec3{X: 1})
	if math.Abs(normal.X) > 0.9 {
		u = normal.Cross(geom.Vec3{Y: 1})
	}
	u = u.Unit()
	v := normal.Cross(u)
	c := &section{}
	var area, sx, sy float64
	for _, ring := range m.Section(point, normal) {
		for i, p := range ring {
			d := p.Sub(point)
			c.rim, c.places = append(c.rim, geom.Vec2{X: d.Dot(u), Y: d.Dot(v)}), append(c.places, p)
			e := ring[(i+1)%len(ring)].Sub(point)
			x0, y0, x1, y1 := d.Dot(u), d.Dot(v), e.Dot(u), e.Dot(v)
			w := float64(x0*y1) - float64(x1*y0)
			area += w / 2
			sx += float64(w*(x0+x1)) / 6
			sy += float64(w*(y0+y1)) / 6
			c.xx += float64(w*(float64(x0*x0)+float64(x0*x1)+float64(x1*x1))) / 12
			c.yy += float64(w*(float64(y0*y0)+float64(y0*y1)+float64(y1*y1))) / 12
			c.xy += float64(w*(float64(x0*y1)+float64(2*x0*y0)+float64(2*x1*y1)+float64(x1*y0))) / 24
		}
	}
	if math.Abs(area) < 1e-6 {
		return nil, false
	}
	if area < 0 {
		area, sx, sy, c.xx, c.xy, c.yy = -area, -sx, -sy, -c.xx, -c.xy, -c.yy
	}
	x, y := sx/area, sy/area
	c.xx -= float64(area * x * x)
	c.xy -= float64(area * x * y)
	c.yy -= float64(area * y * y)
	for i := range c.rim {
		c.rim[i] = c.rim[i].Sub(geom.Vec2{X: x, Y: y})
	}
	return c, true
}

// inverse returns J⁻¹ as xx, xy, yy.
func (c *section) inverse() [3]float64 {
	det := float64(c.xx*c.yy) - float64(c.xy*c.xy)
	return [3]float64{c.yy / det, -c.xy / det, c.xx / det}
}

// load is what pulls on the arm, a force or the weight of a mass.
func load(g *Given) float64 {
	x := g.Get("of").X
	if x.Dim == unit.Mass {
		return float64(x.X * gravity)
	}
	return x.X
}

const beamRule = "a beam held at one point and loaded at the other, with the sections of the mesh, in the direction that gives way most: a mount turns it any way"

const beamSource = "Euler-Bernoulli beam with unsymmetric bending; flexural modulus of the printed material"

var sagOf = Query{
	Name: "sag", Links: onArm(unit.Mass, unit.Force), Dim: unit.Length,
	Doc:     "how far an arm of the part gives way under a mass or a force at a point, held at another, in the worst pose",
	Formula: "F/E ∫ (L - s)² J⁻¹ ds: " + beamRule,
	Source:  beamSource, Example: "sag of 180g at (0, 60mm, 4mm) from (0, 0, 4mm) <= 0.15mm",
	Change: "make the arm deeper (twice as deep sags an eighth), shorter, or of a stiffer plastic",
	Find: func(p *Finished, g *Given) Finding {
		a, none := newArm(p.Mesh, g)
		switch {
		case none != "":
			return Finding{Unknown: none}
		case !p.Material.Bending.Known():
			return Finding{Unknown: "the flexural modulus is not known of " + p.Material.Name}
		}
		x := load(g) * a.softness() / p.Material.Bending.X
		return Finding{Value: x, Where: fmt.Sprintf("in time about twice that, %s: plastics creep (modulus halved)", unit.Format(2*x, unit.Length))}
	},
}

var stressOf = Query{
	Name: "bending stress", Links: onArm(unit.Mass, unit.Force), Dim: unit.Pressure,
	Doc:     "the greatest stress in an arm of the part under a mass or a force at a point, held at another, in the worst pose",
	Formula: "F (L - s) |J⁻¹ r| at the outline of the worst section: " + beamRule,
	Source:  beamSource, Example: "bending stress of 180g at (0, 60mm, 4mm) from (0, 0, 4mm) <= 6MPa",
	Change: "make the arm deeper there, round the corner at its root, or print it so that it pulls along the layers",
	Find: func(p *Finished, g *Given) Finding {
		a, none := newArm(p.Mesh, g)
		if none != "" {
			return Finding{Unknown: none}
		}
		f := Finding{Value: load(g) * a.bends}
		f.Where, f.Places = spot(a.worst)
		f.Where += "; " + p.layers(a.along)
		return f
	},
}

// layers tells how an arm lies to the layers, and what is known of that.
func (p *Finished) layers(along geom.Vec3) string {
	m := &p.Material
	if math.Abs(along.Dot(p.up())) < math.Sqrt2/2 {
		if m.Strength.Known() {
			return fmt.Sprintf("it pulls along the layers, where %s holds %s", m.Name, unit.Format(m.Strength.X, unit.Pressure))
		}
		return "it pulls along the layers"
	}
	if m.Across.Known() {
		return fmt.Sprintf("it pulls across the layers, where %s holds %s", m.Name, unit.Format(m.Across.X, unit.Pressure))
	}
	return "it pulls across the layers, where prints hold half as much or less"
}

var frequencyOf = Query{
	Name: "first frequency", Links: onArm(unit.Mass), Dim: unit.Frequency,
	Doc:     "the frequency at which a mass at a point swings on an arm of the part, held at another point, in the softest direction",
	Formula: "sqrt(k/m)/(2 pi), k the load by the sag; the mass of the arm is left out",
	Source:  beamSource, Example: "first frequency of 180g at (0, 60mm, 4mm) from (0, 0, 4mm) >= 30Hz",
	Change: "make the arm deeper or shorter",
	Find: func(p *Finished, g *Given) Finding {
		a, none := newArm(p.Mesh, g)
		switch m := g.Get("of").X.X; {
		case none != "":
			return Finding{Unknown: none}
		case !p.Material.Bending.Known():
			return Finding{Unknown: "the flexural modulus is not known of " + p.Material.Name}
		case m <= 0:
			return Finding{Unknown: "what swings must have a mass"}
		default:
			k := p.Material.Bending.X / a.softness()
			return Finding{Value: math.Sqrt(k/m) / (2 * math.Pi), Where: "without damping and without the mass of the arm"}
		}
	},
}

var softeningAt = Query{
	Name: "softening margin", Links: []Link{{Word: "at", Takes: Quantity, Dims: []unit.Dim{unit.Temperature}}}, Dim: unit.Temperature, Unit: "K",
	Doc:     "how far the part's plastic stays below its softening at a temperature in degC; a parked car reaches 65 degC",
	Formula: "the temperature of deflection under 0.45 MPa less the temperature of use",
	Source:  "ISO 75, figures of the material; a margin of 15 K is common practice", Example: "softening margin at 50degC >= 15K",
	Change: "print it in a plastic that softens later; `perch check --materials` compares them",
	Find: func(p *Finished, g *Given) Finding {
		s := p.Material.Softens
		if !s.Known() {
			return Finding{Unknown: "the softening temperature is not known of " + p.Material.Name}
		}
		return Finding{Value: s.X - g.Get("at").X.X, Where: fmt.Sprintf("%s softens at about %g degC", p.Material.Name, s.X)}
	},
}
