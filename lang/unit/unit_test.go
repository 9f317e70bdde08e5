package unit

import (
	"errors"
	"math"
	"testing"
)

// TestFactors checks exact conversions. Sources: the international yard and
// pound agreement of 1959 (yard 0.9144 m, so foot 304.8 mm and inch 25.4 mm);
// SI brochure, 9th edition, tables 4 (newton, pascal) and 8 (minute, hour,
// degree).
func TestFactors(t *testing.T) {
	for _, c := range []struct {
		text   string
		factor float64
		dim    Dim
	}{
		{"", 1, None},
		{"mm", 1, Length}, {"cm", 10, Length}, {"m", 1000, Length}, {"um", 0.001, Length},
		{"in", 25.4, Length}, {"ft", 304.8, Length},
		{"rad", 1, Angle}, {"deg", math.Pi / 180, Angle},
		{"g", 1, Mass}, {"kg", 1000, Mass},
		{"s", 1, Time}, {"min", 60, Time}, {"h", 3600, Time},
		{"K", 1, Temperature}, {"degC", 1, Temperature},
		{"N", 1e6, Force},      // kg*m/s^2 = 1000 g * 1000 mm / s^2
		{"kPa", 1e3, Pressure}, // N/m^2 = 1 g/(mm*s^2)
		{"MPa", 1e6, Pressure}, {"GPa", 1e9, Pressure},
		{"mm^2", 1, AreaDim}, {"in^2", 645.16, AreaDim}, {"cm^3", 1000, Volume}, {"in^3", 16387.064, Volume},
		{"g/cm^3", 0.001, Density}, {"kg/m^3", 1e-6, Density},
		{"N*mm", 1e6, Moment}, {"N*m", 1e9, Moment},
		{"N/mm^2", 1e6, Pressure}, // one MPa
		{"mm/s^2", 1, Dim{Length: 1, Time: -2}},
		{"mm^-1", 1, Dim{Length: -1}},
		{"mm*mm/mm^2", 1, None},
		{"um/m", 1e-6, None},
		{"mm/K", 1, Dim{Length: 1, Temp: -1}},
	} {
		u, err := Parse(c.text)
		if err != nil || u.Factor != c.factor || u.Dim != c.dim {
			t.Errorf("Parse(%q) = %v, %v; want %v %v", c.text, u, err, c.factor, c.dim)
		}
	}
}

func TestUnknown(t *testing.T) {
	for text, want := range map[string]string{
		"inch": "in", "millimetres": "mm", "MM": "mm", "Deg": "deg", "degs": "deg", "°": "deg", "µm": "um",
		"sec": "s", "Pa": "kPa", "mpa": "MPa", "°C": "degC", "mm2": "mm^2", "Nmm": "N*mm", "parsec": "", "mmm": "mm",
		"g/cm3": "cm^3", "mm*inch": "in", "": "",
	} {
		if text == "" {
			continue
		}
		_, err := Parse(text)
		var bad *UnknownError
		if !errors.As(err, &bad) || bad.Suggest != want {
			t.Errorf("Parse(%q) proposes %v, want %q", text, err, want)
		}
	}
	for _, text := range []string{"mm^99", "mm^x", "mm^", "mm^12*mm^12", "m^99999999999999999999", "mm*", "*mm", "/", "mm^-13"} {
		if u, err := Parse(text); err == nil {
			t.Errorf("Parse(%q) = %v, want an error", text, u)
		}
	}
}

func TestFormat(t *testing.T) {
	deg := math.Pi / 180
	for _, c := range []struct {
		value float64
		dim   Dim
		want  string
	}{
		{12.5, Length, "12.5 mm"}, {30 * deg, Angle, "30 deg"}, {0.00127, Density, "1.27 g/cm^3"},
		{4.2e6, Force, "4.2 N"}, {0, Length, "0 mm"}, {math.Copysign(0, -1), Length, "0 mm"}, {-3, Length, "-3 mm"},
		{91.4567891, Length, "91.4568 mm"}, {1234567, Length, "1234570 mm"}, {1e20, Length, "1e+20 mm"},
		{1.5e-7, Length, "1.5e-07 mm"},
		{12, Mass, "12 g"}, {12000, Mass, "12 kg"}, {56000, Volume, "56 cm^3"}, {100, Volume, "100 mm^3"},
		{13720, AreaDim, "137.2 cm^2"}, {20, AreaDim, "20 mm^2"},
		{50e6, Pressure, "50 MPa"}, {2e9, Pressure, "2 GPa"}, {2e3, Pressure, "2 kPa"}, {0, Pressure, "0 kPa"},
		{5e6, Moment, "5 N*mm"}, {90, Time, "90 s"}, {600, Time, "10 min"}, {7200, Time, "2 h"},
		{40, Temperature, "40 degC"}, {0.024, Dim{Mass: -1}, "24 1/kg"}, {0.72, None, "0.72"}, {6, None, "6"},
		{3, Dim{Length: 1, Temp: -1}, "3 mm/K"}, {3, Dim{Time: -2}, "3 1/s^2"}, {3, Dim{Length: 4}, "3 mm^4"},
		{3, Dim{Mass: 1, Length: -2, Time: -1}, "3 g/(mm^2*s)"},
		{math.NaN(), Length, "not a number"}, {math.Inf(1), None, "infinite"}, {math.Inf(-1), None, "-infinite"},
	} {
		if got := Format(c.value, c.dim); got != c.want {
			t.Errorf("Format(%g, %v) = %q, want %q", c.value, c.dim, got, c.want)
		}
	}
}

func TestDimString(t *testing.T) {
	for d, want := range map[Dim]string{
		None: "plain number", Length: "length", AreaDim: "area", Density: "density",
		{Length: 1, Angle: -1}: "quantity in mm/rad", {Length: 4}: "quantity in mm^4", {Time: -1}: "frequency",
		{Angle: 2, Mass: -1, Temp: -1}: "quantity in rad^2/(g*K)",
	} {
		if got := d.String(); got != want {
			t.Errorf("%+v is called %q, want %q", d, got, want)
		}
	}
}

// TestDimAlgebra checks the rules of exponents.
func TestDimAlgebra(t *testing.T) {
	if Force.Mul(Length) != Moment || Force.Div(AreaDim) != Pressure || Length.Pow(3) != Volume || Mass.Div(Volume) != Density {
		t.Error("the dimensions do not multiply as they should")
	}
	if Length.Pow(-2).Mul(AreaDim) != None {
		t.Error("a power and its inverse leave a dimension")
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"g/cm^3", "N*mm", "mm^-2", "inch", "^", "mm^99*mm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		u, err := Parse(s)
		if err == nil && !(u.Factor > 0 && !math.IsInf(u.Factor, 0)) {
			t.Errorf("Parse(%q) has factor %g", s, u.Factor)
		}
	})
}
