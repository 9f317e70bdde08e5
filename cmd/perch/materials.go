package main

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"perch/compile"
	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/workshop"
	"perch/lang/diag/render"
)

// materials compares what a part could be printed in: what it would weigh, how
// far each plastic stays below its softening in a parked car, what it holds,
// and what printing it asks for.
func (c *console) materials(p compile.Part, w *workshop.Profile) {
	rows := [][]string{{"", "mass", "softens", "in a parked car", "along", "across", "snaps once", "grows", ""}}
	for _, name := range w.MaterialNames() {
		m, ok := w.Material(name)
		if !ok {
			continue
		}
		mark := ""
		if name == p.Material {
			mark = "this part"
		}
		if m.Fumes {
			mark = strings.TrimPrefix(mark+", ventilate", ", ")
		}
		rows = append(rows, []string{
			name, known(m.Density, 1/p.Volume, "%.3g g"), known(m.Softens, 1, "%.0f degC"), parked(m.Softens),
			known(m.Strength, 1e6, "%.0f MPa"), known(m.Across, 1e6, "%.0f MPa"), known(m.Strain, 0.01, "%.1f %%"), known(m.Expansion, 1e-6, "%.0fe-6/K"), mark,
		})
	}
	widths := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, s := range r {
			widths[i] = max(widths[i], utf8.RuneCountInString(s))
		}
	}
	fmt.Fprintln(c.out, "  printed in another plastic")
	for _, r := range rows {
		line := "    "
		for i, s := range r {
			line += pad(s, widths[i]) + "  "
		}
		fmt.Fprintln(c.out, render.Clean(strings.TrimRight(line, " ")))
	}
}

// known prints a figure of a material in a unit, or a dash.
func known(f builtin.Fact, unit float64, format string) string {
	if !f.Known() {
		return "-"
	}
	return fmt.Sprintf(format, f.X/unit)
}

// parked is the margin below softening in a car parked in the sun.
func parked(f builtin.Fact) string {
	if !f.Known() {
		return "-"
	}
	margin := f.X - check.ParkedCar
	verdict := "holds"
	if margin < check.KeepBelow {
		verdict = "too soft"
	}
	return fmt.Sprintf("%+.0f K, %s", margin, verdict)
}
