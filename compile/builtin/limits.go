package builtin

import (
	"fmt"
	"strconv"
	"strings"

	"perch/compile/value"
)

// Limits of size by ISO 286, for what is turned or bought: tubes, shafts,
// bearings. The tables are those of ISO 286-1 as published tables print them
// (IT5 to IT14; the deviations d, e, f, g, h, p; holes H), in µm.

// isoTop is the upper end of each range in mm. A size that is an end belongs
// to the range below it: 30 is in 18 to 30.
var isoTop = []float64{3, 6, 10, 18, 30, 50, 80, 120, 180, 250}

// isoGrades lists the tolerances IT5 to IT14 of each range.
var isoGrades = [][10]float64{
	{4, 6, 10, 14, 25, 40, 60, 100, 140, 250},
	{5, 8, 12, 18, 30, 48, 75, 120, 180, 300},
	{6, 9, 15, 22, 36, 58, 90, 150, 220, 360},
	{8, 11, 18, 27, 43, 70, 110, 180, 270, 430},
	{9, 13, 21, 33, 52, 84, 130, 210, 330, 520},
	{11, 16, 25, 39, 62, 100, 160, 250, 390, 620},
	{13, 19, 30, 46, 74, 120, 190, 300, 460, 740},
	{15, 22, 35, 54, 87, 140, 220, 350, 540, 870},
	{18, 25, 40, 63, 100, 160, 250, 400, 630, 1000},
	{20, 29, 46, 72, 115, 185, 290, 460, 720, 1150},
}

// isoShafts lists the fundamental deviations of shafts: the upper one of d to
// h, the lower one of p.
var isoShafts = map[string][10]float64{
	"d": {-20, -30, -40, -50, -65, -80, -100, -120, -145, -170},
	"e": {-14, -20, -25, -32, -40, -50, -60, -72, -85, -100},
	"f": {-6, -10, -13, -16, -20, -25, -30, -36, -43, -50},
	"g": {-2, -4, -5, -6, -7, -9, -10, -12, -14, -15},
	"h": {},
	"p": {6, 12, 15, 18, 22, 26, 32, 37, 43, 50},
}

const isoClasses = "H5 to H14 for holes; d, e, f, g, h and p with a grade for shafts"

// isoLimits returns the deviations of a tolerance class at a size, in mm.
func isoLimits(size value.Number, class string) (lower, upper float64, f *value.Fault) {
	grade, err := strconv.Atoi(strings.TrimLeft(class, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"))
	letter := strings.TrimRight(class, "0123456789")
	shaft, known := isoShafts[letter]
	if err != nil || grade < 5 || grade > 14 || !known && letter != "H" {
		return 0, 0, value.Faultf(Domain, "the table has no tolerance class %q", class).
			Why("it holds %s", isoClasses).Do("write one such as \"H7\" or \"g6\"")
	}
	row := 0
	for row < len(isoTop) && size.X > isoTop[row] {
		row++
	}
	if size.X < 1 || row == len(isoTop) {
		return 0, 0, value.Faultf(Domain, "the table of limits runs from 1 mm to 250 mm, this is %s", size).
			Do("give the nominal size, in its unit")
	}
	tolerance := isoGrades[row][grade-5]
	switch letter {
	case "H":
		lower, upper = 0, tolerance
	case "p":
		lower, upper = shaft[row], shaft[row]+tolerance
	default:
		lower, upper = shaft[row]-tolerance, shaft[row]
	}
	return lower / 1000, upper / 1000, nil
}

// limitOf makes the function of one limit.
func limitOf(name, what, example string, upper bool) Function {
	return Function{
		Name: name, Params: []Param{{"size", "length"}, {"class", "text"}},
		Doc:     fmt.Sprintf("the %s limit of size by ISO 286, of a hole (\"H7\") or a shaft (\"g6\"), from 1 to 250 mm", what),
		Example: example,
		Call: func(a []value.Value) (value.Value, *value.Fault) {
			size := a[0].(value.Number)
			lo, hi, f := isoLimits(size, string(a[1].(value.Text)))
			if f != nil {
				return nil, f
			}
			if upper {
				lo = hi
			}
			return size.Apply(size.X+lo, 1, size.Dim), nil
		},
	}
}

var (
	leastSizeFunc = limitOf("least_size", "lower", `least_size(30mm, "H7") - greatest_size(30mm, "g6") = 0.007mm`, false)
	mostSizeFunc  = limitOf("greatest_size", "upper", `abs(greatest_size(50mm, "p6") - 50.042mm) < 1e-9mm`, true)
)
