// Package check judges a finished part: the conditions that its file states
// are worked out on the built mesh, each to a pass, a failure or "open",
// with the value, its uncertainty, the limit, the place and what to change.
//
// check.go holds conditions and their outcomes, spread.go carries the
// uncertainty of the measurements into them, standard.go is what is looked at
// without being asked. Each question has a file of its own and a line in
// Queries.
package check

import (
	"fmt"
	"math"
	"strings"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/unit"
)

// Facts are measured on the finished part.
type Facts struct {
	Volume  float64   // mm³
	Surface float64   // mm²
	Mass    float64   // g
	Size    geom.Vec3 // extent along x, y and z, mm
	Pieces  int       // that hang together; more than one fall apart
	Part    *Finished // nil for facts that only stand in
}

// Measure returns the facts of a part printed solid in its material.
func Measure(p *Finished) Facts {
	v := p.Mesh.Volume()
	return Facts{Volume: v, Surface: p.Mesh.Area(), Mass: float64(v * p.Material.Density.X), Size: p.Mesh.Bounds().Size(), Pieces: pieces(p.Mesh), Part: p}
}

// StandIn are facts to try a condition on before there is a part.
var StandIn = Facts{Volume: 1, Surface: 1, Mass: 1, Size: geom.Vec3{X: 1, Y: 1, Z: 1}, Pieces: 1}

// pieces counts the shells that face outwards; those that face inwards are
// hollows.
func pieces(m *mesh.Mesh) int {
	n, of := m.Shells()
	volume := make([]float64, n)
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		volume[of[i]] += a.Dot(b.Cross(c))
	}
	solid := 0
	for _, v := range volume {
		if v > 0 {
			solid++
		}
	}
	return solid
}

// Word is a name that means the finished part inside a check.
type Word struct {
	Name string
	Dim  unit.Dim
	Doc  string
	Of   func(Facts) float64
}

// Words lists what a check can ask of the finished part.
var Words = []Word{
	{"volume", unit.Volume, "the volume of the finished part", func(f Facts) float64 { return f.Volume }},
	{"surface", unit.AreaDim, "the area of the surface of the finished part", func(f Facts) float64 { return f.Surface }},
	{"mass", unit.Mass, "the mass of the finished part, printed solid", func(f Facts) float64 { return f.Mass }},
	{"width", unit.Length, "the extent of the finished part along x", func(f Facts) float64 { return f.Size.X }},
	{"depth", unit.Length, "the extent of the finished part along y", func(f Facts) float64 { return f.Size.Y }},
	{"height", unit.Length, "the extent of the finished part along z", func(f Facts) float64 { return f.Size.Z }},
	{"pieces", unit.None, "the number of pieces of the finished part", func(f Facts) float64 { return float64(f.Pieces) }},
}

// Lookup returns the word of that name.
func Lookup(name string) (Word, bool) {
	for _, w := range Words {
		if w.Name == name {
			return w, true
		}
	}
	return Word{}, false
}

// Check is a condition waiting for the finished part.
type Check struct {
	At   source.Span
	Text string // as written
	// Judge works the condition out. Faults met on the way are returned
	// instead of an outcome.
	Judge func(Facts) (Outcome, diag.List)
	// Silent checks were not written: they only have something to say when
	// something is odd.
	Silent bool
	// Asks of the part; of what stands in this is known before there is a part.
	Asks Asks
}

// Asks is what a condition asks about.
type Asks uint8

// What a condition may ask about; a later one covers those before it.
const (
	AsksValues    Asks = iota // values of the file only
	AsksPart                  // the finished part
	AsksNeighbour             // the finished part and a body that is not printed
)

// Status is what a check came to.
type Status string

// What a check can come to. Remark is a value without a limit.
const (
	Holds  Status = "pass"
	Fails  Status = "fail"
	Open   Status = "open" // it cannot be told
	Look   Status = "look" // fails, but nobody asked for it
	Remark Status = "info"
)

// Outcome is what a condition came to.
type Outcome struct {
	Pass bool
	// Op is the comparison, such as "<=", with Value on its left and Limit on
	// its right; "" when the condition is no plain comparison of numbers.
	Op           string
	Value, Limit value.Number
	// Unknown is why it cannot be told, or "".
	Unknown string
	Asked   *Query // the last query in it, with what it found
	Found   Finding
	// Causes are what the measurements make of the margin, the greatest first.
	Causes []Cause
	// Unshifted names the measurements that the part could not be rebuilt with.
	Unshifted []string
}

// Status returns what the condition came to.
func (o Outcome) Status() Status {
	switch {
	case o.Unknown != "":
		return Open
	case o.Pass:
		return Holds
	}
	return Fails
}

// Margin is how far the value stays inside the limit; it is negative when the
// check fails. ok is false when the outcome has no margin.
func (o Outcome) Margin() (m value.Number, ok bool) {
	switch o.Op {
	case "<", "<=":
		m, f := value.Sub(o.Limit, o.Value)
		return m, f == nil
	case ">", ">=":
		m, f := value.Sub(o.Value, o.Limit)
		return m, f == nil
	}
	return value.Number{}, false
}

// Change says what to change when the check does not hold.
func (o Outcome) Change() string {
	if o.Asked != nil {
		return o.Asked.Change
	}
	if m, ok := o.Margin(); ok && m.X < 0 {
		return fmt.Sprintf("change the part by %s, or the limit", value.Neg(m))
	}
	return "change the part, or the limit"
}

// Result is one judged check.
type Result struct {
	Outcome
	Text string
	At   source.Span
	// Standard results were not asked for by the file.
	Standard bool
	// About is the remark of a standard result without a limit.
	About string
}

// Status returns what the check came to.
func (r Result) Status() Status {
	if r.About != "" {
		return Remark
	}
	if s := r.Outcome.Status(); s != Fails || !r.Standard {
		return s
	}
	return Look
}

// Codes of this package.
const (
	Failed     diag.Code = "check-failed"
	CannotTell diag.Code = "check-cannot-tell"
)

// Run judges every check in the order written, each with the uncertainty that
// the shifted measurements give it. A check that fails is an error in the list
// as well, one that cannot be told a warning.
func Run(checks []Check, f Facts, shifts []Shift) ([]Result, diag.List) {
	var results []Result
	var list diag.List
	for i, c := range checks {
		o, faults := c.Judge(f)
		list.Add(faults...)
		if c.Silent || faults.HasErrors() {
			continue
		}
		o.spread(i, c.Asks, f, shifts)
		o.settle()
		r := Result{Outcome: o, Text: c.Text, At: c.At}
		results = append(results, r)
		switch r.Status() {
		case Open:
			list.Add(r.doubt())
		case Fails:
			list.Add(r.fault())
		}
	}
	return results, list
}

// Loose is the code of a part that falls apart.
const Loose diag.Code = "part-loose"

// OnePiece is a silent check that warns when a part comes in several pieces.
func OnePiece(part string, at source.Span) Check {
	return Check{At: at, Silent: true, Judge: func(f Facts) (Outcome, diag.List) {
		if f.Pieces <= 1 {
			return Outcome{}, nil
		}
		return Outcome{}, diag.List{{
			Code: Loose, Severity: diag.Warning, At: at,
			Message: fmt.Sprintf("part %s comes in %d pieces that do not hang together", part, f.Pieces),
			Notes:   append(smallest(f.Part), diag.Do(fmt.Sprintf("let them overlap, or say that it is meant: `check pieces = %d`", f.Pieces))),
		}}
	}}
}

// smallest tells where the smallest piece of a part lies.
func smallest(p *Finished) []string {
	if p == nil {
		return nil
	}
	n, of := p.Mesh.Shells()
	volume, boxes, seen := make([]float64, n), make([]geom.Box, n), make([]bool, n)
	for i := range p.Mesh.Triangles {
		a, b, c := p.Mesh.Corners(i)
		s := of[i]
		if !seen[s] {
			seen[s], boxes[s] = true, geom.Box{Min: a, Max: a}
		}
		for _, v := range []geom.Vec3{a, b, c} {
			lo, hi := &boxes[s].Min, &boxes[s].Max
			lo.X, lo.Y, lo.Z = min(lo.X, v.X), min(lo.Y, v.Y), min(lo.Z, v.Z)
			hi.X, hi.Y, hi.Z = max(hi.X, v.X), max(hi.Y, v.Y), max(hi.Z, v.Z)
		}
		volume[s] += a.Dot(b.Cross(c))
	}
	least := -1
	for s, v := range volume {
		if v > 0 && (least < 0 || v < volume[least]) {
			least = s
		}
	}
	if least < 0 {
		return nil
	}
	lo, hi := boxes[least].Min, boxes[least].Max
	return []string{diag.Why(fmt.Sprintf("the smallest lies between (%s, %s, %s) and (%s, %s, %s) mm", Tenths(lo.X), Tenths(lo.Y), Tenths(lo.Z), Tenths(hi.X), Tenths(hi.Y), Tenths(hi.Z)))}
}

func (r Result) fault() diag.Diagnostic {
	d := diag.Diagnostic{Code: Failed, At: r.At, Message: fmt.Sprintf("this check fails: %s", r.Text)}
	if r.Op != "" {
		d.Notes = append(d.Notes, diag.Why(fmt.Sprintf("it comes to %s, the limit is %s", r.withSpread(), r.LimitText())))
	}
	if r.Asked != nil && r.Found.Where != "" {
		d.Notes = append(d.Notes, diag.Why(r.Found.Where))
	}
	d.Places = r.Found.Places
	d.Notes = append(d.Notes, diag.Do(r.Change()))
	return d
}

func (r Result) doubt() diag.Diagnostic {
	d := diag.Diagnostic{
		Code: CannotTell, Severity: diag.Warning, At: r.At,
		Message: "this check cannot be told: " + r.Text,
		Notes:   []string{diag.Why(r.Unknown)},
		Places:  r.Found.Places,
	}
	advice := "look at the part there, or leave the check out"
	if len(r.Causes) > 0 {
		advice = r.Advice()
	}
	d.Notes = append(d.Notes, diag.Do(advice))
	return d
}

// withSpread prints the value with its expanded uncertainty.
func (o Outcome) withSpread() string {
	u := o.Expanded()
	if u == 0 {
		return o.ValueText()
	}
	return fmt.Sprintf("%s +- %s (95 %%)", o.Rounded(u), o.Figure(u))
}

// In returns the unit that the outcome is printed in, with how many base units
// it has.
func (o Outcome) In(v value.Number) (factor float64, word string) {
	if o.Asked != nil && o.Asked.Unit != "" && v.Dim == o.Asked.Dim {
		if u, err := unit.Parse(o.Asked.Unit); err == nil {
			return u.Factor, o.Asked.Unit
		}
	}
	return unit.Shown(v.X, v.Dim)
}

// LimitText prints the limit.
func (o Outcome) LimitText() string { return o.text(o.Limit, 6) }

// ValueText prints the value: what was measured on the mesh to four significant
// digits, more than a print keeps, or as many as tell it from its limit.
func (o Outcome) ValueText() string {
	if o.Asked == nil {
		return o.text(o.Value, 6)
	}
	limit := o.LimitText()
	s := o.text(o.Value, 4)
	for n := 5; n <= 9 && o.Op != "" && s == limit && o.Value.X != o.Limit.X; n++ {
		s = o.text(o.Value, n)
	}
	return s
}

// negligible is a share of any unit that only rounding leaves.
const negligible = 1e-9

func (o Outcome) text(v value.Number, digits int) string {
	factor, word := o.In(v)
	x := v.X / factor
	if o.Asked != nil && math.Abs(x) < negligible {
		x = 0
	}
	return strings.TrimSpace(unit.Digits(x, digits) + " " + word)
}

// Rounded prints the value to the last place of its uncertainty (GUM 7.2.6),
// and to no more than six significant digits.
func (o Outcome) Rounded(u float64) string {
	factor, word := o.In(o.Value)
	x := o.Value.X / factor
	places := placesOf(u / factor)
	if x != 0 {
		places = min(places, max(0, 5-int(math.Floor(math.Log10(math.Abs(x))))))
	}
	return strings.TrimSpace(fmt.Sprintf("%.*f %s", places, x+0, word))
}

// placesOf is how many decimals two significant digits of an uncertainty have.
func placesOf(u float64) int {
	if u == 0 || math.IsInf(u, 0) || math.IsNaN(u) {
		return 6
	}
	return min(9, max(0, 1-int(math.Floor(math.Log10(math.Abs(u))))))
}

// Figure prints an uncertainty to two significant digits, in the unit that the
// value beside it is printed in.
func (o Outcome) Figure(u float64) string {
	factor, word := o.In(o.Value)
	return strings.TrimSpace(fmt.Sprintf("%.*f %s", placesOf(u/factor), u/factor, word))
}
