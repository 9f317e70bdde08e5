package compile

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/eval"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/source"
)

// draft is a part that has been worked out and waits to be built.
type draft struct {
	name, size string
	at         source.Span // its name in the text
	body       *solid.Body
	material   builtin.Material
	assumed    bool
	checks     []check.Check
}

// fullName names the part and its size in messages.
func (d draft) fullName() string {
	return eval.FullName(d.name, d.size)
}

// finish builds the drafts, several at a time, and judges them. Parts and
// messages keep the written order whatever ends first.
func finish(ctx context.Context, drafts []draft, o Options, res *Result) error {
	type ending struct {
		part  *Part
		diags diag.List
		err   error
	}
	ends := make([]ending, len(drafts))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var all sync.WaitGroup
	for i, d := range drafts {
		slots <- struct{}{}
		all.Go(func() {
			defer func() { <-slots }()
			e := &ends[i]
			e.part, e.diags, e.err = d.finish(ctx, o)
		})
	}
	all.Wait()
	for i, e := range ends {
		if e.err != nil {
			return e.err
		}
		for _, f := range e.diags {
			if drafts[i].size != "" {
				f.Sizes = []string{drafts[i].fullName()}
			}
			res.Diags.Add(f)
		}
		if e.part != nil {
			res.Parts = append(res.Parts, *e.part)
		}
	}
	return nil
}

// finish builds and judges one part. The error is that of a build that was
// stopped; the part is nil when the body has faults.
func (d draft) finish(ctx context.Context, o Options) (p *Part, l diag.List, err error) {
	defer func() { // a panic in one part must not end the others
		if r := recover(); r != nil {
			p, l, err = nil, diag.List{internal(r, d.at)}, nil
		}
	}()
	began := time.Now()
	so := solid.Options{Tolerance: o.Tolerance}
	if o.Progress != nil {
		so.Progress = func(share float64) { o.Progress(d.fullName(), share) }
	}
	m, err := solid.Build(ctx, d.body, so)
	if stopped := ctx.Err(); stopped != nil {
		return nil, nil, stopped
	}
	if err != nil {
		return nil, diag.List{d.fault(err)}, nil
	}
	if err := m.Check(); err != nil {
		return nil, diag.List{internal(err, d.at)}, nil
	}
	f := check.Measure(m, d.material.Density.X)
	f.Part.Material = &d.material
	results, l := check.Run(d.checks, f)
	return &Part{
		Name: d.name, Size: d.size, Mesh: m, Bounds: m.Bounds(),
		Volume: f.Volume, Surface: f.Surface, Mass: f.Mass,
		Material: d.material.Name, MaterialAssumed: d.assumed,
		Checks: results, Elapsed: time.Since(began),
	}, l, nil
}

// fault tells why a body could not be built.
func (d draft) fault(err error) diag.Diagnostic {
	f := diag.Diagnostic{Code: PartUnbuilt, At: d.at, Message: fmt.Sprintf("part `%s` cannot be built: %v", d.fullName(), err)}
	var v *value.Fault
	switch {
	case errors.Is(err, solid.ErrEmpty):
		f.Code = PartEmpty
		f.Message = fmt.Sprintf("nothing is left of part `%s`", d.fullName())
		f.Notes = []string{
			diag.Why("its cuts and trims take away all that was joined"),
			diag.Do("leave out the last cut or trim, build, and see where the bodies lie"),
		}
	case errors.Is(err, solid.ErrTooLarge):
		f.Code = PartTooLarge
		f.Notes = []string{diag.Do("look for a size with a wrong unit, such as m for mm")}
	case errors.As(err, &v):
		f.Code, f.Notes = v.Code, v.Notes
	default:
		f.Notes = []string{diag.Do("build with the steps of the part taken out one by one, from the last, to find the one at fault")}
	}
	return f
}
