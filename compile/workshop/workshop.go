// Package workshop holds what is known of the maker's own workshop: the
// printer, the plastics and the fits. A Profile answers for what its file
// states and, where that is silent, with common practice, which it remembers
// as assumed.
package workshop

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"perch/compile/builtin"
	"perch/compile/geom"
	"perch/compile/value"
	"perch/lang/source"
	"perch/lang/unit"
)

// FileName is the name of the file that states a workshop.
const FileName = "workshop.perch"

// Words that stand for the workshop and its fits in expressions.
const (
	Word    = "workshop"
	FitWord = "fit"
)

// Entry is one thing that a workshop can state.
type Entry struct {
	Name string
	Kind value.Kind // Number, Text or Point
	Dim  unit.Dim   // of a Number, or of the coordinates of a Point
	Doc  string
	// Below bounds a number from above, in base units; 0 is no bound. All
	// numbers must be above 0.
	Below float64
	// Default is what is assumed, or nil when nothing can be: then, where Of
	// names another entry, Share of that. Source says who says so.
	Default value.Value
	Of      string
	Share   float64
	Source  string
	Sample  string // as written
}

// Entries lists what a workshop can state, apart from its fits, its corrections
// and its materials.
var Entries = []Entry{
	{Name: "name", Kind: value.TextKind, Doc: "what the maker calls it", Sample: `"the shed"`},
	{Name: "bed", Kind: value.PointKind, Dim: unit.Length, Doc: "what the printer can print: width, depth, height",
		Default: value.Point{value.Length(220), value.Length(220), value.Length(220)},
		Source:  "common desktop printers", Sample: "(220mm, 220mm, 250mm)"},
	{Name: "nozzle", Kind: value.NumberKind, Dim: unit.Length, Below: 3, Doc: "the bore of the nozzle",
		Default: value.Length(0.4), Source: "common practice", Sample: "0.4mm"},
	{Name: "line", Kind: value.NumberKind, Dim: unit.Length, Below: 5, Doc: "the width of a track",
		Of: "nozzle", Share: 1.125, Source: "1.125 times the nozzle, common practice", Sample: "0.45mm"},
	{Name: "layer", Kind: value.NumberKind, Dim: unit.Length, Below: 3, Doc: "the height of a layer",
		Of: "nozzle", Share: 0.5, Source: "half the nozzle, common practice", Sample: "0.2mm"},
	{Name: "first_layer", Kind: value.NumberKind, Dim: unit.Length, Below: 3, Doc: "the height of the first layer",
		Of: "layer", Share: 1.5, Source: "one and a half layers, common practice", Sample: "0.3mm"},
	{Name: "flow", Kind: value.NumberKind, Dim: unit.Dim{Length: 3, Time: -1}, Doc: "mean flow of plastic over a print",
		Default: value.Of(8, unit.Dim{Length: 3, Time: -1}),
		Source:  "common practice for a nozzle of 0.4 mm", Sample: "8mm^3/s"},
	{Name: "overhang", Kind: value.NumberKind, Dim: unit.Angle, Below: math.Pi / 2, Doc: "the steepest lean from upright that prints without support",
		Default: value.Angle(math.Pi / 4),
		Source:  "design tables of filament printing", Sample: "45deg"},
	{Name: "bridge", Kind: value.NumberKind, Dim: unit.Length, Below: 1000, Doc: "the longest bridge that prints without sagging",
		Default: value.Length(10), Source: "design tables of filament printing; the cautious one prints 5 mm", Sample: "10mm"},
	{Name: "least_hole", Kind: value.NumberKind, Dim: unit.Length, Below: 100, Doc: "the smallest hole that stays open, on diameter",
		Default: value.Length(2), Source: "design tables of filament printing", Sample: "2mm"},
	{Name: "material", Kind: value.TextKind, Doc: "what parts are printed in that name no material",
		Default: value.Text(builtin.DefaultMaterial),
		Source:  "common practice for parts outdoors", Sample: `"petg"`},
	{Name: "currency", Kind: value.TextKind, Doc: "the money that prices are in", Sample: `"EUR"`},
}

// LookupEntry returns the entry of that name.
func LookupEntry(name string) (*Entry, bool) {
	for i := range Entries {
		if Entries[i].Name == name {
			return &Entries[i], true
		}
	}
	return nil, false
}

// EntryNames lists the entries.
func EntryNames() []string {
	var names []string
	for _, e := range Entries {
		names = append(names, e.Name)
	}
	return names
}

// Fit is how two bodies go together: the true clearance between a shaft and
// its hole once both are printed, on diameter. Below 0 it is an interference.
type Fit struct {
	Name string
	Doc  string
	// Clearance on diameter that is assumed, mm, and the limit to either side
	// that it is good to.
	Clearance, Give float64
	// Fixed fits are what they are: no workshop states them.
	Fixed bool
}

// Fits lists the fits by their clearance. The values are common practice:
// design tables of filament printing name 0.5 mm loose, 0.2 to 0.25 mm normal
// and 0.05 to 0.1 mm tight as drawn, with holes that come out smaller.
var Fits = []Fit{
	{"press", "pushed together by hand or in a vice, and stays", -0.05, 0.05, false},
	{"exact", "no clearance: comes out at the size asked for", 0, 0, true},
	{"snug", "goes together by hand and does not rattle", 0.10, 0.05, false},
	{"sliding", "slides and turns freely", 0.25, 0.05, false},
	{"free", "goes in whatever the print, rattles a little", 0.50, 0.10, false},
}

// LookupFit returns the fit of that name.
func LookupFit(name string) (*Fit, bool) {
	for i := range Fits {
		if Fits[i].Name == name {
			return &Fits[i], true
		}
	}
	return nil, false
}

// FitNames lists the fits.
func FitNames() []string {
	var names []string
	for _, f := range Fits {
		names = append(names, f.Name)
	}
	return names
}

// Stated is a value and where it comes from.
type Stated struct {
	Value value.Value
	// From is the place of the text, "" for what is assumed; Source then says
	// who says so.
	From   string
	Source string
	At     source.Span
}

// Assumed reports whether the workshop does not state the value.
func (s Stated) Assumed() bool { return s.From == "" }

// Profile is a workshop in force. It may be asked from several goroutines.
type Profile struct {
	// File is the file that states it, as messages print it; "" for none.
	File string
	// Materials are the maker's own, and known ones with values of the maker.
	Materials []builtin.Material
	// Holes and Pegs say by how much what is printed differs from what is
	// drawn, or are nil when nothing was measured.
	Holes, Pegs *Correction

	values map[string]Stated
	fits   map[string]Stated

	mu   sync.Mutex
	used map[string]bool
}

// New returns a profile that states nothing.
func New(file string) *Profile {
	return &Profile{File: file, values: map[string]Stated{}, fits: map[string]Stated{}, used: map[string]bool{}}
}

// State sets an entry.
func (p *Profile) State(e *Entry, s Stated) { p.values[e.Name] = s }

// StateFit sets the clearance of a fit on diameter.
func (p *Profile) StateFit(f *Fit, s Stated) { p.fits[f.Name] = s }

// Ask returns the value of an entry, and remembers that it was asked for. The
// Value is nil when nothing is stated and nothing can be assumed.
func (p *Profile) Ask(name string) Stated {
	p.note(name)
	return p.ask(name)
}

// ask is Ask without remembering.
func (p *Profile) ask(name string) Stated {
	if s, ok := p.values[name]; ok {
		return s
	}
	e, ok := LookupEntry(name)
	switch {
	case !ok:
		return Stated{}
	case e.Of != "":
		n := p.ask(e.Of).Value.(value.Number)
		return Stated{Value: n.Apply(float64(n.X*e.Share), e.Share, n.Dim), Source: e.Source}
	}
	return Stated{Value: e.Default, Source: e.Source}
}

// Look returns the value of an entry without counting it as used.
func (p *Profile) Look(name string) Stated { return p.ask(name) }

func (p *Profile) note(name string) {
	p.mu.Lock()
	p.used[name] = true
	p.mu.Unlock()
}

// Clearance returns the clearance of a fit on diameter. What only common
// practice gives has no uncertainty yet: it is good to ±Give of the fit.
func (p *Profile) Clearance(f *Fit) Stated {
	p.note(FitWord + "." + f.Name)
	return p.LookFit(f)
}

// LookFit is Clearance without counting it as used.
func (p *Profile) LookFit(f *Fit) Stated {
	if s, ok := p.fits[f.Name]; ok {
		return s
	}
	if f.Fixed {
		return Stated{Value: value.Length(0), From: "by definition"}
	}
	return Stated{Value: value.Length(f.Clearance), Source: "common practice"}
}

// Material finds a material, the maker's own first.
func (p *Profile) Material(name string) (*builtin.Material, bool) {
	for i := range p.Materials {
		if p.Materials[i].Name == name {
			return &p.Materials[i], true
		}
	}
	return builtin.LookupMaterial(name)
}

// MaterialNames lists the materials that parts can name, the maker's own first.
func (p *Profile) MaterialNames() []string {
	var names []string
	for _, m := range p.Materials {
		names = append(names, m.Name)
	}
	for _, n := range builtin.MaterialNames() {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return names
}

// Assumptions lists what was asked for and only common practice answered, each
// with its value, in the order of the tables.
func (p *Profile) Assumptions() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []string
	for _, e := range Entries {
		if s := p.ask(e.Name); p.used[e.Name] && s.Assumed() && s.Value != nil {
			out = append(out, e.Name+" "+Show(s.Value))
		}
	}
	for _, f := range Fits {
		if s := p.LookFit(&f); p.used[FitWord+"."+f.Name] && s.Assumed() {
			out = append(out, fmt.Sprintf("fit.%s %s on diameter", f.Name, Show(s.Value)))
		}
	}
	if p.used["hole"] && p.Holes == nil {
		out = append(out, fmt.Sprintf("holes come out %g mm small", practiceHole.X))
	}
	if p.used["peg"] && p.Pegs == nil {
		out = append(out, "pegs come out as drawn")
	}
	return out
}

// Show prints a value as a report does: a point as sizes, a text without its
// quotes.
func Show(v value.Value) string {
	switch v := v.(type) {
	case value.Point:
		s := ""
		for i, n := range v {
			if i > 0 {
				s += " x "
			}
			s += fmt.Sprintf("%g", n.X)
		}
		return s + " mm"
	case value.Text:
		return string(v)
	case value.Number:
		if factor, word, ok := shown(v.Dim); ok {
			return fmt.Sprintf("%.4g%s", v.X/factor, word)
		}
		if u := v.Uncertainty(); u > 0 {
			return unit.Format(v.X, v.Dim) + " +- " + unit.Format(round2(u), v.Dim)
		}
	}
	return value.Print(v)
}

// shown is how a report writes what has no unit of its own.
func shown(d unit.Dim) (factor float64, word string, ok bool) {
	switch d {
	case builtin.PerKelvin:
		return 1e-6, "e-6 / K", true
	case builtin.PerMass:
		return 1e-3, " / kg", true
	}
	return 0, "", false
}

// round2 rounds to two significant digits (JCGM 100:2008, 7.2.6).
func round2(u float64) float64 {
	if u == 0 {
		return 0
	}
	p := math.Pow(10, 1-math.Floor(math.Log10(math.Abs(u))))
	return math.Round(u*p) / p
}

func (p *Profile) number(name string) float64 { return p.Ask(name).Value.(value.Number).X }

// Bed returns what can be printed, mm.
func (p *Profile) Bed() geom.Vec3 {
	b := p.Ask("bed").Value.(value.Point)
	return geom.Vec3{X: b[0].X, Y: b[1].X, Z: b[2].X}
}

// Nozzle returns the bore of the nozzle, mm.
func (p *Profile) Nozzle() float64 { return p.number("nozzle") }

// Line returns the width of a track, mm.
func (p *Profile) Line() float64 { return p.number("line") }

// Layer returns the height of a layer, mm.
func (p *Profile) Layer() float64 { return p.number("layer") }

// FirstLayer returns the height of the first layer, mm.
func (p *Profile) FirstLayer() float64 { return p.number("first_layer") }

// Bridge returns the longest bridge, mm.
func (p *Profile) Bridge() float64 { return p.number("bridge") }

// Overhang returns the steepest lean from upright, rad.
func (p *Profile) Overhang() float64 { return p.number("overhang") }

// Flow returns the mean flow, mm³/s.
func (p *Profile) Flow() float64 { return p.number("flow") }

// Currency returns the money of prices, or "".
func (p *Profile) Currency() string {
	t, _ := p.Look("currency").Value.(value.Text)
	return string(t)
}
