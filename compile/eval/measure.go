package eval

import (
	"fmt"
	"math"
	"path"
	"path/filepath"
	"strings"

	"perch/compile/lettering"
	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
)

// Source is one thing that was measured: what contributions to uncertainties
// count by. Its number is its index.
type Source struct {
	Name string // of the measure, with its module: "dims.girth"
	At   source.Span
	// Instrument is the standard uncertainty that the instrument brings, in
	// base units.
	Instrument float64
	// Own is all of the standard uncertainty that the source brings.
	Own  float64
	part int // of several sources at one place
}

// newSource numbers something measured.
func (e *evaluator) newSource(name string, at source.Span, s *scope) int {
	if m := s.module; m != nil && m.Name != "" {
		name = moduleName(m.Name) + "." + name
	}
	e.sources = append(e.sources, Source{Name: name, At: at})
	return len(e.sources) - 1
}

// measure returns the mean of the readings with its uncertainty. What stands
// after +- is a standard uncertainty (k = 1); what stands after within is the
// limit that the instrument keeps to, a rectangular distribution.
func (e *evaluator) measure(d *ast.Measure, s *scope) value.Value {
	v, numbers, ok := e.reckon(d.Name.Name, d.Name.Span(), d.Readings, d.Error, d.Limit, s)
	if !ok {
		return value.Bad{}
	}
	if s.module != nil && s.module.Module == e.main {
		e.measures = append(e.measures, Measure{Name: d.Name.Name, At: d.Span(), Readings: numbers, Value: v})
	}
	return v
}

// reckon works out a measure of that name.
func (e *evaluator) reckon(name string, at source.Span, readings []ast.Expr, uncertainty, within ast.Expr, s *scope) (v value.Number, numbers []value.Number, ok bool) {
	for _, r := range readings {
		n, ok := e.reading(r, s, numbers)
		if !ok {
			return v, nil, false
		}
		if len(numbers) > 0 {
			n = n.As(numbers[0].Dim)
		}
		numbers = append(numbers, n)
	}
	if len(numbers) == 0 {
		return v, nil, false
	}
	u, ok1 := e.stated(uncertainty, "uncertainty", "an uncertainty", s, numbers[0])
	limit, ok2 := e.stated(within, "limit", "a limit", s, numbers[0])
	if !ok1 || !ok2 {
		return v, nil, false
	}
	e.apart(name, readings, numbers, max(u, limit))
	k := e.newSource(name, at, s)
	e.sources[k].Instrument = math.Hypot(u, value.Rectangular(limit))
	return e.own(value.Measured(numbers, e.sources[k].Instrument, k), k), numbers, true
}

// own notes what source k brings to the uncertainty of n, and shifts n by it
// when that is asked for.
func (e *evaluator) own(n value.Number, k int) value.Number {
	e.sources[k].Own = 0
	for _, c := range n.U {
		if c.Source == k {
			e.sources[k].Own = c.C
		}
	}
	return e.nudged(n, k, e.sources[k].Own)
}

// moduleName is a module as others name it: "dims" for "shared/dims.perch".
func moduleName(shown string) string {
	return strings.TrimSuffix(path.Base(filepath.ToSlash(shown)), ".perch")
}

// known adds what a builtin function says of its result: a warning, and the
// uncertainty that comes from it and not from its arguments.
func (e *evaluator) known(x *ast.Call, f *builtinFunc, args []value.Value, v value.Value) value.Value {
	if f.Warning != nil {
		if text := f.Warning(args); text != "" {
			e.report(diag.Diagnostic{Code: Warned, Severity: diag.Warning, At: x.Span(), Message: text})
		}
	}
	if f.Capitals != nil {
		e.fine(x.Span(), f.Capitals(args))
	}
	n, ok := v.(value.Number)
	if f.Scatter == nil || !ok {
		return v
	}
	for i, u := range f.Scatter(args) {
		k := e.scatterSource(x, f, args[1:], i)
		e.sources[k].Own = max(e.sources[k].Own, math.Abs(u))
		n = e.nudged(n.From(k, u), k, u)
	}
	return n
}

// fine warns of lettering with strokes that are thinner than what the nozzle
// lays: they are left out, or come out as thick as a line.
func (e *evaluator) fine(at source.Span, capitals float64) {
	if e.shop == nil {
		return // it is being worked out
	}
	line := e.shop.Look("line").Value.(value.Number).X
	stroke := lettering.Stroke(capitals)
	if stroke >= line {
		return
	}
	line = e.shop.Line() // which is told with what was assumed
	e.report(diag.Diagnostic{
		Code: LetteringFine, Severity: diag.Warning, At: at,
		Message: fmt.Sprintf("the strokes of this lettering are %.3g mm wide, finer than a line of the printer, %.3g mm", stroke, line),
		Notes: []string{
			diag.Why("a stroke that holds no line is left out, or comes out as thick as one and fills the letters"),
			diag.Do(fmt.Sprintf("make its capitals %.1f mm high or more, or print with a finer nozzle", math.Ceil(float64(10*capitals*line/stroke))/10)),
		},
	})
}

// scatterSource returns the source of the scatter of some arguments: for the
// same ones the same source.
func (e *evaluator) scatterSource(x *ast.Call, f *builtinFunc, args []value.Value, part int) int {
	key := fmt.Sprintf("%s %d", f.Name, part)
	for _, a := range args {
		key += fmt.Sprintf(" %v", a)
	}
	k, ok := e.scatters[key]
	if !ok {
		k = len(e.sources)
		e.sources = append(e.sources, Source{Name: "scatter about the line", At: x.Span(), part: part + 1})
		e.scatters[key] = k
	}
	return k
}

// remeasured gives a measure that a size or a setting has set to another
// value the uncertainty of its instrument; the scatter of the readings goes
// with them.
func (e *evaluator) remeasured(read, set value.Value) value.Value {
	_, ok1 := read.(value.Number)
	now, ok2 := set.(value.Number)
	if !ok1 || !ok2 || len(now.U) > 0 {
		return set
	}
	own := len(e.sources) - 1 // of read, which was measured just now
	return e.own(now.From(own, e.sources[own].Instrument), own)
}

// reading is one reading, of the same dimension as those before it.
func (e *evaluator) reading(x ast.Expr, s *scope, before []value.Number) (value.Number, bool) {
	v := e.expr(x, s)
	if value.IsBad(v) {
		return value.Number{}, false
	}
	n, ok := v.(value.Number)
	if !ok {
		e.fault(x.Span(), value.Faultf(WrongOperand, "a reading is a number with a unit, this is %s", value.Describe(v)))
		return n, false
	}
	if len(before) > 0 {
		first := before[0]
		if n.As(first.Dim).Dim != first.Dim {
			e.fault(x.Span(), value.Faultf(value.DimMismatch, "this reading is %s, the first is %s: %s, %s",
				value.A(n.Dim), value.A(first.Dim), n, first).Do("give all readings the same kind of unit"))
			return n, false
		}
	}
	return n, true
}

// stated is the number after +- or within, or 0 when none stands there.
func (e *evaluator) stated(x ast.Expr, what, article string, s *scope, first value.Number) (float64, bool) {
	if x == nil {
		return 0, true
	}
	v := e.expr(x, s)
	if value.IsBad(v) {
		return 0, false
	}
	n, ok := v.(value.Number)
	if !ok || n.As(first.Dim).Dim != first.Dim {
		e.fault(x.Span(), value.Faultf(value.DimMismatch, "the %s is %s (%s), the reading %s (%s)",
			what, value.Describe(v), value.Print(v), value.A(first.Dim), first).Do("give both the same kind of unit"))
		return 0, false
	}
	if n.X < 0 {
		e.fault(x.Span(), value.Faultf(NegativeError, "%s cannot be below 0, this is %s", article, n).
			Do("write it without the sign: it counts to both sides"))
		return 0, false
	}
	return n.X, true
}
