package view

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf16"

	"perch/compile"
	"perch/compile/check"
	"perch/compile/figure"
	"perch/compile/mesh"
	"perch/compile/sketch"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/source"
)

// Build is what a build of one part file came to.
type Build struct {
	File      string
	Saved     time.Time // when the text was saved; zero when it is missing
	Took      time.Duration
	Result    *compile.Result
	Err       error // of the world
	Tolerance float64
	// Whole says that the parts are good to be shown: nothing is wrong but
	// checks that do not hold.
	Whole bool
	// Changes says what is new since the last whole build.
	Changes []string
	// Judging says that the checks of the parts are still being judged; another
	// build of the same text follows with their verdicts.
	Judging bool
}

// design is a part file on show.
type design struct {
	File     string     `json:"file"`
	Saved    int64      `json:"saved"`    // of the newest text, Unix ms, 0 when missing
	Shown    int64      `json:"shown"`    // of the text whose parts are shown
	Took     float64    `json:"took"`     // ms
	Whole    bool       `json:"whole"`    // what is shown is the newest text
	Building bool       `json:"building"` // a newer text is being built, and that takes a while
	Trouble  string     `json:"trouble,omitempty"`
	Messages []message  `json:"messages"`
	Changes  []string   `json:"changes"`
	Parts    []part     `json:"parts"`
	Sketches []sketchOf `json:"sketches"`
	Sizes    []sizeOf   `json:"sizes"` // all that the file names
	Bed      [3]float64 `json:"bed"`
	ids      []string   // blobs of the parts
}

type sizeOf struct {
	Part string `json:"part"`
	Size string `json:"size"`
}

// sketchOf is a solved sketch, with the values of a size.
type sketchOf struct {
	Name   string   `json:"name"`
	Size   string   `json:"size"`
	Figure string   `json:"figure"` // blob
	Free   []string `json:"free"`   // what can still move
	Old    bool     `json:"old"`
}

type part struct {
	Name     string     `json:"name"`
	Size     string     `json:"size"`
	Mesh     string     `json:"mesh"` // blob
	Min      [3]float64 `json:"min"`
	Max      [3]float64 `json:"max"`
	Printed  []float64  `json:"printed,omitempty"` // size on the bed, when the part is laid otherwise than drawn
	Volume   float64    `json:"volume"`            // mm³
	Surface  float64    `json:"surface"`           // mm²
	Mass     float64    `json:"mass"`              // g
	Material string     `json:"material"`
	Assumed  bool       `json:"assumed"`
	Checks   []verdict  `json:"checks"`
	Judging  bool       `json:"judging"` // there are no verdicts yet
	Mates    []mate     `json:"mates"`
	Old      bool       `json:"old"` // of the text before; the new one is being built
	ids      []string   // its blobs
}

type mate struct {
	Name string `json:"name"`
	Mesh string `json:"mesh"`
}

// verdict is a judged check.
type verdict struct {
	Text    string       `json:"text"`
	Pass    bool         `json:"pass"`
	Unknown string       `json:"unknown,omitempty"`
	Value   string       `json:"value,omitempty"`
	Limit   string       `json:"limit,omitempty"`
	Where   string       `json:"where,omitempty"`
	Places  []diag.Place `json:"places,omitempty"`
}

// message is a diagnostic with the lines of text it is about.
type message struct {
	Severity string        `json:"severity"`
	Code     string        `json:"code"`
	Text     string        `json:"text"`
	Notes    []render.Note `json:"notes"`
	Spots    []spot        `json:"spots"`
	Places   []diag.Place  `json:"places,omitempty"`
	Sizes    []string      `json:"sizes,omitempty"` // that alone it is about
}

// spot is a marked stretch of a line; From and To count as JavaScript does,
// in UTF-16 units.
type spot struct {
	File  string `json:"file"`
	Line  int    `json:"line"`
	Text  string `json:"text"`
	From  int    `json:"from"`
	To    int    `json:"to"`
	Label string `json:"label,omitempty"`
}

// Bounds of what is sent.
const (
	mostMessages = 60
	mostPlaces   = 200
	mostLine     = 300 // bytes of a line of text
)

// Show publishes a build. Bodies beside the parts are built here; ctx stops
// that.
func (s *Server) Show(ctx context.Context, b Build) {
	d := &design{
		File: render.Clean(b.File), Took: float64(b.Took.Microseconds()) / 1000, Whole: b.Whole,
		Messages: []message{}, Changes: b.Changes, Parts: []part{}, Sketches: []sketchOf{}, Sizes: []sizeOf{},
		Bed: bedOf(b.Result.Workshop),
	}
	if !b.Saved.IsZero() {
		d.Saved = b.Saved.UnixMilli()
	}
	if b.Err != nil {
		d.Trouble = render.Clean(b.Err.Error())
	}
	d.addMessages(b.Result.Diags)
	blobs := map[string]*blob{}
	if b.Whole {
		d.Shown = d.Saved
		for _, z := range b.Result.Sizes {
			d.Sizes = append(d.Sizes, sizeOf{z.Part, z.Size})
		}
		d.addParts(ctx, b, blobs)
		d.addSketches(b.Result, blobs)
	}
	if ctx.Err() != nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	i := slices.IndexFunc(s.designs, func(o *design) bool { return o.File == d.File })
	switch {
	case i < 0:
		s.designs = append(s.designs, d)
	case b.Whole:
		d.await(s.designs[i])
		s.designs[i] = d
	default:
		d.keep(s.designs[i])
		s.designs[i] = d
	}
	s.renewWith(blobs)
}

// keep takes over the parts of the last whole build.
func (d *design) keep(old *design) {
	d.Shown, d.Parts, d.Sketches, d.Sizes, d.Bed = old.Shown, old.Parts, old.Sketches, old.Sizes, old.Bed
}

// await takes over sizes that are built after the rest, until they are.
func (d *design) await(old *design) {
	for _, z := range d.Sizes {
		is := func(p part) bool { return p.Name == z.Part && p.Size == z.Size }
		if i := slices.IndexFunc(old.Parts, is); i >= 0 && !slices.ContainsFunc(d.Parts, is) {
			p := old.Parts[i]
			p.Old = true
			d.Parts = append(d.Parts, p)
		}
		for _, k := range old.Sketches {
			of := func(o sketchOf) bool { return o.Size == k.Size }
			if k.Size == z.Size && !slices.ContainsFunc(d.Sketches, func(o sketchOf) bool { return of(o) && (!o.Old || o.Name == k.Name) }) {
				k.Old = true
				d.Sketches = append(d.Sketches, k)
			}
		}
	}
}

// More adds parts to a design that is on show: sizes that were built after
// the rest; last says that no others come. They are dropped when the design
// has moved on.
func (s *Server) More(ctx context.Context, b Build, last bool) {
	add := &design{Messages: []message{}}
	blobs := map[string]*blob{}
	if b.Whole {
		add.addParts(ctx, b, blobs)
		add.addSketches(b.Result, blobs)
	}
	add.addMessages(b.Result.Diags)
	s.mu.Lock()
	defer s.mu.Unlock()
	i := slices.IndexFunc(s.designs, func(o *design) bool { return o.File == render.Clean(b.File) })
	if ctx.Err() != nil || i < 0 || !s.designs[i].Whole {
		return
	}
	d := *s.designs[i] // states that were handed out do not change
	d.Parts = nil
	for _, p := range s.designs[i].Parts {
		new := slices.ContainsFunc(add.Parts, func(o part) bool { return o.Name == p.Name && o.Size == p.Size })
		if !new && !(p.Old && last) {
			d.Parts = append(d.Parts, p)
		}
	}
	d.Parts = append(d.Parts, add.Parts...)
	d.Sketches = nil
	for _, k := range s.designs[i].Sketches {
		new := slices.ContainsFunc(add.Sketches, func(o sketchOf) bool { return o.Size == k.Size })
		if !new && !(k.Old && last) {
			d.Sketches = append(d.Sketches, k)
		}
	}
	d.Sketches = append(d.Sketches, add.Sketches...)
	for _, m := range add.Messages {
		if !slices.ContainsFunc(d.Messages, func(o message) bool { return o.same(m) }) {
			d.Messages = append(slices.Clip(d.Messages), m)
		}
	}
	s.designs[i] = &d
	s.renewWith(blobs)
}

func (m message) same(o message) bool {
	return m.Code == o.Code && m.Text == o.Text && slices.Equal(m.Spots, o.Spots) && slices.Equal(m.Sizes, o.Sizes)
}

// Busy tells that the build of a text takes a while; Show ends that.
func (s *Server) Busy(file string, saved time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := slices.IndexFunc(s.designs, func(o *design) bool { return o.File == render.Clean(file) }); i >= 0 && s.designs[i].Saved < saved.UnixMilli() {
		d := *s.designs[i] // states that were handed out do not change
		d.Building = true
		s.designs[i] = &d
		s.renew()
	}
}

// Tell adds to a design on show what went wrong after its build, as that its
// file could not be written.
func (s *Server) Tell(file string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := slices.IndexFunc(s.designs, func(o *design) bool { return o.File == render.Clean(file) }); i >= 0 {
		d := *s.designs[i] // states that were handed out do not change
		d.Messages = append([]message{{Severity: "error", Text: render.Clean(err.Error()), Notes: []render.Note{}, Spots: []spot{}}}, d.Messages...)
		s.designs[i] = &d
		s.renew()
	}
}

// Drop takes a part file off show.
func (s *Server) Drop(file string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.designs = slices.DeleteFunc(s.designs, func(d *design) bool { return d.File == render.Clean(file) })
	s.renew()
}

func (s *Server) renew() { s.renewWith(nil) }

// renewWith makes the next state. Blobs of the state before are kept as well,
// for pages that are still asking for them; older ones go. s.mu is held.
func (s *Server) renewWith(blobs map[string]*blob) {
	s.seq++
	for id, b := range blobs {
		if s.blobs[id] == nil {
			s.blobs[id] = b
		}
	}
	for _, d := range s.designs {
		for _, p := range d.Parts {
			for _, id := range p.ids {
				s.blobs[id].last = s.seq
			}
		}
		for _, k := range d.Sketches {
			s.blobs[k.Figure].last = s.seq
		}
	}
	for id, b := range s.blobs {
		if b.last < s.seq-1 {
			delete(s.blobs, id)
		}
	}
	list := s.designs
	if list == nil {
		list = []*design{}
	}
	state, err := json.Marshal(struct {
		Seq     int       `json:"seq"`
		Designs []*design `json:"designs"`
	}{s.seq, list})
	if err != nil {
		panic(err) // the structs above are wrong
	}
	s.state = state
	s.tell()
	if len(s.viewers) > 0 {
		s.ready(blobs)
	}
}

// ready makes meshes that are new while the pages are told of them: they will
// ask for them at once.
func (s *Server) ready(blobs map[string]*blob) {
	for id := range blobs {
		if b := s.blobs[id]; b.last == s.seq {
			go b.bytes()
		}
	}
}

func (d *design) addParts(ctx context.Context, b Build, blobs map[string]*blob) {
	for _, p := range b.Result.Parts {
		var ids []string
		take := func(m *mesh.Mesh) string {
			n := newBlob(m, b.Tolerance)
			blobs[n.id] = n
			ids = append(ids, n.id)
			return n.id
		}
		lo, hi := p.Bounds.Min, p.Bounds.Max
		q := part{
			Name: p.Name, Size: p.Size, Mesh: take(p.Mesh),
			Min: [3]float64{lo.X, lo.Y, lo.Z}, Max: [3]float64{hi.X, hi.Y, hi.Z},
			Volume: p.Volume, Surface: p.Surface, Mass: p.Mass, Material: p.Material, Assumed: p.MaterialAssumed,
			Checks: []verdict{}, Judging: b.Judging, Mates: []mate{},
		}
		if p.Printed != p.Mesh {
			s := p.Printed.Bounds().Size()
			q.Printed = []float64{s.X, s.Y, s.Z}
		}
		for _, r := range p.Checks {
			q.Checks = append(q.Checks, newVerdict(r))
		}
		for _, m := range p.Mating {
			// A mate that cannot be built is left out: it is not the part.
			if shape, err := m.Mesh(ctx); err == nil {
				q.Mates = append(q.Mates, mate{m.Name, take(shape)})
			}
		}
		q.ids = ids
		d.Parts = append(d.Parts, q)
	}
}

func (d *design) addSketches(r *compile.Result, blobs map[string]*blob) {
	for _, k := range r.Sketches {
		b := newPicture(k.Figure)
		blobs[b.id] = b
		free := []string{}
		for _, m := range k.Figure.Motions {
			free = append(free, render.Clean(m))
		}
		d.Sketches = append(d.Sketches, sketchOf{Name: k.Name, Size: k.Size, Figure: b.id, Free: free})
	}
}

// bedOf is the printer's bed; files with faults have no workshop, and then it
// is what is common.
func bedOf(w *workshop.Profile) [3]float64 {
	if w != nil {
		if p, ok := w.Look("bed").Value.(value.Point); ok {
			return [3]float64{p[0].X, p[1].X, p[2].X}
		}
	}
	b := workshop.New("").Bed()
	return [3]float64{b.X, b.Y, b.Z}
}

func newVerdict(r check.Result) verdict {
	v := verdict{Text: render.Clean(r.Text), Pass: r.Pass, Unknown: render.Clean(r.Unknown)}
	if r.Op != "" && r.Unknown == "" {
		v.Value, v.Limit = r.ValueText(), r.LimitText()
	}
	if r.Asked != nil {
		v.Where = render.Clean(r.Found.Where)
		v.Places = r.Found.Places[:min(len(r.Found.Places), mostPlaces)]
	}
	return v
}

func (d *design) addMessages(list diag.List) {
	for _, x := range list[:min(len(list), mostMessages)] {
		m := message{Severity: x.Severity.String(), Code: string(x.Code), Text: render.Clean(x.Message), Notes: []render.Note{}, Spots: []spot{}}
		for _, n := range x.Notes {
			kind, text := diag.SplitNote(n)
			m.Notes = append(m.Notes, render.Note{Kind: kind, Text: render.Clean(text)})
		}
		m.Places = x.Places[:min(len(x.Places), mostPlaces)]
		for _, z := range x.Sizes {
			m.Sizes = append(m.Sizes, render.Clean(z))
		}
		m.addSpot(x.At, "")
		for _, l := range x.Labels {
			m.addSpot(l.At, render.Clean(l.Text))
		}
		d.Messages = append(d.Messages, m)
	}
}

func (m *message) addSpot(at source.Span, label string) {
	if !at.Valid() {
		return
	}
	p := at.File.Position(at.Start)
	line := at.File.Line(p.Line)
	start := at.Start - (strings.LastIndexByte(at.File.Text[:at.Start], '\n') + 1)
	end := min(max(start+1, start+at.End-at.Start), max(start+1, len(line)))
	if len(line) > mostLine {
		from := min(max(0, start-mostLine/4), len(line)-mostLine)
		line, start, end = line[from:from+mostLine], start-from, min(end-from, mostLine)
	}
	units := func(bytes int) int {
		return len(utf16.Encode([]rune(line[:min(max(bytes, 0), len(line))])))
	}
	from := units(start)
	m.Spots = append(m.Spots, spot{render.Clean(at.File.Path), p.Line, line, from, max(from+1, units(end)), label})
}

// blob is something that pages fetch by its name, a hash of its content. It
// is made when first asked for.
type blob struct {
	id, kind string
	last     int // the newest state that names it
	bytes    func() []byte
}

func newBlob(m *mesh.Mesh, tolerance float64) *blob {
	return &blob{id: identity(m, tolerance), kind: "application/octet-stream", bytes: sync.OnceValue(func() []byte { return pack(m, tolerance) })}
}

// newPicture draws a sketch. The page has colours of its own and takes no
// style from elsewhere, so that of the drawing is left out.
func newPicture(f *sketch.Figure) *blob {
	var b bytes.Buffer
	_ = figure.Write(&b, f) // a buffer takes everything
	data := b.Bytes()
	if before, rest, ok := bytes.Cut(data, []byte("<style>")); ok {
		if _, after, ok := bytes.Cut(rest, []byte("</style>")); ok {
			data = slices.Concat(before, after)
		}
	}
	sum := sha256.Sum256(data)
	return &blob{id: hex.EncodeToString(sum[:16]), kind: "image/svg+xml", bytes: func() []byte { return data }}
}

// identity is the same for meshes that look the same to the page.
func identity(m *mesh.Mesh, tolerance float64) string {
	b := make([]byte, 0, 24*len(m.Vertices)+12*len(m.Triangles)+16)
	le := binary.LittleEndian
	b = le.AppendUint64(b, packVersion)
	b = le.AppendUint64(b, math.Float64bits(tolerance))
	for _, v := range m.Vertices {
		b = le.AppendUint64(b, math.Float64bits(v.X))
		b = le.AppendUint64(b, math.Float64bits(v.Y))
		b = le.AppendUint64(b, math.Float64bits(v.Z))
	}
	for _, t := range m.Triangles {
		for _, v := range t {
			b = le.AppendUint32(b, uint32(v))
		}
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:16])
}
