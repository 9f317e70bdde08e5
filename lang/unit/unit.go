// Package unit knows dimensions and the units a part file may write.
package unit

// Dim is a dimension as integer exponents of the base units: millimetre,
// radian, gram, second and kelvin. Force is then g·mm/s² times a factor, and
// so on; a quantity is always held in these base units.
type Dim struct{ Length, Angle, Mass, Time, Temp int8 }

// Common dimensions.
var (
	None        = Dim{}
	Length      = Dim{Length: 1}
	Angle       = Dim{Angle: 1}
	Mass        = Dim{Mass: 1}
	Time        = Dim{Time: 1}
	Temperature = Dim{Temp: 1}
	AreaDim     = Dim{Length: 2}
	Volume      = Dim{Length: 3}
	Density     = Dim{Length: -3, Mass: 1}
	Frequency   = Dim{Time: -1}
	Force       = Dim{Length: 1, Mass: 1, Time: -2}
	Moment      = Dim{Length: 2, Mass: 1, Time: -2}
	Pressure    = Dim{Length: -1, Mass: 1, Time: -2}
)

// Mul returns the dimension of a product.
func (d Dim) Mul(e Dim) Dim {
	return Dim{d.Length + e.Length, d.Angle + e.Angle, d.Mass + e.Mass, d.Time + e.Time, d.Temp + e.Temp}
}

// Div returns the dimension of a quotient.
func (d Dim) Div(e Dim) Dim {
	return Dim{d.Length - e.Length, d.Angle - e.Angle, d.Mass - e.Mass, d.Time - e.Time, d.Temp - e.Temp}
}

// Pow returns the dimension of the n-th power.
func (d Dim) Pow(n int) Dim {
	k := int8(n)
	return Dim{d.Length * k, d.Angle * k, d.Mass * k, d.Time * k, d.Temp * k}
}
