package value

import (
	"math"

	"perch/lang/unit"
)

// Number is a quantity in base units (mm, rad, g, s, K).
type Number struct {
	X   float64
	Dim unit.Dim
	// Any marks the bare 0, which fits every dimension.
	Any bool
	// U lists what each measurement contributes to the standard uncertainty,
	// by ascending source: the partial derivative times the standard
	// uncertainty of the source, in base units, with its sign.
	U []Contribution
}

// Contribution is ∂X/∂s·u(s) for one source s.
type Contribution struct {
	Source int // number of the measurement in the order of evaluation
	C      float64
}

// Plain returns a number without a dimension.
func Plain(x float64) Number { return Number{X: x} }

// Length returns x millimetres.
func Length(x float64) Number { return Number{X: x, Dim: unit.Length} }

// Angle returns x radians.
func Angle(x float64) Number { return Number{X: x, Dim: unit.Angle} }

// Of returns x base units of dimension d.
func Of(x float64, d unit.Dim) Number { return Number{X: x, Dim: d} }

// String prints the number in the unit a workshop would use.
func (n Number) String() string { return unit.Format(n.X, n.Dim) }

// Uncertainty returns the combined standard uncertainty in base units for
// sources that do not depend on each other. Source: JCGM 100:2008 (GUM),
// 5.1.2.
func (n Number) Uncertainty() float64 {
	var s float64
	for _, c := range n.U {
		s += float64(c.C * c.C)
	}
	return math.Sqrt(s)
}

// Whole returns the number as a whole number; ok is false when it is none or
// has a dimension.
func (n Number) Whole() (k int, ok bool) {
	r := math.Round(n.X)
	if n.Dim != unit.None || !(math.Abs(n.X-r) <= 1e-9) || math.Abs(r) > 1e15 {
		return 0, false
	}
	return int(r), true
}

// Finite reports whether the number is neither infinite nor undefined.
func (n Number) Finite() bool { return !math.IsNaN(n.X) && !math.IsInf(n.X, 0) }

// As gives a bare 0 the dimension d; other numbers stay as they are.
func (n Number) As(d unit.Dim) Number {
	if n.Any {
		n.Dim, n.Any = d, false
	}
	return n
}

// spread returns Σ kᵢ·Uᵢ over the contributions of several numbers.
func spread(k1 float64, u1 []Contribution, k2 float64, u2 []Contribution) []Contribution {
	if len(u1) == 0 && len(u2) == 0 {
		return nil
	}
	out := make([]Contribution, 0, len(u1)+len(u2))
	for len(u1) > 0 || len(u2) > 0 {
		switch {
		case len(u2) == 0 || len(u1) > 0 && u1[0].Source < u2[0].Source:
			out = append(out, Contribution{u1[0].Source, float64(k1 * u1[0].C)})
			u1 = u1[1:]
		case len(u1) == 0 || u2[0].Source < u1[0].Source:
			out = append(out, Contribution{u2[0].Source, float64(k2 * u2[0].C)})
			u2 = u2[1:]
		default:
			out = append(out, Contribution{u1[0].Source, float64(k1*u1[0].C) + float64(k2*u2[0].C)})
			u1, u2 = u1[1:], u2[1:]
		}
	}
	return out
}

// Apply returns f(n) = x of dimension d, where slope is the derivative of f.
func (n Number) Apply(x, slope float64, d unit.Dim) Number {
	return Number{X: x, Dim: d, U: spread(slope, n.U, 0, nil)}
}

// Apply2 returns f(a, b) = x of dimension d with the two partial derivatives.
func Apply2(a, b Number, x, da, db float64, d unit.Dim) Number {
	return Number{X: x, Dim: d, U: spread(da, a.U, db, b.U)}
}

// Measured returns the mean of the readings, with the uncertainty of a
// measurement numbered source: that of the mean, s/√n (GUM 4.2.3), and that
// of the instrument, stated as a standard uncertainty, added by squares. A
// reading that was worked out from other measurements keeps what it has from
// them.
func Measured(readings []Number, stated float64, source int) Number {
	n := float64(len(readings))
	m := Number{Dim: readings[0].Dim}
	var s2 float64
	for _, r := range readings {
		m.X += r.X / n
		m.U = spread(1, m.U, 1/n, r.U)
	}
	for _, r := range readings {
		s2 += float64((r.X - m.X) * (r.X - m.X))
	}
	u := stated
	if n > 1 {
		u = math.Hypot(stated, math.Sqrt(s2/(n-1)/n))
	}
	return m.From(source, u)
}

// From adds a source of its own to a number, with its standard uncertainty.
func (n Number) From(source int, u float64) Number {
	if u != 0 {
		n.U = spread(1, n.U, 1, []Contribution{{source, u}})
	}
	return n
}

// Rectangular is the standard uncertainty of a value known to lie within
// ±limit, anywhere in it alike: limit/√3 (GUM 4.3.7).
func Rectangular(limit float64) float64 { return limit / math.Sqrt(3) }

// Share is the part, from 0 to 1, that one source has in the variance of n.
func (n Number) Share(source int) float64 {
	var all, own float64
	for _, c := range n.U {
		all += float64(c.C * c.C)
		if c.Source == source {
			own = float64(c.C * c.C)
		}
	}
	if all == 0 {
		return 0
	}
	return own / all
}
