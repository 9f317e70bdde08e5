package builtin

import (
	"math"

	"perch/compile/geom"
	"perch/compile/sketch"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
)

// NoAllowance is the code of a body that cannot be grown or shrunk.
const NoAllowance diag.Code = "no-allowance"

// Fitted returns a body with all its faces moved outward by an allowance per
// side, inward where that is below 0: exactly, corners kept sharp. Bodies that
// cannot be moved exactly are a fault.
func Fitted(b *value.Body, by value.Allowance) (*value.Body, *value.Fault) {
	if b.Offset == nil {
		return nil, value.Faultf(NoAllowance, "this body takes no allowance").
			Why("a box, a cylinder, a ball and a plain extrusion can grow or shrink all round, placed or copied or joined; not what is cut, tapered, bevelled, rounded, hollowed, revolved or lofted").
			Do("give the allowance to the plain body before the rest is done to it, or draw it in by hand with `fit.….per_side`")
	}
	return b.Offset(by)
}

// gone is the fault of a body that an inward allowance leaves nothing of.
func gone(d float64) *value.Fault {
	return value.Faultf(NoAllowance, "nothing is left of this body when each side moves inward by %s", value.Length(-d)).
		Do("make the body larger, or the fit tighter")
}

// boxOffset is the value.Offset of a box: its narrower upright sides say how
// wide it is.
func boxOffset(lo, hi geom.Vec3) value.Offset {
	return func(by value.Allowance) (*value.Body, *value.Fault) {
		s := hi.Sub(lo)
		d := by(min(s.X, s.Y))
		if min(s.X, s.Y, s.Z)+2*d < MinSize {
			return nil, gone(d)
		}
		return plainBox(lo.Sub(geom.Vec3{X: d, Y: d, Z: d}), hi.Add(geom.Vec3{X: d, Y: d, Z: d})), nil
	}
}

// barOffset is that of a cylinder, its ends included.
func barOffset(r value.Number, ax axisSpan, tolerance float64) value.Offset {
	return func(by value.Allowance) (*value.Body, *value.Fault) {
		d := by(2 * r.X)
		if r.X+d < MinSize || !ax.endless && ax.t1-ax.t0+2*d < MinSize {
			return nil, gone(d)
		}
		moved := ax
		moved.t0, moved.t1 = ax.t0-d, ax.t1+d
		return plainCylinder(r.Apply(r.X+d, 1, r.Dim), moved, tolerance), nil
	}
}

// ballOffset is that of a ball.
func ballOffset(r float64, at geom.Vec3, tolerance float64) value.Offset {
	return func(by value.Allowance) (*value.Body, *value.Fault) {
		d := by(2 * r)
		if r+d < MinSize {
			return nil, gone(d)
		}
		return plainBall(r+d, at, tolerance), nil
	}
}

// extrusionOffset is that of an extrusion without shaping: its border moves
// like that of grown_sharp, its ends straight on. It counts as wide as its
// narrower side.
func extrusionOffset(e *extrusion, p solid.Profile) value.Offset {
	for _, cl := range e.Clauses {
		switch cl.Word {
		case "taper", "bevel", "round", "hollow", "closed":
			return nil
		}
	}
	return func(by value.Allowance) (*value.Body, *value.Fault) {
		d := by(narrow(p))
		if e.hi-e.lo+2*d < MinSize {
			return nil, gone(d)
		}
		a := &value.Area{Name: e.area.Name, Area: sketch.Grown(e.area.Area, d, true)}
		p, err := a.Profile(e.Tolerance)
		switch {
		case err != nil:
			return nil, areaFault(a, err)
		case len(p) == 0:
			return nil, gone(d)
		}
		moved := &extrusion{Call: e.Call, area: a, axis: e.axis, lo: e.lo - d, hi: e.hi + d}
		return plainExtrusion(moved, p), nil
	}
}

// narrow returns the narrower side of the box around a profile, mm.
func narrow(p solid.Profile) float64 {
	lo, hi := geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, ring := range p {
		for _, q := range ring {
			lo.X, lo.Y = min(lo.X, q.X), min(lo.Y, q.Y)
			hi.X, hi.Y = max(hi.X, q.X), max(hi.Y, q.Y)
		}
	}
	return min(hi.X-lo.X, hi.Y-lo.Y)
}

// after is the offset of a body that is placed or copied: that of the body,
// then the same done to it.
func after(o value.Offset, do func(*value.Body) *value.Body) value.Offset {
	if o == nil {
		return nil
	}
	return func(by value.Allowance) (*value.Body, *value.Fault) {
		b, f := o(by)
		if f != nil {
			return nil, f
		}
		return do(b), nil
	}
}

// JoinedOffset is the offset of joined bodies: growing each grows all of them.
// Shrinking each would open their seams, and is a fault.
func JoinedOffset(bodies []*value.Body, join func([]*value.Body) *value.Body) value.Offset {
	for _, b := range bodies {
		if b.Offset == nil {
			return nil
		}
	}
	return func(by value.Allowance) (*value.Body, *value.Fault) {
		inward := false
		outward := func(across float64) float64 {
			d := by(across)
			inward = inward || d < 0
			return max(0, d)
		}
		grown := make([]*value.Body, len(bodies))
		for i, b := range bodies {
			g, f := b.Offset(outward)
			if f != nil {
				return nil, f
			}
			grown[i] = g
		}
		if inward {
			return nil, value.Faultf(NoAllowance, "joined bodies do not shrink").
				Why("each would draw back from its seams with the others").
				Do("shrink each body first, or draw the whole as one sketch")
		}
		return join(grown), nil
	}
}
