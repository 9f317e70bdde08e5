package eval

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"perch/compile/check"
	"perch/compile/solid"
	"perch/compile/workshop"
	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/golden"
)

// The cases of testdata/eval: `part.perch` is evaluated in all its sizes; what
// comes out is the messages, and each part with its size, its volume and its
// checks. Golden figures record what the build gives; that they are right is
// shown by the tests that name a source.
func TestGolden(t *testing.T) {
	golden.Run(t, "../../testdata/eval/*.txtar", func(t *testing.T, c *golden.Case) {
		r := library(t, c.Input("part.perch"), Options{AllSizes: true})
		parts, late := built(t, r)
		var text strings.Builder
		if err := render.Text(&text, append(r.Diags, late...), render.Options{}); err != nil {
			t.Fatal(err)
		}
		c.Output("messages", text.String())
		c.Output("parts", parts)
	})
}

// built builds the parts and lists them.
func built(t *testing.T, r *Result) (string, diag.List) {
	t.Helper()
	var b strings.Builder
	var late diag.List
	for _, p := range r.Parts {
		m, err := solid.Build(context.Background(), p.Body, solid.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Check(); err != nil {
			t.Fatal(err)
		}
		f := check.Measure(&check.Finished{Mesh: m, Shop: workshop.New(""), Material: p.Material})
		name := p.Name
		if p.Size != "" {
			name += " " + p.Size
		}
		fmt.Fprintf(&b, "%s: %s, %.3f x %.3f x %.3f mm, %.3f mm3\n", name, p.Material.Name, f.Size.X, f.Size.Y, f.Size.Z, f.Volume)
		for _, m := range p.Mating {
			fmt.Fprintf(&b, "    mating %s\n", m.Name)
		}
		results, faults := check.Run(p.Checks, f, nil)
		late = append(late, faults...)
		for _, k := range results {
			fmt.Fprintf(&b, "    %s: %v", k.Text, k.Pass)
			if k.Op != "" {
				fmt.Fprintf(&b, ", %s against %s", k.Value, k.Limit)
			}
			if m, ok := k.Margin(); ok {
				fmt.Fprintf(&b, ", margin %s", m)
			}
			b.WriteByte('\n')
		}
	}
	return b.String(), late
}
