package figure

import (
	"fmt"
	"html"
	"io"
	"math"
	"strconv"
	"strings"

	"perch/compile/geom"
)

// Widths of lines and heights of letters on paper in mm. Wide lines are twice
// as wide as thin ones (ISO 128-2); 2.5 mm is a height of ISO 3098-1.
const (
	wide     = 0.5
	thin     = 0.25
	letter   = 2.5
	arrow    = 2.5 // length of an arrowhead, closed and filled, 15 degrees (ISO 129-1)
	overrun  = 2.0 // of extension lines beyond the dimension line
	clear    = 0.8 // between a corner and its extension line
	fromPart = 9.0 // of the first dimension line
	between  = 7.0 // dimension lines side by side
	margin   = 6.0
)

// style gives the classes of lines and letters their look. The colours are
// those of ink and pencil on paper; what can still move is red chalk.
const style = `<style>
line,path,circle{fill:none;stroke-linecap:round;stroke-linejoin:round}
text{font-family:sans-serif;fill:#2b3a4a}
.part{stroke:#14213d;stroke-width:0.5}
.help{stroke:#7d8a99;stroke-width:0.25;stroke-dasharray:6 1 0.5 1}
.thin{stroke:#44566c;stroke-width:0.18}
.tip{fill:#44566c;stroke:none}
.dot{fill:#14213d;stroke:none}
.name{fill:#7d8a99;font-style:italic}
.loose{stroke:#b3402a;stroke-width:0.35}
.moves{fill:#b3402a}
.moves-line{stroke:#b3402a}
</style>
`

// page collects what is drawn, in mm on paper with y down, and the room it
// takes.
type page struct {
	marks  []Mark
	lo, hi geom.Vec2
	taken  []area      // where letters stand
	inked  []geom.Vec2 // places on lines
}

// Mark is one thing on paper, in mm with y down. Class says what it stands for:
// "part", "help" and "thin" lines, "tip" for arrowheads, "size", "name" and
// "title" for letters; what can still move has "moves" in it.
type Mark struct {
	Sort  Sort
	Class string
	Hint  string // words that viewers show beside it
	// A and B are the ends of a line or an arc, Centre the middle of an arc or a
	// circle, Radius that of both; Sweep is how far an arc turns from A on,
	// clockwise on paper when positive. A tip has its point at A, the other
	// corners at B and Centre. Letters stand on A.
	A, B, Centre  geom.Vec2
	Radius, Sweep float64
	// Words are in letters of that height, turned clockwise by Angle in degrees,
	// with A in the middle of their foot or at its beginning.
	Words         string
	Height, Angle float64
	Middle        bool
}

// Sort is the sort of a mark.
type Sort int

const (
	Line Sort = iota
	Circle
	Arc
	Tip
	Letters
)

// area is a box on paper.
type area struct{ lo, hi geom.Vec2 }

func newPage() *page {
	return &page{lo: geom.Vec2{X: math.Inf(1), Y: math.Inf(1)}, hi: geom.Vec2{X: math.Inf(-1), Y: math.Inf(-1)}}
}

func (p *page) reach(v geom.Vec2) {
	p.lo.X, p.lo.Y = min(p.lo.X, v.X), min(p.lo.Y, v.Y)
	p.hi.X, p.hi.Y = max(p.hi.X, v.X), max(p.hi.Y, v.Y)
}

// writeTo writes the page as an SVG document in real size, thin lines below
// all others.
func (p *page) writeTo(w io.Writer, title string) error {
	if !(p.lo.X <= p.hi.X) {
		p.reach(geom.Vec2{})
	}
	x, y := p.lo.X-margin, p.lo.Y-margin
	width, height := p.hi.X-x+margin, p.hi.Y-y+margin
	var under, over strings.Builder
	for i := range p.marks {
		if m := &p.marks[i]; m.Sort == Line && m.Class == "thin" {
			m.writeTo(&under)
		} else {
			m.writeTo(&over)
		}
	}
	_, err := fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="%s %s %s %s">
<title>%s</title>
%s<rect x="%s" y="%s" width="%s" height="%s" fill="#fdfcf8"/>
%s</svg>
`, num(width), num(height), num(x), num(y), num(width), num(height), html.EscapeString(title), style, num(x), num(y), num(width), num(height), under.String()+over.String())
	return err
}

// writeTo writes a mark as an SVG element.
func (m *Mark) writeTo(b *strings.Builder) {
	switch m.Sort {
	case Line:
		fmt.Fprintf(b, `<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"%s%s`, m.Class, num(m.A.X), num(m.A.Y), num(m.B.X), num(m.B.Y), hint(m.Hint), closing(m.Hint, "line"))
	case Circle:
		fmt.Fprintf(b, `<circle class="%s" cx="%s" cy="%s" r="%s"%s%s`, m.Class, num(m.Centre.X), num(m.Centre.Y), num(m.Radius), hint(m.Hint), closing(m.Hint, "circle"))
	case Arc:
		large, way := 0, 0
		if math.Abs(m.Sweep) > math.Pi {
			large = 1
		}
		if m.Sweep > 0 {
			way = 1
		}
		fmt.Fprintf(b, `<path class="%s" d="M%s %sA%s %s 0 %d %d %s %s"%s%s`, m.Class, num(m.A.X), num(m.A.Y), num(m.Radius), num(m.Radius), large, way, num(m.B.X), num(m.B.Y), hint(m.Hint), closing(m.Hint, "path"))
	case Tip:
		fmt.Fprintf(b, `<path class="%s" d="M%s %sL%s %sL%s %sZ"/>`+"\n", m.Class, num(m.A.X), num(m.A.Y), num(m.B.X), num(m.B.Y), num(m.Centre.X), num(m.Centre.Y))
	case Letters:
		anchor, turn, title := "", "", ""
		if m.Middle {
			anchor = ` text-anchor="middle"`
		}
		if m.Angle != 0 {
			turn = fmt.Sprintf(` transform="rotate(%s %s %s)"`, num(m.Angle), num(m.A.X), num(m.A.Y))
		}
		if m.Hint != "" {
			title = "<title>" + html.EscapeString(m.Hint) + "</title>"
		}
		fmt.Fprintf(b, `<text class="%s" x="%s" y="%s" font-size="%s"%s%s>%s%s</text>`+"\n",
			m.Class, num(m.A.X), num(m.A.Y), num(m.Height*1.35), anchor, turn, title, html.EscapeString(m.Words))
	}
}

// num writes a length on paper, to a thousandth of a mm.
func num(x float64) string {
	s := strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
	if s == "-0" {
		return "0"
	}
	return s
}

// hint closes the tag of an element, with words that viewers show beside it.
func hint(words string) string {
	if words == "" {
		return "/>"
	}
	return "><title>" + html.EscapeString(words) + "</title>"
}

func closing(words, element string) string {
	if words == "" {
		return "\n"
	}
	return "</" + element + ">\n"
}

func (p *page) line(class string, a, b geom.Vec2, words string) {
	p.reach(a)
	p.reach(b)
	if class == "thin" {
		p.ink(a, b)
	}
	p.marks = append(p.marks, Mark{Sort: Line, Class: class, Hint: words, A: a, B: b})
}

// ink remembers a line on which letters are better not written.
func (p *page) ink(a, b geom.Vec2) {
	n := math.Ceil(b.Sub(a).Len())
	for i := range int(n) + 1 {
		p.inked = append(p.inked, a.Add(b.Sub(a).Scale(float64(i)/max(n, 1))))
	}
}

// circle draws a whole circle.
func (p *page) circle(class string, c geom.Vec2, r float64, words string) {
	p.reach(geom.Vec2{X: c.X - r, Y: c.Y - r})
	p.reach(geom.Vec2{X: c.X + r, Y: c.Y + r})
	p.marks = append(p.marks, Mark{Sort: Circle, Class: class, Hint: words, Centre: c, Radius: r})
}

// arc draws an arc about c that turns by sweep radians from a on, clockwise
// as seen on paper when positive.
func (p *page) arc(class string, c, a geom.Vec2, sweep float64, words string) geom.Vec2 {
	r := a.Sub(c).Len()
	b := about(c, a, sweep)
	for i := range 17 {
		p.reach(about(c, a, sweep*float64(i)/16))
	}
	p.marks = append(p.marks, Mark{Sort: Arc, Class: class, Hint: words, A: a, B: b, Centre: c, Radius: r, Sweep: sweep})
	return b
}

// about turns a place about c.
func about(c, a geom.Vec2, angle float64) geom.Vec2 {
	sin, cos := geom.SinCos(angle)
	v := a.Sub(c)
	return c.Add(v.Scale(cos)).Add(v.Perp().Scale(sin))
}

// tip draws an arrowhead at a place that points in a direction.
func (p *page) tip(at, dir geom.Vec2) {
	dir = dir.Scale(1 / dir.Len())
	back := at.Sub(dir.Scale(arrow))
	half := dir.Perp().Scale(arrow * math.Tan(7.5*math.Pi/180))
	p.marks = append(p.marks, Mark{Sort: Tip, Class: "tip", A: at, B: back.Add(half), Centre: back.Sub(half)})
}

// lettersWide estimates how wide a text is.
func lettersWide(s string, size float64) float64 {
	return float64(0.78 * size * float64(len([]rune(s))))
}

// letters draws a line of text that begins at a place.
func (p *page) letters(class, words string, at geom.Vec2, size float64) {
	p.reach(at.Sub(geom.Vec2{Y: size}))
	p.reach(at.Add(geom.Vec2{X: lettersWide(words, size)}))
	p.marks = append(p.marks, Mark{Sort: Letters, Class: class, Words: words, A: at, Height: size})
}

// label is a text with its place: the middle of its foot, turned by angle
// degrees clockwise on paper.
type label struct {
	words string
	at    geom.Vec2
	angle float64
	size  float64
}

// box is the room that the label takes.
func (l label) box() area {
	w, h := lettersWide(l.words, l.size)/2, l.size
	sin, cos := geom.SinCos(l.angle * math.Pi / 180)
	x, y := geom.Vec2{X: cos, Y: sin}, geom.Vec2{X: sin, Y: -cos} // along and up
	a := area{l.at, l.at}
	for _, k := range []float64{-w, w} {
		for _, up := range []float64{-0.2 * h, h} {
			q := l.at.Add(x.Scale(k)).Add(y.Scale(up))
			a.lo.X, a.lo.Y = min(a.lo.X, q.X), min(a.lo.Y, q.Y)
			a.hi.X, a.hi.Y = max(a.hi.X, q.X), max(a.hi.Y, q.Y)
		}
	}
	return a
}

func (a area) holds(p geom.Vec2) bool {
	return p.X > a.lo.X && p.X < a.hi.X && p.Y > a.lo.Y && p.Y < a.hi.Y
}

func (a area) meets(b area) bool {
	return a.lo.X < b.hi.X && b.lo.X < a.hi.X && a.lo.Y < b.hi.Y && b.lo.Y < a.hi.Y
}

// crowded counts what a label would stand on: other letters count more than
// the lines of the part.
func (p *page) crowded(l label) float64 {
	a, n := l.box(), 0.0
	for _, t := range p.taken {
		if a.meets(t) {
			n += 20
		}
	}
	for _, q := range p.inked {
		if a.holds(q) {
			n++
		}
	}
	return n
}

// through counts the letters that a line would run through.
func (p *page) through(a, b geom.Vec2) float64 {
	n := 0.0
	for _, t := range p.taken {
		for i := range 9 {
			if t.holds(a.Add(b.Sub(a).Scale(float64(i) / 8))) {
				n += 20
				break
			}
		}
	}
	return n
}

// write draws a label.
func (p *page) write(class string, l label, words string) {
	a := l.box()
	p.reach(a.lo)
	p.reach(a.hi)
	p.taken = append(p.taken, a)
	p.marks = append(p.marks, Mark{Sort: Letters, Class: class, Hint: words, Words: l.words, A: l.at, Height: l.size, Angle: l.angle, Middle: true})
}
