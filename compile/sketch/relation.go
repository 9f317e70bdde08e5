package sketch

import (
	"fmt"

	"perch/compile/solve"
	"perch/lang/source"
)

// Relation is one entry of the table of relations: a word that stands after
// its subjects, and what it demands.
type Relation struct {
	Word    string
	Doc     string // one sentence
	Example string // body of a sketch that uses it and is fully pinned
	// apply adds the equations; its error names what does not fit.
	apply func(s *Sketch, r *Sentence) error
}

// Sentence is one relation as written: subjects word objects.
type Sentence struct {
	Subjects, Objects []Entity
	Mode              string      // "inside" or "outside" after tangent
	Axis              string      // "x" or "y" for `about x = e`, "" for a line
	About             *solve.Expr // the e
	AboutLine         *Line
	At                source.Span
}

// Relations lists every relation, in the order of the reference.
func Relations() []*Relation {
	return []*Relation{
		horizontal, vertical, parallel, perpendicular, collinear, tangent, concentric,
		coincident, on, midpoint, equal, mirrors,
	}
}

// Relate adds a relation by its word. The error says in words of the
// workshop what does not fit.
func (s *Sketch) Relate(word string, r Sentence) error {
	for _, rel := range Relations() {
		if rel.Word == word {
			s.statement(r.At, false)
			return rel.apply(s, &r)
		}
	}
	return fmt.Errorf("there is no relation `%s`", word)
}

// linesOf returns all entities as lines.
func linesOf(word string, es []Entity) ([]*Line, error) {
	var ls []*Line
	for _, e := range es {
		l, ok := e.(*Line)
		if !ok {
			return nil, fmt.Errorf("`%s` is about lines, and %s is a %s", word, nameOf(e), e.Sort())
		}
		ls = append(ls, l)
	}
	return ls, nil
}

func pointsOf(word string, es []Entity) ([]*Point, error) {
	var ps []*Point
	for _, e := range es {
		p, ok := e.(*Point)
		if !ok {
			return nil, fmt.Errorf("`%s` is about points, and %s is a %s", word, nameOf(e), e.Sort())
		}
		ps = append(ps, p)
	}
	return ps, nil
}

func nameOf(e Entity) string {
	if n := e.EntityName(); n != "" {
		return "`" + n + "`"
	}
	return "this " + e.Sort()
}

// all returns subjects and objects in one list; a relation between equals
// may name them on either side.
func (r *Sentence) all() []Entity {
	return append(append([]Entity(nil), r.Subjects...), r.Objects...)
}

func atLeast(word string, n int, es []Entity) error {
	if len(es) < n {
		return fmt.Errorf("`%s` needs at least %d things to hold between", word, n)
	}
	return nil
}
