package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/picture"
	"perch/compile/surface"
)

// Block holds what the title block says (ISO 7200). Empty fields are left for
// handwriting.
type Block struct {
	Title    string // name of the part and its size
	Number   string // what tells this state of the design from any other
	Material string
	Mass     string
	Owner    string
	Drawn    string // by whom
	Date     string
	Program  string
	Document string // what kind of drawing
	Sheet    string // which of several: ", 1 of 3"
}

// Paper is a sheet size of ISO 216, by its name.
type Paper struct {
	Name          string
	Width, Height float64 // mm
}

// Papers lists the sheets from the smallest. A4 stands upright; the others lie
// (ISO 5457).
var Papers = []Paper{{"A4", 210, 297}, {"A3", 420, 297}, {"A2", 594, 420}, {"A1", 841, 594}, {"A0", 1189, 841}}

// PaperNamed returns a sheet size by its name.
func PaperNamed(name string) (Paper, bool) {
	i := slices.IndexFunc(Papers, func(p Paper) bool { return p.Name == name })
	if i < 0 {
		return Paper{}, false
	}
	return Papers[i], true
}

// scales of ISO 5455 that make a part smaller.
var scales = []float64{1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01}

// Borders of ISO 5457, mm: the left one leaves room for filing.
const (
	filing = 20.0
	border = 10.0
)

// Part draws a part: front view, top view above it, right view beside it (the
// third angle of ISO 5456-2) and one from the corner, with its outer
// dimensions and the diameters of its round holes. Without a paper it takes
// the smallest that holds the part in its true size; on a given one it takes
// the largest scale that goes.
func Part(t *mesh.Tree, b Block, on *Paper) *Sheet {
	d := newViews(t)
	if on == nil {
		for _, p := range Papers {
			if d.fits(p, 1) {
				return d.sheet(p, 1, b)
			}
		}
		on = &Papers[len(Papers)-1]
	}
	for _, s := range scales {
		if d.fits(*on, s) {
			return d.sheet(*on, s, b)
		}
	}
	return d.sheet(*on, scales[len(scales)-1], b)
}

// views are the four views of a part.
type views struct {
	size                      geom.Vec3
	front, top, right, corner projection
}

// projection is a view and the box around it, right and up in mm, with the
// sizes that are written at it and the rims whose centres are marked.
type projection struct {
	lines    []Line
	min, max geom.Vec2
	named    []sized
	centres  []arc
}

func (f *projection) width() float64  { return f.max.X - f.min.X }
func (f *projection) height() float64 { return f.max.Y - f.min.Y }

func newFigure(lines []Line) projection {
	f := projection{lines: lines, min: geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, max: geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}}
	for _, l := range lines {
		for _, p := range l.Points {
			f.min = geom.Vec2{X: min(f.min.X, p.X), Y: min(f.min.Y, p.Y)}
			f.max = geom.Vec2{X: max(f.max.X, p.X), Y: max(f.max.Y, p.Y)}
		}
	}
	return f
}

func newViews(t *mesh.Tree) *views {
	look := func(name string) projection {
		v, _ := picture.Named(name)
		return newFigure(Lines(t, v))
	}
	d := &views{size: t.Mesh.Bounds().Size(), front: look("front"), top: look("top"), right: look("right"), corner: look("corner")}
	for _, f := range []*projection{&d.front, &d.top, &d.right} {
		f.named, f.centres = f.sizes()
	}
	d.corner = newFigure(slices.DeleteFunc(d.corner.lines, func(l Line) bool { return l.Hidden }))
	return d
}

// Room between views and around them for dimensions, mm.
const (
	between = 13.0
	beyond  = 14.0
	least   = 45.0 // for the view from the corner
	block   = 36.0 // height of the title block
)

// room returns the width and height that the views need at a scale.
func (d *views) room(scale float64) (w, h float64) {
	w = beyond + float64(scale*d.size.X) + between + max(scale*d.size.Y, least)
	h = d.above(scale) + float64(scale*d.size.Y) + between + max(d.front.over(), d.right.over()) + float64(scale*d.size.Z) + d.below(scale)
	return w, h
}

// above and below are the room over the top view and under the front view, mm:
// the text of a height or a depth too small for it stands there.
func (d *views) above(scale float64) float64 {
	return max(between+d.top.over(), outside(float64(scale*d.size.Y), short2(d.size.Y)))
}

func (d *views) below(scale float64) float64 {
	return max(beyond, outside(float64(scale*d.size.Z), short2(d.size.Z)))
}

func (d *views) fits(p Paper, scale float64) bool {
	w, h := d.room(scale)
	return w <= p.Width-filing-border && h <= p.Height-2*border-block
}

// sheet lays the views out.
func (d *views) sheet(p Paper, scale float64, b Block) *Sheet {
	s := &Sheet{Title: b.Title, Width: p.Width, Height: p.Height}
	s.frame(p, b, ratio(scale))
	w, h := d.room(scale)
	x0 := filing + (p.Width-filing-border-w)/2 + beyond
	y0 := border + (p.Height-float64(2*border)-block-h)/2 + d.above(scale)
	yFront := y0 + float64(scale*d.size.Y) + between + max(d.front.over(), d.right.over())
	front := s.view(&d.front, scale, x0, yFront)
	top := s.view(&d.top, scale, x0, y0)
	x1 := x0 + float64(scale*d.size.X) + between
	beside := s.view(&d.right, scale, x1, yFront)
	room := geom.Vec2{X: max(scale*d.size.Y, least), Y: max(scale*d.size.Y, 1)}
	fit := min(scale, room.X/d.corner.width(), room.Y/d.corner.height())
	if fit*d.corner.width() >= 12 { // smaller it shows nothing
		s.view(&d.corner, fit, x1, y0+(float64(scale*d.size.Y)-float64(fit*d.corner.height()))/2)
	}

	right, down, left := geom.Vec2{X: 1}, geom.Vec2{Y: 1}, geom.Vec2{X: -1}
	s.linear(front.at(d.front.min), front.at(geom.Vec2{X: d.front.max.X, Y: d.front.min.Y}), right, down, apartDim, short2(d.size.X))
	s.linear(front.at(d.front.min), front.at(geom.Vec2{X: d.front.min.X, Y: d.front.max.Y}), down, left, apartDim, short2(d.size.Z))
	s.linear(top.at(d.top.min), top.at(geom.Vec2{X: d.top.min.X, Y: d.top.max.Y}), geom.Vec2{Y: -1}, left, apartDim, short2(d.size.Y))
	for _, v := range []placed{front, top, beside} {
		s.rims(v)
	}
	return s
}

// ratio writes a scale as on a drawing.
func ratio(scale float64) string {
	if scale >= 1 {
		return fmt.Sprintf("%g:1", scale)
	}
	return fmt.Sprintf("1:%g", math.Round(1/scale))
}

// short2 prints a dimension with at most two decimals.
func short2(x float64) string { return short(math.Round(x*100) / 100) }

// placed is a view on the sheet: its upper left corner is at (x, y).
type placed struct {
	f           *projection
	scale, x, y float64
}

func (v placed) at(p geom.Vec2) geom.Vec2 {
	return geom.Vec2{X: v.x + float64(v.scale*(p.X-v.f.min.X)), Y: v.y + float64(v.scale*(v.f.max.Y-p.Y))}
}

func (s *Sheet) view(f *projection, scale, x, y float64) placed {
	v := placed{f, scale, x, y}
	for _, l := range f.lines {
		pen := Thick
		if l.Hidden {
			pen = Dashed
		}
		ps := make([]geom.Vec2, len(l.Points))
		for i, p := range l.Points {
			ps[i] = v.at(p)
		}
		s.stroke(pen, ps...)
	}
	return v
}

// arc is a round rim in a view, or a piece of one.
type arc struct {
	centre geom.Vec2
	radius float64
	rim    []geom.Vec2
	sweep  float64 // rad, 2π for a whole circle
}

// leastSweep is the least piece of a circle that gets a radius, leastRadius
// the least radius; smaller roundings are seen and told of in the part file.
const (
	leastSweep  = 80 * math.Pi / 180
	leastRadius = 1.0 // mm
)

// arcs returns the pieces of a chain that run round a point: their corners
// keep a distance and turn all the same way, by no more than a chord does.
func arcs(l Line) []arc {
	ps := l.Points
	closed := ps[0].Sub(ps[len(ps)-1]).Len() < 10*speck
	if closed { // begin at a corner, if there is one
		ps = ps[:len(ps)-1]
		start := 0
		for i := range ps {
			if c, r, ok := through(ps, i); !ok || math.Abs(ps[(i+3)%len(ps)].Sub(c).Len()-r) > roundness {
				start = (i + 1) % len(ps)
				break
			}
		}
		ps = slices.Concat(ps[start:], ps[:start+1])
	}
	var out []arc
	for i := 0; i+3 < len(ps); {
		c, r, ok := through(ps[:], i)
		if !ok || i+2 >= len(ps) || r < leastRadius {
			i++
			continue
		}
		j, sweep := i, 0.0
		for j+1 < len(ps) && math.Abs(ps[j+1].Sub(c).Len()-r) < roundness {
			u, v := ps[j].Sub(c), ps[j+1].Sub(c)
			step := math.Atan2(u.Cross(v), u.Dot(v))
			if math.Abs(step) > mostStep || sweep*step < 0 {
				break
			}
			sweep += step
			j++
		}
		if j-i >= 5 && math.Abs(sweep) >= leastSweep {
			// Three corners only find the arc: all of it say how large it is.
			if better, radius, ok := surface.Circle(ps[i : j+1]); ok {
				c, r = better, radius
			}
			out = append(out, arc{c, r, ps[i : j+1], math.Abs(sweep)})
		}
		i = max(j, i+1)
	}
	return out
}

const (
	roundness = 0.01 // mm by which the corners of an arc may leave it
	mostStep  = 25 * math.Pi / 180
)

// through returns the circle through three corners in a row.
func through(ps []geom.Vec2, i int) (c geom.Vec2, r float64, ok bool) {
	n := len(ps)
	a, b, d := ps[i%n], ps[(i+1)%n], ps[(i+2)%n]
	u, v := b.Sub(a), d.Sub(a)
	w := 2 * u.Cross(v)
	if math.Abs(w) < 1e-9 {
		return c, 0, false
	}
	uu, vv := u.Dot(u), v.Dot(v)
	c = a.Add(geom.Vec2{X: (float64(v.Y*uu) - float64(u.Y*vv)) / w, Y: (float64(u.X*vv) - float64(v.X*uu)) / w})
	return c, c.Sub(a).Len(), true
}

// top returns the uppermost point of the rim.
func (a arc) top() geom.Vec2 {
	return slices.MaxFunc(a.rim, func(p, q geom.Vec2) int { return cmp.Or(cmp.Compare(p.Y, q.Y), cmp.Compare(p.X, q.X)) })
}

// sized is one size of rim in a view and how often it occurs: a diameter from
// half a circle on, below it a radius (ISO 129-1).
type sized struct {
	arc
	count int
}

// sizes lists the sizes of the round rims in sight, from left to right, at
// most mostNamed of them; centres are those of all rims that get a mark.
func (f *projection) sizes() (named []sized, centres []arc) {
	for _, l := range f.lines {
		if l.Hidden {
			continue
		}
		for _, a := range arcs(l) {
			if a.round() {
				centres = append(centres, a)
			}
			i := slices.IndexFunc(named, func(k sized) bool { return k.text() == a.text() })
			if i < 0 {
				named = append(named, sized{a, 1})
				continue
			}
			named[i].count++
			if a.top().Y > named[i].top().Y+speck {
				named[i].arc = a // the uppermost is nearest to its text
			}
		}
	}
	slices.SortStableFunc(named, func(a, b sized) int { return cmp.Compare(a.top().X-a.radius/2, b.top().X-b.radius/2) })
	return named[:min(len(named), mostNamed)], centres
}

// round reports whether the arc is at least half a circle.
func (a arc) round() bool { return a.sweep > math.Pi-0.01 }

// text gives the size as it stands on the drawing.
func (a arc) text() string {
	if a.round() {
		return "\u00f8" + short2(2*a.radius)
	}
	return "R" + short2(a.radius)
}

// mostNamed bounds the sizes that are written at one view.
const mostNamed = 6

// rowHigh is the distance of the lines of text over a view, leastStep that of
// their leaders, mm.
const (
	rowHigh   = 4.8
	leastStep = 6.0
)

// over returns the room that the sizes need over a view, mm.
func (f *projection) over() float64 {
	return max(0, float64(rowHigh*float64(len(f.named)))-between+4)
}

// rims marks the centres of the round rims of a view and writes their sizes
// over it, each with a leader to its rim. The texts go down from left to
// right, so that no leader crosses a text.
func (s *Sheet) rims(v placed) {
	named := v.f.named
	for _, a := range v.f.centres {
		s.cross(v.at(a.centre), v.scale*a.radius)
	}
	for n, k := range named {
		text := k.text()
		if k.count > 1 {
			text = fmt.Sprintf("%d\u00d7 %s", k.count, text)
		}
		elbow := geom.Vec2{
			X: v.x + float64(max(v.scale*v.f.width()/float64(len(named)), leastStep)*(float64(n)+0.6)),
			Y: v.y - 3.5 - float64(rowHigh*float64(len(named)-1-n)),
		}
		tip := slices.MinFunc(k.rim, func(p, q geom.Vec2) int {
			return cmp.Compare(v.at(p).Sub(elbow).Len(), v.at(q).Sub(elbow).Len())
		})
		s.leader(v.at(tip), elbow, text)
	}
}
