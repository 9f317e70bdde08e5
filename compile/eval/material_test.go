package eval

import (
	"strings"
	"testing"

	"perch/compile/builtin"
	"perch/compile/check"
)

// The table lies in the ranges of published sheets: densities in g/cm³,
// expansions in 1e-6/K, softening (0.45 MPa) in degC, strengths in MPa, flexural
// moduli of prints in GPa, strains in percent, each as low, high; {} for what
// no sheet gives. Sources stand beside the values in package builtin.
func TestMaterials(t *testing.T) {
	type row map[string][2]float64
	scale := map[string]float64{
		"density": 1e-3, "expansion": 1e-6, "softens": 1, "strength": 1e6, "strength_across": 1e6,
		"bending_modulus": 1e9, "strain_yield": 0.01, "strain_limit": 0.01, "strain_repeated": 0.01,
	}
	want := map[string]row{
		"pla": {"density": {1.24, 1.24}, "expansion": {41, 68}, "softens": {55, 65}, "strength": {50, 53}, "strength_across": {14, 22.8},
			"bending_modulus": {3.0, 3.2}, "strain_yield": {2.6, 3.2}, "strain_limit": {0.97, 1.0}, "strain_repeated": {0.58, 0.6}},
		"petg": {"density": {1.27, 1.27}, "expansion": {68, 68.4}, "softens": {73, 73}, "strength": {47, 47}, "strength_across": {14, 22},
			"bending_modulus": {1.6, 1.8}, "strain_yield": {5.0, 5.2}, "strain_limit": {1.7, 1.7}, "strain_repeated": {1.0, 1.02}},
		"abs": {"density": {1.02, 1.08}, "expansion": {72, 108}, "softens": {77, 113}, "strength": {}, "strength_across": {},
			"bending_modulus": {}, "strain_yield": {}, "strain_limit": {1, 1.5}, "strain_repeated": {0.6, 0.9}},
		"asa": {"density": {1.07, 1.07}, "expansion": {80, 110}, "softens": {106, 106}, "strength": {42, 42}, "strength_across": {10, 12},
			"bending_modulus": {1.9, 2.1}, "strain_yield": {3.2, 3.6}, "strain_limit": {1.1, 1.134}, "strain_repeated": {0.68, 0.7}},
		"pa6": {"density": {1.14, 1.15}, "expansion": {80, 100}, "softens": {}, "strength": {}, "strength_across": {},
			"bending_modulus": {}, "strain_yield": {}, "strain_limit": {}, "strain_repeated": {}},
		"pa12": {"density": {1.01, 1.03}, "expansion": {100, 180}, "softens": {}, "strength": {}, "strength_across": {},
			"bending_modulus": {}, "strain_yield": {}, "strain_limit": {3, 3}, "strain_repeated": {1.8, 1.8}},
		"tpu": {"density": {1.20, 1.21}, "expansion": {150, 150}, "softens": {}, "strength": {}, "strength_across": {},
			"bending_modulus": {}, "strain_yield": {}, "strain_limit": {}, "strain_repeated": {}},
	}
	for _, m := range builtin.All.Materials {
		if want[m.Name] == nil {
			t.Errorf("%s has no case", m.Name)
		}
		for name, r := range want[m.Name] {
			p, _ := builtin.LookupProperty(name)
			f := p.Of(&m)
			x := f.X / scale[name]
			switch {
			case f.Known() != (r != [2]float64{}):
				t.Errorf("%s of %s: known %v", name, m.Name, f.Known())
			case x < r[0]-1e-9 || x > r[1]+1e-9:
				t.Errorf("%s of %s is %g, want %g to %g", name, m.Name, x, r[0], r[1])
			}
		}
		for _, p := range builtin.Properties {
			if f := p.Of(&m); f.Known() && (f.X < f.Low-1e-12 || f.X > f.High+1e-12 || f.U > f.High-f.Low) {
				t.Errorf("%s of %s: %+v", p.Name, m.Name, *f)
			}
		}
	}
}

// A part asks for its material wherever the step that names it stands; a range
// is one source, however often it is asked.
func TestMaterialOfPart(t *testing.T) {
	r := evaluated(t, `
part p {
    let twice = material.strength_across - material.strength_across
    join box width 1mm + 1mm * material.strain_limit, depth 1mm, height 1mm
    check uncertainty(twice) = 0MPa and uncertainty(material.strength_across) = 3MPa
    check material.strain_limit = 0.010 and material.softens = 55degC
    material pla
}
part q {
    join box width 1mm, depth 1mm, height 1mm
    check material.strain_limit = 0.017
}`, Options{})
	if len(r.Diags) > 0 || len(r.Parts) != 2 {
		t.Fatal(listed(r.Diags))
	}
	if r.Parts[0].Material.Name != "pla" || r.Parts[0].Assumed || r.Parts[1].Material.Name != builtin.DefaultMaterial || !r.Parts[1].Assumed {
		t.Errorf("%s and %s", r.Parts[0].Material.Name, r.Parts[1].Material.Name)
	}
	for _, p := range r.Parts {
		results, faults := check.Run(p.Checks, check.Facts{Pieces: 1}, nil)
		for _, c := range results {
			if !c.Pass {
				t.Errorf("%s does not hold", c.Text)
			}
		}
		if len(faults) > 0 {
			t.Error(listed(faults))
		}
	}
}

// What no source gives leaves a check open, and is a fault elsewhere.
func TestMaterialNotKnown(t *testing.T) {
	r := evaluated(t, "part p {\n    join box width 1mm, depth 1mm, height 1mm\n    material tpu\n    check 0.01 <= material.strain_limit\n}", Options{})
	if len(r.Diags) > 0 || len(r.Parts) != 1 {
		t.Fatal(listed(r.Diags))
	}
	results, faults := check.Run(r.Parts[0].Checks, check.Facts{Pieces: 1}, nil)
	if len(results) != 1 || results[0].Pass || !strings.Contains(results[0].Unknown, "tpu") {
		t.Errorf("%+v", results)
	}
	if len(faults) != 1 || faults[0].Code != check.CannotTell {
		t.Error(listed(faults))
	}
	for text, code := range map[string]string{
		"let a = material.density\npart p { join ball radius 3mm }":                            "material-nowhere",
		"part p { join ball radius 3mm * material.strain_limit\n material tpu }":               "not-known",
		"part p { join ball radius 3mm * material.strain_limt }":                               "member-unknown",
		"let f() = material.strain_limit\npart p { join ball radius 3mm * f()\nmaterial pa6 }": "not-known",
	} {
		r := evaluated(t, text, Options{})
		if len(r.Diags) != 1 || string(r.Diags[0].Code) != code {
			t.Errorf("%s: %s", text, listed(r.Diags))
		}
	}
}
