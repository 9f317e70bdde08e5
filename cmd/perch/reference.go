package main

import (
	"io"
	"strings"

	"perch/compile/output"
	"perch/compile/reference"
)

// referenceCommand prints the reference of the language.
type referenceCommand struct {
	Out string `short:"o" placeholder:"FILE" help:"Write to this file and not to standard output."`
}

// Help implements kong.HelpProvider.
func (*referenceCommand) Help() string {
	return `Markdown with every unit, function, body, clause, relation and module, made from the tables that the program itself reads.`
}

// Run implements the command.
func (r *referenceCommand) Run(c *console) error {
	text := reference.Markdown()
	if r.Out == "" {
		_, err := io.WriteString(c.out, text)
		return err
	}
	return output.WriteFile(r.Out, func(w io.Writer) error {
		_, err := io.Copy(w, strings.NewReader(text))
		return err
	})
}
