package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"perch/compile"
	"perch/compile/geom"
	"perch/compile/output"
	"perch/lang/diag/render"
)

// trialCommand writes slices of parts.
type trialCommand struct {
	To     string   `placeholder:"NAME" help:"The mating body whose seat is tried; the first round one when not given."`
	Across string   `placeholder:"AXIS" help:"Direction through the slice: x, y or z; the axis of the seat, or of the largest bore, when not given."`
	At     *along   `placeholder:"LENGTH" help:"Where the middle of the slice lies along that direction, from the origin of the drawing; the middle of the seat when not given."`
	Thick  distance `default:"3mm" placeholder:"LENGTH" help:"Thickness of the slice; 3mm when not given."`
	meshes
	perPart
}

// Help implements kong.HelpProvider.
func (*trialCommand) Help() string {
	return `A part named comb becomes comb-trial.stl: a slice across the seat, laid flat, that prints in minutes. Hold it against the tube, snap the lead in, measure its holes and pegs. What they came out at goes into the workshop file, behind the size that was drawn; then every fit follows.`
}

// Run implements the command.
func (t *trialCommand) Run(ctx context.Context, c *console) error {
	want := compile.Trial{To: t.To, At: math.NaN(), Thick: float64(t.Thick)}
	if t.At != nil {
		want.At = float64(*t.At)
	}
	switch t.Across {
	case "":
	case "x":
		want.Across = geom.Vec3{X: 1}
	case "y":
		want.Across = geom.Vec3{Y: 1}
	case "z":
		want.Across = geom.Vec3{Z: 1}
	default:
		return fmt.Errorf("--across %s: write x, y or z", t.Across)
	}
	if want.Thick <= 0 {
		return fmt.Errorf("--thick: a slice must be thicker than 0")
	}
	if t.At != nil && t.Across == "" {
		return fmt.Errorf("--at needs --across: say along which axis the place is meant")
	}
	var trials []trialReport
	jobs, err := t.make(ctx, c, "-trial"+t.format().Extension(), func(j *job, path string, p compile.Part) error {
		s, err := p.Slice(ctx, want)
		if errors.Is(err, compile.ErrNoSlice) {
			return fmt.Errorf("%s has nothing there: give another place with --at", fullName(p))
		}
		if err != nil {
			return err
		}
		o := output.Object{Name: fullName(p) + "-trial", Mesh: s.Mesh}
		if err := writeObject(path, t.format(), o); err != nil {
			return err
		}
		trials = append(trials, newTrialReport(j, p, s, path, want.Thick))
		return nil
	})
	if err != nil {
		return err
	}
	return c.trials(jobs, trials, t.JSON)
}

// along is a flag in mm that may be negative.
type along float64

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *along) UnmarshalText(text []byte) error {
	mm, err := lengthWithin(string(text), -mostPlace, mostPlace)
	*p = along(mm)
	return err
}

// mostPlace bounds a place, mm: bodies are no larger.
const mostPlace = 1300

// trialReport is one slice in JSON.
type trialReport struct {
	Part    string        `json:"part"`
	Output  string        `json:"output"`
	Across  [3]float64    `json:"across"`
	At      float64       `json:"at_mm"`
	Thick   float64       `json:"thick_mm"`
	Size    [3]float64    `json:"size_mm"`
	Mass    float64       `json:"mass_g"`
	Least   float64       `json:"least_seconds"`
	Measure []roundReport `json:"measure"`
}

type roundReport struct {
	Sort     string  `json:"sort"` // hole or peg
	Diameter float64 `json:"drawn_mm"`
	Count    int     `json:"count"`
}

func newTrialReport(j *job, p compile.Part, s *compile.Slice, path string, thick float64) trialReport {
	size := s.Mesh.Bounds().Size()
	r := trialReport{
		Part: fullName(p), Output: path, Across: [3]float64{s.Across.X, s.Across.Y, s.Across.Z}, At: s.At, Thick: thick,
		Size: [3]float64{size.X, size.Y, size.Z}, Mass: s.Mass, Least: s.Volume / j.result.Workshop.Flow(), Measure: []roundReport{},
	}
	for _, m := range s.Rounds {
		sort := "peg"
		if m.Hollow {
			sort = "hole"
		}
		r.Measure = append(r.Measure, roundReport{sort, m.Diameter, m.Count})
	}
	return r
}

// trials reports the slices.
func (c *console) trials(jobs []*job, trials []trialReport, asJSON bool) error {
	worst := done
	for _, j := range jobs {
		worst = max(worst, j.status())
	}
	if asJSON {
		files := make([]fileReport, 0, len(jobs))
		for _, j := range jobs {
			files = append(files, j.report())
		}
		if err := c.json(struct {
			document
			Trials []trialReport `json:"trials"`
		}{document{Version: version, Done: worst == done, Files: files}, trials}); err != nil {
			return err
		}
		return worst.worst()
	}
	c.faults(jobs)
	for _, r := range trials {
		fmt.Fprintf(c.out, "%s -> %s\n", render.Clean(r.Part), render.Clean(r.Output))
		fmt.Fprintf(c.out, "  slice   %s mm thick, across %s at %s mm\n", fixed(r.Thick, 2), direction(r.Across), fixed(r.At, 2))
		fmt.Fprintf(c.out, "  size    %s x %s mm lying on the bed\n", fixed(r.Size[0], 2), fixed(r.Size[1], 2))
		fmt.Fprintf(c.out, "  print   %s g, at least %s min\n", figures(r.Mass, 2), figures(r.Least/60, 2))
		for _, m := range r.Measure {
			many := ""
			if m.Count > 1 {
				many = fmt.Sprintf(", %d times", m.Count)
			}
			fmt.Fprintf(c.out, "  measure %s drawn at %s mm%s; then write in the workshop: %s %smm = …\n", m.Sort, fixed(m.Diameter, 3), many, m.Sort, fixed(m.Diameter, 3))
		}
	}
	for _, j := range jobs {
		c.summary(j)
	}
	return worst.worst()
}

// direction names an axis, or gives its three parts.
func direction(d [3]float64) string {
	for i, name := range []string{"x", "y", "z"} {
		if math.Abs(d[i]) > 1-1e-9 {
			return name
		}
	}
	var s []string
	for _, x := range d {
		s = append(s, fixed(x, 3))
	}
	return "(" + strings.Join(s, ", ") + ")"
}
