package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"perch/compile/value"
)

// This file carries the uncertainty of the measurements into a check.
//
// A condition about values of the file has it already: every number carries
// its contributions to first order. A condition about the finished part is
// judged again with each measurement one standard uncertainty larger and
// smaller, and half the difference of the margins is what that measurement
// contributes (central differences). When it asks about the part alone, the
// part is rebuilt from the shifted values; when it asks about a body that is
// not printed, the part stays as drawn, for that is what comes off the
// printer, and it is the body that may be larger or smaller than was read.
//
// A check passes when the value keeps the limit with its expanded uncertainty
// U = 2 u, about 95 % (JCGM 100:2008, 6.2 and G.6.6; the rule of deciding is
// that of guarded acceptance, JCGM 106:2012, 8.3.2). It fails when it misses
// the limit by more than U. Between the two it cannot be told with these
// measurements. Equality is judged as it stands.

// Shift is one measurement, one standard uncertainty up and down.
type Shift struct {
	Name     string
	Up, Down Other
}

// Other is the file evaluated with a shifted measurement.
type Other struct {
	// Checks are those of the part, in the same order; nil when the part
	// cannot be made.
	Checks []Check
	// Facts builds the part once; ok is false when it cannot be built.
	Facts func() (f Facts, ok bool)
}

// Cause is what one measurement contributes to the margin of a check: the
// change that one standard uncertainty makes, in base units, with its sign.
type Cause struct {
	Name string
	C    float64
}

// Coverage is the factor from the standard uncertainty to the expanded one, of
// about 95 % (GUM Table G.2, many degrees of freedom).
const Coverage = 2

// Uncertainty returns the combined standard uncertainty of the margin, in base
// units: the measurements do not depend on each other (GUM 5.1.2).
func (o Outcome) Uncertainty() float64 {
	var s float64
	for _, c := range o.Causes {
		s += float64(c.C * c.C)
	}
	return math.Sqrt(s)
}

// Expanded returns the expanded uncertainty of the margin, k = 2.
func (o Outcome) Expanded() float64 { return Coverage * o.Uncertainty() }

// Worst returns what all measurements make of the margin when each is off by
// its own expanded uncertainty at once and to the worse side.
func (o Outcome) Worst() float64 {
	var s float64
	for _, c := range o.Causes {
		s += Coverage * math.Abs(c.C)
	}
	return s
}

// Share is the part, from 0 to 1, that one cause has in the variance.
func (o Outcome) Share(c Cause) float64 {
	u := o.Uncertainty()
	if u == 0 {
		return 0
	}
	return float64(c.C/u) * (c.C / u)
}

// spread fills in the causes of a comparison.
func (o *Outcome) spread(check int, asks Asks, f Facts, shifts []Shift) {
	m, ok := o.Margin()
	if !ok || o.Unknown != "" {
		o.Causes = nil
		return
	}
	if asks != AsksValues && len(shifts) > 0 {
		// What only the condition itself brings in, such as a figure of the
		// material, it has to first order.
		o.Causes = slices.DeleteFunc(o.Causes, func(c Cause) bool {
			return slices.ContainsFunc(shifts, func(s Shift) bool { return s.Name == c.Name })
		})
		o.rebuild(check, asks, f, shifts, m.X)
	}
	// Less than this is what rounding leaves of nothing.
	least := 1e-9 * max(math.Abs(o.Value.X), math.Abs(o.Limit.X))
	o.Causes = slices.DeleteFunc(o.Causes, func(c Cause) bool { return math.Abs(c.C) <= least })
	slices.SortStableFunc(o.Causes, func(a, b Cause) int { return cmp.Compare(math.Abs(b.C), math.Abs(a.C)) })
}

// rebuild judges the condition with every measurement shifted, several at a
// time.
func (o *Outcome) rebuild(check int, asks Asks, f Facts, shifts []Shift, margin float64) {
	type pair struct {
		up, down     float64
		rises, falls bool
	}
	pairs := make([]pair, len(shifts))
	atOnce(2*len(shifts), func(i int) {
		s, p := shifts[i/2], &pairs[i/2]
		if i%2 == 0 {
			p.up, p.rises = s.Up.margin(check, asks, f)
		} else {
			p.down, p.falls = s.Down.margin(check, asks, f)
		}
	})
	for i, p := range pairs {
		if step := o.Found.Step; step > 0 && math.Abs(p.up-margin) < step && math.Abs(p.down-margin) < step && p.rises && p.falls {
			continue // facets that come to lie otherwise
		}
		switch {
		case p.rises && p.falls:
			o.Causes = append(o.Causes, Cause{shifts[i].Name, (p.up - p.down) / 2})
		case p.rises:
			o.Causes = append(o.Causes, Cause{shifts[i].Name, p.up - margin})
		case p.falls:
			o.Causes = append(o.Causes, Cause{shifts[i].Name, margin - p.down})
		default:
			o.Unshifted = append(o.Unshifted, shifts[i].Name)
		}
	}
}

// margin judges the condition under a shifted measurement. ok is false when
// the part, or an answer, cannot be had then.
func (s Other) margin(check int, asks Asks, f Facts) (x float64, ok bool) {
	if check >= len(s.Checks) {
		return 0, false
	}
	if asks == AsksPart {
		if f, ok = s.Facts(); !ok {
			return 0, false
		}
	}
	o, faults := s.Checks[check].Judge(f)
	if faults.HasErrors() || o.Unknown != "" {
		return 0, false
	}
	m, ok := o.Margin()
	return m.X, ok
}

// settle decides with the uncertainty in hand.
func (o *Outcome) settle() {
	m, ok := o.Margin()
	u := o.Expanded()
	if !ok || o.Unknown != "" || u == 0 || math.Abs(m.X) >= u {
		return
	}
	o.Pass = false
	o.Unknown = fmt.Sprintf("the limit of %s lies within what the measurements leave open: %s", o.LimitText(), o.withSpread())
}

// Advice says which measurement to take better, and how much, so that the
// check can be told.
func (o Outcome) Advice() string {
	if len(o.Causes) == 0 {
		return o.Change()
	}
	first := o.Causes[0]
	share := fmt.Sprintf("it makes %.0f %% of the uncertainty", 100*o.Share(first))
	m, _ := o.Margin()
	need := m.X / Coverage // the standard uncertainty that would do
	var rest float64
	for _, c := range o.Causes[1:] {
		rest += float64(c.C * c.C)
	}
	if left := float64(need*need) - rest; left > 0 {
		if times := math.Abs(first.C) / math.Sqrt(left); times <= 10 {
			return fmt.Sprintf("measure `%s` %.2g times as well (%s), or keep farther from the limit", first.Name, math.Ceil(times*10)/10, share)
		}
	}
	if len(o.Causes) > 1 && o.Share(first) < 0.9 {
		names := make([]string, 0, 3)
		for _, c := range o.Causes[:min(3, len(o.Causes))] {
			names = append(names, "`"+c.Name+"`")
		}
		return fmt.Sprintf("keep farther from the limit, or measure %s better (`%s`: %s)", strings.Join(names, " and "), first.Name, share)
	}
	return fmt.Sprintf("keep farther from the limit; measuring `%s` better helps most (%s)", first.Name, share)
}

// CausesOf returns the contributions of a margin that was worked out from
// values of the file.
func CausesOf(margin value.Number, name func(source int) string) []Cause {
	var out []Cause
	for _, c := range margin.U {
		out = append(out, Cause{name(c.Source), c.C})
	}
	return out
}
