package builtin

import (
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/unit"
)

// moved returns the body moved by t, and its tube with it.
func moved(b *value.Body, t geom.Transform) *value.Body {
	m := *b
	m.Solid = b.Solid.Placed(t)
	m.Offset = after(b.Offset, func(o *value.Body) *value.Body { return moved(o, t) })
	if b.Tube != nil {
		m.Tube = &value.Tube{Point: t.Apply(b.Tube.Point), Dir: t.Dir(b.Tube.Dir), Radius: b.Tube.Radius}
	}
	return &m
}

// copies joins the body moved by each motion.
func copies(c *Call, cl *Clause, b *value.Body, n int, motion func(i int) geom.Transform) (*value.Body, bool) {
	if n == 1 {
		return moved(b, motion(0)), true
	}
	if n > MaxLeaves || b.Leaves*n > MaxLeaves || b.Facets*n > MaxFacets {
		return nil, c.withinLimits(cl.At, &value.Body{Leaves: satMul(b.Leaves, n), Facets: satMul(b.Facets, n)})
	}
	return copied(b, n, motion), true
}

func copied(b *value.Body, n int, motion func(i int) geom.Transform) *value.Body {
	all := make([]*solid.Body, n)
	for i := range all {
		all[i] = b.Solid.Placed(motion(i))
	}
	return &value.Body{
		Solid: solid.Join(all...), Endless: b.Endless, Leaves: b.Leaves * n, Facets: b.Facets * n,
		Offset: after(b.Offset, func(o *value.Body) *value.Body { return copied(o, n, motion) }),
	}
}

func satMul(a, b int) int {
	if a > 0 && b > math.MaxInt64/a {
		return math.MaxInt64
	}
	return a * b
}

var atPlacement = Placement{
	Word: "at", Text: "at (X, Y, Z)",
	Doc:     "moves the body; with (X, Y) it keeps its height",
	Example: "box width 2mm, depth 2mm, height 2mm at (5mm, 0, 1mm)",
	Volume:  8,
	Apply: func(c *Call, cl *Clause, b *value.Body) (*value.Body, bool) {
		s, ok := c.spot(cl, 0)
		return moved(b, geom.Move(s.vec())), ok
	},
}

// Turns returns the clauses `turned … about …` as one motion, the first first.
func (c *Call) Turns() (geom.Transform, bool) {
	t := geom.Identity()
	for _, cl := range c.Clauses {
		a, ok := c.quantity(cl, 0, "angle")
		if !ok {
			return t, false
		}
		ax, ok := c.axisOf(cl)
		if !ok {
			return t, false
		}
		t = t.Then(geom.Turn(geom.Vec3{}, ax.Dir, a.X))
	}
	return t, true
}

var turnedPlacement = Placement{
	Word: "turned", Text: "turned A about AXIS [through (X, Y, Z)]",
	Doc:     "turns the body, right-handed, about an axis through the origin or through a point",
	Example: "box width 2mm, depth 3mm, height 4mm turned 30deg about x",
	Volume:  24,
	Apply: func(c *Call, cl *Clause, b *value.Body) (*value.Body, bool) {
		a, ok := c.quantity(cl, 0, "angle")
		if !ok {
			return nil, false
		}
		ax, ok := c.axisOf(cl)
		if !ok {
			return nil, false
		}
		var through geom.Vec3
		if len(cl.Args) > 1 {
			s, ok := c.spot(cl, 1)
			if !ok {
				return nil, false
			}
			through = s.vec()
		}
		return moved(b, geom.Turn(through, ax.Dir, a.X)), true
	},
}

var mirroredPlacement = Placement{
	Word: "mirrored", Text: "mirrored about x = E",
	Doc:     "mirrors the body in a plane",
	Example: "box width 2mm, depth 3mm, from z = 0 to z = 4mm mirrored about z = 5mm",
	Volume:  24,
	Apply: func(c *Call, cl *Clause, b *value.Body) (*value.Body, bool) {
		ax, ok := c.axisOf(cl)
		if !ok {
			return nil, false
		}
		e, ok := c.position(cl, 0)
		if !ok {
			return nil, false
		}
		return moved(b, geom.MirrorPlane(ax.Dir.Scale(e), ax.Dir)), true
	},
}

var rowPlacement = Placement{
	Word: "row", Text: "in a row of N every P along AXIS",
	Doc:     "N copies, evenly about where the body stands",
	Example: "box width 2mm, depth 2mm, height 1mm in a row of 3 every 5mm along x",
	Volume:  12,
	Apply:   inRow,
}

func inRow(c *Call, cl *Clause, b *value.Body) (*value.Body, bool) {
	n, ok1 := c.whole(cl, 0)
	p, ok2 := c.size(cl, 1)
	ax, ok3 := c.axisOf(cl)
	if !ok1 || !ok2 || !ok3 {
		return nil, false
	}
	if n <= MaxLeaves && !c.near(cl.At, value.Length(float64(float64(n-1)*p.X)/2)) {
		return nil, false
	}
	return copies(c, cl, b, n, func(i int) geom.Transform {
		return geom.Move(ax.Dir.Scale(float64((float64(i) - float64(n-1)/2) * p.X)))
	})
}

var ringPlacement = Placement{
	Word: "ring", Text: "in a ring of N about AXIS [every A]",
	Doc:     "N copies about an axis through the origin; the first stays where it is, the others follow right-handed, evenly over the full turn when no angle is told",
	Example: "box width 2mm, depth 2mm, height 1mm at (10mm, 0) in a ring of 4 about z",
	Volume:  16,
	Apply:   inRing,
}

func inRing(c *Call, cl *Clause, b *value.Body) (*value.Body, bool) {
	n, ok := c.whole(cl, 0)
	if !ok {
		return nil, false
	}
	ax, ok := c.axisOf(cl)
	if !ok {
		return nil, false
	}
	step := 2 * math.Pi / float64(n)
	if len(cl.Args) > 1 {
		a, ok := c.quantity(cl, 1, "angle")
		if !ok {
			return nil, false
		}
		if step = a.X; step == 0 && n > 1 {
			c.Report(diag.Diagnostic{Code: SizeNotAbove0, At: cl.Args[1].At,
				Message: "the copies of this ring all stand in one place: the step is 0",
				Notes:   []string{diag.Do("give the angle from one to the next, or leave `every` out")}})
			return nil, false
		}
	}
	return copies(c, cl, b, n, func(i int) geom.Transform {
		return geom.Turn(geom.Vec3{}, ax.Dir, float64(float64(i)*step))
	})
}

var aroundPlacement = Placement{
	Word: "around", Text: "around TUBE at A",
	Doc: "puts a body, drawn standing on z = 0 at the origin, on the surface of a tube: z becomes outward, y runs along the tube. " +
		"The angle counts from the top of the tube, or from x when it is upright, right-handed about its direction",
	Example: "box width 4mm, depth 6mm, height 5mm around (cylinder radius 30mm, along y) at 20deg",
	Volume:  120,
	Apply:   aroundTube,
}

func aroundTube(c *Call, cl *Clause, b *value.Body) (*value.Body, bool) {
	tube, a, ok := c.tubeAt(cl)
	if !ok {
		return nil, false
	}
	return moved(b, OnTube(tube, a)), true
}

// OnTube returns the motion that puts what stands on z = 0 at the origin on
// the surface of a tube, at an angle (radians) from its top, or from x when
// the tube is upright, right-handed about its direction.
func OnTube(t *value.Tube, angle float64) geom.Transform {
	y := t.Dir
	var top geom.Vec3
	if math.Hypot(y.X, y.Y) < 1e-9 {
		y = geom.Vec3{Z: math.Copysign(1, y.Z)}
		top = geom.Vec3{X: 1}
	} else {
		top = geom.Vec3{Z: 1}.Sub(y.Scale(y.Z)).Unit()
	}
	out := geom.Turn(geom.Vec3{}, y, angle).Dir(top)
	x := y.Cross(out)
	return geom.Transform{
		R: [3]geom.Vec3{{X: x.X, Y: y.X, Z: out.X}, {X: x.Y, Y: y.Y, Z: out.Y}, {X: x.Z, Y: y.Z, Z: out.Z}},
		T: t.Point.Add(out.Scale(t.Radius.As(unit.Length).X)),
	}
}
