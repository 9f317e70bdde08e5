package main

import (
	"perch/compile/check"
	"perch/lang/diag"
	"perch/lang/diag/render"
)

// broken reports whether there are errors other than checks that do not hold
// and faults of single sizes.
func broken(l diag.List) bool {
	for _, d := range l {
		if d.Severity == diag.Error && d.Code != check.Failed && len(d.Sizes) == 0 {
			return true
		}
	}
	return false
}

// diagnostics prints messages about part files.
func (c *console) diagnostics(l diag.List) {
	if len(l) == 0 {
		return
	}
	// A reader that has gone away needs no messages.
	_ = render.Text(c.err, l, render.Options{Color: c.color, Plain: c.plain, Width: c.columns})
}

// json prints one value on one line.
func (c *console) json(v any) error { return render.Encode(c.out, v) }
