package check

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"perch/compile/geom"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/spell"
	"perch/lang/unit"
)

// Query is something a check can ask of the finished part that is worked out
// on its mesh, and only when asked.
type Query struct {
	Name  string // in words: "tip angle"
	Links []Link // the words that bring in values, in the order written
	Dim   unit.Dim
	Unit  string // that the answer is printed in, where Dim alone would print another
	Flag  bool   // the answer is yes or no
	Doc   string
	// Formula is how the value is found, Source where the rule or the limit
	// that people use comes from.
	Formula, Source string
	Example         string // a check
	Change          string // what to change when it fails
	Find            func(p *Finished, g *Given) Finding
}

// Link is a word of a Query that brings in a value.
type Link struct {
	Word  string
	Takes Takes
	Dims  []unit.Dim // of a Quantity, any of these
	// Many lets the word stand any number of times, none included.
	Many bool
}

// Takes is the kind of value behind a Link.
type Takes uint8

// Kinds of values behind a Link.
const (
	Body     Takes = iota // one that is not printed
	Place                 // a point, mm
	Quantity              // a number
)

func (k Takes) String() string {
	return [...]string{"a body", "a point of three coordinates", "a quantity"}[k]
}

// Kind says what the link takes: "a mass or a force".
func (l Link) Kind() string {
	if l.Takes != Quantity {
		return l.Takes.String()
	}
	words := make([]string, len(l.Dims))
	for i, d := range l.Dims {
		words[i] = value.A(d)
		if d == unit.Temperature { // one in degC, and no difference
			words[i] = "a temperature"
		}
	}
	return strings.Join(words, " or ")
}

// sample stands for the value in a phrase.
func (l Link) sample() string {
	s := [...]string{"BODY", "(x, y, z)", "QUANTITY"}[l.Takes]
	if l.Takes == Quantity && len(l.Dims) > 0 {
		names := make([]string, len(l.Dims))
		for i, d := range l.Dims {
			names[i] = strings.ToUpper(strings.Fields(d.String())[0])
		}
		s = strings.Join(names, "-or-")
	}
	if l.Many {
		return "[" + l.Word + " " + s + "]"
	}
	return l.Word + " " + s
}

// Phrase is how the query is written: "gap to BODY".
func (q *Query) Phrase() string {
	words := []string{q.Name}
	for _, l := range q.Links {
		words = append(words, l.sample())
	}
	return strings.Join(words, " ")
}

// takes reports whether the query is asked with these link words.
func (q *Query) takes(words []string) bool {
	i := 0
	for _, l := range q.Links {
		switch {
		case l.Many:
			for i < len(words) && words[i] == l.Word {
				i++
			}
		case i == len(words) || words[i] != l.Word:
			return false
		default:
			i++
		}
	}
	return i == len(words)
}

// Link returns the link that a word of the query stands for.
func (q *Query) Link(word string) *Link {
	i := slices.IndexFunc(q.Links, func(l Link) bool { return l.Word == word })
	return &q.Links[i]
}

// Given is what the links of a query bring in.
type Given struct {
	// Limit is the right side of the comparison, NaN for none.
	Limit  float64
	Values []Brought
}

// Brought is the value behind one link; which field is set follows from what
// the link takes.
type Brought struct {
	Word  string
	Body  *value.Body
	Point geom.Vec3
	X     value.Number
}

// Get returns what the word brought in.
func (g *Given) Get(word string) Brought {
	for _, b := range g.Values {
		if b.Word == word {
			return b
		}
	}
	return Brought{}
}

// Finding is the answer to a Query.
type Finding struct {
	Value   float64 // of a Flag: 1 for yes
	Unknown string  // why it cannot be told, or ""
	Where   string
	Places  []diag.Place
	// Step is how coarsely the value is told, since curved faces are made of
	// facets: a change by less is theirs and not the part's.
	Step float64
}

// Queries lists what can be asked.
var Queries = []Query{
	// Prints.
	fitsBed, firstLayer, overhang, bridge, wall, gap, looseIslands, leastTime, filament,
	// Fits.
	clearanceTo, gapTo, leastGapTo, contactTo, interferenceTo, freePath, freeInsertion, mouthOf,
	// Stands and holds.
	tipAngle, momentAbout, sagOf, stressOf, frequencyOf, softeningAt,
}

// LookupQuery returns the query of that name with those link words.
func LookupQuery(name string, links ...string) (*Query, bool) {
	for i := range Queries {
		if Queries[i].Name == name && Queries[i].takes(links) {
			return &Queries[i], true
		}
	}
	return nil, false
}

// Nearest returns the query whose name is closest to a misspelt one.
func Nearest(name string) (*Query, bool) {
	names := make([]string, len(Queries))
	for i := range Queries {
		names[i] = Queries[i].Name
	}
	s, ok := spell.Nearest(name, names)
	if !ok {
		return nil, false
	}
	return &Queries[slices.Index(names, s)], true
}

// Beginning finds the query whose name a longer phrase begins with: `wall
// thickness`.
func Beginning(phrase string) (*Query, bool) {
	for i := range Queries {
		if strings.HasPrefix(phrase, Queries[i].Name+" ") {
			return &Queries[i], true
		}
	}
	return nil, false
}

// Linked puts in the word that is left out between the name of a query and
// the body it asks about: `gap pipe`.
func Linked(phrase string) (string, bool) {
	for i := range Queries {
		q := &Queries[i]
		if rest, ok := strings.CutPrefix(phrase, q.Name+" "); ok && len(q.Links) == 1 && q.Links[0].Takes == Body {
			return q.Name + " " + q.Links[0].Word + " " + rest, true
		}
	}
	return "", false
}

// Phrases lists the queries as they are written.
func Phrases() []string {
	out := make([]string, len(Queries))
	for i := range Queries {
		out[i] = Queries[i].Phrase()
	}
	return out
}

func placeOf(b geom.Box) diag.Place {
	return diag.Place{b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z}
}

// spot names the middle of some points, and the box round them.
func spot(ps ...geom.Vec3) (string, []diag.Place) {
	b := geom.EmptyBox()
	for _, p := range ps {
		b.Add(p)
	}
	return "at " + coordinates(b.Min.Add(b.Max).Scale(0.5)), []diag.Place{placeOf(b)}
}

// coordinates prints a point to a tenth of a millimetre.
func coordinates(p geom.Vec3) string {
	return fmt.Sprintf("x %s, y %s, z %s mm", Tenths(p.X), Tenths(p.Y), Tenths(p.Z))
}

// Tenths prints a coordinate to a tenth of a millimetre; what rounds to zero
// has no sign.
func Tenths(x float64) string {
	if s := strconv.FormatFloat(x, 'f', 1, 64); s != "-0.0" {
		return s
	}
	return "0.0"
}
