package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"perch/compile"
	"perch/lang/unit"
)

// choice holds the flags that say what to build.
type choice struct {
	Set       []string `sep:"none" placeholder:"NAME=VALUE" help:"Give a measure, a let, a parameter or an entry of the workshop another value: --set lead=5mm, --set workshop.nozzle=0.6mm."`
	Size      []string `sep:"none" placeholder:"NAME" help:"Build this row of a sizes table; may be given several times."`
	AllSizes  bool     `help:"Build every row of the sizes tables; a part without one is built as written."`
	Workshop  string   `placeholder:"FILE" help:"File that states the workshop; without it the nearest workshop.perch beside the part file or in a folder above."`
	Tolerance length   `placeholder:"LENGTH" help:"Greatest distance between a curve and the flats it is made of; 0.01mm when not given."`
	JSON      bool     `name:"json" help:"Print the report as JSON for another program."`
}

// options checks the flags and turns them into those of a build.
func (o choice) options() (compile.Options, error) {
	b := compile.Options{Sizes: o.Size, AllSizes: o.AllSizes, Tolerance: float64(o.Tolerance), Workshop: o.Workshop}
	if o.AllSizes && len(o.Size) > 0 {
		return b, fmt.Errorf("--size and --all-sizes exclude each other")
	}
	for _, s := range o.Set {
		name, value, ok := strings.Cut(s, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if !ok || !isPath(name) || value == "" {
			return b, fmt.Errorf("--set %s: write NAME=VALUE, such as --set lead=5mm", s)
		}
		for _, t := range b.Settings {
			if t.Name == name {
				return b, fmt.Errorf("--set %s is given twice", name)
			}
		}
		b.Settings = append(b.Settings, compile.Setting{Name: name, Value: value})
	}
	return b, nil
}

// isPath reports names with points between, as of an entry of the workshop.
func isPath(s string) bool {
	for _, name := range strings.Split(s, ".") {
		if !isName(name) {
			return false
		}
	}
	return true
}

func isName(s string) bool {
	for i, r := range s {
		if r != '_' && !unicode.IsLetter(r) && (i == 0 || !unicode.IsDigit(r)) {
			return false
		}
	}
	return s != ""
}

// length is a flag in mm, written with its unit as in a part file.
type length float64

// The finest tolerance is ten steps of the grid that bodies are built on; the
// coarsest still leaves a part that looks like one.
const (
	leastTolerance = 0.001 // mm
	mostTolerance  = 5     // mm
)

// UnmarshalText implements encoding.TextUnmarshaler.
func (l *length) UnmarshalText(text []byte) error {
	mm, err := lengthWithin(string(text), leastTolerance, mostTolerance)
	*l = length(mm)
	return err
}

// distance is a flag in mm for the room around parts.
type distance float64

// mostDistance keeps a slip of the unit from being taken for a wish, mm.
const mostDistance = 200

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *distance) UnmarshalText(text []byte) error {
	mm, err := lengthWithin(string(text), 0, mostDistance)
	*d = distance(mm)
	return err
}

// lengthWithin reads a length with its unit, from least to most mm.
func lengthWithin(s string, least, most float64) (mm float64, err error) {
	end := strings.IndexFunc(s, func(r rune) bool { return !strings.ContainsRune("0123456789.+-", r) })
	if end < 0 {
		end = len(s)
	}
	x, err := strconv.ParseFloat(s[:end], 64)
	u, uerr := unit.Parse(s[end:])
	mm = x * u.Factor
	switch {
	case err != nil || uerr != nil || u.Dim != unit.Length:
		return 0, fmt.Errorf("%q is not a length: write a number and its unit, such as 0.02mm", s)
	case math.IsNaN(mm) || mm < least || mm > most:
		return 0, fmt.Errorf("%s is out of range: it may be %gmm to %gmm", s, least, most)
	}
	return mm, nil
}
