package check

import (
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// A pose is worth a word when it saves this much overhang, and stands on that
// much, mm²: less is no help.
const (
	worthOver = 20
	worthFoot = 25
)

// lying suggests how to lay the part on the bed: of the faces that it can stand
// on with enough foot, the one with the least area leaning over, and of equals
// the lowest. The maker may know better: layers are weak across, and a seat
// that stands upright is smoother.
func (p *Finished) lying() Result {
	r := Result{Text: "lies best", Standard: true}
	poses := p.Tree().Poses(p.Shop.Overhang(), flat)
	own := poses[0]
	best := own
	for _, q := range poses[1:] {
		if q.Foot >= worthFoot && (q.Over < best.Over-worthOver || q.Over < best.Over+worthOver && best.Foot < worthFoot) {
			best = q
		}
	}
	if best == own {
		r.About = fmt.Sprintf("as drawn: %.0f mm2 lean over %s, foot %.0f mm2, %.1f mm high", own.Over, degrees(p.Shop.Overhang()), own.Foot, own.Height)
		return r
	}
	r.About = fmt.Sprintf("%s: %.0f mm2 would lean over %s instead of %.0f, foot %.0f mm2, %.1f mm high; bridges counted in",
		turning(best), best.Over, degrees(p.Shop.Overhang()), own.Over, best.Foot, best.Height)
	return r
}

func degrees(a float64) string { return fmt.Sprintf("%.0f deg", a*180/math.Pi) }

// turning is how the pose is reached, as a part file says it where it can.
func turning(p mesh.Pose) string {
	axis, angle := p.Turn()
	for i, v := range []geom.Vec3{{X: 1}, {Y: 1}, {Z: 1}} {
		if c := axis.Dot(v); math.Abs(c) > 1-1e-6 {
			return fmt.Sprintf("turned %.4gdeg about %c", math.Copysign(angle*180/math.Pi, c), 'x'+rune(i))
		}
	}
	return fmt.Sprintf("turned by %.4g deg, the face that looks along (%.2f, %.2f, %.2f) down", angle*180/math.Pi, p.Down.X+0, p.Down.Y+0, p.Down.Z+0)
}
