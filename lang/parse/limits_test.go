package parse_test

import (
	"strings"
	"testing"

	"perch/lang/parse"
	"perch/lang/source"
)

// TestLimits gives texts that would take too much time, memory or stack if
// nothing were bounded, and expects the message that says so, or a good tree.
func TestLimits(t *testing.T) {
	again := strings.Repeat
	nested := func(depth int) string {
		return "let a = " + again("f(x: box width 1mm with (", depth/2) + again("1 + ", 18000/2) + "1" + again("))", depth/2) + "\n"
	}
	for _, c := range []struct{ name, text, code string }{
		{"16 MB and one", "#" + again(" ", 16<<20), "file-too-large"},
		{"many signs", again("(", 16<<20), "file-too-large"},
		{"open parentheses", "let a = " + again("(", 15000), "nesting-deep"},
		{"lines of open parentheses", again("let a = (\n", 50), "paren-open"},
		{"minus signs", "let a = " + again("-", 19000) + "1", ""},
		{"long minus signs", "let a = " + again("-", 30000) + "1", "statement-long"},
		{"nots", "let a = " + again("not ", 19000) + "true", ""},
		{"powers", "let a = 1" + again("^1", 9000), ""},
		{"sum", "let a = 1" + again(" + 1", 9000), ""},
		{"members", "let a = b" + again(".c", 9000), ""},
		{"calls", "let a = b" + again("(1).c", 3900), ""},
		{"conditions", "let a = " + again("if true then 1 else ", 3900) + "1", ""},
		{"unions", "let a = b" + again(" with b", 9000), ""},
		{"clauses", "part p {\n join b " + again(" at b", 9000) + "\n}", ""},
		{"bodies", "part p {\n cut b" + again(", b", 9000) + "\n}", ""},
		{"deep lists", again(nested(198), 5), ""},
		{"too deep lists", nested(202), "nesting-deep"},
		{"many lists", again("let a = 1"+again("+f(x: 1)", 2700)+"\n", 5), ""},
		{"blocks in blocks", "sketch s {\n" + again("outline a {\n", 5000), "block-open"},
		{"braces", again("{", 20000), "brace-stray"},
		{"closing braces", again("}", 20000), "too-many-faults"},
		{"one long line of text", "let a = \"" + again("x", 1<<20) + "\"", ""},
		{"one long name", "let " + again("x", 1<<20) + " = 1", ""},
		{"digits", "let a = 0." + again("1", 1<<20), ""},
		{"large digits", "let a = " + again("1", 1<<20), "number-too-large"},
		{"a long unit", "let a = 1mm" + again("*mm", 100000), "unit-unknown"},
		{"newlines", again("\n", 900000) + "let a = 1", ""},
		{"carried lines", "let a = 1" + again(" +\n1", 4000), ""},
		{"carried empty lines", "let a = 1 +" + again("\n", 900000) + "1", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, list := parse.File(source.New("in.perch", c.text))
			if len(list) > 101 {
				t.Fatalf("%d messages", len(list))
			}
			code := ""
			if len(list) > 0 {
				code = string(list[len(list)-1].Code)
			}
			if code != c.code {
				t.Errorf("the last of %d messages has code %q, want %q", len(list), code, c.code)
			}
		})
	}
}
