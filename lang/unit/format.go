package unit

import (
	"math"
	"strconv"
	"strings"
)

// names of dimensions that a workshop has a word for.
var names = map[Dim]string{
	None:        "plain number",
	Length:      "length",
	Angle:       "angle",
	Mass:        "mass",
	Time:        "time",
	Temperature: "temperature difference",
	AreaDim:     "area",
	Volume:      "volume",
	Density:     "density",
	Force:       "force",
	Moment:      "moment",
	Pressure:    "pressure",
	Frequency:   "frequency",
}

// String names the dimension for messages: "length", "area", "plain number";
// one that has no name by a unit, "quantity in 1/mm".
func (d Dim) String() string {
	if n, ok := names[d]; ok {
		return n
	}
	return "quantity in " + compose(d, base)
}

// base holds the words of the base units.
var base = [5]string{"mm", "rad", "g", "s", "K"}

// compose writes d with one word for each base dimension.
func compose(d Dim, words [5]string) string {
	var above, below []string
	for i, p := range [5]int8{d.Length, d.Angle, d.Mass, d.Time, d.Temp} {
		w := words[i]
		if p > 1 || p < -1 {
			w += "^" + strconv.Itoa(max(int(p), -int(p)))
		}
		if p > 0 {
			above = append(above, w)
		} else if p < 0 {
			below = append(below, w)
		}
	}
	s := strings.Join(above, "*")
	if s == "" {
		s = "1"
	}
	switch len(below) {
	case 0:
		return s
	case 1:
		return s + "/" + below[0]
	}
	return s + "/(" + strings.Join(below, "*") + ")"
}

// display is the unit a value of some dimension is printed in, from a least
// size upwards; the first that fits is taken.
type display struct {
	from   float64 // in base units
	factor float64
	word   string
}

var displays = map[Dim][]display{
	Length:      {{0, 1, "mm"}},
	Angle:       {{0, math.Pi / 180, "deg"}},
	Mass:        {{10e3, 1e3, "kg"}, {0, 1, "g"}},
	Time:        {{7200, 3600, "h"}, {300, 60, "min"}, {0, 1, "s"}},
	Temperature: {{0, 1, "degC"}},
	Frequency:   {{0, 1, "Hz"}},
	AreaDim:     {{1e4, 100, "cm^2"}, {0, 1, "mm^2"}},
	Volume:      {{1e4, 1e3, "cm^3"}, {0, 1, "mm^3"}},
	Density:     {{0, 1e-3, "g/cm^3"}},
	Force:       {{0, 1e6, "N"}},
	Moment:      {{1e10, 1e9, "N*m"}, {0, 1e6, "N*mm"}},
	Pressure:    {{1e9, 1e9, "GPa"}, {1e5, 1e6, "MPa"}, {0, 1e3, "kPa"}},
	{Mass: -1}:  {{0, 1e-3, "1/kg"}}, // a price
}

// Format prints a value held in base units in the unit a workshop would use,
// to six significant digits: "12.5 mm", "30 deg", "1.27 g/cm^3", "4.2 N".
func Format(value float64, d Dim) string {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return number(value)
	}
	factor, word := Shown(value, d)
	s := number(value / factor)
	if word == "" {
		return s
	}
	return s + " " + word
}

// Shown returns the unit that a workshop would print a value in, and how many
// base units it has; the word of a plain number is "".
func Shown(value float64, d Dim) (factor float64, word string) {
	factor = 1
	if list, ok := displays[d]; ok {
		for _, u := range list {
			if math.Abs(value) >= u.from || u.from == 0 {
				factor, word = u.factor, u.word
				break
			}
		}
	} else if d != None {
		word = compose(d, base)
	}
	return factor, word
}

// number prints v to six significant digits without trailing zeros.
func number(v float64) string { return Digits(v, 6) }

// Digits prints v to n significant digits without trailing zeros.
func Digits(v float64, n int) string {
	switch {
	case math.IsNaN(v):
		return "not a number"
	case math.IsInf(v, 1):
		return "infinite"
	case math.IsInf(v, -1):
		return "-infinite"
	}
	short := strconv.FormatFloat(v, 'g', n, 64)
	if !strings.Contains(short, "e") {
		return clean(short)
	}
	if a := math.Abs(v); a >= 1e6 && a < 1e12 {
		rounded, _ := strconv.ParseFloat(short, 64)
		return strconv.FormatFloat(rounded, 'f', 0, 64)
	}
	return short
}

func clean(s string) string {
	if s == "-0" {
		return "0"
	}
	return s
}
