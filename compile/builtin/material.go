package builtin

import (
	"perch/compile/value"
	"perch/lang/unit"
)

// Material is what a part can be printed in, and what is known of it. A fact
// without a source is not known; nothing is guessed from a like material.
type Material struct {
	Name string
	Doc  string
	// Density of solid filament. A print with hollow infill weighs less; the
	// mass Perch prints is that of the solid part.
	Density Fact
	// Expansion is the change of length by length and kelvin.
	Expansion Fact
	// Softens is the temperature in degC at which a bar bends under 0.45 MPa
	// (heat deflection temperature, ISO 75 and ASTM D648); Glass that of the
	// glass transition.
	Softens, Glass Fact
	// Strength is the tensile strength of a print along its layers, Across
	// that between them, and AcrossShare what hooks printed upright held of
	// what hooks printed flat held.
	Strength, Across, AcrossShare Fact
	// Bending is the flexural modulus of a print, Tensile the modulus of the
	// plastic in tension.
	Bending, Tensile Fact
	// Yield is the strain at yield of a print; Strain what a snap may be bent
	// to once, briefly, and Repeated what it may be bent to often.
	Yield, Strain, Repeated Fact
	// Static friction, dry, on painted or anodised aluminium, on steel and on
	// rubber. Friction scatters by half its value either way.
	OnPaint, OnSteel, OnRubber Fact
	// Water is what it takes up, as a share of its mass.
	Water Fact
	// Price is money for mass, in the money of the workshop; a material has
	// none until the workshop gives one.
	Price Fact
	// Fumes holds when printing it calls for ventilation.
	Fumes bool
	// Moisture and Sun say what water and sunlight do to it, in words.
	Moisture, Sun string
}

// Fact is one quantity in base units as a table has it.
type Fact struct {
	// X is the value to reckon with: the middle, or where a single value must
	// be on the safe side, that end of the range.
	X float64
	// U is the standard uncertainty of X; 0 where X is on the safe side.
	U float64
	// Low and High bound what sources print.
	Low, High float64
	// Source is "" for what is not known.
	Source string
	// Stated holds for what the maker's workshop states.
	Stated bool
}

// Known reports whether there is a value at all.
func (f Fact) Known() bool { return f.Source != "" }

// exactly is a value that sources print alike.
func exactly(x float64, source string) Fact { return Fact{X: x, Low: x, High: x, Source: source} }

// spread is a value with the standard deviation that its source prints.
func spread(x, u float64, source string) Fact {
	return Fact{X: x, U: u, Low: x - u, High: x + u, Source: source}
}

// between is a value known to lie in a range, anywhere in it alike: its middle,
// with half the range over √3 (JCGM 100:2008, 4.3.7).
func between(low, high float64, source string) Fact {
	return Fact{X: (low + high) / 2, U: value.Rectangular((high - low) / 2), Low: low, High: high, Source: source}
}

// cautiously is the end x of a range: what a part can rely on.
func cautiously(x, low, high float64, source string) Fact {
	return Fact{X: x, Low: low, High: high, Source: source}
}

// Property is one fact that a material has, as `material.NAME` asks for it.
type Property struct {
	Name string
	Dim  unit.Dim
	Doc  string
	Of   func(*Material) *Fact
}

// PerKelvin is the dimension of an expansion, PerMass that of a price.
var (
	PerKelvin = unit.Dim{Temp: -1}
	PerMass   = unit.Dim{Mass: -1}
)

// Properties lists what a material can be asked.
var Properties = []Property{
	{"density", unit.Density, "density of solid filament", func(m *Material) *Fact { return &m.Density }},
	{"expansion", PerKelvin, "change of length by length and kelvin", func(m *Material) *Fact { return &m.Expansion }},
	{"softens", unit.Temperature, "temperature at which a bar bends under 0.45 MPa (heat deflection, ISO 75)", func(m *Material) *Fact { return &m.Softens }},
	{"glass", unit.Temperature, "temperature of the glass transition", func(m *Material) *Fact { return &m.Glass }},
	{"strength", unit.Pressure, "tensile strength of a print along its layers", func(m *Material) *Fact { return &m.Strength }},
	{"strength_across", unit.Pressure, "tensile strength of a print between its layers", func(m *Material) *Fact { return &m.Across }},
	{"across_share", unit.None, "what a print holds across its layers, as a share of what it holds along them", func(m *Material) *Fact { return &m.AcrossShare }},
	{"bending_modulus", unit.Pressure, "flexural modulus of a print (ISO 178)", func(m *Material) *Fact { return &m.Bending }},
	{"tensile_modulus", unit.Pressure, "modulus in tension (ISO 527)", func(m *Material) *Fact { return &m.Tensile }},
	{"strain_yield", unit.None, "strain at yield of a print", func(m *Material) *Fact { return &m.Yield }},
	{"strain_limit", unit.None, "strain that a printed snap stands once, briefly, along the layers", func(m *Material) *Fact { return &m.Strain }},
	{"strain_repeated", unit.None, "strain that a printed snap stands often, along the layers", func(m *Material) *Fact { return &m.Repeated }},
	{"friction_paint", unit.None, "static friction on painted or anodised aluminium, dry; the low end", func(m *Material) *Fact { return &m.OnPaint }},
	{"friction_steel", unit.None, "static friction on steel, dry; the low end", func(m *Material) *Fact { return &m.OnSteel }},
	{"friction_rubber", unit.None, "static friction on rubber, dry; the low end", func(m *Material) *Fact { return &m.OnRubber }},
	{"water", unit.None, "water taken up, as a share of the mass", func(m *Material) *Fact { return &m.Water }},
	{"price", PerMass, "money for mass, such as 24 / 1kg, as the workshop gives it", func(m *Material) *Fact { return &m.Price }},
}

// LookupProperty returns the property of that name.
func LookupProperty(name string) (*Property, bool) {
	for i := range Properties {
		if Properties[i].Name == name {
			return &Properties[i], true
		}
	}
	return nil, false
}

// PropertyNames lists the properties.
func PropertyNames() []string {
	var names []string
	for _, p := range Properties {
		names = append(names, p.Name)
	}
	return names
}

// Base units of the table: g/mm³, and g/(mm·s²) for stresses.
const (
	gcm3 = 1e-3
	mpa  = 1e6
	gpa  = 1e9
	ppm  = 1e-6 // of a length, for 1 K
)

// Sources of the table.
const (
	sheets   = "filament maker's sheets, ISO 527-1 and ISO 178 on prints (PLA 2021-10, PETG 2021-10, ASA 2022-16)"
	hooks    = "pull tests of printed hooks, upright against flat"
	third    = "a third of the strain at yield (design rule for printed snaps), yield from " + sheets
	often    = "0.6 of the single strain (snap-fit design guide, table 2), single strain a third of yield"
	amorph   = "moulded ASA sheet 778T (2018), ISO 527, 75, 11359, 1183"
	absSheet = "ABS sheet, ASTM D792, D638, D648, D696; grades differ"
	pa6Sheet = "cast PA6 sheet, dry to humid"
	pa12     = "general PA12 tables"
	tpuSheet = "TPU hardness series, 95 shore A, ASTM D792, D412"
	practice = "common practice"
	paint    = "common practice for plastics on paint; ±50 %"
	rubber   = "common practice; published 0.6 to 1.0 and more for rubber on hard surfaces"
)

var materials = []Material{
	{
		Name: "pla", Doc: "polylactide: stiff, easy to print, soft from about 55 degC",
		Density:   exactly(1.24*gcm3, "npj Materials Degradation 2025, s41529-025-00724-1, table 2 (resin 2003D)"),
		Expansion: between(41*ppm, 68*ppm, "41 in filament data (Materials Science-Poland 2025-0039), 68 from memory"),
		Softens:   cautiously(55, 55, 65, "npj Materials Degradation 2025 table 2; another table prints 65"),
		Glass:     between(55, 60, "npj Materials Degradation 2025 table 2"),
		Strength:  exactly(51*mpa, sheets), Across: spread(17*mpa, 3*mpa, sheets), AcrossShare: exactly(0.55, hooks),
		Bending: spread(3.1*gpa, 0.1*gpa, sheets), Tensile: exactly(3.5*gpa, "public tables"),
		Yield: spread(0.029, 0.003, sheets), Strain: exactly(0.010, third), Repeated: exactly(0.006, often),
		OnPaint: cautiously(0.2, 0.2, 0.4, paint), OnSteel: cautiously(0.62, 0.62, 0.76, "measured on prints, Materials Science-Poland 2025-0039"),
		OnRubber: cautiously(0.5, 0.5, 1, rubber),
		Moisture: "takes up little water, but prints worse when damp", Sun: "softens in the sun and in a parked car",
	},
	{
		Name: "petg", Doc: "glycol-modified polyester: tough, soft from about 73 degC",
		Density:   exactly(1.27*gcm3, "PETG sheet, ASTM D792"),
		Expansion: exactly(68*ppm, "public tables; PETG sheet, ASTM D696: 68.4"),
		Softens:   exactly(73, "public tables, 0.45 MPa; sheet prints 69 at 1.8 MPa"),
		Glass:     exactly(81, "public tables"),
		Strength:  exactly(47*mpa, sheets), Across: spread(18*mpa, 4*mpa, sheets), AcrossShare: exactly(0.46, hooks),
		Bending: spread(1.7*gpa, 0.1*gpa, sheets), Tensile: exactly(2.2*gpa, "public tables"),
		Yield: spread(0.051, 0.001, sheets), Strain: exactly(0.017, third), Repeated: exactly(0.010, often),
		OnPaint: cautiously(0.2, 0.2, 0.4, paint), OnRubber: cautiously(0.5, 0.5, 1, rubber),
		Water:    exactly(0.002, "PETG sheet, 24 h"),
		Moisture: "keep the filament dry", Sun: "stands some sunlight; turns brittle over years outdoors",
	},
	{
		Name: "abs", Doc: "acrylonitrile butadiene styrene: tough, gives off styrene when printed",
		Density:     Fact{X: 1.04 * gcm3, U: value.Rectangular(0.03 * gcm3), Low: 1.02 * gcm3, High: 1.08 * gcm3, Source: absSheet},
		Expansion:   Fact{X: 93.6 * ppm, U: value.Rectangular(18 * ppm), Low: 72 * ppm, High: 108 * ppm, Source: absSheet},
		Softens:     cautiously(77, 77, 113, "range of grades in a material data sheet (extrusion)"),
		Glass:       between(105, 108, absSheet),
		AcrossShare: cautiously(0.5, 0.3, 0.5, practice),
		Tensile:     between(2.0*gpa, 2.9*gpa, "range of grades in a material data sheet (extrusion)"),
		Strain:      cautiously(0.010, 0.010, 0.015, practice), Repeated: cautiously(0.006, 0.006, 0.009, "0.6 of the single strain; "+practice),
		OnPaint: cautiously(0.2, 0.2, 0.4, paint), OnSteel: cautiously(0.50, 0.50, 0.65, "snap-fit design guide, table 3"),
		OnRubber: cautiously(0.5, 0.5, 1, rubber),
		Water:    exactly(0.003, absSheet+", 24 h"),
		Fumes:    true, Moisture: "takes up little water", Sun: "yellows and turns brittle in sunlight",
	},
	{
		Name: "asa", Doc: "like abs, and stands sunlight; gives off styrene when printed",
		Density:   exactly(1.07*gcm3, amorph),
		Expansion: between(80*ppm, 110*ppm, amorph),
		Softens:   exactly(106, amorph+"; annealed bars"),
		Glass:     exactly(100, "public tables, about"),
		Strength:  exactly(42*mpa, sheets), Across: spread(11*mpa, 1*mpa, sheets), AcrossShare: exactly(0.29, hooks),
		Bending: spread(2.0*gpa, 0.1*gpa, sheets), Tensile: exactly(2.5*gpa, amorph),
		Yield: spread(0.034, 0.002, sheets), Strain: exactly(0.011, third), Repeated: exactly(0.007, often),
		OnRubber: cautiously(0.5, 0.5, 1, rubber),
		Fumes:    true, Moisture: "takes up little water", Sun: "made for sunlight",
	},
	{
		Name: "pa6", Doc: "polyamide 6: tough and slippery, takes up much water and grows by it",
		Density:   between(1.14*gcm3, 1.15*gcm3, pa6Sheet),
		Expansion: between(80*ppm, 100*ppm, pa6Sheet),
		Glass:     exactly(50, "from memory, about"),
		Tensile:   between(1.9*gpa, 3.2*gpa, pa6Sheet),
		OnSteel:   cautiously(0.66, 0.66, 1.10, "measured on prints, Materials Science-Poland 2025-0039"),
		OnRubber:  cautiously(0.5, 0.5, 1, rubber),
		Water:     exactly(0.025, pa6Sheet+", at room air; 7.2 % wet"),
		Fumes:     true, Moisture: "grows by 0.85 % at room air and by 2.4 % in water", Sun: "turns brittle in sunlight",
	},
	{
		Name: "pa12", Doc: "polyamide 12: tough and slippery, takes up a little water",
		Density:   cautiously(1.01*gcm3, 1.01*gcm3, 1.03*gcm3, pa12),
		Expansion: between(100*ppm, 180*ppm, pa12),
		Glass:     exactly(43, "thermal analysis table of polymers"),
		Tensile:   between(0.9*gpa, 1.2*gpa, pa12),
		Strain:    exactly(0.03, "snap-fit notes, an estimate"), Repeated: exactly(0.018, "0.6 of the single strain, an estimate"),
		OnRubber: cautiously(0.5, 0.5, 1, rubber),
		Fumes:    true, Moisture: "takes up a little water; keep the filament dry", Sun: "turns brittle in sunlight",
	},
	{
		Name: "tpu", Doc: "thermoplastic polyurethane: rubbery",
		Density:   exactly(1.20*gcm3, tpuSheet),
		Expansion: exactly(150*ppm, "from memory, about"),
		Tensile:   between(0.03*gpa, 0.07*gpa, "from memory, 95 shore A"),
		Moisture:  "keep the filament dry", Sun: "yellows in sunlight",
	},
}
