package unit

import "math"

// entry is one unit: one of it is num/den base units. Both are whole numbers
// (but for pi) so that compound factors are rounded only once.
type entry struct {
	word     string
	num, den float64
	dim      Dim
}

// table lists the units a part file may write. The inch is exactly 25.4 mm
// and the foot twelve of them (international yard and pound agreement of
// 1959; ISO 80000-3). The newton, pascal, minute, hour and degree are those of
// the SI brochure, 9th edition, tables 4 and 8. degC measures differences
// only, where it equals the kelvin.
var table = []entry{
	{"mm", 1, 1, Length},
	{"cm", 10, 1, Length},
	{"m", 1000, 1, Length},
	{"um", 1, 1000, Length},
	{"in", 254, 10, Length},
	{"ft", 3048, 10, Length},
	{"deg", math.Pi, 180, Angle},
	{"rad", 1, 1, Angle},
	{"g", 1, 1, Mass},
	{"kg", 1000, 1, Mass},
	{"N", 1e6, 1, Force},
	{"kPa", 1e3, 1, Pressure},
	{"MPa", 1e6, 1, Pressure},
	{"GPa", 1e9, 1, Pressure},
	{"K", 1, 1, Temperature},
	{"degC", 1, 1, Temperature},
	{"s", 1, 1, Time},
	{"min", 60, 1, Time},
	{"Hz", 1, 1, Frequency},
	{"h", 3600, 1, Time},
}

// slips maps what people write to the unit they mean.
var slips = map[string]string{
	"millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm", "MM": "mm", "Mm": "mm",
	"centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
	"metre": "m", "metres": "m", "meter": "m", "meters": "m",
	"µm": "um", "μm": "um", "micron": "um", "microns": "um",
	"inch": "in", "inches": "in", "foot": "ft", "feet": "ft",
	"°": "deg", "degree": "deg", "degrees": "deg", "radian": "rad", "radians": "rad",
	"gram": "g", "grams": "g", "gr": "g", "kilo": "kg",
	"newton": "N", "newtons": "N", "n": "N", "kpa": "kPa", "KPa": "kPa", "mpa": "MPa", "Mpa": "MPa", "mPa": "MPa", "gpa": "GPa", "Gpa": "GPa",
	"Pa": "kPa", "k": "K", "C": "degC", "°C": "degC", "celsius": "degC",
	"sec": "s", "secs": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min", "minutes": "min",
	"hr": "h", "hrs": "h", "hour": "h", "hours": "h",
	"mm2": "mm^2", "mm3": "mm^3", "cm2": "cm^2", "cm3": "cm^3", "m2": "m^2", "m3": "m^3",
	"Nm": "N*m", "Nmm": "N*mm",
}

var byWord = func() map[string]entry {
	m := make(map[string]entry, len(table))
	for _, e := range table {
		m[e.word] = e
	}
	return m
}()

// Words returns the unit words in the order of the table.
func Words() []string {
	w := make([]string, len(table))
	for i, e := range table {
		w[i] = e.word
	}
	return w
}

// Known reports whether word is a unit word of the table.
func Known(word string) bool {
	_, ok := byWord[word]
	return ok
}
