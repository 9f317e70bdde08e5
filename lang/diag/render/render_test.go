package render_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"perch/lang/diag"
	"perch/lang/diag/render"
	"perch/lang/golden"
	"perch/lang/source"
)

// TestGolden renders messages at places marked in the input: «1:label» before
// and «/» behind, number 0 being the place of the message itself.
func TestGolden(t *testing.T) {
	golden.Run(t, "../../../testdata/render/*.txtar", func(t *testing.T, c *golden.Case) {
		d := marked(t, c.Input("in.perch"))
		d.Message = strings.TrimSuffix(c.Input("message"), "\n")
		d.Code = "example"
		d.Notes = []string{diag.Why("the reason, said at some length so that a narrow terminal has to break the line"), diag.Do("what to do"), "a remark"}
		var b strings.Builder
		for _, o := range []render.Options{{}, {Width: 40}, {Plain: true}} {
			fmt.Fprintf(&b, "width %d, plain %v\n", o.Width, o.Plain)
			if err := render.Text(&b, diag.List{d}, o); err != nil {
				t.Fatal(err)
			}
		}
		c.Output("text", b.String())
		b.Reset()
		if err := render.Encode(&b, render.Entries(diag.List{d})); err != nil {
			t.Fatal(err)
		}
		var pretty bytes.Buffer
		if err := json.Indent(&pretty, []byte(b.String()), "", " "); err != nil {
			t.Fatal(err)
		}
		c.Output("json", pretty.String())
	})
}

// marked takes the marks out of text and makes a diagnostic with their places.
// The escapes <ESC>, <TAB>, <RLO> and <9B> stand for what an archive should
// not hold raw.
func marked(t *testing.T, text string) diag.Diagnostic {
	text = strings.NewReplacer("<ESC>", "\x1b", "<TAB>", "\t", "<RLO>", "\u202e", "<9B>", "\u009b", "<BAD>", "\xff").Replace(text)
	type place struct {
		start, end int
		label      string
	}
	var plain strings.Builder
	var open []int
	var places []place
	for text != "" {
		i := strings.Index(text, "«")
		if i < 0 {
			break
		}
		plain.WriteString(text[:i])
		mark, rest, ok := strings.Cut(text[i+len("«"):], "»")
		if !ok {
			t.Fatal("a mark is not closed")
		}
		text = rest
		if mark == "/" {
			n := len(open) - 1
			places[open[n]].end = plain.Len()
			open = open[:n]
			continue
		}
		open = append(open, len(places))
		places = append(places, place{start: plain.Len(), label: mark})
	}
	plain.WriteString(text)
	file := source.New("in.perch", plain.String())
	var d diag.Diagnostic
	for _, p := range places {
		at := source.Span{File: file, Start: p.start, End: p.end}
		if p.label == "0" {
			d.At = at
		} else {
			d.Labels = append(d.Labels, diag.Label{At: at, Text: p.label})
		}
	}
	return d
}

// TestClean wants that nothing in the output can act on a terminal: ECMA-48
// control functions begin with a C0 or C1 control, and UAX 9 lists the
// characters that reorder text.
func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"plain ünïcode 螺丝":   "plain ünïcode 螺丝",
		"\x1b[2J":            "␛[2J",
		"a\tb\nc\r":          "a␉b␊c␍",
		"\x7f":               "␡",
		"\u009b31m":          "<U+009B>31m",
		"a\u202eb\u2066c":    "a<U+202E>b<U+2066>c",
		"\u2028":             "<U+2028>",
		"zero\u200bwidth":    "zero<U+200B>width",
		"\xff\xfe":           "<FF><FE>",
		"\ufffd":             "\ufffd",
		"\U000e0041":         "<U+E0041>",
		"\x00":               "␀",
		"combining e\u0301":  "combining e\u0301",
		"half\xe2\x82euro":   "half<E2><82>euro",
		"\ufeffmark, \u00ad": "<U+FEFF>mark, <U+00AD>",
	} {
		if got := render.Clean(in); got != want {
			t.Errorf("Clean(%q) = %q, want %q", in, got, want)
		}
	}
}

func FuzzClean(f *testing.F) {
	f.Add("\x1b]0;title\x07")
	f.Add("\u202e\xff\u009b")
	f.Fuzz(func(t *testing.T, s string) {
		got := render.Clean(s)
		if !utf8.ValidString(got) {
			t.Errorf("Clean(%q) is not UTF-8", s)
		}
		for _, r := range got {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' {
				t.Errorf("Clean(%q) lets %U through", s, r)
			}
		}
		if render.Clean(got) != got {
			t.Errorf("Clean(%q) is not clean", s)
		}
	})
}

// FuzzText renders any place of any text: no panic, and no control of the
// terminal but line ends.
func FuzzText(f *testing.F) {
	f.Add("let a\t= \x1b[2J 3mm\nlet b", 4, 9, 12, 3)
	f.Add("字\t螺丝\u0301x", 2, 90, 0, 50)
	f.Fuzz(func(t *testing.T, text string, a, b, c, width int) {
		in := func(n int) int { return min(max(n, 0), len(text)) }
		a, b, c = in(a), in(b), in(c)
		file := source.New(text, text)
		list := diag.List{{
			Message: text, Code: "code", At: source.Span{File: file, Start: min(a, b), End: max(a, b)},
			Labels: []diag.Label{{At: source.Span{File: file, Start: c, End: c}, Text: text}},
			Notes:  []string{diag.Do(text)},
		}}
		var out strings.Builder
		if err := render.Text(&out, list, render.Options{Width: width}); err != nil {
			t.Fatal(err)
		}
		for _, r := range out.String() {
			if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
				t.Errorf("%U reaches the terminal", r)
			}
		}
		out.Reset()
		if err := render.Encode(&out, render.Entries(list)); err != nil {
			t.Fatal(err)
		}
		for _, r := range out.String() {
			if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
				t.Errorf("%U reaches the terminal as JSON", r)
			}
		}
		if utf8.ValidString(text) {
			checkJSON(t, out.String(), text, list[0].At)
		}
	})
}

// checkJSON reads JSON back and checks the positions against counts made
// another way: whole prefixes as runes and as UTF-16.
func checkJSON(t *testing.T, out, text string, at source.Span) {
	var entries []render.Entry
	if err := json.Unmarshal([]byte(out), &entries); err != nil {
		t.Fatal(err)
	}
	e := entries[0]
	if e.Message != text {
		t.Errorf("message %q came back as %q", text, e.Message)
	}
	before := text[:at.Start]
	lines := strings.Split(before, "\n")
	last := lines[len(lines)-1]
	if e.At.Line != len(lines) || e.At.Column != len([]rune(last))+1 {
		t.Errorf("line %d column %d, want %d %d", e.At.Line, e.At.Column, len(lines), len([]rune(last))+1)
	}
	if want := len(utf16.Encode([]rune(last))); e.At.UTF16.Line != len(lines)-1 || e.At.UTF16.Character != want {
		t.Errorf("UTF-16 %d:%d, want %d:%d", e.At.UTF16.Line, e.At.UTF16.Character, len(lines)-1, want)
	}
}

func TestColor(t *testing.T) {
	file := source.New("a.perch", "let a = 3mm\n")
	var b strings.Builder
	err := render.Text(&b, diag.List{{Severity: diag.Warning, Message: "bad\x1b[0m", At: source.Span{File: file, Start: 4, End: 5}}}, render.Options{Color: true})
	if err != nil {
		t.Fatal(err)
	}
	want := "\x1b[2ma.perch:1:5: \x1b[0m\x1b[1;33mwarning:\x1b[0m \x1b[1mbad␛[0m\x1b[0m\n" +
		"\x1b[2m  line 1  \x1b[0mlet a = 3mm\n              \x1b[1;33m|\x1b[0m\n"
	if b.String() != want {
		t.Errorf("got  %q\nwant %q", b.String(), want)
	}
}

func TestNoPlace(t *testing.T) {
	var b strings.Builder
	if err := render.Text(&b, diag.List{{Severity: diag.Info, Message: "said"}, {Message: "again"}}, render.Options{}); err != nil {
		t.Fatal(err)
	}
	if want := "info: said\n\nerror: again\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
	b.Reset()
	if err := render.Encode(&b, render.Entries(nil)); err != nil || b.String() != "[]\n" {
		t.Errorf("no messages give %q, %v", b.String(), err)
	}
}

// Where there is no terminal the first line holds the place and the whole
// message, however long the path is: editors list it. On a terminal a place
// that leaves the message little room stands on a line of its own.
func TestFirstLine(t *testing.T) {
	file := source.New(strings.Repeat("folder/", 10)+"comb.perch", "let a = 3\n")
	message := "a message that is itself much longer than what is left of the line behind such a place"
	list := diag.List{{Severity: diag.Error, Message: message, At: source.Span{File: file, Start: 8, End: 9}}}
	for width, want := range map[int]string{
		0: ":1:9: error: " + message, 72: ":1:9: error:", 120: ":1:9: error:",
	} {
		var b bytes.Buffer
		if err := render.Text(&b, list, render.Options{Width: width}); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(b.String(), "\n")
		if !strings.HasSuffix(lines[0], want) {
			t.Errorf("%d columns: %q", width, lines[0])
		}
		for _, l := range lines[1:] {
			if width > 0 && len(l) > width {
				t.Errorf("%d columns: %q", width, l)
			}
		}
	}
}
