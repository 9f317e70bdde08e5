package sketch

import (
	"fmt"
	"math"

	"perch/compile/solve"
	"perch/lang/unit"
)

// Measure is what a member of an entity stands for: an expression with its
// dimension, or another entity.
type Measure struct {
	Expr   *solve.Expr
	Dim    unit.Dim
	Entity Entity // when Expr is nil
}

type member struct {
	name string
	of   func() Measure
}

// members lists what an entity has, in the order it is offered.
func (s *Sketch) members(e Entity) []member {
	dim := func(name string, d unit.Dim, x func() *solve.Expr) member {
		return member{name, func() Measure { return Measure{Expr: x(), Dim: d} }}
	}
	length := func(name string, x func() *solve.Expr) member { return dim(name, unit.Length, x) }
	known := func(x *solve.Expr) func() *solve.Expr { return func() *solve.Expr { return x } }
	point := func(name string, p *Point) member {
		return member{name, func() Measure { return Measure{Entity: p} }}
	}
	measured := func() *solve.Expr { l, _ := s.Length(e); return l }
	diameter := func() *solve.Expr { return s.diameter(e) }
	switch e := e.(type) {
	case *Point:
		return []member{length("x", known(e.X)), length("y", known(e.Y))}
	case *Line:
		return []member{
			length("length", measured), dim("angle", unit.Angle, func() *solve.Expr { return s.Angle(e, nil) }),
			point("start", e.A), point("end", e.B),
		}
	case *Circle:
		return []member{
			length("radius", known(e.R)), length("diameter", diameter), length("length", measured),
			dim("area", unit.AreaDim, func() *solve.Expr { return solve.Scale(math.Pi, solve.Mul(e.R, e.R)) }),
			length("perimeter", measured), point("centre", e.Centre),
		}
	case *Arc:
		return []member{
			length("radius", known(e.R)), length("diameter", diameter), length("length", measured),
			dim("angle", unit.Angle, func() *solve.Expr { return s.Sweep(e) }),
			point("centre", e.Centre), point("start", e.A), point("end", e.B),
		}
	case *Outline:
		return []member{
			point("start", e.Start()),
			dim("area", unit.AreaDim, func() *solve.Expr { return s.Area(e) }), length("perimeter", func() *solve.Expr { return s.Perimeter(e) }),
		}
	}
	return nil
}

// diameter is twice the radius of a circle or an arc.
func (s *Sketch) diameter(e Entity) *solve.Expr {
	d := solve.Scale(2, radiusOf(e))
	s.measures(radiusGauge(e, d, DiameterOf))
	return d
}

// Members lists the names that can follow the dot after an entity.
func (s *Sketch) Members(e Entity) []string {
	var names []string
	for _, m := range s.members(e) {
		names = append(names, m.name)
	}
	return names
}

// Member returns what `e.name` stands for.
func (s *Sketch) Member(e Entity, name string) (Measure, bool) {
	for _, m := range s.members(e) {
		if m.name == name {
			return m.of(), true
		}
	}
	return Measure{}, false
}

// Function is a measure that is called, such as distance(a, b).
type Function struct {
	Name string
	Dim  unit.Dim
	Doc  string
	// Example is a statement of a sketch that uses it.
	Example string
	// Apply returns the measure of some entities; the error says in words of
	// the workshop what does not fit.
	Apply func(s *Sketch, args []Entity) (*solve.Expr, error)
}

// Functions lists the measures that are called.
var Functions = []*Function{
	{
		Name: "distance", Dim: unit.Length,
		Doc:     "between two points, a point and a line, or two parallel lines",
		Example: "distance(o, floor) = 8mm",
		Apply: func(s *Sketch, args []Entity) (*solve.Expr, error) {
			if len(args) != 2 {
				return nil, fmt.Errorf("`distance` takes two things, here are %d", len(args))
			}
			return s.Distance(args[0], args[1])
		},
	},
	{
		Name: "gap", Dim: unit.Length,
		Doc:     "the free way between the edges of a circle or an arc and a point, a line, or another circle or arc; negative where they overlap",
		Example: "gap(bore, floor) = 2mm",
		Apply: func(s *Sketch, args []Entity) (*solve.Expr, error) {
			if len(args) != 2 {
				return nil, fmt.Errorf("`gap` takes two things, here are %d", len(args))
			}
			return s.Gap(args[0], args[1])
		},
	},
	{
		Name: "angle", Dim: unit.Angle,
		Doc:     "from the direction of a line counter-clockwise to that of another; of one line, from +x",
		Example: "angle(floor, jaw) = 60deg",
		Apply: func(s *Sketch, args []Entity) (*solve.Expr, error) {
			ls, err := linesOf("angle", args)
			switch {
			case err != nil:
				return nil, err
			case len(ls) == 1:
				return s.Angle(ls[0], nil), nil
			case len(ls) == 2:
				return s.Angle(ls[0], ls[1]), nil
			}
			return nil, fmt.Errorf("`angle` takes one or two lines, here are %d", len(args))
		},
	},
	{
		Name: "length", Dim: unit.Length,
		Doc:     "of a line, or along an arc or a circle",
		Example: "length(floor) = 12mm",
		Apply: func(s *Sketch, args []Entity) (*solve.Expr, error) {
			if len(args) != 1 {
				return nil, fmt.Errorf("`length` takes one line, arc or circle, here are %d things; between two points it is distance(a, b)", len(args))
			}
			return s.Length(args[0])
		},
	},
}

// LookupFunction finds a function by its name.
func LookupFunction(name string) (*Function, bool) {
	for _, f := range Functions {
		if f.Name == name {
			return f, true
		}
	}
	return nil, false
}
