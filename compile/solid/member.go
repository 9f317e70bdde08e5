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
	holding setSum  // the leaves inside
}

// setSum is the sum of a set of leaves; different sets have different sums as
// far as anyone will see.
type setSum uint64

// flip adds a leaf to the set or takes it out (a random number for each leaf,
// by S. Vigna's SplitMix64, 2015).
func (s *setSum) flip(leaf int32) {
	z := uint64(leaf+1) * 0x9E3779B97F4A7C15
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	*s ^= setSum(z ^ z>>31)
}

// newEvaluator returns an evaluator of the members over leaves numbered below
// leaves.
func newEvaluator(members []member, leaves int) *evaluator {
	n := len(members)
	e := &evaluator{members: members, of: make([]int32, leaves), val: make([]bool, n), first: make([]bool, n), count: make([]int32, n)}
	for i, m := range members {
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
	e.holding.flip(leaf)
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

// working tells for each node of the expression whether its value differs from
// that of its first argument in one of the places that the faces have seen.
func (k *kernel) working() []bool {
	works := make([]bool, len(k.members))
	e := newEvaluator(k.members, len(k.leaves))
	seen := make(map[setSum]bool, len(k.sets))
	k.eachFace(func(_ int32, F *face) {
		for _, s := range F.sets {
			if seen[s] {
				continue
			}
			seen[s] = true
			leaves := k.sets[s]
			for _, l := range leaves {
				e.toggle(l)
			}
			for _, l := range leaves {
				for p := e.members[e.of[l]].parent; p >= 0; p = e.members[p].parent {
					works[p] = works[p] || e.val[p] != e.val[p+1] // the first argument follows
				}
			}
			for _, l := range leaves {
				e.toggle(l)
			}
		}
	})
	return works
}

// idle lists the operations that nowhere change their first argument: cuts
// that take nothing away and joins that add nothing. A body that stands in the
// expression several times is idle when all its copies are.
func idle(members []member, working []bool) []*Body {
	works := map[*Body]bool{}
	for i, m := range members {
		works[m.body] = works[m.body] || working[i]
	}
	var list []*Body
	for _, m := range members {
		if b := m.body; m.op != opLeaf && m.n > 0 && !works[b] {
			works[b] = true
			list = append(list, b)
		}
	}
	return list
}
