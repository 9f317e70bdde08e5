package token

import "strings"

// ReservedWords lists the words that cannot be names.
var ReservedWords = strings.Fields("use measure let sketch part sizes if then else and or not " +
	"less with within right left up down ahead close true false")

var reserved = set(strings.Join(ReservedWords, " "))

// Reserved reports whether a word cannot be a name.
func Reserved(word string) bool { return reserved[word] }

// Declares reports whether a reserved word begins a top-level declaration.
func Declares(word string) bool {
	switch word {
	case "use", "measure", "let", "sketch", "part", "sizes":
		return true
	}
	return false
}

// CarriesOn reports whether a line whose last token is t cannot end there.
func CarriesOn(t Token) bool {
	switch t.Type {
	case Op:
		return t.Value != ")" && t.Value != ":" && t.Value != "."
	case Keyword:
		switch t.Value {
		case "and", "or", "not", "less", "with", "within", "if", "then", "else":
			return true
		}
	}
	return false
}

// Opens reports whether word, followed by a name, begins a statement of a
// sketch or a part whatever stood before.
func Opens(word string) bool {
	switch word {
	case "join", "cut", "trim", "mating", "material", "print", "check", "caution", "engrave", "emboss",
		"point", "line", "arc", "circle", "outline", "path", "rectangle", "slot", "polygon",
		"guide", "bevel", "area":
		return true
	}
	return false
}

// Clause words. The grammar knows them only to tell a clause from the next
// body of a list; which head takes which clause is no matter of this package.
var (
	places  = set("at turned mirrored in around")
	clauses = set("along about centre from to through by width depth height length radius diameter across corners sides size thick span tolerance taper hollow onto allowance")
	heads   = set("box cylinder cone ball thread tap")
	sweeps  = set("extrude revolve loft sweep wrap")
	marks   = set("engrave emboss")
)

func set(words string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(words) {
		m[w] = true
	}
	return m
}

// Placing reports whether word begins a clause that moves a body.
func Placing(word string) bool { return places[word] }

// Clause reports whether word begins a clause of a body, a placing one or
// another.
func Clause(word string) bool { return places[word] || clauses[word] }

// Marks reports whether word begins a step that letters a part.
func Marks(word string) bool { return marks[word] }

// IsHead reports whether word begins a body with clauses only.
func IsHead(word string) bool { return heads[word] }

// IsSweep reports whether word begins a body that is made from an area.
func IsSweep(word string) bool { return sweeps[word] }
