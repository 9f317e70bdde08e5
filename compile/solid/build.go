package solid

import (
	"context"
	"errors"
	"fmt"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// Options set how a body is built.
type Options struct {
	// Tolerance is the largest distance between a curve and its chords, mm;
	// 0 means DefaultTolerance.
	Tolerance float64
	// Progress, when not nil, is called now and then with a share in 0..1.
	Progress func(done float64)
}

// DefaultTolerance is the chord tolerance in mm when none is given.
const DefaultTolerance = 0.01

var (
	// ErrEmpty says that nothing is left of the body.
	ErrEmpty = errors.New("nothing is left of the body")
	// ErrTooLarge says that a body reaches beyond what the grid holds.
	ErrTooLarge = errors.New("the body is larger than 1.3 m")
)

// errOpen says that the surface does not close, which is a fault in this
// package and not in the body.
var errOpen = errors.New("internal: the surface does not close")

// Stats counts what a build did; counts do not depend on the machine.
type Stats struct {
	Leaves, Faces, Touched int
	Points, Planes         int
	Exact                  int // predicates that the float filter left open
	Forced                 int // ears cut without proof, 0 in a sound build
	Sheets                 int // corners doubled where sheets only touch
	// Idle lists the joins, cuts and trims that change nothing of their first
	// argument.
	Idle []*Body
}

// Build evaluates the body into a mesh. It fails when ctx ends, with
// ErrTooLarge, with ErrEmpty, or with the error of an Area.
func Build(ctx context.Context, b *Body, o Options) (*mesh.Mesh, error) {
	m, _, err := BuildStats(ctx, b, o)
	return m, err
}

// BuildStats is Build with counts.
func BuildStats(ctx context.Context, b *Body, o Options) (*mesh.Mesh, Stats, error) {
	var st Stats
	if o.Tolerance == 0 {
		o.Tolerance = DefaultTolerance
	}
	f := flatten(b)
	profiles := &profiles{tol: o.Tolerance, known: map[shape]Profile{}}
	box, err := f.settle(profiles)
	if err != nil {
		return nil, st, err
	}
	c := box.Min.Add(box.Max).Scale(0.5)
	origin := geom.Vec3{X: math.Round(c.X), Y: math.Round(c.Y), Z: math.Round(c.Z)}
	if s := box.Size(); max(s.X, s.Y, s.Z) > 2*(maxCoord/unitsPerMM-2) {
		return nil, st, fmt.Errorf("%.4g x %.4g x %.4g mm: %w", s.X, s.Y, s.Z, ErrTooLarge)
	}
	k, err := f.round(ctx, origin, profiles)
	if err != nil {
		return nil, st, err
	}
	k.findContacts()
	d := &divider{kernel: k, up: newEvaluator(f), down: newEvaluator(f)}
	for i := range k.faces {
		if i&63 == 0 && o.Progress != nil {
			o.Progress(float64(i) / float64(len(k.faces)))
		}
		if k.faces[i].touched {
			st.Touched++
			if err := d.divide(ctx, int32(i)); err != nil {
				return nil, st, err
			}
		}
	}
	rs, ok := k.regions(d.out, k.wholeFaces(d.up))
	st.Idle = idle(d.up, d.down)
	if !ok {
		return nil, st, errOpen
	}
	w := &welder{k: k}
	for r := range rs {
		w.region(&rs[r])
	}
	m, err := w.mesh(func(p geom.Vec3) geom.Vec3 { return f.frame.Apply(p.Add(origin)) })
	st.Leaves, st.Faces, st.Points, st.Planes = len(k.leaves), len(k.faces), len(k.pts), len(k.planes)
	st.Exact, st.Forced, st.Sheets = k.exact, w.forced, w.sheets
	if err != nil {
		return nil, st, err
	}
	removeSlivers(m)
	if len(m.Triangles) == 0 || m.Volume() <= 0 { // what is left is thinner than the grid
		return nil, st, ErrEmpty
	}
	if o.Progress != nil {
		o.Progress(1)
	}
	return m, st, nil
}

// round puts every leaf on the grid. Aligned leaves come first, so that
// leaves at odd angles find their planes.
func (f *flat) round(ctx context.Context, origin geom.Vec3, profiles *profiles) (*kernel, error) {
	k := &kernel{space: newSpace(), buckets: map[int64][]int32{}}
	for i := range f.leaves {
		k.tilted = k.tilted || !aligned(f.leaves[i].t.R)
	}
	order := make([]int32, 0, len(f.leaves))
	for pass := range 2 {
		for i := range f.leaves {
			if aligned(f.leaves[i].t.R) == (pass == 0) {
				order = append(order, int32(i))
			}
		}
	}
	to := make([]int32, len(f.leaves))
	for n, i := range order {
		if n&15 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		l := &f.leaves[i]
		g := &grid{t: l.t, origin: origin}
		prof, err := profiles.of(l.shape)
		if err != nil {
			return nil, err
		}
		if err := l.shape.build(k, g, prof, profiles.tol); err != nil {
			return nil, err
		}
		if len(k.leaves) == n { // nothing of it is left on the grid
			k.closeLeaf(int32(len(k.faces)))
		}
		to[i] = int32(n)
	}
	for i := range f.members {
		if m := &f.members[i]; m.op == opLeaf {
			m.leaf = to[m.leaf]
		}
	}
	return k, nil
}

// wholeFace is an untouched face that bounds the result.
type wholeFace struct {
	face int32
	flip bool // the result lies outside the leaf
}

// wholeFaces returns the untouched faces that bound the result. Neighbouring
// untouched faces share their verdict, so one point decides for all of them.
func (k *kernel) wholeFaces(e *evaluator) []wholeFace {
	var kept []wholeFace
	done := make([]bool, len(k.faces))
	var stack, around []int32
	for f0 := range k.faces {
		if done[f0] || k.faces[f0].touched {
			continue
		}
		done[f0] = true
		stack = append(stack[:0], int32(f0))
		mark := len(kept)
		for len(stack) > 0 {
			f := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			kept = append(kept, wholeFace{face: f})
			for _, c := range k.faces[f].loops {
				if g := c.across; !done[g] && !k.faces[g].touched {
					done[g] = true
					stack = append(stack, g)
				}
			}
		}
		own := k.faces[f0].leaf
		around = around[:0]
		v := k.faces[f0].loops[0].pt
		for _, l := range k.leaves[own].over {
			if k.inLeaf(l, v) == inside {
				around = append(around, l)
				e.toggle(l)
			}
		}
		out := e.root()
		e.toggle(own)
		in := e.root()
		e.toggle(own)
		for _, l := range around {
			e.toggle(l)
		}
		switch {
		case in == out:
			kept = kept[:mark]
		case out:
			for i := mark; i < len(kept); i++ {
				kept[i].flip = true
			}
		}
	}
	return kept
}
