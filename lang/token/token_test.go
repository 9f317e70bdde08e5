package token

import (
	"strings"
	"testing"
)

var kindNames = func() map[Kind]string {
	m := map[Kind]string{}
	for name, kind := range Definition.Symbols() {
		m[kind] = name
	}
	return m
}()

func shown(text string) string {
	var out []string
	tokens, ok := Scan(text, 1000)
	if !ok {
		return "too many"
	}
	for _, t := range tokens {
		if t.Type != EOF {
			out = append(out, kindNames[t.Type]+"‹"+t.Value+"›")
		}
	}
	return strings.Join(out, " ")
}

func TestScan(t *testing.T) {
	for text, want := range map[string]string{
		"let wall_2 = größe":        "Keyword‹let› Ident‹wall_2› Op‹=› Ident‹größe›",
		"4.2mm +- 0.1mm":            "Number‹4.2mm› Op‹+-› Number‹0.1mm›",
		"1.27g/cm^3*x":              "Number‹1.27g/cm^3› Op‹*› Ident‹x›",
		"2N*mm":                     "Number‹2N*mm›",
		"2N*mmx":                    "Number‹2N› Op‹*› Ident‹mmx›",
		"2N * mm":                   "Number‹2N› Op‹*› Ident‹mm›",
		"3mm^2 3mm^-1 3mm^n":        "Number‹3mm^2› Number‹3mm^-1› Number‹3mm› Op‹^› Ident‹n›",
		"5^2":                       "Number‹5› Op‹^› Number‹2›",
		"2e-3m 2e3 2E+4mm 2e 2em":   "Number‹2e-3m› Number‹2e3› Number‹2E+4mm› Number‹2e› Number‹2em›",
		"30deg 20°C 3% 2µm":         "Number‹30deg› Number‹20°C› Number‹3%› Number‹2µm›",
		"1.5.radius a.b 3.x":        "Number‹1.5› Op‹.› Ident‹radius› Ident‹a› Op‹.› Ident‹b› Number‹3› Op‹.› Ident‹x›",
		"a<=b>=c!=d<e>f":            "Ident‹a› Op‹<=› Ident‹b› Op‹>=› Ident‹c› Op‹!=› Ident‹d› Op‹<› Ident‹e› Op‹>› Ident‹f›",
		`"a # \" b" # c`:            `String‹"a # \" b"› Comment‹# c›`,
		"\"open\r\n\"x\\":           "OpenString‹\"open› Newline‹\n› OpenString‹\"x\\›",
		"# a\r\nb":                  "Comment‹# a› Newline‹\n› Ident‹b›",
		"a\r\nb\tc\n":               "Ident‹a› Newline‹\n› Ident‹b› Ident‹c› Newline‹\n›",
		"!;±$\x00\xff":              "Stray‹!› Stray‹;› Stray‹±› Stray‹$› Stray‹\x00› Stray‹\xff›",
		"less lesser true":          "Keyword‹less› Ident‹lesser› Keyword‹true›",
		"":                          "",
		"(){},:":                    "Op‹(› Op‹)› Op‹{› Op‹}› Op‹,› Op‹:›",
		"e\u0301t\u0301 螺丝 ²x":      "Ident‹e\u0301t\u0301› Ident‹螺丝› Stray‹²› Ident‹x›",
		"1/s 2mm/s^2 60/min 3mm/mm": "Number‹1› Op‹/› Ident‹s› Number‹2mm/s^2› Number‹60› Op‹/› Ident‹min› Number‹3mm/mm›",
	} {
		if got := shown(text); got != want {
			t.Errorf("Scan(%q)\n got %s\nwant %s", text, got, want)
		}
	}
}

func TestScanLimit(t *testing.T) {
	if _, ok := Scan("a b c", 3); !ok {
		t.Error("three words are more than three")
	}
	if tokens, ok := Scan("a b c d", 3); ok || len(tokens) != 4 {
		t.Errorf("four words within a limit of three: %v, %d tokens", ok, len(tokens))
	}
}

func TestUnitStart(t *testing.T) {
	for text, want := range map[string]int{"3": 1, "3mm": 1, "3.25mm": 4, "2e-3m": 4, "2em": 1, "1.27g/cm^3": 4, "3e5": 3} {
		if got := UnitStart(text); got != want {
			t.Errorf("UnitStart(%q) = %d, want %d", text, got, want)
		}
	}
}

// FuzzScan wants every byte in one token or in the white space between two.
func FuzzScan(f *testing.F) {
	f.Add("let a = 3mm*x # c\n\"")
	f.Add("2e+°^-\\\"\r")
	f.Fuzz(func(t *testing.T, text string) {
		at := 0
		tokens, ok := Scan(text, len(text))
		if !ok {
			t.Fatal("more tokens than bytes")
		}
		for _, k := range tokens {
			if k.Pos.Offset < at || strings.Trim(text[at:k.Pos.Offset], " \t\r") != "" {
				t.Fatalf("between %d and %d bytes are lost", at, k.Pos.Offset)
			}
			if at = k.Pos.Offset + len(k.Value); text[k.Pos.Offset:at] != k.Value || k.Value == "" && k.Type != EOF {
				t.Fatalf("the token %q does not stand at %d", k.Value, k.Pos.Offset)
			}
		}
		if at != len(text) || tokens[len(tokens)-1].Type != EOF {
			t.Errorf("the tokens end at %d of %d", at, len(text))
		}
	})
}

func BenchmarkScan(b *testing.B) {
	line := "    line floor to b near (5mm, -6.25mm)   # the floor\n    distance(e, f) = 0.72 * lead + crown.radius\n"
	text := strings.Repeat(line, 1<<20/len(line))
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		Scan(text, len(text))
	}
}
