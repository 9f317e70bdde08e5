// Command perch builds printable parts for small telescopes from part files.
//
// Exit status: 0 when done, 1 when a part file has faults or a check of a part
// does not hold, 2 for wrong use or when the world is in the way (a file is
// missing, a folder cannot be written, the build was stopped).
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"

	"perch/lang/diag/render"
)

// version names this state of Perch in `perch version` and in 3MF files.
const version = "0.1.0"

// status is how a command ended.
type status int

const (
	done    status = 0
	faulty  status = 1
	trouble status = 2
)

// commands is the command line.
type commands struct {
	Build     buildCommand     `cmd:"" help:"Build the parts of part files and write a mesh file for each."`
	Watch     watchCommand     `cmd:"" help:"Build again each time a part file, or a file it uses, is saved."`
	Check     checkCommand     `cmd:"" help:"Build the parts and report on them, but write nothing."`
	Inspect   inspectCommand   `cmd:"" help:"List measures, lets and measures of sketches with their uncertainties."`
	Workshop  workshopCommand  `cmd:"" help:"Print the workshop in force: printer, materials, fits, and where each value comes from."`
	Picture   pictureCommand   `cmd:"" help:"Draw the parts as PNG pictures."`
	Draw      drawCommand      `cmd:"" help:"Draw the parts on paper, with dimensions, as PDF or SVG."`
	Report    reportCommand    `cmd:"" help:"Write all that is known of each part as one page, to keep beside the print."`
	Trial     trialCommand     `cmd:"" help:"Write a thin slice of each part, to print before the whole."`
	Template  templateCommand  `cmd:"" help:"Draw the seats of the parts in true size, to cut out and hold against the tube."`
	Plate     plateCommand     `cmd:"" help:"Arrange copies of the parts on the bed and write them as one 3MF file."`
	Format    formatCommand    `cmd:"" help:"Write part files in their canonical form."`
	Explain   explainCommand   `cmd:"" help:"Tell what a message means, by its code."`
	Reference referenceCommand `cmd:"" help:"Print the reference of the language as Markdown."`
	Version   versionCommand   `cmd:"" help:"Print the version of Perch."`
}

const about = `Perch makes printable parts for small telescopes from part files: drawings written as text, every number with its unit.

A part that stands before or over the optics, or over people, needs the usual care: cap the optics while you fit it, never look towards the Sun through a telescope without a full-aperture solar filter made for it, and tether what could fall.`

func main() {
	collectLate()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends at once
	os.Exit(int(run(ctx, os.Args[1:], newConsole(os.Stdout, os.Stderr))))
}

// exited is how kong's help leaves the parser.
type exited int

// run carries out one command line.
func run(ctx context.Context, args []string, c *console) (s status) {
	defer func() {
		if r := recover(); r != nil {
			code, ok := r.(exited)
			if !ok {
				panic(r)
			}
			s = status(code)
		}
	}()
	parser, err := kong.New(&commands{},
		kong.Name("perch"),
		kong.Description(about),
		kong.Writers(c.out, c.err),
		kong.Exit(func(code int) { panic(exited(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(c),
	)
	if err != nil {
		panic(err) // the structs above are wrong
	}
	parser.Model.HelpFlag.Help = "Show this help."
	chosen, err := parser.Parse(spoken(args))
	if err != nil {
		c.complain(err)
		if s := slip(args); s != "" {
			fmt.Fprintln(c.err, render.Clean(s))
		}
		fmt.Fprintln(c.err, "perch --help and perch COMMAND --help tell how a command is written.")
		return trouble
	}
	return ended(c, chosen.Run())
}

// slip says what was meant by a command line that is often written so, or "".
func slip(args []string) string {
	if len(args) > 0 && strings.HasSuffix(args[0], ".perch") {
		return fmt.Sprintf("perch build %s builds it; perch check %[1]s reports on it.", args[0])
	}
	for i, a := range args {
		if a == "--set" && i+2 < len(args) && isPath(args[i+1]) {
			return fmt.Sprintf("--set takes a name and its value in one word: --set %s=%s", args[i+1], args[i+2])
		}
	}
	return ""
}

// spoken turns `help` and `help COMMAND` into the flag that asks for it.
func spoken(args []string) []string {
	if len(args) == 0 || args[0] != "help" {
		return args
	}
	return append(slices.Clone(args[1:]), "--help")
}

// ended turns the error of a command into its exit status.
func ended(c *console, err error) status {
	var s statusError
	if errors.As(err, &s) {
		return status(s)
	}
	if err != nil {
		c.complain(err)
		return trouble
	}
	return done
}

// statusError ends a command that has already said what is wrong.
type statusError status

func (s statusError) Error() string { return fmt.Sprintf("exit status %d", int(s)) }

// worst returns nil for done, else a statusError.
func (s status) worst() error {
	if s == done {
		return nil
	}
	return statusError(s)
}

// complain prints an error of the world.
func (c *console) complain(err error) {
	if errors.Is(err, context.Canceled) {
		err = errors.New("stopped before the end; nothing more was written")
	}
	fmt.Fprintf(c.err, "perch: %s\n", render.Clean(err.Error()))
}

// versionCommand prints the version.
type versionCommand struct {
	JSON bool `name:"json" help:"Print JSON."`
}

// Run implements the command.
func (v *versionCommand) Run(c *console) error {
	if v.JSON {
		return c.json(struct {
			Version string `json:"version"`
		}{version})
	}
	_, err := fmt.Fprintf(c.out, "perch %s\n", version)
	return err
}

// console is where a command prints.
type console struct {
	in       io.Reader // of format without a file
	out, err io.Writer
	color    bool // of messages on err
	plain    bool // messages draw nothing, for a terminal that is read aloud
	live     bool // err is a terminal that can take a line back
	columns  int  // of that terminal; 0 for none
}

func newConsole(out, err *os.File) *console {
	dumb := os.Getenv("TERM") == "dumb"
	live := isTerminal(err) && !dumb
	return &console{in: os.Stdin, out: out, err: err, live: live, columns: columns(err, live), plain: dumb && isTerminal(err), color: live && os.Getenv("NO_COLOR") == ""}
}
