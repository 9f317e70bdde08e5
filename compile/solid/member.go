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
}

func newEvaluator(f *flat) *evaluator {
	n := len(f.members)
	e := &evaluator{members: f.members, of: make([]int32, len(f.leaves)), val: make([]bool, n), first: make([]bool, n), count: make([]int32, n)}
	for i, m := range f.members {
		if m.op == opLeaf {
			e.of[m.leaf] = int32(i)
		}
	}
	return e
}

// root returns the value of the expression.
func (e *evaluator) root() bool { return e.val[0] }

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
