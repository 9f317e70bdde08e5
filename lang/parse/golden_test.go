package parse_test

import (
	"fmt"
	"strings"
	"testing"

	"perch/lang/diag"
	"perch/lang/golden"
	"perch/lang/parse"
	"perch/lang/source"
)

// TestGolden compares trees and messages with testdata/parse.
func TestGolden(t *testing.T) {
	golden.Run(t, "../../testdata/parse/*.txtar", func(t *testing.T, c *golden.Case) {
		file, list := parse.File(source.New("in.perch", c.Input("in.perch")))
		c.Output("tree", golden.Tree(file))
		c.Output("faults", plain(list))
	})
}

// plain prints messages one a line, with their notes below.
func plain(list diag.List) string {
	var b strings.Builder
	for _, d := range list {
		pos := d.At.File.Position(d.At.Start)
		fmt.Fprintf(&b, "%d:%d %s «%s»: %s\n", pos.Line, pos.Column, d.Code, strings.SplitN(d.At.Text(), "\n", 2)[0], d.Message)
		for _, l := range d.Labels {
			pos := l.At.File.Position(l.At.Start)
			fmt.Fprintf(&b, "    %d:%d %s\n", pos.Line, pos.Column, l.Text)
		}
		for _, n := range d.Notes {
			fmt.Fprintf(&b, "    %s\n", n)
		}
	}
	return b.String()
}
