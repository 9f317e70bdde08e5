package workshop

import (
	"slices"

	"perch/compile/builtin"
	"perch/compile/value"
	"perch/lang/source"
)

// Came is what one hole or peg of a coupon came out at.
type Came struct {
	Drawn, Read value.Number
	At          source.Span
}

// Correction is what must be added to a wanted diameter so that it comes out
// right: the straight line through drawn less read over drawn, by least
// squares; with readings at one size only, their mean. It is positive where
// things come out small, as holes do.
type Correction struct {
	Came []Came // by ascending size
	// From is where the readings are written.
	From string
	line *builtin.Line // nil at one size
	// scatter numbers the sources of the scatter about the line.
	scatter []int
}

// practiceHole is what holes are taken to come out small by, on diameter, mm,
// and the limit of that: 0.1 to 0.3 mm, common practice.
var practiceHole = struct{ X, Limit float64 }{0.2, 0.1}

// FarOff is the limit of what a correction may be off by far from the sizes
// that were read, mm on diameter: common practice.
const FarOff = 0.05

// Reach returns from which to which wanted diameter, mm, the readings are
// trusted alone: a quarter below and above the one size that was read, or from
// half the smallest of several to twice the largest. Beyond, FarOff is added
// as the limit of a rectangular distribution (GUM 4.3.7).
func (c *Correction) Reach() (from, to float64) {
	first, last := c.ends()
	if first == last {
		return 0.75 * first, 1.25 * last
	}
	return first / 2, 2 * last
}

// wanted is At with what that may be off by far from the sizes read.
func (c *Correction) wanted(d float64, what string, source func(name string) int) value.Number {
	n := c.At(d)
	if from, to := c.Reach(); d < from || d > to {
		n = n.From(source(what+" far from the sizes read (common practice)"), value.Rectangular(FarOff))
	}
	return n
}

// NewCorrection fits the line. Scatter gives a number to each source of
// uncertainty that the scatter about the line brings.
func NewCorrection(came []Came, from string, scatter func() int) (*Correction, *value.Fault) {
	c := &Correction{Came: slices.Clone(came), From: from}
	slices.SortStableFunc(c.Came, func(a, b Came) int {
		switch {
		case a.Drawn.X < b.Drawn.X:
			return -1
		case a.Drawn.X > b.Drawn.X:
			return 1
		}
		return 0
	})
	if first, last := c.ends(); first == last {
		return c, nil
	}
	pairs := make([]value.Number, 0, 2*len(c.Came))
	for _, h := range c.Came {
		pairs = append(pairs, h.Drawn, h.off())
	}
	line, f := builtin.NewLine(pairs)
	if f != nil {
		return nil, f
	}
	c.line = line
	for range line.Scatter(0) {
		c.scatter = append(c.scatter, scatter())
	}
	return c, nil
}

// off is drawn less read.
func (h Came) off() value.Number {
	return value.Apply2(h.Drawn, h.Read, h.Drawn.X-h.Read.X, 1, -1, h.Drawn.Dim)
}

func (c *Correction) ends() (first, last float64) {
	return c.Came[0].Drawn.X, c.Came[len(c.Came)-1].Drawn.X
}

// At returns the correction for a wanted diameter. Beyond the sizes read it
// holds that of the nearest end: a line through six readings says nothing
// about a tube ten times as wide.
func (c *Correction) At(wanted float64) value.Number {
	first, last := c.ends()
	x := value.Length(min(max(wanted, first), last))
	if c.line == nil {
		sum := value.Length(0)
		share := 1 / float64(len(c.Came))
		for _, h := range c.Came {
			o := h.off()
			sum = value.Apply2(sum, o, sum.X+float64(o.X*share), 1, share, o.Dim)
		}
		return sum
	}
	n := c.line.At(x)
	for i, u := range c.line.Scatter(x.X) {
		n = n.From(c.scatter[i], u)
	}
	return n
}

// Practice is what holes are taken to come out small by when nothing was
// measured, with its limit as a rectangular distribution.
func Practice() value.Number {
	return value.Length(practiceHole.X).From(0, value.Rectangular(practiceHole.Limit))
}

// Sizes lists the drawn sizes that were read, each once.
func (c *Correction) Sizes() []float64 {
	var out []float64
	for _, h := range c.Came {
		if n := len(out); n == 0 || out[n-1] != h.Drawn.X {
			out = append(out, h.Drawn.X)
		}
	}
	return out
}

// HoleCorrection is what to add to the diameter of a hole; source numbers the
// uncertainty of common practice, where nothing was measured or only far away.
func (p *Profile) HoleCorrection(wanted float64, source func(name string) int) value.Number {
	p.note("hole")
	if p.Holes != nil {
		return p.Holes.wanted(wanted, "holes", source)
	}
	return value.Length(practiceHole.X).From(source("how small holes come out (common practice)"), value.Rectangular(practiceHole.Limit))
}

// PegCorrection is what to add to the diameter of a peg; 0 when nothing was
// measured. Source numbers the uncertainty of common practice.
func (p *Profile) PegCorrection(wanted float64, source func(name string) int) value.Number {
	p.note("peg")
	if p.Pegs != nil {
		return p.Pegs.wanted(wanted, "pegs", source)
	}
	return value.Length(0)
}
