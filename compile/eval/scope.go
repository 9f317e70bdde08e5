package eval

import (
	"slices"
	"strings"

	"perch/compile/value"
	"perch/lang/source"
)

// scope holds the names of one block; names not found are looked for in the
// block around it.
type scope struct {
	parent *scope
	names  map[string]binding
	order  []string
	module *module // whose text this is
	// later, when not nil, is asked for a name that is not set yet: inside a
	// sketch names stand in any order. It reports whether it has set it.
	later func(name string) bool
	// pending lists the names that later may set.
	pending []string
	drawing *drawing // the sketch whose names these are, or nil
}

type binding struct {
	value value.Value
	at    source.Span
}

func newScope(parent *scope) *scope {
	s := &scope{parent: parent, names: map[string]binding{}}
	if parent != nil {
		s.module = parent.module
	}
	return s
}

// set gives a name its value; a name that stands twice is reported by package
// resolve, and the first wins here.
func (s *scope) set(name string, at source.Span, v value.Value) {
	if _, ok := s.names[name]; ok {
		return
	}
	s.names[name] = binding{v, at}
	s.order = append(s.order, name)
}

func (s *scope) lookup(name string) (binding, bool) {
	for ; s != nil; s = s.parent {
		if b, ok := s.names[name]; ok {
			return b, true
		}
		if s.later != nil && s.later(name) {
			return s.names[name], true
		}
	}
	return binding{}, false
}

// sketching returns the sketch that the scope stands in, or nil.
func (s *scope) sketching() *drawing {
	for ; s != nil; s = s.parent {
		if s.drawing != nil {
			return s.drawing
		}
	}
	return nil
}

// visible lists every name that can be used here, inner ones first.
func (s *scope) visible() []string {
	var names []string
	for ; s != nil; s = s.parent {
		for _, n := range append(s.order[:len(s.order):len(s.order)], s.pending...) {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	return names
}

// module is an evaluated file.
type module struct {
	*Module
	scope   *scope
	running bool
	uses    map[string]*module
}

// Kind implements value.Value.
func (*module) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (m *module) What() string {
	return "module " + strings.TrimSuffix(m.Name[strings.LastIndexByte(m.Name, '/')+1:], ".perch")
}

// Member implements value.Object: what the file declares, not what it uses.
func (m *module) Member(name string) (value.Value, bool) {
	b, ok := m.scope.names[name]
	if _, used := b.value.(*module); used {
		return nil, false
	}
	return b.value, ok
}

// Members implements value.Object.
func (m *module) Members() []string {
	var names []string
	for _, n := range m.scope.order {
		if _, used := m.scope.names[n].value.(*module); !used {
			names = append(names, n)
		}
	}
	return names
}
