package builtin

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

// The rule of place: what is not told where it is stands on the bed, centred.
// Along z a body runs from 0 up, along x and y it lies evenly about 0.

const (
	centreDoc = "the middle of the body; (x, y) leaves it standing on the bed"
	fromDoc   = "both ends along one axis"
)

var boxHead = Head{
	Name: "box",
	Clauses: []Form{
		{"width", "width L", "the extent along x"},
		{"depth", "depth L", "the extent along y"},
		{"height", "height L", "the extent along z"},
		{"from", "from z = A to z = B", fromDoc + ", in place of its size"},
		{"centre", "centre (X, Y, Z)", centreDoc},
	},
	Doc:     "a box with its sides along x, y and z",
	Example: "box width 3mm, depth 4mm, from z = -1mm to z = 4mm",
	Volume:  3 * 4 * 5,
	Build:   buildBox,
}

func buildBox(c *Call) (*value.Body, bool) {
	centre, ok := c.centre()
	var lo, hi [3]float64
	for i, word := range []string{"width", "depth", "height"} {
		a, b, good := c.extent(i, word, centre)
		lo[i], hi[i], ok = a, b, ok && good
	}
	if !ok {
		return nil, false
	}
	return plainBox(geom.Vec3{X: lo[0], Y: lo[1], Z: lo[2]}, geom.Vec3{X: hi[0], Y: hi[1], Z: hi[2]}), true
}

func plainBox(lo, hi geom.Vec3) *value.Body {
	return &value.Body{Solid: solid.Box(lo, hi), Leaves: 1, Facets: 6, Offset: boxOffset(lo, hi)}
}

// centre reads the clause centre, or returns an empty spot.
func (c *Call) centre() (spot, bool) {
	if cl := c.take("centre"); cl != nil {
		return c.spot(cl, 0)
	}
	return spot{}, true
}

// extent settles one axis of a box.
func (c *Call) extent(axis int, word string, centre spot) (lo, hi float64, ok bool) {
	size, from := c.take(word), c.takeFrom("xyz"[axis:axis+1])
	switch {
	case size != nil && from != nil:
		c.both(size, from, "the "+word)
		return 0, 0, false
	case from != nil:
		lo, hi, ok = c.span(from)
		return lo, hi, ok && c.centreAgrees(centre, axis, lo, hi)
	case size == nil:
		c.missing(word, fmt.Sprintf("add `%s` and a length, or `from %c = … to %c = …`", word, "xyz"[axis], "xyz"[axis]))
		return 0, 0, false
	}
	n, ok := c.size(size, 0)
	lo, hi = c.spread(axis, n.X, centre)
	return lo, hi, ok
}

// spread places a size by the rule of place or about a centre.
func (c *Call) spread(axis int, size float64, centre spot) (lo, hi float64) {
	switch {
	case centre.set[axis]:
		return centre.p[axis] - size/2, centre.p[axis] + size/2
	case axis == 2:
		return 0, size
	}
	return -size / 2, size / 2
}

// centreAgrees reports a centre that contradicts `from` on the same axis; a
// bare 0 says nothing.
func (c *Call) centreAgrees(s spot, axis int, lo, hi float64) bool {
	if !s.set[axis] || s.any[axis] || math.Abs(s.p[axis]-(lo+hi)/2) <= 1e-9 {
		return true
	}
	c.Report(diag.Diagnostic{
		Code: ClauseTwice, At: s.at, Message: fmt.Sprintf("the place along %c is told twice: by `from` and by `centre`", "xyz"[axis]),
		Notes: []string{diag.Do(fmt.Sprintf("write 0 for %c in the centre, or a size in place of `from`", "xyz"[axis]))},
	})
	return false
}
