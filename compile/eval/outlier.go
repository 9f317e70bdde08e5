package eval

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"perch/compile/value"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/unit"
)

// Outlier is the code of a reading that stands apart from the others.
const Outlier diag.Code = "reading-apart"

// dixon holds the share of the whole range that the gap to the nearest reading
// exceeds in one set of n readings out of a hundred, from n = 3 on (Dean and
// Dixon, Analytical Chemistry 23, 1951, 636: r10, two sides, 99 %; from
// memory). More readings count as the last: that flags too few, never too many.
var dixon = []float64{0.994, 0.926, 0.821, 0.740, 0.680, 0.634, 0.598, 0.568}

// few is the share of the value that a gap must have to be told of among three
// readings, of which two nearly always lie close together by chance (a choice
// of ours: 0.16 mm of 32 mm).
const few = 0.005

// apart warns of a reading far from all others: most often a slip of the
// decimal point, or a scale read wrong. What the instrument is said to be
// unsure of does not set a reading apart.
func (e *evaluator) apart(name string, written []ast.Expr, n []value.Number, unsure float64) {
	if len(n) < 2 {
		return
	}
	order := make([]int, len(n))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case n[a].X < n[b].X:
			return -1
		case n[a].X > n[b].X:
			return 1
		}
		return 0
	})
	odd, gap := farthest(order, n)
	least, most := n[order[0]], n[order[len(order)-1]]
	span := most.X - least.X
	if len(n) == 2 {
		if least.X > 0 && most.X > 2*least.X {
			e.report(diag.Diagnostic{
				Code: Outlier, Severity: diag.Warning, At: written[1].Span(),
				Message: fmt.Sprintf("the two readings of `%s` do not agree: %s and %s", name, n[0], n[1]),
				Notes:   []string{diag.Do("measure a third time, and look for a slipped decimal point")},
			})
		}
		return
	}
	critical := dixon[min(len(n)-3, len(dixon)-1)]
	if gap <= float64(critical*span) || gap <= float64(3*max(resolution(written), unsure)) {
		return
	}
	if len(n) == 3 && gap <= float64(few*math.Abs(most.X)) {
		return
	}
	rest := slices.DeleteFunc(slices.Clone(order), func(i int) bool { return i == odd })
	lo, hi := n[rest[0]], n[rest[len(rest)-1]]
	between := fmt.Sprintf("the others lie between %s and %s", lo, hi)
	if lo.X == hi.X {
		between = fmt.Sprintf("the others all are %s", lo)
	}
	d := diag.Diagnostic{
		Code: Outlier, Severity: diag.Warning, At: written[odd].Span(),
		Message: fmt.Sprintf("this reading of `%s` stands far from the others: %s", name, n[odd]),
		Notes: []string{
			diag.Why(between + "; it moves the mean, and most of the uncertainty comes from it"),
			diag.Do("measure there once more; keep it only if it comes out again"),
		},
	}
	if text, ok := slipped(written[odd], n[odd], lo, hi); ok {
		d.Notes = []string{d.Notes[0], diag.Do(fmt.Sprintf("if the decimal point has slipped, write %s; else measure there once more", text))}
		d.Fixes = []diag.Fix{{Text: "write " + text, Edits: []diag.Edit{{At: written[odd].Span(), New: text}}}}
	}
	e.report(d)
}

// farthest returns the end of the sorted readings with the wider gap to its
// neighbour.
func farthest(order []int, n []value.Number) (odd int, gap float64) {
	last := len(order) - 1
	low := n[order[1]].X - n[order[0]].X
	high := n[order[last]].X - n[order[last-1]].X
	if low > high {
		return order[0], low
	}
	return order[last], high
}

// resolution is the finest step that the readings are written to, in base
// units: 4.20mm tells hundredths of a millimetre.
func resolution(written []ast.Expr) float64 {
	step := math.Inf(1)
	for _, x := range written {
		l, ok := x.(*ast.Number)
		if !ok {
			continue
		}
		text := strings.TrimSuffix(l.Span().Text(), l.Unit)
		decimals := 0
		if i := strings.IndexByte(text, '.'); i >= 0 {
			decimals = len(text) - i - 1
		}
		u, err := unit.Parse(l.Unit)
		if err != nil {
			continue // reported by the parser
		}
		step = min(step, u.Factor*math.Pow(10, -float64(decimals)))
	}
	if math.IsInf(step, 1) {
		return 0
	}
	return step
}

// slipped returns the text of a reading with its decimal point moved by one or
// two places, when that puts it among the others.
func slipped(x ast.Expr, n, lo, hi value.Number) (string, bool) {
	l, ok := x.(*ast.Number)
	if !ok {
		return "", false
	}
	room := max(hi.X-lo.X, math.Abs(lo.X)/20)
	for _, shift := range []float64{10, 0.1, 100, 0.01} {
		if v := n.X / shift; v >= lo.X-room && v <= hi.X+room {
			return fmt.Sprintf("%.6g%s", l.Value/shift, l.Unit), true
		}
	}
	return "", false
}
