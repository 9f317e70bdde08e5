package check

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"perch/compile/value"
	"perch/lang/unit"
)

// standing is a question that is put to every part, with the limit of the
// workshop; without one the answer is a remark.
type standing struct {
	query *Query
	op    string
	limit func(Workshop) float64 // in base units; nil for none
}

// standard lists what is looked at without being asked.
var standard = []standing{
	{query: &fitsBed},
	{&firstLayer, ">=", func(Workshop) float64 { return 25 }}, // mm²; less lets go of the bed, common practice
	{&overhang, "<=", Workshop.Overhang},
	{&bridge, "<=", Workshop.Bridge},
	{&wall, ">=", func(w Workshop) float64 { return 2 * w.Nozzle() }}, // two lines: design tables
	{&gap, ">=", func(w Workshop) float64 { return w.Layer() }},
	{&looseIslands, "<=", func(Workshop) float64 { return 0 }},
	{query: &leastTime},
	{query: &filament},
}

// overlap is how deep a body that is not printed may lie in the part before it
// is worth a word, mm: what chords leave, and what plastic gives.
const overlap = 0.05

// Standard looks at what matters for every part and was not asked for: whether
// it prints, and whether bodies that are not printed overlap it. asked are the
// results of the checks of the file, told the names of bodies whose overlap is
// told of elsewhere.
func Standard(p *Finished, asked []Result, told []string) []Result {
	var asks []func() Result
	for _, s := range standard {
		if !isAsked(asked, s.query) {
			asks = append(asks, func() Result { return s.ask(p) })
		}
	}
	asks = append(asks, p.lying)
	if !isAsked(asked, &interferenceTo) {
		for _, m := range p.Mates {
			if slices.Contains(told, m.Name) {
				continue
			}
			asks = append(asks, func() Result { return p.overlaps(m) })
		}
	}
	out := make([]Result, len(asks))
	atOnce(len(asks), func(i int) { out[i] = asks[i]() })
	return out
}

// atOnce does n pieces of work, several at a time. A panic in one goes on here,
// where it can be caught.
func atOnce(n int, do func(i int)) {
	fell := make(chan any, n)
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var all sync.WaitGroup
	for i := range n {
		slots <- struct{}{}
		all.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					fell <- r
				}
				<-slots
			}()
			do(i)
		})
	}
	all.Wait()
	if len(fell) > 0 {
		panic(<-fell)
	}
}

func isAsked(results []Result, q *Query) bool {
	return slices.ContainsFunc(results, func(r Result) bool {
		return r.Asked != nil && r.Asked.Name == q.Name && len(r.Asked.Links) == len(q.Links)
	})
}

func (s standing) ask(p *Finished) Result {
	q := s.query
	r := Result{Text: q.Name, Standard: true, Outcome: Outcome{Asked: q}}
	limit := math.NaN()
	if s.limit != nil {
		limit = s.limit(p.Shop)
	}
	f := p.Ask(q, &Given{Limit: limit})
	r.Found = f
	switch {
	case f.Unknown != "" && (q.Name == "gap" || q.Name == "wall"):
		r.About = f.Unknown // nothing to be thin
	case f.Unknown != "":
		r.Unknown = f.Unknown
	case q.Flag:
		r.Pass = f.Value != 0
	default:
		r.Value = value.Of(f.Value, q.Dim)
		if s.limit == nil {
			r.About = f.Where
			return r
		}
		r.Op, r.Limit = s.op, value.Of(limit, q.Dim)
		r.Pass, _ = value.Compare(s.op, r.Value, r.Limit)
		// Unasked, half a percent is not worth a word: chords take as much.
		r.Pass = r.Pass || math.Abs(f.Value-limit) <= float64(5e-3*limit)
		r.Text = fmt.Sprintf("%s %s %s", q.Name, s.op, r.LimitText())
	}
	return r
}

// overlaps tells of a body that lies in the part.
func (p *Finished) overlaps(m Mate) Result {
	f := p.Ask(&interferenceTo, &Given{Limit: overlap, Values: []Brought{{Word: "to", Body: m.Body}}})
	r := Result{Standard: true, Outcome: Outcome{Asked: &interferenceTo, Found: f, Unknown: f.Unknown, Op: "<=",
		Value: value.Of(f.Value, unit.Length), Limit: value.Length(overlap), Pass: f.Value <= overlap}}
	r.Text = fmt.Sprintf("interference to %s <= %s", m.Name, r.LimitText())
	return r
}
