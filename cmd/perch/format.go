package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"perch/compile/output"
	"perch/lang/diag/render"
	"perch/lang/format"
	"perch/lang/source"
)

// formatCommand writes part files in their canonical form.
type formatCommand struct {
	Files []string `arg:"" optional:"" name:"file" help:"Part files; - or none means standard input, written to standard output."`
	Check bool     `help:"Change nothing; list the files that would change, and end with exit status 1 if there are any."`
}

// Help implements kong.HelpProvider.
func (*formatCommand) Help() string {
	return `Sets the white space of part files: indents, blank lines, and columns in groups of neighbouring lines. Words, numbers and comments stay as they are, and the part stays the same. A file is written whole or not at all; one with faults is left alone, its faults are shown, and the exit status is 1.`
}

// Run implements the command.
func (f *formatCommand) Run(c *console) error {
	files := f.Files
	if len(files) == 0 {
		files = []string{"-"}
	}
	worst := done
	for _, name := range files {
		s, err := f.one(c, name)
		if err != nil {
			c.complain(err)
		}
		worst = max(worst, s)
	}
	return worst.worst()
}

// one formats one file.
func (f *formatCommand) one(c *console, name string) (status, error) {
	data, shown, err := readText(c, name)
	if err != nil {
		return trouble, err
	}
	text, list := format.Source(source.New(shown, string(data)))
	c.diagnostics(list)
	switch {
	case list.HasErrors():
		return faulty, nil
	case f.Check && text != string(data):
		fmt.Fprintln(c.out, render.Clean(shown))
		return faulty, nil
	case f.Check:
		return done, nil
	case name == "-":
		_, err = io.WriteString(c.out, text)
	case text != string(data):
		err = output.WriteFile(name, func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		})
	}
	if err != nil {
		return trouble, err
	}
	return done, nil
}

// mostText bounds what is read of a file: more than package parse takes.
const mostText = 17 << 20 // bytes

// readText reads a file, or standard input, and returns how messages name it.
func readText(c *console, name string) (data []byte, shown string, err error) {
	in, shown := c.in, "standard input"
	if name != "-" {
		shown = name
		info, err := os.Stat(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil, shown, fmt.Errorf("there is no file %s", name)
		case err == nil && !info.Mode().IsRegular():
			return nil, shown, fmt.Errorf("%s is not an ordinary file", name)
		}
		file, err := os.Open(name)
		if err != nil {
			return nil, shown, err
		}
		defer file.Close()
		in = file
	}
	data, err = io.ReadAll(io.LimitReader(in, mostText))
	if err != nil {
		return nil, shown, fmt.Errorf("read %s: %w", shown, err)
	}
	return data, shown, nil
}
