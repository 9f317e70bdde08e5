package solve

import (
	"context"
	"math"
	"slices"
)

// model is a set of equations over the variables of a part, ready to be
// evaluated: f the misses in mm, rows the sparse rows of J.
type model struct {
	part       *part
	eqs        []int
	cols       [][]int32
	rows       [][]float64
	f          []float64
	weight     []float64 // of each equation, 1 but for a search of the least miss
	fac        *factor   // see factor
	blocks     *blocks   // see constructed
	divided    bool      // blocks was looked for
	placed     bool      // blocks hold the factors at the solution
	full       []float64 // values by variable of the system
	iterations int
	at         []float64 // where f and rows were worked out last; nil for nowhere
	half       float64   // what eval returned there

	rough  bool           // give up where the least miss is near: whether it holds is asked only
	stages map[int]*model // models of the first equations, by their number

	// Where variables are merged: for each variable of a tape its element of
	// the row, -1 for a fixed one, and the derivatives by them.
	slots  [][]int32
	slopes []float64
}

func newModel(p *part, eqs []int) *model {
	if p.run.full == nil {
		p.run.full = slices.Clone(p.run.sys.starts)
	}
	m := &model{part: p, eqs: eqs, f: make([]float64, len(eqs)), weight: make([]float64, len(eqs)), full: p.run.full}
	m.cols, m.rows = make([][]int32, len(eqs)), make([][]float64, len(eqs))
	if p.by != nil {
		m.slots = make([][]int32, len(eqs))
	}
	var colRoom, slotRoom []int32
	var rowRoom []float64
	for i, e := range eqs {
		vars := p.run.eq(e).tape.vars
		m.cols[i] = piece(&colRoom, len(vars), 4*len(eqs))
		if m.slots != nil {
			m.slots[i] = piece(&slotRoom, len(vars), 4*len(eqs))
			m.gather(i, vars)
		} else {
			for j, v := range vars {
				m.cols[i][j] = p.at[v]
			}
		}
		m.rows[i] = piece(&rowRoom, len(m.cols[i]), 4*len(eqs))
		m.weight[i] = 1
	}
	return m
}

// factor returns the factors of the normal matrix, laid out when first needed.
func (m *model) factor() *factor {
	if m.fac == nil {
		m.fac = newFactor(len(m.part.x0), m.cols)
	}
	return m.fac
}

// gather lists the columns of row i, where several variables may share one.
func (m *model) gather(i int, vars []int32) {
	cols := m.cols[i][:0]
	for j, v := range vars {
		c := m.part.at[v]
		if c < 0 {
			m.slots[i][j] = -1
			continue
		}
		at := slices.Index(cols, c)
		if at < 0 {
			at = len(cols)
			cols = append(cols, c)
		}
		m.slots[i][j] = int32(at)
	}
	m.cols[i] = cols
	if len(vars) > len(m.slopes) {
		m.slopes = make([]float64, len(vars))
	}
}

// set gives the variables of the system their values at x.
func (m *model) set(x []float64) {
	p := m.part
	if p.by == nil {
		for i, v := range p.vars {
			m.full[v] = x[i]
		}
		return
	}
	for _, v := range p.vars {
		m.full[v] = float64(p.by[v]*x[p.at[v]]) + p.base[v]
	}
}

// row fills row i with derivatives and returns the residual.
func (m *model) row(i int, t *tape) float64 {
	row := m.rows[i]
	if m.slots == nil {
		return t.gradient(m.full, row)
	}
	g := m.slopes[:len(t.vars)]
	f := t.gradient(m.full, g)
	clear(row)
	for j, s := range m.slots[i] {
		if s >= 0 {
			row[s] += float64(g[j] * m.part.by[t.vars[j]])
		}
	}
	return f
}

// eval fills f and rows at x and returns half the sum of squares.
func (m *model) eval(x []float64) float64 {
	if m.at != nil && slices.Equal(m.at, x) {
		return m.half
	}
	m.at = append(m.at[:0], x...)
	m.set(x)
	sum := 0.0
	for i, e := range m.eqs {
		q := m.part.run.eq(e)
		w := q.scale * m.weight[i]
		m.f[i] = m.row(i, q.tape) * w
		for j := range m.rows[i] {
			m.rows[i][j] *= w
		}
		sum += float64(m.f[i] * m.f[i])
	}
	m.half = sum / 2
	return m.half
}

// misses returns the misses in mm at x, without weights.
func (m *model) misses(x []float64) []float64 {
	m.set(x)
	f := make([]float64, len(m.eqs))
	for i, e := range m.eqs {
		q := m.part.run.eq(e)
		f[i] = q.tape.value(m.full) * q.scale
	}
	return f
}

// downhill returns -Jᵀf.
func (m *model) downhill(g []float64) {
	clear(g)
	for i, c := range m.cols {
		for j, v := range c {
			g[v] -= float64(m.rows[i][j] * m.f[i])
		}
	}
}

func norm(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += float64(x * x)
	}
	return math.Sqrt(s)
}

func maxAbs(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		if a := math.Abs(x); !(a <= s) {
			s = a
		}
	}
	return s
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// find looks for a solution from x0, then by taking in the equations one after
// the other as they are written, then both again from starts shaken by fixed
// amounts. It returns the best point and whether it is a solution.
func (m *model) find(ctx context.Context, x0 []float64) ([]float64, bool) {
	best, ok := m.descend(ctx, x0)
	if ok {
		return best, true
	}
	miss := maxAbs(m.misses(best))
	better := func(x []float64, holds bool) bool {
		if w := maxAbs(m.misses(x)); holds || w < miss {
			best, miss = x, w
		}
		return holds
	}
	throws := min(60, 6000/(len(x0)+1))
	defer func() { m.rough = false }()
	m.rough = true
	if better(m.grow(ctx, x0, throws)) {
		return best, true
	}
	for try, share := range []float64{0.02, 0.05, 0.1, 0.2, 0.02, 0.05, 0.1, 0.2, 0.4} {
		if ctx.Err() != nil || try >= max(2, 9000/(len(x0)+1)) { // large ones are given fewer
			break
		}
		x := m.shaken(x0, share, try)
		if better(m.descend(ctx, x)) || better(m.grow(ctx, x, 0)) {
			return best, true
		}
	}
	return best, false
}

// grow solves the first equations, then some more with them, and so on: a
// drawing is mostly written so that each line places what comes next. Where
// it gets stuck, what is placed so far is thrown about, so that it may come to
// lie on the other side of something, at most so many times.
func (m *model) grow(ctx context.Context, x []float64, throws int) ([]float64, bool) {
	const most, stages = 300, 40 // equations; models that are made
	n := len(m.eqs)
	if n > most || n < 2 {
		return x, false
	}
	thrown := 0
	for k := 1; k <= n; k += max(1, n/stages) {
		first := m.first(k)
		y, ok := first.descend(ctx, x)
		for !ok && thrown < throws && ctx.Err() == nil {
			y, ok = first.descend(ctx, m.shaken(x, 0.6, 1000+thrown))
			thrown++
		}
		if !ok {
			return x, false
		}
		x = y
	}
	return m.descend(ctx, x)
}

// first returns the model of the first equations, made once.
func (m *model) first(k int) *model {
	if m.stages == nil {
		m.stages = map[int]*model{}
	}
	f := m.stages[k]
	if f == nil {
		f = newModel(m.part, m.eqs[:k])
		f.rough = true
		m.stages[k] = f
	}
	return f
}

// shaken returns x moved by up to a share of the size, in a way that is fixed
// for each try.
func (m *model) shaken(x []float64, share float64, try int) []float64 {
	y := slices.Clone(x)
	for i := range y {
		y[i] += float64(share * m.part.size * hashed(try, i))
	}
	return y
}

// hashed returns a fixed number in -1..1 for each try and variable
// (splitmix64, public domain).
func hashed(try, i int) float64 {
	z := uint64(try+1)*0x9E3779B97F4A7C15 + uint64(i+1)*0xD1B54A32D192ED03
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	z ^= z >> 31
	return float64(z>>11)/(1<<52) - 1
}

// descent is a search by Levenberg and Marquardt's damped least squares.
type descent struct {
	*model
	x     []float64
	now   float64 // half the sum of squares at x
	alpha float64 // damping, beside what the misses ask for

	slope, step, trial []float64
}

const hopeless = 1e-3 // mm; a rough search gives up on least misses above

// descend is damped least squares, then full steps of least length until they
// are shorter than stepGoal.
func (m *model) descend(ctx context.Context, x0 []float64) ([]float64, bool) {
	const steps, rest = 200, 1e-7
	n := len(x0)
	room := make([]float64, 4*n)
	d := descent{model: m, x: room[:n], alpha: 1e-2, slope: room[n : 2*n], step: room[2*n : 3*n], trial: room[3*n:]}
	copy(d.x, x0)
	d.now = m.eval(d.x)
	if !finite(d.now) {
		return d.x, false
	}
	near := 1e-2
	for range steps {
		if ctx.Err() != nil {
			return d.x, false
		}
		miss := math.Sqrt(2 * d.now)
		if miss < rest {
			break
		}
		if miss < near {
			if y, ok := m.landed(ctx, d.x); ok {
				return y, true
			}
			near /= 100
			m.eval(d.x)
		}
		moves, stuck := d.advance()
		if stuck {
			return d.x, false
		}
		if !moves {
			break
		}
	}
	if m.eval(d.x); math.Sqrt(2*m.half/float64(len(m.f))) > 10*hopeless {
		return d.x, false
	}
	return m.refine(d.x)
}

// landed looks for the solution beside x by the quick ways.
func (m *model) landed(ctx context.Context, x []float64) ([]float64, bool) {
	if y, ok := m.construct(ctx, x); ok {
		return y, true
	}
	m.eval(x)
	return m.settled(x)
}

// advance takes one damped step. It reports whether that led on, and whether x
// is a least miss and no solution, as far as the search goes.
func (d *descent) advance() (moves, stuck bool) {
	const tries, least = 12, 1e-4 // least: share of the squares that a rough search must gain
	m := d.model
	m.iterations++
	rms := math.Sqrt(2 * d.now / float64(len(m.f)))
	m.factor().load(m.rows)
	m.downhill(d.slope)
	if norm(d.slope) <= 1e-9*norm(m.f) {
		return false, true
	}
	for range tries {
		gain := d.damped(max(1e-13, d.alpha*min(1, 4*rms/m.part.size)))
		if m.rough && rms > hopeless && gain < least*d.now {
			return false, true
		}
		next := m.eval(d.trial)
		if finite(next) && next < d.now {
			if r := (d.now - next) / gain; r > 0.75 {
				d.alpha = max(d.alpha/8, 1e-12)
			} else if r < 0.25 {
				d.alpha = min(d.alpha*4, 1e6)
			}
			stalled := d.now-next < 1e-14*d.now
			d.now = next
			copy(d.x, d.trial)
			return !stalled, false
		}
		d.alpha *= 8
	}
	return false, false
}

// damped puts into trial where the step with damping mu leads, and returns what
// it should gain to first order: ½(pᵀg + μ pᵀp) with g = -Jᵀf.
func (d *descent) damped(mu float64) (gain float64) {
	f := d.model.factor()
	copy(d.step, d.slope)
	f.decompose(mu)
	f.solve(d.step)
	for i, p := range d.step {
		gain += float64(p*d.slope[i]) + float64(float64(mu*p)*p)
		d.trial[i] = d.x[i] + p
	}
	return gain / 2
}

// refine takes steps of least length with hardly any damping. It reports
// whether they come to rest at a solution.
func (m *model) refine(x []float64) ([]float64, bool) { return m.refineBy(x, refineDamping) }

// refineDamping keeps the normal matrix of a drawing with freedoms regular.
const refineDamping = 1e-13

func (m *model) refineBy(x []float64, damping float64) ([]float64, bool) {
	x = slices.Clone(x)
	p := make([]float64, len(x))
	best, bestMiss := slices.Clone(x), math.Inf(1)
	last := math.Inf(1)
	for range 40 {
		m.iterations++
		if !finite(m.eval(x)) {
			break
		}
		miss := maxAbs(m.f)
		if miss <= bestMiss {
			bestMiss = miss
			copy(best, x)
		}
		m.factor().load(m.rows)
		m.downhill(p)
		m.factor().decompose(damping)
		m.factor().solve(p)
		step := maxAbs(p)
		if !(step <= m.part.size) {
			break
		}
		for i := range x {
			x[i] += p[i]
		}
		// Rounding keeps steps from shrinking for ever.
		if step <= stepGoal || step >= last && miss <= 1e-12*m.part.size {
			break
		}
		last = step
	}
	if finite(m.eval(x)) && maxAbs(m.f) <= bestMiss {
		bestMiss = maxAbs(m.f)
		copy(best, x)
	}
	return best, bestMiss <= Accepted && finite(m.eval(best)) && !m.steep()
}

// settled takes steps of least length with one and the same J, which is
// enough where a plain root is near. It reports false where the steps do not
// shrink fast.
func (m *model) settled(x []float64) ([]float64, bool) {
	const rounds, shrink, near = 9, 0.05, 0.002 // near: share of the size
	x = slices.Clone(x)
	p := make([]float64, len(x))
	m.factor().load(m.rows)
	m.factor().decompose(refineDamping)
	last := float64(near * m.part.size)
	for range rounds {
		m.iterations++
		m.downhill(p)
		m.factor().solve(p)
		step := maxAbs(p)
		if !(step <= shrink*last) {
			return x, false
		}
		for i := range x {
			x[i] += p[i]
		}
		if step <= stepGoal {
			return x, finite(m.eval(x)) && maxAbs(m.f) <= Accepted && !m.steep()
		}
		m.shift(x)
		last = step
	}
	return x, false
}

// steep reports whether some miss changes so fast that x stands at a pole, as
// where a line that something touches has shrunk to nothing: no solution,
// though misses beside it may be small.
func (m *model) steep() bool {
	const most = 1e6
	for _, row := range m.rows {
		if !(maxAbs(row) <= most) {
			return true
		}
	}
	return false
}

// shift fills f at x and leaves rows as they are.
func (m *model) shift(x []float64) {
	m.at = nil
	m.set(x)
	for i, e := range m.eqs {
		q := m.part.run.eq(e)
		m.f[i] = q.tape.value(m.full) * q.scale * m.weight[i]
	}
}
