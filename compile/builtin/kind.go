package builtin

import (
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/unit"
)

var kinds = []Kind{
	number("length", unit.Length, "a distance: 12mm"),
	number("angle", unit.Angle, "an angle: 30deg"),
	{Word: "count", Value: value.NumberKind, Whole: true, Doc: "how many: a whole number from 0 up"},
	number("number", unit.None, "a number without a unit: 0.8"),
	number("surface", unit.AreaDim, "the size of a surface: 120mm^2"),
	number("volume", unit.Volume, "the size of a body: 3cm^3"),
	number("mass", unit.Mass, "a mass: 180g"),
	number("time", unit.Time, "a duration: 2min"),
	number("force", unit.Force, "a force: 30N"),
	number("pressure", unit.Pressure, "a pressure, a stress or a modulus: 47MPa"),
	number("density", unit.Density, "a density: 1.27g/cm^3"),
	number("temperature", unit.Temperature, "a difference of temperature: 20K"),
	{Word: "flag", Value: value.FlagKind, Doc: "yes or no: true, false"},
	{Word: "text", Value: value.TextKind, Doc: "a text in quotes"},
	{Word: "area", Value: value.AreaKind, Doc: "a region of a sketch"},
	{Word: "body", Value: value.BodyKind, Doc: "a body"},
}

func number(word string, d unit.Dim, doc string) Kind {
	return Kind{Word: word, Value: value.NumberKind, Dim: d, Doc: doc}
}

// Codes of faults in arguments.
const (
	KindMismatch diag.Code = "kind-mismatch"
	NotWhole     diag.Code = "not-whole"
)

// Take returns v as a value of kind k for the parameter called name, or says
// why it cannot be one. Faults already reported pass through.
func (k *Kind) Take(name string, v value.Value) (value.Value, *value.Fault) {
	if value.IsBad(v) {
		return v, nil
	}
	if k.Value == value.AreaKind {
		if a, ok := AreaOf(v); ok {
			v = a
		}
	}
	n, isNumber := v.(value.Number)
	switch {
	case v.Kind() != k.Value:
		return nil, k.mismatch(name, v)
	case !isNumber:
		return v, nil
	}
	if n = n.As(k.Dim); n.Dim != k.Dim {
		return nil, k.mismatch(name, n)
	}
	if k.Whole {
		if w, ok := n.Whole(); !ok || w < 0 {
			return nil, value.Faultf(NotWhole, "%s must be a whole number from 0 up, this is %s", name, n).
				Do("round it with floor(…) or ceil(…), as the part needs")
		}
	}
	return n, nil
}

func (k *Kind) mismatch(name string, v value.Value) *value.Fault {
	f := value.Faultf(KindMismatch, "%s is %s, this is %s", name, k.phrase(), withValue(v))
	if n, ok := v.(value.Number); ok && n.Dim == unit.None && k.Value == value.NumberKind {
		f.Do("give it a unit: %s", k.Doc)
	} else {
		f.Do("give %s", k.Doc)
	}
	return f
}

func (k *Kind) phrase() string {
	switch k.Word {
	case "angle", "area":
		return "an " + k.Word
	case "flag":
		return "yes or no"
	}
	return "a " + k.Word
}

func withValue(v value.Value) string {
	if n, ok := v.(value.Number); ok {
		return value.Describe(n) + " (" + n.String() + ")"
	}
	return value.Describe(v)
}

// AreaOf returns the area that v is or stands for: a sketch stands for its own
// area.
func AreaOf(v value.Value) (*value.Area, bool) {
	switch v := v.(type) {
	case *value.Area:
		return v, true
	case interface{ OwnArea() *value.Area }:
		a := v.OwnArea()
		return a, a != nil
	}
	return nil, false
}
