package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"perch/compile"
	"perch/compile/geom"
	"perch/compile/output"
	"perch/compile/picture"
	"perch/compile/plate"
	"perch/compile/workshop"
	"perch/lang/diag/render"
)

// plateCommand arranges parts on the bed.
type plateCommand struct {
	Files  []string `arg:"" name:"file" help:"Part files."`
	Copies []string `sep:"none" placeholder:"[PART=]N" help:"How many of each part, 1 when not given: --copies 3, or --copies comb-thin=4 for one part or size; may be given several times."`
	Gap    distance `default:"3mm" placeholder:"LENGTH" help:"Least distance between two parts; 3mm when not given."`
	Border distance `default:"5mm" placeholder:"LENGTH" help:"Rim of the bed to keep free; 5mm when not given."`
	Out    string   `short:"o" placeholder:"FOLDER" help:"Folder for the plates, made when missing; without it they go into the folder you are in."`
	Shown  bool     `name:"picture" help:"Draw each plate from above, as a PNG beside its file."`
	Name   string   `default:"plate" placeholder:"NAME" help:"Name of the file: NAME.3mf, or NAME-1.3mf, NAME-2.3mf, … when one bed does not hold all."`
	choice
}

// Help implements kong.HelpProvider.
func (*plateCommand) Help() string {
	return `Builds the parts of all files, stands every copy on the bed with room around it, and writes one 3MF file for each bed that is needed. A part may be turned about the vertical by quarters, never tipped over.

The mass, the length of filament and the time are those of solid parts; the time is a lower bound. Nothing is written when a file has faults.`
}

// Run implements the command.
func (p *plateCommand) Run(ctx context.Context, c *console) error {
	opts, err := p.options()
	if err != nil {
		return err
	}
	if p.Name != filepath.Base(p.Name) || p.Name == "." {
		return fmt.Errorf("--name: %q is not the name of a file; give the folder with --out", p.Name)
	}
	jobs, err := runAll(ctx, c, p.Files, opts)
	if err != nil {
		return err
	}
	for _, j := range jobs {
		if !j.writable() {
			return c.report(jobs, p.JSON)
		}
	}
	l := &loading{}
	if err := l.collect(jobs, p.Copies); err != nil {
		return err
	}
	shop := jobs[0].result.Workshop // of the first file: all go onto one printer
	bed := shop.Bed()
	plates, err := plate.Arrange(ctx, l.parts, plate.Bed{
		Width: bed.X, Depth: bed.Y, Height: bed.Z, Gap: float64(p.Gap), Border: float64(p.Border),
	})
	var big *plate.TooBig
	if errors.As(err, &big) {
		return fmt.Errorf("%w: turn it in its part file (`print turned 90deg about x`), split it, or take a smaller --border", err)
	}
	if err != nil {
		return err
	}
	if !p.JSON {
		c.faults(jobs)
	}
	files, err := p.write(jobs, l, plates, bed)
	if err != nil {
		return err
	}
	if err := c.plates(l, plates, files, shop, p.JSON); err != nil {
		return err
	}
	worst := done
	for _, j := range jobs {
		worst = max(worst, j.status())
	}
	return worst.worst()
}

// loading is what goes on the beds. A part of a file stands once in each list,
// under the same number.
type loading struct {
	built   []compile.Part
	parts   []plate.Part
	objects []output.Object
}

// collect takes the parts of all jobs with their counts.
func (l *loading) collect(jobs []*job, copies []string) error {
	every, each, err := counts(copies)
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, j := range jobs {
		for _, b := range j.result.Parts {
			name := fullName(b)
			if known[name] {
				return fmt.Errorf("two of the files have a part %s; rename one, or arrange them one file at a time", name)
			}
			known[name] = true
			n, told := each[name]
			if !told {
				n = every
			}
			l.built = append(l.built, b)
			l.parts = append(l.parts, plate.Part{Name: name, Mesh: b.Printed, Count: n})
			l.objects = append(l.objects, output.Object{Name: name, Mesh: b.Printed})
		}
	}
	for _, s := range copies { // in the order given
		if name, _, ok := strings.Cut(s, "="); ok && !known[name] {
			return fmt.Errorf("--copies %s: there is no part %s; there is %s", s, name, l.names())
		}
	}
	return nil
}

func (l *loading) names() string {
	var n []string
	for _, p := range l.parts {
		n = append(n, p.Name)
	}
	if n == nil {
		return "no part at all"
	}
	return strings.Join(n, ", ")
}

// mostCopies bounds what is arranged.
const mostCopies = 1000

// counts reads the --copies flags: how many of every part, and of some.
func counts(flags []string) (every int, each map[string]int, err error) {
	every, each = 1, map[string]int{}
	for _, s := range flags {
		name, number, named := strings.Cut(s, "=")
		if !named {
			number = name
		}
		n, err := strconv.Atoi(number)
		if err != nil || n < 0 || n > mostCopies {
			return 0, nil, fmt.Errorf("--copies %s: write a whole number from 0 to %d, or PART=NUMBER such as comb-thin=4", s, mostCopies)
		}
		if named {
			each[name] = n
		} else {
			every = n
		}
	}
	return every, each, nil
}

// write puts one file for each plate on disk and returns their names.
func (p *plateCommand) write(jobs []*job, l *loading, plates []plate.Plate, bed geom.Vec3) ([]string, error) {
	names := make([]string, len(plates))
	for i := range plates {
		name := p.Name
		if len(plates) > 1 {
			name = fmt.Sprintf("%s-%d", p.Name, i+1)
		}
		names[i] = filepath.Join(p.Out, name+output.ThreeMF.Extension())
		for _, j := range jobs {
			for _, f := range j.result.Files {
				if f.Found && f.Path == place(names[i]) {
					return nil, fmt.Errorf("%s would be replaced by a plate, but it is a file that was read: give another --name", names[i])
				}
			}
		}
	}
	if p.Out != "" {
		if err := os.MkdirAll(p.Out, 0o777); err != nil {
			return nil, fmt.Errorf("make the folder %s: %w", p.Out, err)
		}
	}
	for i, pl := range plates {
		items := make([]output.Item, len(pl.Places))
		for k, s := range pl.Places {
			items[k] = output.Item{Object: s.Part, Quarters: s.Quarters, Move: s.Move}
		}
		objects, items := standing(l.objects, items)
		err := output.WriteFile(names[i], func(w io.Writer) error {
			return output.WritePlate(w, output.Info{Application: "Perch " + version}, objects, items)
		})
		if err == nil && p.Shown {
			err = draw(strings.TrimSuffix(names[i], output.ThreeMF.Extension())+".png", l, pl, bed)
		}
		if err != nil {
			return nil, err
		}
	}
	return names, nil
}

// draw writes a picture of a plate from above, with the outline of its bed.
func draw(path string, l *loading, p plate.Plate, bed geom.Vec3) error {
	img, err := picture.OnBed(p.Mesh(l.parts), bed.X, bed.Y, 1000, 1000)
	if err != nil {
		return err
	}
	return writePNG(path, img)
}

// standing drops the objects of which a plate has no copy.
func standing(objects []output.Object, items []output.Item) ([]output.Object, []output.Item) {
	number := make([]int, len(objects))
	for _, it := range items {
		number[it.Object] = 1
	}
	var kept []output.Object
	for i, n := range number {
		if n != 0 {
			number[i] = len(kept)
			kept = append(kept, objects[i])
		}
	}
	for i := range items {
		items[i].Object = number[items[i].Object]
	}
	return kept, items
}

// filament is the cross-section of the common filament, 1.75 mm across, mm².
const filament = math.Pi / 4 * 1.75 * 1.75

// plateReport is one plate in JSON; mass, filament and time are those of solid
// parts.
type plateReport struct {
	Output   string       `json:"output"`
	Parts    []plateCount `json:"parts"`
	Volume   float64      `json:"volume_mm3"`
	Mass     float64      `json:"mass_g"`
	Filament float64      `json:"filament_mm"`
	Least    float64      `json:"least_seconds"`
	Places   []plateStand `json:"places"`
}

type plateCount struct {
	Part  string `json:"part"`
	Count int    `json:"count"`
}

type plateStand struct {
	Part    string     `json:"part"`
	Degrees int        `json:"turned_deg"`
	Move    [3]float64 `json:"move_mm"`
}

// plates reports what stands on each bed.
func (c *console) plates(l *loading, plates []plate.Plate, files []string, shop *workshop.Profile, asJSON bool) error {
	reports := make([]plateReport, len(plates))
	for i, p := range plates {
		r := plateReport{Output: files[i]}
		count := make([]int, len(l.parts))
		for _, s := range p.Places {
			b := l.built[s.Part]
			count[s.Part]++
			r.Volume += b.Volume
			r.Mass += b.Mass
			r.Places = append(r.Places, plateStand{l.parts[s.Part].Name, 90 * s.Quarters, [3]float64{s.Move.X, s.Move.Y, s.Move.Z}})
		}
		for k, n := range count {
			if n > 0 {
				r.Parts = append(r.Parts, plateCount{l.parts[k].Name, n})
			}
		}
		r.Filament = r.Volume / filament
		r.Least = r.Volume / shop.Flow()
		reports[i] = r
	}
	if asJSON {
		return c.json(struct {
			Version string        `json:"perch"`
			Plates  []plateReport `json:"plates"`
		}{version, reports})
	}
	if len(reports) == 0 {
		fmt.Fprintln(c.out, "no part to arrange; nothing was written")
	}
	bed := shop.Bed()
	for _, r := range reports {
		var what []string
		n := 0
		for _, p := range r.Parts {
			what = append(what, fmt.Sprintf("%d %s", p.Count, render.Clean(p.Part)))
			n += p.Count
		}
		fmt.Fprintf(c.out, "%s: %s on a bed of %s x %s mm\n", render.Clean(r.Output), plural(n, "part"), fixed(bed.X, 1), fixed(bed.Y, 1))
		fmt.Fprintf(c.out, "  parts     %s\n", strings.Join(what, ", "))
		fmt.Fprintf(c.out, "  mass      %s g\n", figures(r.Mass, 3))
		fmt.Fprintf(c.out, "  filament  %s m of 1.75 mm\n", figures(r.Filament/1000, 3))
		fmt.Fprintf(c.out, "  time      at least %s min (solid, %s mm3/s)\n", figures(r.Least/60, 2), fixed(shop.Flow(), 1))
	}
	return nil
}
