package compile

import (
	"context"

	"perch/compile/eval"
	"perch/lang/diag"
)

// Inspection is what the values of a file came to.
type Inspection struct {
	Diags diag.List
	// Quantities are the measures, lets and measures of sketches, in the order
	// of the file.
	Quantities []eval.Quantity
	// Sources are what was measured; contributions to uncertainties count by
	// them.
	Sources []eval.Source
	// Sketches are the solved sketches that need no arguments, in the order of
	// the file.
	Sketches []eval.Sketch
}

// Inspect works out the values of the file at path, with the settings and in
// the size of the options, and builds nothing. The inspection is not nil even
// with an error.
func (s *Session) Inspect(ctx context.Context, path string, o Options) (*Inspection, error) {
	in := &Inspection{}
	res, err := s.work(ctx, path, o, func(l *loader, res *Result) error {
		settings := o.settings(res)
		if res.Diags.HasErrors() {
			return nil
		}
		r, err := eval.Inspect(ctx, modules(l)[l.main], eval.Options{Settings: settings, Sizes: o.Sizes, Tolerance: o.Tolerance})
		if err != nil {
			return err
		}
		res.Diags.Add(r.Diags...)
		in.Quantities, in.Sources, in.Sketches = r.Quantities, r.Sources, r.Sketches
		return nil
	})
	in.Diags = res.Diags
	return in, err
}
