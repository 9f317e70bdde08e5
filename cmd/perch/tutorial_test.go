package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestTutorial does what the tutorial of the examples says, listing by listing.
// One that begins with `# NAME.perch` is saved under that name; one that begins
// with `$` is a command, which must print the lines below it, in that order;
// any other changes one line of comb.perch: the one that begins like it, or
// like what stands before `=>`.
func TestTutorial(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "examples", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	listings := regexp.MustCompile("(?s)\n```\n(.*?)\n```\n").FindAllStringSubmatch(string(data), -1)
	commands := 0
	for _, m := range listings {
		text := m[1]
		switch name := regexp.MustCompile(`^# (\w+\.perch)`).FindStringSubmatch(text); {
		case name != nil:
			saveAs(t, name[1], text+"\n")
		case strings.HasPrefix(text, "$ perch "):
			commands++
			obey(t, text)
		default:
			change(t, text)
		}
	}
	if commands < 8 {
		t.Errorf("only %d commands were run", commands)
	}
	var out bytes.Buffer
	if s := run(context.Background(), []string{"format", "--check", "comb.perch"}, &console{out: &out, err: &out}); s != done {
		t.Errorf("the comb is not in canonical form: %s", out.String())
	}
}

func saveAs(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// obey runs a command and looks for the lines that follow it in what it prints.
func obey(t *testing.T, text string) {
	t.Helper()
	lines := strings.Split(text, "\n")
	var out bytes.Buffer
	run(context.Background(), strings.Fields(lines[0])[2:], &console{out: &out, err: &out})
	rest := out.String()
	for _, l := range lines[1:] {
		_, after, ok := strings.Cut(rest, l+"\n")
		if !ok {
			t.Errorf("%s does not print\n%s\nbut\n%s", lines[0], l, out.String())
			return
		}
		rest = after
	}
}

// change writes a line of comb.perch anew.
func change(t *testing.T, text string) {
	t.Helper()
	old, line, ok := strings.Cut(text, "\n=>\n")
	if !ok {
		line = text
		old = text[:strings.IndexByte(text, '=')]
	}
	data, err := os.ReadFile("comb.perch")
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Split(string(data), "\n")
	n := 0
	for i := range all {
		if strings.HasPrefix(all[i], old) {
			all[i] = line
			n++
		}
	}
	if n != 1 {
		t.Fatalf("%d lines of comb.perch begin with %q", n, old)
	}
	saveAs(t, "comb.perch", strings.Join(all, "\n"))
}
