// Package value holds what an expression of a part file evaluates to:
// numbers with a dimension and an uncertainty, points, areas, bodies, and the
// members of solved sketches. Operations return a Fault instead of a
// diagnostic: they know what is wrong, their caller knows where.
package value

import (
	"fmt"
	"strings"

	"perch/compile/geom"
	"perch/compile/solid"
	"perch/lang/diag"
	"perch/lang/unit"
)

// Kind tells values apart in messages.
type Kind uint8

// Kinds of values.
const (
	BadKind Kind = iota
	NumberKind
	UnknownKind
	FlagKind
	TextKind
	PointKind
	AreaKind
	BodyKind
	ObjectKind
	CallableKind
)

// Value is a Number, Unknown, Flag, Text, Point, *Area, *Body, Object, a callable of
// package eval, or Bad.
type Value interface{ Kind() Kind }

// Bad stands for a value whose fault is already reported: whatever is made
// from it is Bad too, and nothing more is said about it.
type Bad struct{}

// Flag is yes or no.
type Flag bool

// Text is a quoted text.
type Text string

// Point is two or three coordinates.
type Point []Number

// Body is a solid that the steps of a part are made of.
type Body struct {
	Solid *solid.Body
	// Tube is the cylinder the body is known to be, or nil.
	Tube *Tube
	// Endless says that the body has no end: it can cut, not be printed.
	Endless bool
	// Leaves counts the plain shapes, copies included.
	Leaves int
	// Facets estimates the flat faces at the tolerance of the build.
	Facets int
	// Offset moves all faces outward, exactly, or is nil where that cannot be
	// done.
	Offset Offset
}

// Allowance says by how much each side moves outward, mm, where the body is so
// wide, mm; below 0 it moves inward.
type Allowance func(across float64) float64

// Offset returns a body with its faces moved by an allowance.
type Offset func(Allowance) (*Body, *Fault)

// Tube is the axis and the radius of a cylinder.
type Tube struct {
	Point geom.Vec3 // on the axis, mm
	Dir   geom.Vec3 // of length 1
	// Radius is a length and carries the uncertainty of its measurement.
	Radius Number
}

// Object is a value with members: a solved sketch, an entity of it, a module.
type Object interface {
	Value
	// What names the object in messages: "sketch tooth", "circle bore".
	What() string
	// Member returns a member; ok is false when there is none of that name.
	Member(name string) (v Value, ok bool)
	// Members lists the names, in the order they were written.
	Members() []string
}

// Kind implements Value.
func (Bad) Kind() Kind { return BadKind }

// Kind implements Value.
func (Number) Kind() Kind { return NumberKind }

// Kind implements Value.
func (Flag) Kind() Kind { return FlagKind }

// Kind implements Value.
func (Text) Kind() Kind { return TextKind }

// Kind implements Value.
func (Point) Kind() Kind { return PointKind }

// Kind implements Value.
func (*Area) Kind() Kind { return AreaKind }

// Kind implements Value.
func (*Body) Kind() Kind { return BodyKind }

// IsBad reports whether v stands for a fault already reported.
func IsBad(v Value) bool { return v == nil || v.Kind() == BadKind }

// Fault says what is wrong with an operation, without a place.
type Fault struct {
	Code    diag.Code
	Message string
	Notes   []string
}

func (f *Fault) Error() string { return f.Message }

// Faultf returns a fault with a message.
func Faultf(code diag.Code, format string, args ...any) *Fault {
	return &Fault{Code: code, Message: fmt.Sprintf(format, args...)}
}

// Why adds the reason to a fault.
func (f *Fault) Why(format string, args ...any) *Fault {
	f.Notes = append(f.Notes, diag.Why(fmt.Sprintf(format, args...)))
	return f
}

// Do adds the remedy to a fault.
func (f *Fault) Do(format string, args ...any) *Fault {
	f.Notes = append(f.Notes, diag.Do(fmt.Sprintf(format, args...)))
	return f
}

// A names a dimension with its article, as a message says it: "a length", "an
// angle", "a plain number".
func A(d unit.Dim) string {
	words := d.String()
	if strings.ContainsRune("aeiou", rune(words[0])) {
		return "an " + words
	}
	return "a " + words
}

// Describe names a value for a message: "a length", "a body", "yes or no".
func Describe(v Value) string {
	switch v := v.(type) {
	case Number:
		return A(v.Dim)
	case Unknown:
		return A(v.Dim) + " of the sketch"
	case Flag:
		return "yes or no (true or false)"
	case Text:
		return "a text"
	case Point:
		return "a point"
	case *Area:
		return "an area"
	case *Body:
		return "a body"
	case Object:
		return "the " + v.What()
	case interface{ Describe() string }:
		return v.Describe()
	}
	return "nothing"
}

// Print writes a value for a message: "12 mm", "true", `"text"`, "(1 mm, 0)".
func Print(v Value) string {
	switch v := v.(type) {
	case Number:
		return v.String()
	case Flag:
		if v {
			return "true"
		}
		return "false"
	case Text:
		return fmt.Sprintf("%q", string(v))
	case Point:
		words := make([]string, len(v))
		for i, n := range v {
			words[i] = n.String()
		}
		return "(" + strings.Join(words, ", ") + ")"
	}
	return Describe(v)
}
