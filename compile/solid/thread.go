package solid

import (
	"math"

	"perch/compile/geom"
)

// ThreadForm is a single-start right-hand thread with the basic profile of
// ISO 68-1, which the unified inch threads share: flanks at 60 degrees, a
// crest of P/8 at the major diameter, a root of P/4 at the minor one.
type ThreadForm struct {
	Major float64 // d = D, mm
	Pitch float64 // P, mm
}

// triangleHeight is H/P of the sharp triangle of 60 degrees.
var triangleHeight = math.Sqrt(3) / 2

// PitchDiameter returns d2 = D2 = d - 3/4 H, mm.
func (t ThreadForm) PitchDiameter() float64 { return t.Major - float64(0.75*triangleHeight*t.Pitch) }

// MinorDiameter returns D1 = d1 = d - 5/4 H, mm.
func (t ThreadForm) MinorDiameter() float64 { return t.Major - float64(1.25*triangleHeight*t.Pitch) }

// Depth returns the depth of the profile, 5/8 H, mm.
func (t ThreadForm) Depth() float64 { return float64(0.625 * triangleHeight * t.Pitch) }

// profile lists the corners of one pitch as phase (of the pitch) and radius.
func (t ThreadForm) profile() [4][2]float64 {
	r, r1 := t.Major/2, t.MinorDiameter()/2
	return [4][2]float64{{-1. / 16, r}, {1. / 16, r}, {6. / 16, r1}, {10. / 16, r1}}
}

// Thread returns an external thread about the z axis from z0 to z1. At the
// start and the end it is bevelled at 45 degrees so that its crest begins
// that far (mm) from the end; 0 leaves an end square. The profile is moved
// inward by allowance/2.
func Thread(form ThreadForm, allowance, z0, z1, start, end float64) *Body {
	form.Major -= allowance
	r := float64(form.Major / 2)
	wide := r + form.Pitch
	// From one end to the other on the outside; nothing of it lies on the thread.
	p := []geom.Vec2{{Y: z0}}
	if start > 0 {
		p = append(p, geom.Vec2{X: r - start, Y: z0}, geom.Vec2{X: wide, Y: z0 + start + form.Pitch})
	} else {
		p = append(p, geom.Vec2{X: wide, Y: z0})
	}
	if end > 0 {
		p = append(p, geom.Vec2{X: wide, Y: z1 - end - form.Pitch}, geom.Vec2{X: r - end, Y: z1})
	} else {
		p = append(p, geom.Vec2{X: wide, Y: z1})
	}
	if n := len(p); n == 5 && p[2].Y > p[3].Y { // a thread so short that the cones meet first
		x, y := p[1].X+(z1-z0)/2+(p[4].X-p[1].X)/2, (z0+z1)/2+(p[4].X-p[1].X)/2
		p = []geom.Vec2{p[0], p[1], {X: x, Y: y}, p[4]}
	}
	p = append(p, geom.Vec2{Y: z1})
	return Trim(leafBody(&helix{form, z0, z1}), Revolve(Profile{p}, 2*math.Pi))
}

// Tap returns the body that cuts an internal thread: the same profile moved
// outward by allowance/2, with countersinks of 45 degrees that reach start
// and end beyond it.
func Tap(form ThreadForm, allowance, z0, z1, start, end float64) *Body {
	form.Major += allowance
	deep := form.Depth()
	b := Thread(form, 0, z0, z1, 0, 0)
	all := []*Body{b}
	// A countersink narrows from its rim to just below the minor diameter.
	in := form.MinorDiameter()/2 - float64(0.1*form.Pitch)
	for i, s := range [2]float64{start, end} {
		if s <= 0 {
			continue
		}
		rim := form.Major/2 - deep + s
		if i == 0 {
			all = append(all, Cone(rim, in, z0, z0+rim-in))
		} else {
			all = append(all, Cone(in, rim, z1-rim+in, z1))
		}
	}
	return Join(all...)
}

// helix is a threaded bar somewhat longer than z0 to z1, closed at the ends
// along the helix: to be trimmed.
type helix struct {
	ThreadForm
	z0, z1 float64
}

func (h *helix) profile(float64) (Profile, error) { return nil, nil }

func (h *helix) bounds(Profile) geom.Box {
	r := h.Major / 2
	return geom.Box{Min: geom.Vec3{X: -r, Y: -r, Z: h.z0 - float64(4*h.Pitch)}, Max: geom.Vec3{X: r, Y: r, Z: h.z1 + float64(4*h.Pitch)}}
}

// build makes the bar from columns of corners, one column at each angle. A
// column is the next one lowered by its share of the pitch, and after a full
// turn it is the first one again, one pitch higher.
func (h *helix) build(k *kernel, g *grid, _ Profile, tol float64) error {
	b := newFacets(k, g)
	n := geom.Sides(h.Major/2, tol)
	form := h.ThreadForm.profile()
	turns := int(math.Ceil((h.z1-h.z0)/h.Pitch)) + 3
	base := h.z0 - float64(2.3*h.Pitch) // no corner of a column lies in an end plane of whole pitches
	rows := 4*turns + 1
	columns := make([][]int32, n+1)
	for i := range n {
		sin, cos := geom.SinCos(2 * math.Pi * float64(i) / float64(n))
		columns[i] = make([]int32, rows+4)
		for j := range columns[i] {
			f := form[j%4]
			z := base + float64(h.Pitch*(float64(j/4)+f[0]+float64(i)/float64(n)))
			columns[i][j] = b.point(geom.Vec3{X: f[1] * cos, Y: f[1] * sin, Z: z})
		}
	}
	// Column n is column 0 from the next turn on.
	columns[n] = columns[0][4:]
	for i := range n {
		for j := range rows - 1 {
			p, q := columns[i], columns[i+1]
			b.quad(p[j], q[j], q[j+1], p[j+1])
		}
	}
	low := b.point(geom.Vec3{Z: base + h.Pitch/2})
	high := b.point(geom.Vec3{Z: base + float64(h.Pitch*(float64(turns)+0.5))})
	for i := range n {
		b.add([]int32{low, columns[i+1][0], columns[i][0]})
		b.add([]int32{high, columns[i][rows-1], columns[i+1][rows-1]})
	}
	// The step of one pitch at angle 0, below facing forward and above back.
	foot := append([]int32{low}, columns[0][:5]...)
	b.add(foot)
	head := []int32{high}
	for j := rows + 3; j >= rows-1; j-- {
		head = append(head, columns[0][j])
	}
	b.add(head)
	return b.done()
}
