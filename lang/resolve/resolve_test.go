package resolve_test

import (
	"strings"
	"testing"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/golden"
	"perch/lang/parse"
	"perch/lang/resolve"
	"perch/lang/source"
)

func words(s string) []string { return strings.Fields(s) }

const placing = " at turned mirrored row ring around"

// env is a small builtin world for the cases.
var env = &resolve.Tables{
	Lists: map[resolve.Words][]string{
		resolve.Values:    words("sin cos sqrt pi fit"),
		resolve.Measures:  words("distance angle length"),
		resolve.Results:   words("volume mass width depth height surface"),
		resolve.Kinds:     words("length angle count number body area text flag"),
		resolve.Heads:     words("box cylinder cone ball extrude revolve"),
		resolve.Relations: words("horizontal vertical parallel tangent on mirrors equal"),
		resolve.Materials: words("pla petg"),
		resolve.Modules:   words("tube strap"),
	},
	OfHead: map[string][]string{
		"":          words(placing),
		"box":       words("width depth height from centre" + placing),
		"cylinder":  words("radius diameter height length from along centre" + placing),
		"extrude":   words("by along from" + placing),
		"rectangle": words("width height centre corners"),
	},
	Declared: func(u *ast.Use, name string) ([]string, bool) {
		switch name {
		case "tube":
			return words("radius_from_girth radius_from_chord"), true
		case "strap":
			return words("slot"), true
		}
		return nil, false
	},
}

// TestGolden compares messages with testdata/resolve; every case parses
// without a fault unless it holds a section "parse".
func TestGolden(t *testing.T) {
	golden.Run(t, "../../testdata/resolve/*.txtar", func(t *testing.T, c *golden.Case) {
		file, list := parse.File(source.New("in.perch", c.Input("in.perch")))
		c.Output("parse", text(t, list))
		info, list := resolve.File(file, env)
		c.Output("faults", text(t, list))
		c.Output("names", strings.Join(info.Names, " "))
	})
}

func text(t *testing.T, list diag.List) string {
	var b strings.Builder
	if err := render.Text(&b, list, render.Options{Width: 80}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
