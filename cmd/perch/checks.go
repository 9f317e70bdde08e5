package main

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"perch/compile"
	"perch/compile/check"
	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/unit"
)

// This file prints what checks came to, for people and for machines.

// checks prints every check of a part, also those that hold, and then what was
// looked at without being asked.
func (c *console) checks(p compile.Part) {
	width := 0
	for _, list := range [][]check.Result{p.Checks, p.Standing} {
		for _, r := range list {
			width = max(width, min(44, utf8.RuneCountInString(r.Text)))
		}
	}
	for _, r := range p.Checks {
		c.check(r, width)
	}
	if len(p.Standing) > 0 {
		fmt.Fprintln(c.out, "  looked at without being asked")
	}
	for _, r := range p.Standing {
		c.check(r, width)
	}
	for _, a := range p.Cautions {
		c.caution(a.Text)
	}
	c.caution(check.Estimates)
}

// check prints one check: what it came to, the text, the value with its
// uncertainty, and below it where, which measurements it hangs on, and what to
// change.
func (c *console) check(r check.Result, width int) {
	line := fmt.Sprintf("    %s  %s  %s", pad(string(r.Status()), 5), pad(r.Text, width), valueOf(r))
	fmt.Fprintln(c.out, render.Clean(strings.TrimRight(line, " ")))
	below := func(text string) { fmt.Fprintln(c.out, render.Clean("           "+text)) }
	for _, text := range remarks(r) {
		below(text)
	}
}

// caution prints a caution, wrapped.
func (c *console) caution(text string) {
	const width = 96
	line := "  caution"
	for _, word := range strings.Fields(text) {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			fmt.Fprintln(c.out, render.Clean(line))
			line = "         "
		}
		line += " " + word
	}
	fmt.Fprintln(c.out, render.Clean(line))
}

// valueOf prints the value of a check with its expanded uncertainty and the
// worst case, where it has any.
func valueOf(r check.Result) string {
	if r.Op == "" && r.Status() != check.Remark {
		return ""
	}
	if r.Status() == check.Remark && r.Value.Dim == unit.None && r.Value.X == 0 {
		return ""
	}
	s := r.ValueText()
	u := r.Expanded()
	if u == 0 {
		return s
	}
	open := fmt.Sprintf("+- %s (95 %%), at worst +- %s", r.Figure(u), r.Figure(r.Worst()))
	if m, ok := r.Margin(); ok && len(r.Limit.U) > 0 { // the limit is unsure as well
		return fmt.Sprintf("%s, margin %s %s", s, m, open)
	}
	return r.Rounded(u) + " " + open
}

// remarks are the lines below a check.
func remarks(r check.Result) []string {
	var out []string
	s := r.Status()
	if s == check.Remark {
		return append(out, r.About)
	}
	if s == check.Open {
		out = append(out, r.Unknown)
	}
	if r.Found.Where != "" {
		out = append(out, r.Found.Where)
	}
	if len(r.Causes) > 0 {
		words := make([]string, 0, 4)
		for i, cause := range r.Causes {
			if i == 3 {
				words = append(words, "…")
				break
			}
			words = append(words, fmt.Sprintf("%s %s %%", cause.Name, percent(r.Share(cause))))
		}
		out = append(out, "uncertainty from "+strings.Join(words, ", "))
	}
	if len(r.Unshifted) > 0 {
		out = append(out, "without "+strings.Join(r.Unshifted, ", ")+": the part cannot be rebuilt with another reading")
	}
	switch {
	case s == check.Open && len(r.Causes) > 0:
		out = append(out, r.Advice())
	case s == check.Fails || s == check.Look:
		out = append(out, r.Change())
	}
	return out
}

// checkReport is one check in JSON. The figures are in the unit named; they
// are missing when the check is no plain comparison.
type checkReport struct {
	Check    string  `json:"check"`
	Status   string  `json:"status"` // pass, fail, open, look, info
	Pass     bool    `json:"pass"`
	Standard bool    `json:"standard,omitempty"` // not asked for by the file
	Value    string  `json:"value,omitempty"`
	Limit    string  `json:"limit,omitempty"`
	Figures  *margin `json:"figures,omitempty"`
	// Measurements are what the uncertainty comes from, the greatest first.
	Measurements []contribution `json:"measurements,omitempty"`
	Unknown      string         `json:"unknown,omitempty"` // why it cannot be told
	Where        string         `json:"where,omitempty"`
	Remark       string         `json:"remark,omitempty"` // what was looked at and has no limit
	Places       []diag.Place   `json:"places_mm,omitempty"`
	Change       string         `json:"change,omitempty"` // what to do when it does not hold
	Query        *queryReport   `json:"query,omitempty"`
}

// margin holds the figures of a comparison.
type margin struct {
	Unit     string  `json:"unit"`
	Value    float64 `json:"value"`
	Limit    float64 `json:"limit"`
	Op       string  `json:"op"`
	Margin   float64 `json:"margin"`               // inside the limit; negative outside
	Standard float64 `json:"standard_uncertainty"` // k = 1
	Expanded float64 `json:"expanded_uncertainty"` // k = 2, about 95 %
	Worst    float64 `json:"worst_case"`           // all measurements off by 2 u to the worse side
}

// queryReport says how the value of a question was found.
type queryReport struct {
	Name    string `json:"name"`
	Formula string `json:"formula"`
	Source  string `json:"source"`
}

func checkReports(results []check.Result) []checkReport {
	out := []checkReport{}
	for _, r := range results {
		out = append(out, reportOf(r))
	}
	return out
}

func reportOf(r check.Result) checkReport {
	s := r.Status()
	c := checkReport{
		Check: r.Text, Status: string(s), Pass: s == check.Holds, Standard: r.Standard,
		Unknown: r.Unknown, Where: r.Found.Where, Places: r.Found.Places,
	}
	if q := r.Asked; q != nil {
		c.Query = &queryReport{q.Name, q.Formula, q.Source}
	}
	switch {
	case s == check.Fails || s == check.Look:
		c.Change = r.Change()
	case s == check.Open && len(r.Causes) > 0:
		c.Change = r.Advice()
	case s == check.Remark:
		c.Value = valueOf(r)
		if r.About != c.Where {
			c.Remark = r.About
		}
	}
	if r.Op == "" {
		return c
	}
	c.Value, c.Limit = r.ValueText(), r.LimitText()
	factor, word := r.In(r.Value)
	c.Figures = &margin{
		Unit: word, Value: r.Value.X / factor, Limit: r.Limit.X / factor, Op: r.Op,
		Standard: r.Uncertainty() / factor, Expanded: r.Expanded() / factor, Worst: r.Worst() / factor,
	}
	if m, ok := r.Margin(); ok {
		c.Figures.Margin = m.X / factor
	}
	for _, cause := range r.Causes {
		c.Measurements = append(c.Measurements, contribution{cause.Name, r.Share(cause), cause.C / factor})
	}
	return c
}
