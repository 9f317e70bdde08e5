package eval

import (
	"context"
	"runtime"
	"sync"

	"perch/compile/value"
)

// Shift is a part evaluated with one measurement a standard uncertainty up and
// down; nil where that has a fault.
type Shift struct {
	Name     string
	Up, Down *Part
}

// nudge is the measurement that an evaluation shifts, and which way.
type nudge struct {
	source Source // by its name, place and part
	sign   float64
}

// nudged moves a number by the uncertainty that source k brings to it, when
// that is the source to shift.
func (e *evaluator) nudged(n value.Number, k int, u float64) value.Number {
	s := e.sources[k]
	if t := e.nudge.source; e.nudge.sign != 0 && s.At == t.At && s.Name == t.Name && s.part == t.part {
		n.X += float64(e.nudge.sign * u)
	}
	return n
}

// uncertain lists the measurements that something is unsure about, each once
// however often the file was evaluated.
func (e *evaluator) uncertain() []Source {
	var out []Source
	seen := map[Source]bool{}
	for _, s := range e.sources {
		key := s
		key.Own, key.Instrument = 0, 0
		if s.Own == 0 || seen[key] {
			continue
		}
		seen[key] = true
		out = append(out, s)
	}
	return out
}

// shift evaluates the file once more for each measurement up and for each
// down, several at a time, and hands the parts of these to those of r.
func shift(ctx context.Context, main *Module, o Options, sources []Source, r *Result) {
	type key struct{ name, size string }
	runs := make([]map[key]*Part, 2*len(sources))
	fell := make([]any, len(runs)) // panics, which go on where they can be caught
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var all sync.WaitGroup
	for i := range runs {
		slots <- struct{}{}
		all.Go(func() {
			defer func() { fell[i] = recover(); <-slots }()
			e := newEvaluator(ctx, main, o)
			e.nudge = nudge{sources[i/2], 1 - 2*float64(i%2)}
			e.openShop()
			parts := map[key]*Part{}
			for _, p := range e.run().Parts {
				parts[key{p.Name, p.Size}] = p
			}
			runs[i] = parts
		})
	}
	all.Wait()
	for _, r := range fell {
		if r != nil {
			panic(r)
		}
	}
	for _, p := range r.Parts {
		k := key{p.Name, p.Size}
		for i, s := range sources {
			p.Shifts = append(p.Shifts, Shift{Name: s.Name, Up: runs[2*i][k], Down: runs[2*i+1][k]})
		}
	}
}
