// Package report writes what is known of a part as one page of HTML that
// needs nothing else: pictures, sketches, figures, measurements with their
// uncertainty, checks, assumptions, cautions, and the exact texts and settings
// it was built from, so that the part can be made again years later. The same
// data stand in the page as JSON.
package report

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"html/template"
	"image"
	"image/png"
	"io"
	"strings"
)

// Page is a report on one part.
type Page struct {
	Program string `json:"perch"` // name and version
	Part    string `json:"part"`
	Size    string `json:"size,omitempty"`
	File    string `json:"file"`
	// Command builds the part again from the texts.
	Command string `json:"command"`
	// State tells this state of the design from any other.
	State       string      `json:"state"`
	Figures     []Figure    `json:"figures"`
	Quantities  []Quantity  `json:"quantities"`
	Checks      []Check     `json:"checks"`
	Assumptions []string    `json:"assumptions"`
	Cautions    []string    `json:"cautions"`
	Settings    []string    `json:"settings,omitempty"`
	Sources     []Source    `json:"sources"`
	Pictures    []Picture   `json:"-"`
	Drawings    []Drawing   `json:"-"`
	Remarks     []string    `json:"remarks,omitempty"`
	Data        template.JS `json:"-"` // filled by Write
}

// Figure is a named value of the finished part.
type Figure struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Quantity is a measure, a let or a measure of a sketch. Spread is its
// standard uncertainty (k = 1).
type Quantity struct {
	Kind   string `json:"kind"`
	Name   string `json:"name"`
	Value  string `json:"value"`
	Unit   string `json:"unit,omitempty"`
	Spread string `json:"uncertainty,omitempty"`
	From   string `json:"from,omitempty"` // the measurements it comes from
}

// Check is a judged check.
type Check struct {
	Text   string `json:"check"`
	Status string `json:"status"` // pass, fail, open, look (fails, but was not asked for), info
	Value  string `json:"value,omitempty"`
	Limit  string `json:"limit,omitempty"`
	Note   string `json:"note,omitempty"` // where, why, what to change
}

// Source is a text that the part was built from, with the SHA-256 sum of its
// bytes in hexadecimal digits.
type Source struct {
	Name    string `json:"name"`
	Text    string `json:"text"`
	Sum     string `json:"sha256"`
	Library bool   `json:"library"` // of the standard library
}

// Picture is shown at the head of the page.
type Picture struct {
	Caption string
	URI     template.URL
}

// Drawing is an SVG drawing of a sketch.
type Drawing struct {
	Caption string
	SVG     template.HTML
}

// NewPicture encodes an image.
func NewPicture(caption string, img image.Image) (Picture, error) {
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, img); err != nil {
		return Picture{}, err
	}
	return Picture{caption, template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes()))}, nil
}

// NewDrawing takes a drawing that write writes as SVG.
func NewDrawing(caption string, write func(io.Writer) error) (Drawing, error) {
	var b strings.Builder
	if err := write(&b); err != nil {
		return Drawing{}, err
	}
	return Drawing{caption, template.HTML(b.String())}, nil
}

//go:embed page.html
var text string

var page = template.Must(template.New("page").Parse(text))

// WriteHTML writes the page. Text from part files is escaped by the template.
func (p Page) WriteHTML(w io.Writer) error {
	data, err := json.Marshal(p) // escapes <, > and &: safe inside a script
	if err != nil {
		return err
	}
	p.Data = template.JS(data)
	return page.Execute(w, p)
}

// WriteJSON writes the data of the page.
func (p Page) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(p)
}
