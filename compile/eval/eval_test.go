package eval

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
)

// evaluated parses and runs a text.
func evaluated(t *testing.T, text string, o Options) *Result {
	t.Helper()
	f, diags := parse.File(source.New("part.perch", text))
	if len(diags) > 0 {
		t.Fatalf("does not parse: %s", listed(diags))
	}
	r, err := Run(context.Background(), &Module{File: f}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// listed writes diagnostics one a line: place, code, message, notes.
func listed(l diag.List) string {
	var b strings.Builder
	for _, d := range l {
		fmt.Fprintf(&b, "%s %s [%s] %s\n", place(d.At), d.Severity, d.Code, d.Message)
		for _, x := range d.Labels {
			fmt.Fprintf(&b, "    %s %s\n", place(x.At), x.Text)
		}
		for _, n := range d.Notes {
			fmt.Fprintf(&b, "    %s\n", n)
		}
	}
	return b.String()
}

func place(s source.Span) string {
	if !s.Valid() {
		return "-"
	}
	p := s.File.Position(s.Start)
	return fmt.Sprintf("%s:%d:%d %q", s.File.Path, p.Line, p.Column, s.Text())
}

func splitTrim(s, sep string) []string {
	parts := strings.Split(s, sep)
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return parts
}

func fields(t *testing.T, s string) []float64 {
	t.Helper()
	var out []float64
	for _, f := range strings.Fields(s) {
		x, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, x)
	}
	return out
}
