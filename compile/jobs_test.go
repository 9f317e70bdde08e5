package compile

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"perch/compile/mesh"
	"perch/lang/diag"
)

// The jobs of testdata/jobs state their figures as checks; the sources are
// closed forms (segments of circles, beams, lines of plastic), the trade's
// tables that the comments of package stdlib name, and public tables of
// materials. Each is built as written and in every size. Remarks that a job
// must make: what it warns of, and the cautions for where it is used.
func TestJobs(t *testing.T) {
	warns := map[string][]string{
		"a4": {"the arm sags further"},
		"a6": {"stay unbalanced across the tube"},
	}
	cautions := map[string][]string{
		"a1":  {"watch for snags"},
		"a2":  {"Add a tether"},
		"a3":  {"Never look at or image the Sun"},
		"a4":  {"Add a tether", "Not for lifting"},
		"a7":  {"mains"},
		"a8":  {"creep or soften"},
		"a11": {"Never look at or image the Sun", "two independent retainers", "friction alone holds nothing", "Add a tether"},
	}
	for _, name := range []string{"a1", "a2", "a3", "a4", "a5", "a6", "a7", "a8", "a9", "a10", "a11", "a12"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, all := range []bool{false, true} {
				r, err := New().Build(context.Background(), "../testdata/jobs/"+name+".perch", Options{AllSizes: all})
				if err != nil {
					t.Fatal(err)
				}
				for _, d := range r.Diags {
					allowed := d.Severity == diag.Info ||
						d.Severity == diag.Warning && slices.ContainsFunc(warns[name], func(w string) bool { return strings.Contains(d.Message, w) })
					if !allowed {
						t.Errorf("[%s] %s %v", d.Code, d.Message, d.Notes)
					}
				}
				for _, said := range slices.Concat(cautions[name], warns[name]) {
					if !slices.ContainsFunc(r.Diags, func(d diag.Diagnostic) bool { return strings.Contains(d.Message, said) }) {
						t.Errorf("it does not say: %s", said)
					}
				}
				for _, p := range r.Parts {
					if p.Mesh.Check() != nil || p.Volume <= 0 {
						t.Errorf("part %s %s: mesh %v", p.Name, p.Size, p.Mesh.Check())
					}
					if len(p.Checks) == 0 {
						t.Errorf("part %s states no check", p.Name)
					}
				}
			}
		})
	}
}

// What the jobs must refuse, each by the one change that makes it wrong. The
// failing check is named.
func TestJobsRefuse(t *testing.T) {
	for _, c := range []struct{ job, old, new, check string }{
		{"a1", "holds.weight(0.15kg)", "holds.weight(0.35kg)", "stays >= 2 * weight"},
		// Between the layers petg holds 18 MPa: a factor of 1.38.
		{"a2", "stays = material.strength\n", "stays = material.strength_across\n", "stays / stress >= 2"},
		{"a3", "let bore       = 95.50mm", "let bore       = 95.30mm", "left_of(bore, -30K) >= 0.10mm"},
		{"a3", "let bore       = 95.50mm", "let bore       = 95.60mm", "left_of(bore, 13K) <= 0.40mm"},
		{"a4", "angle = 45deg", "angle = 50deg", "overhang <= 45deg"},
		{"a5", "= 12.7mm)", "= 12.6842mm)", "spacer.is_whole(tall)"},
		{"a4", "let deep    = 8mm", "let deep    = 6mm", "sag of 180g at (reach, 0, deep / 2) from (0, 0, deep / 2) <= 0.15mm"},
		{"a4", "let deep    = 8mm", "let deep    = 5mm", "first frequency of 180g at (reach, 0, deep / 2) from (0, 0, deep / 2) >= 30Hz"},
		{"a6", "counter: 5.1kg) -", "counter: 2.5kg) -", "abs(move - 22.176mm) <= 0.0005mm"},
		{"a7", "high: length = 85mm, off: length = 0mm", "high: length = 130mm, off: length = 10mm", "tip angle >= slope"},
		{"a8", "material asa", "material pla", "softening margin at heat.parked_car >= heat.keep"},
		{"a8", "material asa", "material petg", "softening margin at heat.parked_car >= heat.keep"},
		{"a9", "under: length = fastener.washer_diameter(5mm)", "under: length = 8.5mm", "pressure <= allowed"},
		{"a10", "let hole       = target + correction", "let hole       = 4.00mm", "hole - correction >= fastener.insert_hole(3mm)"},
		{"a11", "let skirt  = 42mm", "let skirt  = 38mm", "skirt >= 0.4 * tube_d"},
	} {
		t.Run(c.job+" "+c.check, func(t *testing.T) {
			t.Parallel()
			r := changedJob(t, c.job, c.old, c.new, Options{})
			refused := false
			for _, p := range r.Parts {
				for _, k := range p.Checks {
					if strings.Join(strings.Fields(k.Text), " ") == c.check {
						refused = refused || !k.Pass
					}
				}
			}
			if !refused {
				t.Errorf("%q was not refused: %+v", c.check, r.Diags)
			}
		})
	}
}

// What the named checks of the jobs find. The figures were worked out by hand
// from closed forms: F L³/(3 E I), sqrt(3 E I/(m L³))/(2π), the angle whose
// tangent is half the base by the height (less what it is off centre), and
// temperatures of deflection under 0.45 MPa from public tables. A chord is at
// most 0.01 mm off, the sections of an arm one part in 10⁴.
func TestJobFigures(t *testing.T) {
	for _, c := range []struct {
		job, old, new, size, part, check string
		want, within                     float64
	}{
		{"a4", "", "", "", "alone", "sag", 0.0876, 0.00005},
		{"a4", "", "", "", "alone", "first frequency", 53.2, 0.06},
		// In the worst direction 0.4965 MPa times the root of 1 + (8/20)².
		{"a4", "", "", "", "alone", "bending stress", 0.4965e6 * math.Hypot(1, 8.0/20), 300},
		{"a7", "", "", "", "loaded", "tip angle", 27.897 * math.Pi / 180, 1e-5},
		{"a7", "", "", "one_out", "loaded", "tip angle", 22.380 * math.Pi / 180, 1e-5},
		{"a7", "high: length = 85mm, off: length = 0mm", "high: length = 130mm, off: length = 10mm", "", "loaded", "tip angle", 15.068 * math.Pi / 180, 1e-5},
		{"a8", "", "", "", "tray", "softening margin", 41, 1e-9},
		{"a8", "material asa", "material petg", "", "tray", "softening margin", 8, 1e-9},
		{"a8", "material asa", "material pla", "", "tray", "softening margin", -10, 1e-9},
	} {
		o := Options{}
		if c.size != "" {
			o.Sizes = []string{c.size}
		}
		r := changedJob(t, c.job, c.old, c.new, o)
		found := false
		for _, p := range r.Parts {
			for _, k := range p.Checks {
				if p.Name != c.part || !strings.HasPrefix(k.Text, c.check+" ") {
					continue
				}
				found = true
				if math.Abs(k.Found.Value-c.want) > c.within {
					t.Errorf("%s %s: %s is %v, want %v", c.job, c.size, c.check, k.Found.Value, c.want)
				}
			}
		}
		if !found {
			t.Errorf("%s has no check of %s: %v", c.job, c.check, r.Diags)
		}
	}
}

// changedJob builds a job with a change in its text.
func changedJob(t *testing.T, job, old, new string, o Options) *Result {
	t.Helper()
	data, err := os.ReadFile("../testdata/jobs/" + job + ".perch")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(data), old, new, 1)
	if text == string(data) && old != new {
		t.Fatalf("%s does not say %q", job, old)
	}
	path := filepath.Join(t.TempDir(), job+".perch")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	r, err := New().Build(context.Background(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A cell for a solar filter that one retainer holds, or none, is refused and
// makes no part.
func TestJobFilterUnheld(t *testing.T) {
	for _, n := range []string{"0", "1"} {
		r := changedJob(t, "a11", "let retainers = 2", "let retainers = "+n, Options{})
		if len(r.Parts) != 0 || !slices.ContainsFunc(r.Diags, func(d diag.Diagnostic) bool { return d.Code == "filter-unheld" }) {
			t.Errorf("%s retainers: %d parts, %v", n, len(r.Parts), r.Diags)
		}
	}
}

// Four saddles together: 17.857 g of petg, 5.846 m of filament of 1.75 mm
// (2.405282 mm² of section) and at least 29.3 min at 8 mm³/s. Closed forms; a
// mesh is up to 2/3 of its tolerance larger over each seat. Sagitta and volume
// fall as the radius grows.
func TestJobTotals(t *testing.T) {
	total := map[string]float64{}
	last := math.Inf(1)
	for _, size := range []string{"", "r51", "r57", "r65"} {
		o := Options{Tolerance: 0.001}
		if size != "" {
			o.Sizes = []string{size}
		}
		r, err := New().Build(context.Background(), "../testdata/jobs/a12.perch", o)
		if err != nil || len(r.Parts) != 1 || len(r.Diags) > 0 {
			t.Fatal(err, r)
		}
		v := r.Parts[0].Volume
		if v >= last {
			t.Errorf("size %s: %.2f mm³ is no less than the one before", size, v)
		}
		last = v
		total["mass"] += r.Parts[0].Mass
		for _, k := range r.Parts[0].Checks {
			for _, query := range []string{"filament", "least time"} {
				if strings.HasPrefix(k.Text, query+" ") {
					total[query] += k.Found.Value
				}
			}
		}
	}
	for _, c := range []struct {
		what        string
		got, want   float64
		beyond, few float64
	}{
		{"mass, g", total["mass"], 17.857, 0.004, 0.0006},
		{"filament, m", total["filament"] / 1000, 5.846, 0.002, 0.0006},
		{"least time, min", total["least time"] / 60, 29.293, 0.006, 0.0006},
	} {
		if c.got < c.want-c.few || c.got > c.want+c.beyond {
			t.Errorf("%s: %.4f, want %.4f", c.what, c.got, c.want)
		}
	}
}

// The three screw holes of the filter cell stand 120° ± 0.5° apart, measured on
// the mesh: the corners at the height of their middles, at the outer face.
func TestJobScrewsEvenly(t *testing.T) {
	r, err := New().Build(context.Background(), "../testdata/jobs/a11.perch", Options{})
	if err != nil || len(r.Parts) != 1 {
		t.Fatal(err, r)
	}
	holes := holesAt(r.Parts[0].Mesh, 37)
	if len(holes) != 3 {
		t.Fatalf("holes at %v", holes)
	}
	for i := range holes {
		gap := math.Mod(holes[(i+1)%3]-holes[i]+360, 360)
		if math.Abs(gap-120) > 0.5 {
			t.Errorf("holes at %v: %.3f° apart", holes, gap)
		}
	}
}

// holesAt returns the directions of round holes through an upright wall, whose
// middles are at the height z: where the mesh has corners within 2.2 mm of it.
func holesAt(m *mesh.Mesh, z float64) []float64 {
	var all []float64
	for _, v := range m.Vertices {
		if math.Abs(v.Z-z) < 2.2 {
			all = append(all, math.Mod(math.Atan2(v.Y, v.X)*180/math.Pi+390, 360)) // none near the seam
		}
	}
	slices.Sort(all)
	var out []float64
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j]-all[i] < 20 {
			j++
		}
		out = append(out, (all[i]+all[j-1])/2)
		i = j
	}
	return out
}
