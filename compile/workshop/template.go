package workshop

import (
	"fmt"
	"strings"

	"perch/compile/value"
	"perch/lang/unit"
)

// Template is the text of a workshop file that states nothing yet: every entry
// and every fit stands in it as a comment, with what is assumed.
func Template() string {
	var b strings.Builder
	b.WriteString("# The printer, the plastics and the fits of this workshop, for all designs in this\n")
	b.WriteString("# folder and below it. Take the # off a line to state it; what is not stated is\n")
	b.WriteString("# common practice. `perch workshop` shows what is in force.\n")
	b.WriteString("workshop {\n")
	p := New("")
	widest := len("fit.sliding.on_diameter")
	line := func(name, sample, doc string) {
		fmt.Fprintf(&b, "    # %s = %s  # %s\n", name+strings.Repeat(" ", max(0, widest-len(name))), sample, doc)
	}
	for _, e := range Entries {
		sample := e.Sample
		if n, ok := p.Look(e.Name).Value.(value.Number); ok {
			sample = strings.ReplaceAll(unit.Format(n.X, n.Dim), " ", "")
		}
		line(e.Name, sample, e.Doc)
	}
	for _, f := range Fits {
		if !f.Fixed {
			line(FitWord+"."+f.Name+".on_diameter", strings.ReplaceAll(unit.Format(f.Clearance, unit.Length), " ", ""), f.Doc)
		}
	}
	line("petg.price", "24 / 1kg", "money for plastic")
	b.WriteString("    # What the coupon came out at: the size drawn, then what the calipers read.\n")
	line("hole 4mm", "3.84mm, 3.87mm, 3.86mm within 0.02mm", "and so on for the other holes")
	line("peg 4mm", "4.05mm, 4.06mm, 4.05mm within 0.02mm", "and the pegs")
	b.WriteString("}\n")
	return b.String()
}
