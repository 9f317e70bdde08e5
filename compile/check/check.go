// Package check judges a finished part: the conditions that its file states
// are worked out on the built mesh, each to a pass or a failure with the
// value, the limit and the margin between them.
package check

import (
	"fmt"

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

// Measure returns the facts of a mesh printed solid in a material of the
// given density in g/mm³.
func Measure(m *mesh.Mesh, density float64) Facts {
	v := m.Volume()
	return Facts{Volume: v, Surface: m.Area(), Mass: float64(v * density), Size: m.Bounds().Size(), Pieces: pieces(m), Part: &Finished{Mesh: m, Shop: Practice{}}}
}

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
}

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

// Result is one judged check.
type Result struct {
	Outcome
	Text string
	At   source.Span
}

// Codes of this package.
const (
	Failed     diag.Code = "check-failed"
	CannotTell diag.Code = "check-cannot-tell"
)

// Run judges every check in the order written. A check that fails is an error
// in the list as well.
func Run(checks []Check, f Facts) ([]Result, diag.List) {
	var results []Result
	var list diag.List
	for _, c := range checks {
		o, faults := c.Judge(f)
		list.Add(faults...)
		if c.Silent || faults.HasErrors() {
			continue
		}
		r := Result{Outcome: o, Text: c.Text, At: c.At}
		results = append(results, r)
		switch {
		case o.Unknown != "":
			list.Add(diag.Diagnostic{Code: CannotTell, Severity: diag.Warning, At: r.At, Message: "this check cannot be told: " + r.Text, Notes: []string{diag.Why(o.Unknown), diag.Do("look at the part there, or leave the check out")}})
		case !o.Pass:
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
			Notes:   []string{diag.Do(fmt.Sprintf("let them overlap, or say that it is meant: `check pieces = %d`", f.Pieces))},
		}}
	}}
}

func (r Result) fault() diag.Diagnostic {
	d := diag.Diagnostic{Code: Failed, At: r.At, Message: fmt.Sprintf("this check fails: %s", r.Text)}
	if r.Op != "" {
		d.Notes = append(d.Notes, diag.Why(fmt.Sprintf("the left side is %s, the right side %s", r.Value, r.Limit)))
	}
	if r.Asked != nil {
		if r.Found.Where != "" {
			d.Notes = append(d.Notes, diag.Why(r.Found.Where))
		}
		d.Places = r.Found.Places
		d.Notes = append(d.Notes, diag.Do(r.Asked.Change))
		return d
	}
	if m, ok := r.Margin(); ok && m.X < 0 {
		d.Notes = append(d.Notes, diag.Do(fmt.Sprintf("change the part by %s, or the limit", value.Neg(m))))
	} else {
		d.Notes = append(d.Notes, diag.Do("change the part, or the limit"))
	}
	return d
}
