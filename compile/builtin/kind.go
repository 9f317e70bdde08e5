package builtin

import (
	"perch/compile/value"
	"perch/lang/diag"
	"perch/lang/unit"
)

var kinds = []Kind{
	number("length", unit.Length, "12mm", "a distance"),
	number("angle", unit.Angle, "30deg", "an angle"),
	{Word: "count", Value: value.NumberKind, Whole: true, Sample: "6", Doc: "how many: a whole number from 0 up"},
	number("number", unit.None, "0.8", "a number without a unit"),
	number("surface", unit.AreaDim, "120mm^2", "the size of a surface"),
	number("volume", unit.Volume, "3cm^3", "the size of a body"),
	number("mass", unit.Mass, "180g", "a mass"),
	number("time", unit.Time, "2min", "a duration"),
	number("force", unit.Force, "30N", "a force"),
	number("pressure", unit.Pressure, "47MPa", "a pressure, a stress or a modulus"),
	number("density", unit.Density, "1.27g/cm^3", "a density"),
	number("temperature", unit.Temperature, "20K", "a difference of temperature"),
	number("torque", unit.Moment, "0.5N*m", "a torque"),
	number("expansion", PerKelvin, "68e-6 / 1K", "a change of length by length and kelvin"),
	{Word: "flag", Value: value.FlagKind, Sample: "true", Doc: "yes or no"},
	{Word: "text", Value: value.TextKind, Sample: "\"front\"", Doc: "a text in quotes"},
	{Word: "area", Value: value.AreaKind, Sample: "the name of a sketch", Doc: "a region of a sketch"},
	{Word: "body", Value: value.BodyKind, Sample: "`cylinder radius 60mm, along y`", Doc: "a body"},
}

func number(word string, d unit.Dim, sample, doc string) Kind {
	return Kind{Word: word, Value: value.NumberKind, Dim: d, Sample: sample, Doc: doc}
}

// Codes of faults in arguments.
const (
	KindMismatch diag.Code = "kind-mismatch"
	NotWhole     diag.Code = "not-whole"
)

// Take returns v as a value of kind k, or says why it cannot be one. Subject
// begins the message: "`width` is", "sin takes". Faults already reported pass
// through.
func (k *Kind) Take(subject string, v value.Value) (value.Value, *value.Fault) {
	if value.IsBad(v) {
		return v, nil
	}
	if k.Value == value.AreaKind {
		a, f := AreaOf(v)
		if f != nil {
			return nil, f
		}
		if a != nil {
			v = a
		}
	}
	if u, ok := v.(value.Unknown); ok && k.Value == value.NumberKind && u.Dim == k.Dim && !k.Whole {
		return u, nil
	}
	n, isNumber := v.(value.Number)
	switch {
	case v.Kind() != k.Value:
		return nil, k.mismatch(subject, v)
	case !isNumber:
		return v, nil
	}
	if n = n.As(k.Dim); n.Dim != k.Dim {
		return nil, k.mismatch(subject, n)
	}
	if k.Whole {
		w, ok := n.Whole()
		if ok && w < 0 {
			return nil, value.Faultf(NotWhole, "%s a number of things, this is %s", subject, n).
				Do("write a whole number from 1 up")
		}
		if !ok {
			return nil, value.Faultf(NotWhole, "%s a whole number from 0 up, this is %s", subject, n).
				Do("round it with floor(…) or ceil(…), as the part needs")
		}
	}
	return n, nil
}

func (k *Kind) mismatch(subject string, v value.Value) *value.Fault {
	f := value.Faultf(KindMismatch, "%s %s, this is %s", subject, k.phrase(), withValue(v))
	if n, ok := v.(value.Number); ok && n.Dim == unit.None && k.Value == value.NumberKind {
		return f.Do("give it a unit, such as %s", k.Sample)
	}
	if o, ok := v.(interface{ Instead() string }); ok && k.Dim == unit.Length {
		return f.Do("%s", o.Instead())
	}
	return f.Do("write %s, such as %s", k.phrase(), k.Sample)
}

func (k *Kind) phrase() string {
	switch k.Word {
	case "angle", "area", "expansion":
		return "an " + k.Word
	case "flag":
		return "yes or no"
	case "number":
		return "a plain number"
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
// area, a closed shape of it for its inside. It returns nil for what is no
// area, and a fault for what should have one and has not.
func AreaOf(v value.Value) (*value.Area, *value.Fault) {
	switch v := v.(type) {
	case *value.Area:
		return v, nil
	case interface {
		OwnArea() (*value.Area, *value.Fault)
	}:
		return v.OwnArea()
	}
	return nil, nil
}
