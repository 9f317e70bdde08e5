package solve

import (
	"math"
	"slices"
)

// tape is an expression laid out so that every step comes after its operands.
type tape struct {
	steps    []step
	vars     []int32   // the variables it depends on, ascending
	val, adj []float64 // scratch, which other tapes may share
	tied     []tiedStep
}

type step struct {
	op   op
	a, b int32   // steps of the operands, -1 for none; of opDiff: the second variable and its place
	v    int32   // of opVar, opDiff: the variable
	slot int32   // of opVar, opDiff: its place in vars
	k    float64 // of constants, opLess: the value; of opPow: the exponent
}

// tiedStep is a constant that depends on sources.
type tiedStep struct {
	step int32
	ties []Tie
}

func newTape(e *Expr) *tape { return new(taper).tape(e) }

// taper lays out tapes one after the other with the same scratch space, and
// cuts what they keep from large pieces.
type taper struct {
	steps []step
	vars  []int32
	tied  []tiedStep
	seen  memo[int32]

	room     int // elements of a large piece
	stepRoom []step
	varRoom  []int32
	tapeRoom []tape
	scratch  []float64
}

// piece cuts n elements from room, which grows by at least so many at a time.
func piece[T any](room *[]T, n, least int) []T {
	if n > len(*room) {
		*room = make([]T, max(n, least))
	}
	p := (*room)[:n:n]
	*room = (*room)[n:]
	return p
}

func (b *taper) tape(e *Expr) *tape {
	b.steps, b.vars, b.tied = b.steps[:0], b.vars[:0], nil
	b.seen.reset()
	b.visit(e)
	slices.Sort(b.vars)
	b.vars = slices.Compact(b.vars)
	t := &piece(&b.tapeRoom, 1, b.room/8)[0]
	t.steps, t.vars = piece(&b.stepRoom, len(b.steps), b.room), piece(&b.varRoom, len(b.vars), b.room)
	t.tied = b.tied
	copy(t.steps, b.steps)
	copy(t.vars, b.vars)
	for i := range t.steps {
		switch s := &t.steps[i]; s.op {
		case opVar:
			s.slot = t.slot(s.v)
		case opDiff:
			s.slot, s.b = t.slot(s.v), t.slot(s.a)
		}
	}
	n := len(t.steps)
	if 2*n > len(b.scratch) {
		b.scratch = make([]float64, max(2*n, 64))
	}
	t.val, t.adj = b.scratch[:n], b.scratch[n:2*n]
	return t
}

// slot returns the place of a variable in vars.
func (t *tape) slot(v int32) int32 {
	at, _ := slices.BinarySearch(t.vars, v)
	return int32(at)
}

func (b *taper) visit(e *Expr) int32 {
	if i, ok := b.seen.get(e); ok {
		return i
	}
	s := step{op: e.op, v: e.v, k: e.c, a: -1, b: -1}
	switch {
	case e.op == opSub && e.a.op == opVar && e.b.op == opVar:
		s.op, s.v, s.a = opDiff, e.a.v, e.b.v
		b.vars = append(b.vars, e.a.v, e.b.v)
	case e.op == opSub && e.b.op == opConst && len(e.b.tied) == 0:
		s.op, s.a, s.k = opLess, b.visit(e.a), e.b.c
	default:
		if e.a != nil {
			s.a = b.visit(e.a)
		}
		if e.b != nil {
			s.b = b.visit(e.b)
		}
	}
	i := int32(len(b.steps))
	b.steps = append(b.steps, s)
	b.seen.put(e, i)
	if e.op == opVar {
		b.vars = append(b.vars, e.v)
	}
	if len(e.tied) > 0 {
		b.tied = append(b.tied, tiedStep{i, e.tied})
	}
	return i
}

func (t *tape) value(x []float64) float64 {
	val := t.val
	for i := range t.steps {
		s := &t.steps[i]
		switch s.op {
		case opConst, opSwitch:
			val[i] = s.k
		case opVar:
			val[i] = x[s.v]
		case opDiff:
			val[i] = x[s.v] - x[s.a]
		case opLess:
			val[i] = val[s.a] - s.k
		case opHypot:
			a, b := val[s.a], val[s.b]
			val[i] = math.Sqrt(float64(a*a) + float64(b*b))
		case opAdd:
			val[i] = val[s.a] + val[s.b]
		case opSub:
			val[i] = val[s.a] - val[s.b]
		case opMul:
			val[i] = val[s.a] * val[s.b]
		default:
			var b float64
			if s.b >= 0 {
				b = val[s.b]
			}
			val[i] = apply(s.op, val[s.a], b, s.k)
		}
	}
	return val[len(val)-1]
}

// gradient returns the value at x and fills g with the derivatives by vars:
// one sweep forward, one back.
func (t *tape) gradient(x, g []float64) float64 {
	v := t.value(x)
	clear(t.adj)
	clear(g)
	t.adj[len(t.adj)-1] = 1
	for i := len(t.steps) - 1; i >= 0; i-- {
		w := t.adj[i]
		if w == 0 {
			continue
		}
		s := &t.steps[i]
		switch s.op {
		case opVar:
			g[s.slot] += w
			continue
		case opDiff:
			g[s.slot] += w
			g[s.b] -= w
			continue
		case opLess:
			t.adj[s.a] += w
			continue
		case opAdd:
			t.adj[s.a] += w
			t.adj[s.b] += w
			continue
		case opSub:
			t.adj[s.a] += w
			t.adj[s.b] -= w
			continue
		}
		if s.a < 0 {
			continue
		}
		var b float64
		if s.b >= 0 {
			b = t.val[s.b]
		}
		da, db := slopes(s.op, t.val[s.a], b, t.val[i], s.k)
		t.adj[s.a] += float64(w * da)
		if s.b >= 0 {
			t.adj[s.b] += float64(w * db)
		}
	}
	return v
}

// slopes returns the derivatives of v = apply(o, a, b, c) by a and b.
func slopes(o op, a, b, v, c float64) (da, db float64) {
	switch o {
	case opAdd:
		return 1, 1
	case opSub:
		return 1, -1
	case opMul:
		return b, a
	case opDiv:
		return 1 / b, -v / b
	case opNeg:
		return -1, 0
	case opPow:
		return float64(c * math.Pow(a, c-1)), 0
	case opSqrt:
		return 0.5 / v, 0
	case opSin:
		return math.Cos(a), 0
	case opCos:
		return -math.Sin(a), 0
	case opTan:
		return 1 + float64(v*v), 0
	case opAsin:
		return 1 / math.Sqrt(1-float64(a*a)), 0
	case opAcos:
		return -1 / math.Sqrt(1-float64(a*a)), 0
	case opAtan2:
		if r := float64(a*a) + float64(b*b); r > 0 {
			return b / r, -a / r
		}
	case opHypot:
		if v == 0 {
			return 1, 0
		}
		return a / v, b / v
	case opAbs:
		return math.Copysign(1, a), 0
	case opMin:
		if a <= b {
			return 1, 0
		}
		return 0, 1
	case opMax:
		if a >= b {
			return 1, 0
		}
		return 0, 1
	case opWrap:
		return 1, 0
	}
	return 0, 0
}
