package builtin

// gcm3 is one g/cm³ in g/mm³.
const gcm3 = 1e-3

// materials: densities of solid filament. A print with hollow infill weighs
// less; the mass Perch prints is that of the solid part.
var materials = []Material{
	// S. I. of npj Materials Degradation 2025, s41529-025-00724-1, table 2 (resin 2003D).
	{"pla", 1.24 * gcm3, "polylactide: stiff, easy to print, soft from about 55 degC"},
	// PETG data sheet, ASTM D792.
	{"petg", 1.27 * gcm3, "glycol-modified polyester: tough, soft from about 73 degC"},
	// ABS data sheet, ASTM D792; published grades run from 1.02 to 1.08.
	{"abs", 1.04 * gcm3, "acrylonitrile butadiene styrene: tough, gives off styrene when printed"},
	// ASA 778T data sheet (2018), ISO 1183.
	{"asa", 1.07 * gcm3, "like abs, and stands sunlight; gives off styrene when printed"},
	// General PA12 range 1.01 to 1.03; the lower end is common practice for printing.
	{"pa12", 1.01 * gcm3, "polyamide 12: tough and slippery, takes up water"},
	// TPU hardness series table, ASTM D792, 95 shore A.
	{"tpu", 1.20 * gcm3, "thermoplastic polyurethane: rubbery"},
}
