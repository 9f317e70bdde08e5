package builtin

import (
	"errors"

	"perch/compile/solid"
	"perch/compile/value"
)

var loftHead = Head{
	Name: "loft",
	Area: true,
	Clauses: []Form{
		{"onto", "onto AREA", "the area at its top; borders are matched corner to corner or, with different numbers of corners, by their length"},
		{"by", "by L", "how high it stands on the bed"},
		{"from", "from z = A to z = B", fromDoc + ", in place of `by`"},
	},
	Doc:     "a body that leads from one area to another by straight walls",
	Example: "loft plate onto shrunk(plate, 2mm) by 6mm",
	Volume:  6. / 6 * (200 + 4*18*8 + 16*6), // prismatoid: h/6 (A + 4 M + B)
	Build:   buildLoft,
}

func buildLoft(c *Call) (*value.Body, bool) {
	area, ok := c.area()
	if !ok {
		return nil, false
	}
	cl := c.take("onto")
	if cl == nil {
		c.missing("second area", "add `onto` and the area at its top")
		return nil, false
	}
	if value.IsBad(cl.Args[0].Value) {
		return nil, false
	}
	v, f := mustKind("area").Take("`onto` takes", cl.Args[0].Value)
	if f != nil {
		c.fault(cl.Args[0].At, f)
		return nil, false
	}
	top := v.(*value.Area)
	lo, hi, ok := c.stretch(2, "height")
	if !ok {
		return nil, false
	}
	p, ok := c.rings(area)
	if !ok {
		return nil, false
	}
	q, err := top.Profile(c.Tolerance)
	switch {
	case err != nil:
		c.fault(cl.Args[0].At, areaFault(top, err))
		return nil, false
	case len(q) == 0:
		c.fault(cl.Args[0].At, value.Faultf(AreaEmpty, "nothing is left of the area %s", top.Name).Do("check what is cut away from it"))
		return nil, false
	}
	s := solid.LoftAreas(area.Profile, top.Profile, lo, hi)
	if err := solid.CheckLeaf(s, c.Tolerance); err != nil {
		c.fault(cl.At, loftFault(area, top, err))
		return nil, false
	}
	return &value.Body{Solid: s, Leaves: 1, Facets: 16 * (corners(p) + corners(q))}, true
}

func loftFault(a, b *value.Area, err error) *value.Fault {
	f := value.Faultf(ShapeTight, "no loft leads from %s to %s: %v", a.Name, b.Name, err)
	if errors.Is(err, solid.ErrUnlike) {
		return f.Do("loft the outsides, and cut a loft of the insides from it")
	}
	return f.Do("bring the two areas nearer to each other in shape and place")
}
