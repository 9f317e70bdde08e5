package builtin

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/lang/diag"
)

// MarkAir is the code of a mark that lies partly over nothing.
const MarkAir diag.Code = "mark-air"

const (
	mostProbed   = 20000 // triangles of a body that is probed below a mark
	mostProbes   = 64    // places of a mark at which the body is looked for
	airShare     = 0.05  // of them that may lie in the air
	probeSlack   = 0.05  // mm, the chord tolerance of the body so far
	probeNear    = 0.25  // mm by which a letter may overlap an edge of its side
	airRaised    = 0.1   // mm over the body at which a raised mark hangs in the air
	airSunkShare = 0.5   // of its depth that a sunk mark may lose
)

// overAir warns of a mark whose side is not flat below it: round, stepped or
// gone, so that part of the mark cuts nothing or hangs in the air. frame puts
// the plane of the mark on the side.
func (c *Call) overAir(p solid.Profile, on string, frame geom.Transform, thick float64, sunk bool) {
	m, err := c.SoFar()
	if err != nil || len(m.Triangles) > mostProbed {
		return
	}
	allowed := airRaised
	if sunk {
		allowed = float64(airSunkShare*thick) + probeSlack
	}
	places := probes(p)
	air, deepest := inAir(m, frame, places, allowed)
	if float64(len(air)) <= airShare*float64(len(places)) {
		return
	}
	for _, by := range []geom.Vec2{{X: probeNear}, {X: -probeNear}, {Y: probeNear}, {Y: -probeNear}} {
		for i := range air {
			air[i] = air[i].Add(by) // a little beyond an edge is on it
		}
		if air, _ = inAir(m, frame, air, allowed); float64(len(air)) <= airShare*float64(len(places)) {
			return
		}
		for i := range air {
			air[i] = air[i].Sub(by)
		}
	}
	verb := "is cut into nothing"
	if !sunk {
		verb = "hangs in the air"
	}
	why := "the body does not reach below all of it"
	if deepest > allowed {
		why = fmt.Sprintf("the body lies up to %s behind the plane of the mark, which is %s thick", tenth(deepest), tenth(thick))
	}
	c.Report(diag.Diagnostic{Code: MarkAir, Severity: diag.Warning, At: c.Subject.At,
		Message: fmt.Sprintf("a part of this %s: on the %s the body is not flat below it", verb, on),
		Notes: []string{
			diag.Why(why),
			diag.Do("on something round write `around` and the tube; else move it with `at`, to a flat place, or make it smaller"),
		}})
}

// inAir returns those of some places of the plane of a frame behind which the
// surface lies farther than allowed, and the farthest that it lies behind any.
func inAir(m *mesh.Mesh, frame geom.Transform, at []geom.Vec2, allowed float64) (air []geom.Vec2, deepest float64) {
	for i, d := range below(m, frame, at) {
		if d > allowed {
			air = append(air, at[i])
		}
		if !math.IsInf(d, 1) {
			deepest = max(deepest, d)
		}
	}
	return air, deepest
}

// probes returns corners of a profile, evenly taken.
func probes(p solid.Profile) []geom.Vec2 {
	var all []geom.Vec2
	for _, r := range p {
		all = append(all, r...)
	}
	step := (len(all) + mostProbes - 1) / mostProbes
	var out []geom.Vec2
	for i := 0; i < len(all); i += max(1, step) {
		out = append(out, all[i])
	}
	return out
}

// below returns how far behind the plane of a frame the surface of a body lies
// at some places of the plane, mm; +Inf where it is not met.
func below(m *mesh.Mesh, frame geom.Transform, at []geom.Vec2) []float64 {
	depths := make([]float64, len(at))
	for i := range depths {
		depths[i] = math.Inf(1)
	}
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = frame.Back(a), frame.Back(b), frame.Back(c)
		area := geom.Vec2{X: b.X - a.X, Y: b.Y - a.Y}.Cross(geom.Vec2{X: c.X - a.X, Y: c.Y - a.Y})
		if area <= 0 || max(a.Z, b.Z, c.Z) < -mostMark {
			continue // it looks away, or edgewise
		}
		lo := geom.Vec2{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y)}
		hi := geom.Vec2{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y)}
		for k, p := range at {
			if p.X < lo.X-probeSlack || p.X > hi.X+probeSlack || p.Y < lo.Y-probeSlack || p.Y > hi.Y+probeSlack {
				continue
			}
			if z, ok := heightAt(p, a, b, c, area); ok && z <= probeSlack {
				depths[k] = min(depths[k], max(0, -z))
			}
		}
	}
	return depths
}

// mostMark is how far behind its plane a mark is looked for, mm: what lies
// deeper is another side of the body.
const mostMark = 50

// heightAt returns the height of a triangle over a place in plan; ok is false
// when it does not lie there. area is twice that of the triangle in plan.
func heightAt(p geom.Vec2, a, b, c geom.Vec3, area float64) (z float64, ok bool) {
	flat := func(v geom.Vec3) geom.Vec2 { return geom.Vec2{X: v.X - p.X, Y: v.Y - p.Y} }
	u := flat(b).Cross(flat(c)) / area
	v := flat(c).Cross(flat(a)) / area
	w := 1 - u - v
	const edge = -1e-9
	return float64(u*a.Z) + float64(v*b.Z) + float64(w*c.Z), u >= edge && v >= edge && w >= edge
}
