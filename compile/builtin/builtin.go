// Package builtin is the table of what the language brings along: functions,
// constants, kinds of parameters, the heads of bodies with their clauses, the
// clauses that place a body, and materials. Each entry stands in one place
// with its name, its parameters, what it does, an example and its function;
// All lists them in the order a reader wants them.
package builtin

import (
	"math"

	"perch/compile/solve"
	"perch/compile/value"
	"perch/lang/unit"
)

// All is everything the language brings along.
var All = struct {
	Constants  []Constant
	Functions  []Function
	Kinds      []Kind
	Heads      []Head
	Marks      []Head // steps that letter a part
	Placements []Placement
	Materials  []Material
}{
	Constants: []Constant{
		{Name: "pi", Value: value.Plain(math.Pi), Doc: "the ratio of girth to diameter of a circle"},
	},
	Functions: []Function{
		sinFunc, cosFunc, tanFunc, asinFunc, acosFunc, atanFunc, atan2Func,
		sqrtFunc, absFunc, hypotFunc, minFunc, maxFunc, floorFunc, ceilFunc, roundFunc,
		uncertaintyFunc, nominalFunc, lineFitFunc, warnFunc, refuseFunc, leastSizeFunc, mostSizeFunc,
		grownFunc, shrunkFunc, grownSharpFunc, shrunkSharpFunc, movedFunc, rotatedFunc,
		letteringFunc, textFunc,
	},
	Kinds: kinds,
	Heads: []Head{boxHead, cylinderHead, coneHead, ballHead, extrudeHead, revolveHead, loftHead, sweepHead, wrapHead, threadHead, tapHead},
	Marks: marks,
	Placements: []Placement{
		atPlacement, turnedPlacement, mirroredPlacement, rowPlacement, ringPlacement, aroundPlacement,
	},
	Materials: materials,
}

// Constant is a name with a fixed value.
type Constant struct {
	Name  string
	Value value.Number
	Doc   string
}

// Function is a function that any expression may call.
type Function struct {
	Name   string
	Params []Param
	// Variadic lets the last parameter stand for one argument or more.
	Variadic bool
	// Optional is how many of the last parameters may be left out.
	Optional int
	// Texts lets a parameter without a kind take texts as well.
	Texts bool
	Doc   string
	// Example is a condition that holds.
	Example string
	// Call takes values of the kinds of its parameters; a parameter without a
	// kind takes a Number.
	Call func(args []value.Value) (value.Value, *value.Fault)
	// Solving is the same between measures of a sketch that is being solved,
	// or nil when the solver cannot follow it.
	Solving func(args []*solve.Expr) *solve.Expr
	// Warning, when not nil, returns a warning to show, or "".
	Warning func(args []value.Value) string
	// Capitals, when not nil, returns the height of the capitals that it sets, mm.
	Capitals func(args []value.Value) float64
	// Scatter, when not nil, returns what the result has of uncertainty that
	// is in none of its arguments: one contribution for each new source, in
	// base units. Calls that differ in their first argument only share them.
	Scatter func(args []value.Value) []float64
}

// Param is a parameter of a Function. Kind is a word of All.Kinds, or "" when
// any dimension will do.
type Param struct{ Name, Kind string }

// Kind is what a parameter may be declared as.
type Kind struct {
	Word string
	// Value is the kind of value it takes, and Dim its dimension when that is
	// a number.
	Value value.Kind
	Dim   unit.Dim
	Whole bool // only whole numbers from 0 up
	// Sample is one as written, for messages.
	Sample string
	Doc    string
}

// LookupFunction returns the function of that name.
func LookupFunction(name string) (*Function, bool) {
	for i := range All.Functions {
		if All.Functions[i].Name == name {
			return &All.Functions[i], true
		}
	}
	return nil, false
}

// LookupConstant returns the constant of that name.
func LookupConstant(name string) (*Constant, bool) {
	for i := range All.Constants {
		if All.Constants[i].Name == name {
			return &All.Constants[i], true
		}
	}
	return nil, false
}

// LookupKind returns the kind of parameter of that word.
func LookupKind(word string) (*Kind, bool) {
	for i := range kinds { // not All, which refers to what calls this
		if kinds[i].Word == word {
			return &kinds[i], true
		}
	}
	return nil, false
}

// LookupHead returns the body head of that name.
func LookupHead(name string) (*Head, bool) {
	for i := range All.Heads {
		if All.Heads[i].Name == name {
			return &All.Heads[i], true
		}
	}
	return nil, false
}

// LookupPlacement returns the placing clause that begins with word.
func LookupPlacement(word string) (*Placement, bool) {
	for i := range All.Placements {
		if All.Placements[i].Word == word {
			return &All.Placements[i], true
		}
	}
	return nil, false
}

// LookupMaterial returns the material of that name.
func LookupMaterial(name string) (*Material, bool) {
	for i := range All.Materials {
		if All.Materials[i].Name == name {
			return &All.Materials[i], true
		}
	}
	return nil, false
}

// MaterialWord stands for the material of the part that is being built.
const MaterialWord = "material"

// SizeWord stands for the name of the size that is being built.
const SizeWord = "size_name"

// DefaultMaterial is taken, and said to be assumed, when a part names none.
const DefaultMaterial = "petg"

// Names lists the names of functions and constants.
func Names() []string {
	var names []string
	for _, c := range All.Constants {
		names = append(names, c.Name)
	}
	for _, f := range All.Functions {
		names = append(names, f.Name)
	}
	return names
}

// Words lists the kinds of parameters.
func Words() []string {
	var words []string
	for _, k := range All.Kinds {
		words = append(words, k.Word)
	}
	return words
}

// MaterialNames lists the materials.
func MaterialNames() []string {
	var names []string
	for _, m := range All.Materials {
		names = append(names, m.Name)
	}
	return names
}
