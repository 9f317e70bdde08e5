package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"perch/compile"
	"perch/compile/check"
	"perch/compile/geom"
	"perch/compile/workshop"
	"perch/lang/diag"
	"perch/lang/diag/render"
)

// report prints what became of every job and returns the worst status.
func (c *console) report(jobs []*job, asJSON bool) error {
	worst := done
	for _, j := range jobs {
		worst = max(worst, j.status())
	}
	if asJSON {
		files := make([]fileReport, 0, len(jobs))
		for _, j := range jobs {
			files = append(files, j.report())
		}
		if err := c.json(document{Version: version, Done: worst == done, Files: files}); err != nil {
			return err
		}
		return worst.worst()
	}
	c.faults(jobs)
	for _, j := range jobs {
		if j.result == nil {
			continue
		}
		for i, p := range j.result.Parts {
			if j.plain(i) {
				c.part(p, j.output(i), j.money())
			}
		}
		if w := j.result.Workshop; w != nil && len(j.result.Parts) > 0 {
			c.inForce(w)
		}
	}
	for _, j := range jobs {
		c.summary(j)
	}
	return worst.worst()
}

// plain reports whether part i is worth a report: always, except that a part
// which should have been written and was not is told of by its error.
func (j *job) plain(i int) bool { return j.outputs == nil || j.written[i] }

// output returns the file that part i was written to, or "".
func (j *job) output(i int) string {
	if j.outputs == nil || !j.written[i] {
		return ""
	}
	return j.outputs[i]
}

// faults prints the diagnostics of all jobs and the errors of the world.
func (c *console) faults(jobs []*job) {
	for _, j := range jobs {
		if j.result != nil {
			c.diagnostics(j.result.Diags)
		}
		if j.err != nil {
			c.complain(j.err)
		}
	}
}

// money is what the prices of the workshop are in, or "".
func (j *job) money() string {
	if j.result.Workshop == nil {
		return ""
	}
	return j.result.Workshop.Currency()
}

// part prints the figures of one part.
func (c *console) part(p compile.Part, path, money string) {
	name := render.Clean(fullName(p))
	if path != "" {
		name += " -> " + render.Clean(path)
	}
	size := p.Bounds.Size()
	fmt.Fprintln(c.out, name)
	fmt.Fprintf(c.out, "  size    %s\n", extents(size))
	if p.Printed != p.Mesh {
		fmt.Fprintf(c.out, "  printed %s\n", extents(p.Printed.Bounds().Size()))
	}
	fmt.Fprintf(c.out, "  volume  %s\n", volume(p.Volume))
	fmt.Fprintf(c.out, "  mass    %s g in %s%s\n", figures(p.Mass, 3), render.Clean(p.Material), assumed(p))
	if p.Cost > 0 {
		fmt.Fprintf(c.out, "  cost    %s of plastic\n", strings.TrimSpace(figures(p.Cost, 2)+" "+render.Clean(money)))
	}
	if n := len(p.Checks); n > 0 {
		fmt.Fprintf(c.out, "  checks  %d of %d hold\n", holding(p.Checks), n)
	}
	fmt.Fprintf(c.out, "  mesh    %s in %s\n", plural(len(p.Mesh.Triangles), "triangle"), span(p.Elapsed))
	if len(p.Standing) > 0 {
		c.checks(p)
	}
}

// extents prints the size of a box.
func extents(size geom.Vec3) string {
	return fmt.Sprintf("x %s, y %s, z %s mm", fixed(size.X, 2), fixed(size.Y, 2), fixed(size.Z, 2))
}

// inForce tells which workshop the parts were made for, and what was asked of
// it that nobody has stated.
func (c *console) inForce(w *workshop.Profile) {
	assumed := w.Assumptions()
	if w.File != "" {
		fmt.Fprintf(c.out, "workshop  %s\n", render.Clean(w.File))
	}
	if len(assumed) > 0 {
		fmt.Fprintf(c.out, "assumed   %s (common practice)\n", strings.Join(assumed, "; "))
	}
}

func holding(checks []check.Result) int {
	n := 0
	for _, r := range checks {
		if r.Status() == check.Holds {
			n++
		}
	}
	return n
}

func assumed(p compile.Part) string {
	if p.MaterialAssumed {
		return " (assumed)"
	}
	return ""
}

// summary says in one line what a job with faults left undone.
func (c *console) summary(j *job) {
	if j.err != nil || j.faults() == 0 {
		return
	}
	fmt.Fprintf(c.err, "%s: %s\n", render.Clean(j.file), j.verdict())
}

// verdict tells how many faults there are, or how many checks do not hold.
func (j *job) verdict() string {
	n, checks := j.faults(), 0
	for _, d := range j.result.Diags {
		if d.Code == check.Failed && d.Severity == diag.Error {
			checks++
		}
	}
	switch {
	case checks == n:
		return plural(n, "check") + does(n) + " not hold"
	case checks == 0:
		return plural(n, "fault")
	}
	return plural(n-checks, "fault") + ", " + plural(checks, "check") + does(checks) + " not hold"
}

func does(n int) string {
	if n == 1 {
		return " does"
	}
	return " do"
}

// span gives a duration in ms, or in s from one on.
func span(d time.Duration) string {
	if d < time.Second {
		return fmt.Sprintf("%d ms", max(1, d.Round(time.Millisecond).Milliseconds()))
	}
	return fmt.Sprintf("%.1f s", d.Seconds())
}

// volume gives mm³ in cm3, small ones in mm3.
func volume(mm3 float64) string {
	if mm3 < 1000 {
		return figures(mm3, 4) + " mm3"
	}
	return figures(mm3/1000, 4) + " cm3"
}

// figures rounds to n significant digits without an exponent.
func figures(x float64, n int) string {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return fixed(x, max(0, n-1-int(math.Floor(math.Log10(math.Abs(x))))))
}

// fixed rounds to n decimals and drops zeros at the end.
func fixed(x float64, n int) string {
	s := strconv.FormatFloat(x, 'f', n, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// document is what --json prints.
type document struct {
	Version string       `json:"perch"`
	Done    bool         `json:"done"`
	Files   []fileReport `json:"files"`
}

// fileReport is one part file in JSON. Lengths are in mm, areas in mm², and
// so on, as the names say.
type fileReport struct {
	File        string         `json:"file"`
	Status      int            `json:"status"` // 0 done, 1 faults, 2 error
	Error       string         `json:"error,omitempty"`
	Parts       []partReport   `json:"parts"`
	Workshop    string         `json:"workshop,omitempty"` // the file that states it
	Assumed     []string       `json:"assumed,omitempty"`  // what common practice answered
	Changes     []string       `json:"changes,omitempty"`  // since the last good build, under watch
	Diagnostics []render.Entry `json:"diagnostics"`
}

type partReport struct {
	Part            string        `json:"part"`
	Size            string        `json:"size,omitempty"`
	Output          string        `json:"output,omitempty"` // missing when nothing was written
	Min             [3]float64    `json:"min_mm"`
	Max             [3]float64    `json:"max_mm"`
	Printed         *[3]float64   `json:"printed_mm,omitempty"` // size on the bed, when the part says how it is printed
	Volume          float64       `json:"volume_mm3"`
	Surface         float64       `json:"surface_mm2"`
	Mass            float64       `json:"mass_g"`
	Cost            float64       `json:"cost,omitempty"` // in the money of the workshop
	Material        string        `json:"material"`
	MaterialAssumed bool          `json:"material_assumed"`
	Triangles       int           `json:"triangles"`
	Checks          []checkReport `json:"checks"`
	Seconds         float64       `json:"seconds"`
}

// printedSize is the size of a part on the bed, nil when that is as drawn.
func printedSize(p compile.Part) *[3]float64 {
	if p.Printed == p.Mesh {
		return nil
	}
	s := p.Printed.Bounds().Size()
	return &[3]float64{s.X, s.Y, s.Z}
}

func (j *job) report() fileReport {
	r := fileReport{File: j.file, Status: int(j.status()), Parts: []partReport{}, Diagnostics: []render.Entry{}}
	if j.err != nil {
		r.Error = j.err.Error()
	}
	if j.result == nil {
		return r
	}
	r.Diagnostics = render.Entries(j.result.Diags)
	if w := j.result.Workshop; w != nil {
		r.Workshop, r.Assumed = w.File, w.Assumptions()
	}
	r.Changes = j.changes
	for i, p := range j.result.Parts {
		lo, hi := p.Bounds.Min, p.Bounds.Max
		r.Parts = append(r.Parts, partReport{
			Part: p.Name, Size: p.Size, Output: j.output(i),
			Min: [3]float64{lo.X, lo.Y, lo.Z}, Max: [3]float64{hi.X, hi.Y, hi.Z},
			Printed: printedSize(p),
			Volume:  p.Volume, Surface: p.Surface, Mass: p.Mass, Cost: p.Cost,
			Material: p.Material, MaterialAssumed: p.MaterialAssumed,
			Triangles: len(p.Mesh.Triangles), Checks: append(checkReports(p.Checks), checkReports(p.Standing)...), Seconds: p.Elapsed.Seconds(),
		})
	}
	return r
}
