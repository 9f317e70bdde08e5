package builtin

import (
	"math"
	"testing"

	"perch/compile/solve"
	"perch/compile/value"
)

// A function gives the same between known and between unknown quantities.
func TestSolvingAgrees(t *testing.T) {
	for _, f := range All.Functions {
		if f.Solving == nil {
			continue
		}
		var args []value.Value
		var exprs []*solve.Expr
		var sys solve.System
		for i, p := range append(f.Params, f.Params[len(f.Params)-1])[:max(len(f.Params), 1+len(f.Params)%2)] {
			n := value.Number{X: 0.3 + 0.25*float64(i)}
			if p.Kind != "" {
				n.Dim = mustKind(p.Kind).Dim
			}
			if i >= len(f.Params) && !f.Variadic {
				break
			}
			args = append(args, n)
			exprs = append(exprs, sys.Var(n.X))
		}
		v, fault := f.Call(args)
		if fault != nil {
			t.Fatal(f.Name, fault)
		}
		want := v.(value.Number).X
		if got := sys.Start(f.Solving(exprs)); !(math.Abs(got-want) <= 1e-15) {
			t.Errorf("%s(%v) = %v while solving, %v when known", f.Name, args, got, want)
		}
	}
}
