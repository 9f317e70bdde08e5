package main

import (
	"bytes"
	"context"
	"fmt"
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

// longExample is how many lines of an example are worth showing.
const longExample = 30

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
		return fmt.Errorf("there is no code %s%s", x.Code, nearest(x.Code))
	}
	fmt.Fprintf(c.out, "%s: %s.\n", e.Code, e.Doc)
	text := e.Example.Text()
	if text == "" || strings.Count(text, "\n") > longExample || len(text) > 4000 {
		return nil
	}
	list, err := tried(ctx, text)
	if err != nil {
		return err
	}
	fmt.Fprintf(c.out, "\nA part file that gives it:\n\n")
	for line := range strings.Lines(text) {
		fmt.Fprintf(c.out, "    %s\n", render.Clean(strings.TrimRight(line, "\n")))
	}
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

// tried builds a text that is on no disk and returns the messages.
func tried(ctx context.Context, text string) (diag.List, error) {
	const path = "example.perch"
	session := compile.New()
	session.Set(path, text)
	r, err := session.Build(ctx, path, compile.Options{AllSizes: true})
	if err != nil {
		return nil, err
	}
	return r.Diags, nil
}
