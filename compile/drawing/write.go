package drawing

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/goregular"

	"perch/compile/geom"
)

// short prints a length with at most three decimals.
func short(x float64) string {
	s := strconv.FormatFloat(x, 'f', 3, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// WriteSVG writes the sheet as SVG in its true size.
func (s *Sheet) WriteSVG(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %[1]s %[2]s">`+"\n", short(s.Width), short(s.Height))
	fmt.Fprintf(b, "<title>%s</title>\n", escaped(s.Title))
	fmt.Fprintf(b, `<rect width="100%%" height="100%%" fill="#fff"/>`+"\n")
	for p, pen := range pens {
		fmt.Fprintf(b, `<g fill="none" stroke="#000" stroke-linecap="round" stroke-linejoin="round" stroke-width="%s"`, short(pen.width))
		if pen.dashes != nil {
			var d []string
			for _, x := range pen.dashes {
				d = append(d, short(x))
			}
			fmt.Fprintf(b, ` stroke-dasharray="%s"`, strings.Join(d, " "))
		}
		fmt.Fprintln(b, ">")
		for _, k := range s.Strokes {
			if k.Pen == Pen(p) {
				fmt.Fprintf(b, `<path d="%s"/>`+"\n", path(k.Points))
			}
		}
		fmt.Fprintln(b, "</g>")
	}
	for _, f := range s.Fills {
		fmt.Fprintf(b, `<path d="%sZ"/>`+"\n", path(f))
	}
	_, em := letters()
	for _, t := range s.Texts {
		anchor := [...]string{Left: "start", Middle: "middle", Right: "end"}[t.Anchor]
		fmt.Fprintf(b, `<text x="%s" y="%s" font-family="Go, sans-serif" font-size="%s" text-anchor="%s"`, short(t.At.X), short(t.At.Y), short(t.Height*em), anchor)
		if t.Turn != 0 {
			fmt.Fprintf(b, ` transform="rotate(%s %s %s)"`, short(-t.Turn), short(t.At.X), short(t.At.Y))
		}
		fmt.Fprintf(b, ">%s</text>\n", escaped(t.Text))
	}
	fmt.Fprintln(b, "</svg>")
	return b.Flush()
}

func path(points []geom.Vec2) string {
	var b strings.Builder
	for i, p := range points {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(short(p.X))
		b.WriteByte(' ')
		b.WriteString(short(p.Y))
	}
	return b.String()
}

func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder does not fail
	return b.String()
}

// family is the name of the embedded font.
const family = "go"

// WritePDF writes the sheets as one document, a page of true size each.
// Nothing in it depends on the day or the machine.
func WritePDF(w io.Writer, creator string, sheets ...*Sheet) error {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm"})
	day := time.Unix(0, 0).UTC()
	doc.SetCreationDate(day)
	doc.SetModificationDate(day)
	doc.SetCatalogSort(true)
	doc.SetCreator(creator, true)
	doc.SetProducer(creator, true)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddUTF8FontFromBytes(family, "", goregular.TTF)
	doc.SetLineCapStyle("round")
	doc.SetLineJoinStyle("round")
	for i, s := range sheets {
		if i == 0 {
			doc.SetTitle(s.Title, true)
		}
		s.page(doc)
	}
	return doc.Output(w)
}

func (s *Sheet) page(doc *fpdf.Fpdf) {
	doc.AddPageFormat("P", fpdf.SizeType{Wd: s.Width, Ht: s.Height})
	for _, k := range s.Strokes {
		pen := pens[k.Pen]
		doc.SetLineWidth(pen.width)
		doc.SetDashPattern(pen.dashes, 0)
		for i, p := range k.Points {
			if i == 0 {
				doc.MoveTo(p.X, p.Y)
			} else {
				doc.LineTo(p.X, p.Y)
			}
		}
		doc.DrawPath("D")
	}
	doc.SetDashPattern(nil, 0)
	for _, f := range s.Fills {
		var ps []fpdf.PointType
		for _, p := range f {
			ps = append(ps, fpdf.PointType{X: p.X, Y: p.Y})
		}
		doc.Polygon(ps, "F")
	}
	_, em := letters()
	for _, t := range s.Texts {
		doc.SetFont(family, "", t.Height*em*72/25.4)
		x := t.At.X - float64([...]float64{Left: 0, Middle: 0.5, Right: 1}[t.Anchor]*doc.GetStringWidth(t.Text))
		if t.Turn == 0 {
			doc.Text(x, t.At.Y, t.Text)
			continue
		}
		doc.TransformBegin()
		doc.TransformRotate(math.Mod(t.Turn+360, 360), t.At.X, t.At.Y)
		doc.Text(x, t.At.Y, t.Text)
		doc.TransformEnd()
	}
}
