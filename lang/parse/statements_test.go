package parse_test

import (
	"strings"
	"testing"

	"perch/lang/parse"
	"perch/lang/source"
)

// TestForms parses the form of every statement in its block.
func TestForms(t *testing.T) {
	around := map[parse.Block][2]string{
		parse.Top:       {"", ""},
		parse.InPart:    {"part p {\n", "\n}\n"},
		parse.InSketch:  {"sketch s {\n", "\n}\n"},
		parse.InOutline: {"sketch s {\noutline o {\n", "\n}\n}\n"},
	}
	inner := map[string]string{"sketch tooth { … }": "\npoint o at (0, 0)\n", "part comb(teeth: count = 6) { … }": "\njoin ball radius 3mm\n", "path way { from (0, 0) … }": "\nline right 3mm\n"}
	for _, s := range parse.Statements {
		form := strings.Replace(s.Form, " … close ", "\nline right 3mm\nclose\n", 1)
		form = strings.Replace(form, "{ from", "{\nfrom", 1)
		form = strings.Replace(form, " … ", inner[s.Form], 1)
		if s.Block == parse.InOutline && s.Word != "from" {
			form = "from (0, 0)\n" + form
		}
		text := around[s.Block][0] + form + around[s.Block][1]
		_, list := parse.File(source.New("form.perch", text))
		if len(list) > 0 || !strings.HasPrefix(s.Form, s.Word) || s.Doc == "" {
			t.Errorf("%s: %v\n%s", s.Word, list, text)
		}
	}
}
