package check

import (
	"fmt"
	"math"
	"strconv"

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
	poses := p.Tree().Poses(p.up().Scale(-1), p.Shop.Overhang(), flat)
	own := poses[0]
	best := own
	for _, q := range poses[1:] {
		if q.Foot >= worthFoot && (q.Over < best.Over-worthOver || q.Over < best.Over+worthOver && best.Foot < worthFoot) {
			best = q
		}
	}
	if best == own {
		as := "as drawn"
		if p.Lying != nil {
			as = "as it is printed"
		}
		r.About = fmt.Sprintf("%s: %.0f mm2 lean over %s, foot %.0f mm2, %.1f mm high", as, own.Over, degrees(p.Shop.Overhang()), own.Foot, own.Height)
		return r
	}
	r.About = fmt.Sprintf("%s: %.0f mm2 would lean over %s instead of %.0f, foot %.0f mm2, %.1f mm high; bridges counted in",
		step(best), best.Over, degrees(p.Shop.Overhang()), own.Over, best.Foot, best.Height)
	return r
}

func degrees(a float64) string { return fmt.Sprintf("%.0f deg", a*180/math.Pi) }

// step is the step of a part file that lays the part so.
func step(p mesh.Pose) string {
	axis, angle := p.Turn()
	if angle == 0 {
		return "as drawn, without a `print` step"
	}
	about := ""
	for i, v := range []geom.Vec3{{X: 1}, {Y: 1}} { // what brings a direction down lies flat itself
		if c := axis.Dot(v); math.Abs(c) > 1-1e-9 {
			about, angle = string('x'+rune(i)), math.Copysign(angle, c)
		}
	}
	if about == "" {
		longest := max(math.Abs(axis.X), math.Abs(axis.Y))
		about = fmt.Sprintf("(%s, %s, 0)", digits(axis.X/longest, 6), digits(axis.Y/longest, 6))
	}
	return fmt.Sprintf("`print turned %sdeg about %s`", digits(angle*180/math.Pi, 4), about)
}

// digits prints n decimals of a number without zeros at the end. Four of an
// angle in degrees, and six of a direction, lay a part of 200 mm level within
// 0.001 mm; more would tell of the grid that its faces are rounded to.
func digits(x float64, n int) string {
	p := math.Pow10(n)
	return strconv.FormatFloat(math.Round(x*p)/p+0, 'f', -1, 64)
}
