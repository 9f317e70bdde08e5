package main

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"

	"perch/compile"
	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/spell"
)

// explainCommand tells what a code of a message means.
type explainCommand struct {
	Code string `arg:"" optional:"" help:"The code under a message, such as unit-unknown; none lists all."`
}

// Help implements kong.HelpProvider.
func (*explainCommand) Help() string {
	return `Shows what the message is about, a part file that gives it, and the message itself, with its reason and what to do.`
}

// Longer examples are shown in part.
const (
	longExample = 30  // lines
	longLine    = 110 // bytes
)

// Run implements the command.
func (x *explainCommand) Run(ctx context.Context, c *console) error {
	if x.Code == "" {
		for _, e := range diag.Codes {
			fmt.Fprintf(c.out, "%-20s %s\n", e.Code, e.Doc)
		}
		return nil
	}
	e, ok := diag.Lookup(diag.Code(x.Code))
	if !ok {
		if like := codesWith(x.Code); len(like) > 0 {
			return fmt.Errorf("there is no code %s: codes with that word are %s", x.Code, strings.Join(like, ", "))
		}
		return fmt.Errorf("there is no code %s%s", x.Code, nearest(x.Code))
	}
	fmt.Fprintf(c.out, "%s: %s.\n", e.Code, e.Doc)
	if e.Example.Told != "" {
		fmt.Fprintf(c.out, "\nIt is met when %s.\n", e.Example.Told)
		return nil
	}
	list, err := tried(ctx, e.Example)
	if err != nil {
		return err
	}
	c.example(e.Example)
	var told diag.List
	for _, d := range list {
		if d.Code == e.Code {
			told.Add(d)
		}
	}
	if len(told) == 0 {
		return nil
	}
	var b bytes.Buffer
	if err := render.Text(&b, told, render.Options{}); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "\nThe message:\n\n%s", b.String())
	return err
}

// nearest suggests a code.
// codesWith lists the codes that have a word among theirs.
func codesWith(word string) []string {
	var out []string
	for _, e := range diag.Codes {
		if slices.Contains(strings.Split(string(e.Code), "-"), word) {
			out = append(out, string(e.Code))
		}
	}
	return out
}

func nearest(code string) string {
	var all []string
	for _, e := range diag.Codes {
		all = append(all, string(e.Code))
	}
	if s, ok := spell.Nearest(code, all); ok {
		return ": did you mean " + s + "?"
	}
	return ": perch explain lists all"
}

// example prints a part file, the middle of a long one left out, with the
// files beside it and the flags it is built with.
func (c *console) example(e diag.Example) {
	text := e.Text()
	fmt.Fprintf(c.out, "\nA part file that gives it:\n\n")
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	for i, line := range lines {
		if len(lines) > longExample && i >= 3 && i < len(lines)-2 {
			if i == 3 {
				fmt.Fprintf(c.out, "    … %d lines more of this kind …\n", len(lines)-5)
			}
			continue
		}
		if len(line) > longLine {
			line = strings.ToValidUTF8(line[:longLine], "") + " …"
		}
		fmt.Fprintf(c.out, "    %s\n", render.Clean(line))
	}
	for _, b := range e.Beside {
		fmt.Fprintf(c.out, "\nbeside %s:\n\n", b.Name)
		for line := range strings.Lines(b.Text) {
			fmt.Fprintf(c.out, "    %s\n", strings.TrimRight(line, "\n"))
		}
	}
	if len(e.Flags) > 0 {
		fmt.Fprintf(c.out, "\nbuilt with %s\n", render.Clean(strings.Join(e.Flags, " ")))
	}
}

// tried builds an example that is on no disk and returns the messages.
func tried(ctx context.Context, e diag.Example) (diag.List, error) {
	const path = "example.perch"
	session := compile.New()
	session.Set(path, e.Text())
	for _, b := range e.Beside {
		session.Set(b.Name, b.Text)
	}
	r, err := session.Build(ctx, path, compile.OptionsOf(e.Flags))
	if err != nil {
		return nil, err
	}
	return r.Diags, nil
}
