// Package picture draws a mesh as a shaded picture with its edges, without a
// screen: one view, or a sheet of the top, front and right views as on a
// drawing and one from the corner, with a scale bar.
package picture

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// View is a direction to look in. Parts stand on the bed, z up, and are seen
// without perspective.
type View struct {
	Name            string
	right, up, away geom.Vec3
}

// Looking returns the view along a direction, upright where that is possible.
// From above the back is up, from below the front: x runs to the right in both,
// as in the views of a drawing (ISO 5456-2).
func Looking(name string, away geom.Vec3) View {
	a := away.Unit()
	up := geom.Vec3{Z: 1}
	if math.Abs(a.Z) > 0.999 {
		up = geom.Vec3{Y: math.Copysign(1, -a.Z)}
	}
	right := a.Cross(up).Unit()
	return View{name, right, right.Cross(a), a}
}

// The named views: front looks along +y, top along -z, right along -x, back
// along -y, left along +x, below along +z, the front up; corner looks from the front right,
// above.
var views = []View{
	Looking("front", geom.Vec3{Y: 1}),
	Looking("top", geom.Vec3{Z: -1}),
	Looking("right", geom.Vec3{X: -1}),
	Looking("back", geom.Vec3{Y: -1}),
	Looking("left", geom.Vec3{X: 1}),
	Looking("below", geom.Vec3{Z: 1}),
	Looking("corner", geom.Vec3{X: -0.55, Y: 0.75, Z: -0.5}),
}

// Names lists the named views.
func Names() []string {
	var n []string
	for _, v := range views {
		n = append(n, v.Name)
	}
	return n
}

// Named returns a view by its name.
func Named(name string) (View, bool) {
	for _, v := range views {
		if v.Name == name {
			return v, true
		}
	}
	return View{}, false
}

// Size limits of a picture in pixels, and of its frame.
const (
	MinSize = 64
	MaxSize = 8192
	sampled = 2 // samples a pixel along each axis
	margin  = 0.06
)

// Our colours: ink on drawing paper, the part in the grey green of lichen.
var (
	paper = color.NRGBA{R: 0xf7, G: 0xf5, B: 0xee, A: 0xff}
	ink   = color.NRGBA{R: 0x2b, G: 0x2f, B: 0x33, A: 0xff}
	faint = color.NRGBA{R: 0xc9, G: 0xc4, B: 0xb6, A: 0xff}
	light = [3]float64{0xd3, 0xdb, 0xc6}
	dark  = [3]float64{0x4d, 0x5f, 0x57}
)

// One draws a single view, width × height pixels.
func One(m *mesh.Mesh, v View, width, height int) (*image.NRGBA, error) {
	if err := checkSize(width, height); err != nil {
		return nil, err
	}
	c := newCanvas(width, height)
	scale := c.fit(m, v, c.area())
	c.drawMesh(m, v, c.area(), scale)
	return c.finish(scale, []label{{v.Name, 0, 0}})
}

// OnBed draws what stands on a bed from above, with the outline of the bed
// from (0, 0) to (width, depth) in mm.
func OnBed(m *mesh.Mesh, width, depth float64, w, h int) (*image.NRGBA, error) {
	if err := checkSize(w, h); err != nil {
		return nil, err
	}
	v, _ := Named("top")
	c := newCanvas(w, h)
	b := m.Bounds()
	b.Add(geom.Vec3{Z: b.Min.Z})
	b.Add(geom.Vec3{X: width, Y: depth, Z: b.Min.Z})
	seen := geom.EmptyBox()
	seen.Add(v.Seen(b.Min))
	seen.Add(v.Seen(b.Max))
	scale := c.fitBox(seen, c.area())
	at := c.drawFrom(m, v, c.area(), scale, seen)
	corners := []geom.Vec3{{}, {X: width}, {X: width, Y: depth}, {Y: depth}}
	for i, p := range corners {
		c.line(at(p), at(corners[(i+1)%4]), c.area())
	}
	return c.finish(scale, []label{{fmt.Sprintf("bed %g x %g mm, from above", width, depth), 0, 0}})
}

// Sheet draws the top view over the front view, the right view beside it and
// the corner view above that, all straight views at one scale.
func Sheet(m *mesh.Mesh, width, height int) (*image.NRGBA, error) {
	if err := checkSize(width, height); err != nil {
		return nil, err
	}
	c := newCanvas(width, height)
	w, h := c.w/2, c.h/2
	tiles := map[string]image.Rectangle{
		"top": image.Rect(0, 0, w, h), "corner": image.Rect(w, 0, c.w, h),
		"front": image.Rect(0, h, w, c.h), "right": image.Rect(w, h, c.w, c.h),
	}
	order := []string{"top", "front", "right"}
	scale := math.Inf(1)
	for _, n := range order {
		v, _ := Named(n)
		scale = min(scale, c.fit(m, v, tiles[n]))
	}
	var labels []label
	for _, n := range append(order, "corner") {
		v, _ := Named(n)
		s := scale
		if n == "corner" {
			s = min(scale, c.fit(m, v, tiles[n]))
		}
		c.drawMesh(m, v, tiles[n], s)
		labels = append(labels, label{n, tiles[n].Min.X / sampled, tiles[n].Min.Y / sampled})
	}
	for x := range c.w {
		c.img.SetNRGBA(x, h, faint)
		c.img.SetNRGBA(x, h-1, faint)
	}
	for y := range c.h {
		c.img.SetNRGBA(w, y, faint)
		c.img.SetNRGBA(w-1, y, faint)
	}
	return c.finish(scale, labels)
}

func checkSize(w, h int) error {
	if w < MinSize || h < MinSize || w > MaxSize || h > MaxSize {
		return fmt.Errorf("a picture of %d x %d pixels: each side must be between %d and %d", w, h, MinSize, MaxSize)
	}
	return nil
}

// canvas is the picture with sampled × sampled samples a pixel.
type canvas struct {
	w, h  int
	img   *image.NRGBA
	depth []float64
}

func newCanvas(width, height int) *canvas {
	c := &canvas{w: width * sampled, h: height * sampled}
	c.img = image.NewNRGBA(image.Rect(0, 0, c.w, c.h))
	draw.Draw(c.img, c.img.Bounds(), image.NewUniform(paper), image.Point{}, draw.Src)
	c.depth = make([]float64, c.w*c.h)
	for i := range c.depth {
		c.depth[i] = math.Inf(1)
	}
	return c
}

func (c *canvas) area() image.Rectangle { return image.Rect(0, 0, c.w, c.h) }

// Seen returns a point as right, up, away, in mm.
func (v View) Seen(p geom.Vec3) geom.Vec3 {
	return geom.Vec3{X: v.right.Dot(p), Y: v.up.Dot(p), Z: v.away.Dot(p)}
}

// Place returns the point that is seen as right, up, away.
func (v View) Place(p geom.Vec3) geom.Vec3 {
	return v.right.Scale(p.X).Add(v.up.Scale(p.Y)).Add(v.away.Scale(p.Z))
}

// Towards returns the direction from the part to the viewer, of length 1.
func (v View) Towards() geom.Vec3 { return v.away.Scale(-1) }

func (v *View) bounds(m *mesh.Mesh) geom.Box {
	b := geom.EmptyBox()
	for _, p := range m.Vertices {
		b.Add(v.Seen(p))
	}
	return b
}

// fit returns the samples per mm at which the mesh fills the tile.
func (c *canvas) fit(m *mesh.Mesh, v View, tile image.Rectangle) float64 {
	return c.fitBox(v.bounds(m), tile)
}

// fitBox does it for a box of what is seen.
func (c *canvas) fitBox(b geom.Box, tile image.Rectangle) float64 {
	s := b.Size()
	free := 1 - 2*margin
	return min(free*float64(tile.Dx())/max(s.X, 1e-6), (float64(free*float64(tile.Dy()))-float64(28*sampled))/max(s.Y, 1e-6))
}

// drawMesh draws the mesh in the middle of the tile.
func (c *canvas) drawMesh(m *mesh.Mesh, v View, tile image.Rectangle, scale float64) {
	c.drawFrom(m, v, tile, scale, v.bounds(m))
}

// drawFrom draws the mesh so that the middle of a box of what is seen is that
// of the tile, and returns where points are drawn.
func (c *canvas) drawFrom(m *mesh.Mesh, v View, tile image.Rectangle, scale float64, b geom.Box) func(geom.Vec3) geom.Vec3 {
	mid := b.Min.Add(b.Max).Scale(0.5)
	cx, cy := float64(float64(tile.Min.X+tile.Max.X)/2), float64(float64(tile.Min.Y+tile.Max.Y)/2)
	place := func(p geom.Vec3) geom.Vec3 {
		q := v.Seen(p).Sub(mid)
		return geom.Vec3{X: cx + float64(scale*q.X), Y: cy - float64(scale*q.Y), Z: float64(scale * q.Z)}
	}
	at := make([]geom.Vec3, len(m.Vertices))
	for i, p := range m.Vertices {
		at[i] = place(p)
	}
	// Light from above the viewer's left shoulder.
	lamp := v.away.Scale(-0.75).Add(v.up.Scale(0.55)).Sub(v.right.Scale(0.4)).Unit()
	normals := m.Normals()
	for t, tri := range m.Triangles {
		if normals[t].Dot(v.away) >= 0 {
			continue
		}
		shade := 0.25 + float64(0.75*max(0, normals[t].Dot(lamp)))
		c.fill(at[tri[0]], at[tri[1]], at[tri[2]], mix(shade), tile)
	}
	c.edges(m, v, at, normals, tile)
	return place
}

func mix(t float64) color.NRGBA {
	var rgb [3]uint8
	for i := range rgb {
		rgb[i] = uint8(math.Round(dark[i] + float64(t*(light[i]-dark[i]))))
	}
	return color.NRGBA{R: rgb[0], G: rgb[1], B: rgb[2], A: 0xff}
}

// fill draws one triangle with depth.
func (c *canvas) fill(p, q, r geom.Vec3, col color.NRGBA, tile image.Rectangle) {
	den := float64((q.Y-r.Y)*(p.X-r.X)) + float64((r.X-q.X)*(p.Y-r.Y))
	if den == 0 {
		return
	}
	y0 := max(tile.Min.Y, int(math.Floor(min(p.Y, q.Y, r.Y))))
	y1 := min(tile.Max.Y-1, int(math.Ceil(max(p.Y, q.Y, r.Y))))
	x0 := max(tile.Min.X, int(math.Floor(min(p.X, q.X, r.X))))
	x1 := min(tile.Max.X-1, int(math.Ceil(max(p.X, q.X, r.X))))
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			a := (float64((q.Y-r.Y)*(fx-r.X)) + float64((r.X-q.X)*(fy-r.Y))) / den
			b := (float64((r.Y-p.Y)*(fx-r.X)) + float64((p.X-r.X)*(fy-r.Y))) / den
			if a < 0 || b < 0 || a+b > 1 {
				continue
			}
			z := float64(a*p.Z) + float64(b*q.Z) + float64((1-a-b)*r.Z)
			if i := y*c.w + x; z < c.depth[i] {
				c.depth[i] = z
				c.img.SetNRGBA(x, y, col)
			}
		}
	}
}

// Edges are drawn where faces meet at more than crease, and along the
// outline.
const crease = 20 * math.Pi / 180

func (c *canvas) edges(m *mesh.Mesh, v View, at, normals []geom.Vec3, tile image.Rectangle) {
	for _, e := range m.Edges() {
		n, o := normals[e.Left], normals[e.Right]
		outline := (n.Dot(v.away) < 0) != (o.Dot(v.away) < 0)
		if outline || n.Dot(o) < math.Cos(crease) {
			c.line(at[e.A], at[e.B], tile)
		}
	}
}

// line draws a visible edge, a little in front of its faces.
func (c *canvas) line(p, q geom.Vec3, tile image.Rectangle) {
	const bias = 1.5 * sampled
	d := q.Sub(p)
	n := int(math.Ceil(max(math.Abs(d.X), math.Abs(d.Y)))) + 1
	for i := 0; i <= n; i++ {
		s := p.Add(d.Scale(float64(i) / float64(n)))
		for _, o := range [][2]int{{0, 0}, {1, 0}, {0, 1}} {
			x, y := int(math.Floor(s.X))+o[0], int(math.Floor(s.Y))+o[1]
			if !(image.Point{X: x, Y: y}).In(tile) || s.Z-bias > c.depth[y*c.w+x] {
				continue
			}
			c.img.SetNRGBA(x, y, ink)
		}
	}
}

type label struct {
	text string
	x, y int // of the tile, pixels
}

// finish averages the samples and writes the labels and the scale bar.
func (c *canvas) finish(scale float64, labels []label) (*image.NRGBA, error) {
	w, h := c.w/sampled, c.h/sampled
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			var r, g, b int
			for dy := range sampled {
				for dx := range sampled {
					p := c.img.NRGBAAt(x*sampled+dx, y*sampled+dy)
					r, g, b = r+int(p.R), g+int(p.G), b+int(p.B)
				}
			}
			const n = sampled * sampled
			out.SetNRGBA(x, y, color.NRGBA{R: uint8(r / n), G: uint8(g / n), B: uint8(b / n), A: 0xff})
		}
	}
	face, err := writing(13)
	if err != nil {
		return nil, err
	}
	write := func(x, y int, s string) int {
		d := font.Drawer{Dst: out, Src: image.NewUniform(ink), Face: face, Dot: fixed.P(x, y)}
		d.DrawString(s)
		return d.Dot.X.Ceil()
	}
	for _, l := range labels {
		write(l.x+10, l.y+18, l.text)
	}
	perMM := scale / sampled
	mm := barLength(float64(w) / perMM / 4)
	x0, y0 := 12, h-12
	x1 := x0 + int(math.Round(mm*perMM))
	for x := x0; x <= x1; x++ {
		out.SetNRGBA(x, y0, ink)
		out.SetNRGBA(x, y0-1, ink)
	}
	for dy := -5; dy <= 3; dy++ {
		out.SetNRGBA(x0, y0+dy, ink)
		out.SetNRGBA(x1, y0+dy, ink)
	}
	write(x1+8, y0+4, fmt.Sprintf("%g mm", mm))
	return out, nil
}

// barLength returns the largest of 1, 2, 5 times a power of ten not above
// limit.
func barLength(limit float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(limit)))
	for _, k := range []float64{5, 2, 1} {
		if k*p <= limit {
			return k * p
		}
	}
	return p
}

func writing(size float64) (font.Face, error) {
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
}
