package compile

import (
	"context"

	"perch/compile/eval"
	"perch/compile/workshop"
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
	// Workshop is the workshop in force, nil when the files have faults.
	Workshop *workshop.Profile
}

// Workshop works out the workshop in force for a part file, or for a folder.
func (s *Session) Workshop(ctx context.Context, path string, o Options) (*Inspection, error) {
	o.folder = true
	return s.Inspect(ctx, path, o)
}

// Inspect works out the values of the file at path, with the settings and in
// the size of the options, and builds nothing. The inspection is not nil even
// with an error.
func (s *Session) Inspect(ctx context.Context, path string, o Options) (*Inspection, error) {
	in := &Inspection{}
	res, err := s.work(ctx, path, o, func(l *loader, res *Result) error {
		settings, entries := o.settings(res)
		if res.Diags.HasErrors() {
			return nil
		}
		all := modules(l)
		r, err := eval.Inspect(ctx, all[l.main], eval.Options{
			Settings: settings, Sizes: o.Sizes, Tolerance: o.Tolerance, Workshop: all[l.shop], Entries: entries, Bodies: s.bodies,
		})
		if err != nil {
			return err
		}
		res.Diags.Add(r.Diags...)
		in.Quantities, in.Sources, in.Sketches, in.Workshop = r.Quantities, r.Sources, r.Sketches, r.Workshop
		return nil
	})
	in.Diags = res.Diags
	return in, err
}
