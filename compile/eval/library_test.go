package eval

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"testing"

	"perch/compile/solid"
	"perch/lang/ast"
	"perch/lang/parse"
	"perch/lang/source"
	"perch/stdlib"
)

// instance is what the comments above a declaration of the library show.
type instance struct {
	name  string   // module.declaration
	truth []string // after `True:`
	steps []string // after `As in:`
}

// instances reads a module of the library. Every declaration with parameters
// must show how it is used, but for sketches and those the next one shows.
func instances(t *testing.T, name string) []instance {
	t.Helper()
	data, err := fs.ReadFile(stdlib.Files, name)
	if err != nil {
		t.Fatal(err)
	}
	module := strings.TrimSuffix(name, ".perch")
	src := source.New(name, string(data))
	f, diags := parse.File(src)
	if len(diags) > 0 {
		t.Fatal(listed(diags))
	}
	var out []instance
	for _, d := range f.Decls {
		x := instance{}
		switch d := d.(type) {
		case *ast.Let:
			x.name = module + "." + d.Name.Name
		case *ast.Part:
			x.name = module + "." + d.Name.Name
		default:
			continue
		}
		for line := src.Position(d.Span().Start).Line - 1; line > 0 && strings.HasPrefix(src.Line(line), "#"); line-- {
			if e, ok := strings.CutPrefix(src.Line(line), "# True: "); ok {
				x.truth = append(x.truth, e)
			}
			if e, ok := strings.CutPrefix(src.Line(line), "# As in: "); ok {
				x.steps = append([]string{e}, x.steps...)
			}
		}
		if l, ok := d.(*ast.Let); (!ok || l.Params != nil) && x.truth == nil && x.steps == nil {
			t.Errorf("%s shows no example", x.name)
		}
		out = append(out, x)
	}
	return out
}

// What the comments of the library say of each declaration is so: the
// comparisons hold, and the steps make one closed body without a remark.
func TestLibraryExamples(t *testing.T) {
	names, err := fs.Glob(stdlib.Files, "*.perch")
	if err != nil || len(names) < 12 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, x := range instances(t, name) {
				x.run(t)
			}
		})
	}
}

func (x *instance) run(t *testing.T) {
	t.Helper()
	var b strings.Builder
	var use []string
	for _, n := range []string{"tube", "cable", "strap", "fastener", "clamp", "foot", "shoe", "plate", "knob", "cap", "spacer", "coupon", "snap", "holds", "heat"} {
		if strings.Contains(strings.Join(append(x.truth, x.steps...), " "), n+".") {
			use = append(use, n)
		}
	}
	fmt.Fprintf(&b, "use %s\n", strings.Join(use, ", "))
	for i, e := range x.truth {
		fmt.Fprintf(&b, "let true_%d = %s\n", i, e)
	}
	b.WriteString("part p {\n")
	if strings.Contains(strings.Join(x.steps, " "), "pipe") {
		b.WriteString("mating pipe = cylinder radius 57mm, along y, centre (0, 0, -57mm)\n")
	}
	if x.steps == nil {
		b.WriteString("join box width 1mm, depth 1mm, height 1mm\n")
	}
	b.WriteString(strings.Join(x.steps, "\n") + "\n")
	for i := range x.truth {
		fmt.Fprintf(&b, "join if true_%d then (box width 1mm, depth 1mm, height 1mm) else refuse(\"%s: not so\")\n", i, x.name)
	}
	b.WriteString("}\n")
	if x.truth == nil && x.steps == nil {
		return
	}
	r := library(t, b.String(), Options{})
	if len(r.Diags) > 0 || len(r.Parts) != 1 {
		t.Errorf("%s: %s\n%s", x.name, listed(r.Diags), b.String())
		return
	}
	m, err := solid.Build(context.Background(), r.Parts[0].Body, solid.Options{})
	if err != nil || m.Check() != nil || m.Volume() <= 0 {
		t.Errorf("%s: %v %v", x.name, err, m.Check())
	}
}

// Parts of the library against closed forms: sectors of rings, prisms, segments
// of circles and cones. Where only one limit is known it is that.
func TestLibraryVolumes(t *testing.T) {
	const pipe = "mating pipe = cylinder radius 57mm, along (1, 2, 0), centre (0, 0, -57mm)\n"
	hexagon := func(s float64) float64 { return math.Sqrt(3) / 2 * s * s }
	for _, c := range []struct {
		use, steps string
		want       float64
	}{
		// A third of a ring 57.2 to 60.2 mm in radius.
		{"tube", pipe + "join tube.sleeve(over: pipe, through: 120deg, length: 20mm, thick: 3mm, play: 0.2mm)", math.Pi / 3 * (60.2*60.2 - 57.2*57.2) * 20},
		// A block over two planes at 25°, which meet R (1/cos 25° - 1) above the tube.
		{"tube", pipe + "join tube.vee(over: pipe, width: 60mm, length: 20mm, thick: 4mm)", 20 * (60*4 + 30*30*math.Tan(25*math.Pi/180))},
		{"foot", "join foot.dovetail(wide: 32mm, tall: 8mm, length: 40mm)", 40 * (8*(32-8/math.Tan(math.Pi/3)) - bevelled(0.5, 60))},
		// A bevel of leg l goes l²/2 of the rim less the cone of its round corners.
		{"plate", "join plate.blank(width: 40mm, depth: 14mm)", (40*14-4*(4-math.Pi))*2.4 - (2*(36+10)+4*math.Pi)*0.3*0.3/2 + math.Pi*0.3*0.3*0.3/3},
		{"cap", "join cap.dust_cap(bore: 95.5mm, deep: 20mm, wall: 2mm, floor: 2mm)",
			math.Pi * (49.75*49.75*22 - 47.75*47.75*20 - (49.75-0.4/3)*0.4*0.4)},
		{"spacer", "join spacer.ring(outside: 48mm, inside: 42mm, tall: 12.7mm)", math.Pi / 4 * (48*48 - 42*42) * 12.7},
		{"spacer", "join spacer.posts(width: 30mm, depth: 20mm, tall: 6mm, outside: 7mm, bore: 3.4mm)", math.Pi * (49 - 3.4*3.4) * 6},
		{"fastener", "join fastener.nut_pocket(thread: 4mm, depth: 3mm)", 3 * hexagon(7.2)},
		{"fastener", "join fastener.nut_pocket(thread: 4mm, depth: 3mm, flats: 11.1125mm)", 3 * hexagon(11.3125)},
		{"fastener", "join fastener.insert_room(thread: 3mm, insert: 5.7mm, larger: 0.14mm)", math.Pi / 4 * 4.14 * 4.14 * 6.7},
		// Three quarters of the circle, and the square that stands on two radii.
		{"fastener", "join fastener.level_hole(diameter: 10mm, length: 8mm)", 8 * (0.75*math.Pi*25 + 25)},
		{"strap", "join strap.flat_tie_slot(tie: 3.6mm, through: 20mm)", 20 * 4.3 * 1.9},
	} {
		r := library(t, "use "+c.use+"\npart p {\n"+c.steps+"\n}", Options{})
		if len(r.Diags) > 0 {
			t.Errorf("%s: %s", c.steps, listed(r.Diags))
			continue
		}
		if got := volume(t, r.Parts[0], 0.001); math.Abs(got-c.want) > 1e-3*c.want {
			t.Errorf("%s: volume %.3f, want %.3f", c.steps, got, c.want)
		}
	}
}

// bevelled is what two bevels of leg l take off corners of that angle, in deg.
func bevelled(l, corner float64) float64 { return l * l * math.Sin(corner*math.Pi/180) }

// Letters raised and letters sunk as deep make up for one another; the screws
// and the slots of a plate lie clear of its text.
func TestPlates(t *testing.T) {
	of := func(steps string) float64 {
		r := library(t, "use plate\npart p {\n"+steps+"\n}", Options{})
		if len(r.Diags) > 0 {
			t.Fatal(listed(r.Diags))
		}
		return volume(t, r.Parts[0], 0.001)
	}
	for _, c := range []struct{ named, blank string }{
		{`named("M31"`, "blank(width: plate.width_for(\"M31\", 6mm), depth: 12mm)"},
		{`named("183", below: "x 0.8"`, "blank(width: plate.width_for(\"183\", 6mm, below: \"x 0.8\"), depth: 19.2mm)"},
	} {
		raised, sunk, plain := of("join plate."+c.named+")"), of("join plate."+c.named+", sunk: true)"), of("join plate."+c.blank)
		if raised-plain < 5 || math.Abs(raised+sunk-2*plain) > 1e-6*plain {
			t.Errorf("%s: raised %.4f, sunk %.4f, plain %.4f", c.named, raised, sunk, plain)
		}
	}
	for _, narrow := range []string{`screwed("M31"`, `strapped("M31", band: 10mm`} {
		letters := of("join plate.named(\"M31\", thick: 3mm, depth: 20mm)") - of("join plate.named(\"M31\", sunk: true, thick: 3mm, depth: 20mm)")
		if got := of("join plate."+narrow+", thick: 3mm)") - of("join plate."+narrow+", thick: 3mm, sunk: true)"); math.Abs(got-letters) > 1e-6*letters {
			t.Errorf("%s takes %.4f of the letters", narrow, letters-got)
		}
	}
}

// The feet of a vee touch the tube and do not cut it: cutting it away changes
// nothing, moving it outward by 0.05 mm leaves a gap everywhere.
func TestVeeTouches(t *testing.T) {
	const steps = "mating pipe = cylinder radius %s, along y, centre (0, 0, -57mm)\njoin tube.vee(over: tube57, width: 70mm, length: 20mm, thick: 4mm)\n"
	build := func(radius string) float64 {
		text := "use tube\npart p {\nmating tube57 = cylinder radius 57mm, along y, centre (0, 0, -57mm)\n" + fmt.Sprintf(steps, radius) + "cut pipe\n}"
		return volume(t, library(t, text, Options{}).Parts[0], 0.001)
	}
	if touching, cut := build("56.99mm"), build("57.1mm"); touching-cut < 1 || touching-build("50mm") > 1e-6 {
		t.Errorf("volumes %.4f, %.4f: the feet do not touch the tube", touching, cut)
	}
}

// What a table has no value for is refused with advice.
func TestLibraryRefuses(t *testing.T) {
	for x, want := range map[string]string{
		"fastener.hole(7mm)":          "not in the table",
		"fastener.insert_hole(2.5mm)": "no value for this thread",
		"strap.tie_thick(9mm)":        "measure yours",
		"fastener.screw_length(60mm)": "longer than 50 mm",
		"plate.sunk_by(2mm, 2.4mm)":   "less than 0.8 mm below them",
	} {
		module, _, _ := strings.Cut(x, ".")
		r := library(t, "use "+module+"\npart p { join box width "+x+", depth 1mm, height 1mm }", Options{})
		if len(r.Diags) != 1 || !strings.Contains(r.Diags[0].Message, want) {
			t.Errorf("%s: %s", x, listed(r.Diags))
		}
	}
}
