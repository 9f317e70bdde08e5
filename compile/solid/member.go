package solid

// evaluator keeps the value of the whole expression while single leaves
// change between outside (false) and inside (true). It starts with every leaf
// outside.
type evaluator struct {
	members []member
	of      []int32 // node of each leaf
	val     []bool
	first   []bool  // of opCut: value of the first argument
	count   []int32 // arguments that hold; of opCut without the first
	works   []bool  // somewhere the value differs from that of the first argument
	fresh   []int32 // nodes that changed since root was last asked
}

func newEvaluator(f *flat) *evaluator {
	n := len(f.members)
	e := &evaluator{members: f.members, of: make([]int32, len(f.leaves)), val: make([]bool, n), first: make([]bool, n), count: make([]int32, n), works: make([]bool, n)}
	for i, m := range f.members {
		if m.op == opLeaf {
			e.of[m.leaf] = int32(i)
		}
	}
	return e
}

// root returns the value of the expression. The leaves then stand as they do
// somewhere in space.
func (e *evaluator) root() bool {
	for _, i := range e.fresh { // the first argument of a node follows it
		e.works[i] = e.works[i] || e.val[i] != e.val[i+1]
	}
	e.fresh = e.fresh[:0]
	return e.val[0]
}

// idle lists the operations that nowhere change their first argument: cuts
// that take nothing away and joins that add nothing. A body that stands in the
// expression several times is idle when all its copies are.
func idle(up, down *evaluator) []*Body {
	works := map[*Body]bool{}
	for i, m := range up.members {
		works[m.body] = works[m.body] || up.works[i] || down.works[i]
	}
	var list []*Body
	for _, m := range up.members {
		if b := m.body; m.op != opLeaf && m.n > 0 && !works[b] {
			works[b] = true
			list = append(list, b)
		}
	}
	return list
}

// toggle changes one leaf.
func (e *evaluator) toggle(leaf int32) {
	i := e.of[leaf]
	v := !e.val[i]
	e.val[i] = v
	for {
		m := &e.members[i]
		p := m.parent
		if p < 0 {
			return
		}
		pm := &e.members[p]
		if !e.works[p] {
			e.fresh = append(e.fresh, p)
		}
		switch {
		case pm.op == opCut && m.first:
			e.first[p] = v
		case v:
			e.count[p]++
		default:
			e.count[p]--
		}
		switch pm.op {
		case opJoin:
			v = e.count[p] > 0
		case opTrim:
			v = e.count[p] == pm.n
		case opCut:
			v = e.first[p] && e.count[p] == 0
		}
		if v == e.val[p] {
			return
		}
		e.val[p] = v
		i = p
	}
}
