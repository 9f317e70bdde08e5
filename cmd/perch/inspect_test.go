package main

import (
	"testing"

	"perch/compile/eval"
	"perch/compile/value"
	"perch/lang/unit"
)

// What a derivative leaves over is no uncertainty; what was measured is.
func TestDust(t *testing.T) {
	for _, c := range []struct {
		x, u   float64
		spread string
	}{{5, 9.3e-26, ""}, {0, 1e-20, ""}, {5, 0.1, "0.10"}, {16.52e-6, 0.23e-6, "0.00000023"}} {
		n := value.Number{X: c.x, Dim: unit.Length, U: []value.Contribution{{Source: 0, C: c.u}}}
		r := lineOf(eval.Quantity{Name: "a.y", Value: n}, []eval.Source{{Name: "foot_top"}})
		if r.spread != c.spread || (r.from != "") != (c.spread != "") {
			t.Errorf("%g: spread %q from %q, want %q", c.x, r.spread, r.from, c.spread)
		}
	}
}
