package solid

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

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
	Idle    []*Body
	working []bool // by node of the expression
}

// Build evaluates the body into a mesh. It fails when ctx ends, with
// ErrTooLarge, with ErrEmpty, or with the error of an Area.
func Build(ctx context.Context, b *Body, o Options) (*mesh.Mesh, error) {
	m, _, err := BuildStats(ctx, b, o)
	return m, err
}

// BuildStats is Build with counts.
func BuildStats(ctx context.Context, b *Body, o Options) (*mesh.Mesh, Stats, error) {
	p, err := prepare(b, o)
	if err != nil {
		return nil, Stats{}, err
	}
	return newKernel().build(ctx, p)
}

// plan is a body made ready for the grid.
type plan struct {
	*flat
	profiles *profiles
	origin   geom.Vec3
	keys     []leafKey // of the leaves; empty where nothing will be kept
	progress func(float64)
}

func prepare(b *Body, o Options) (*plan, error) {
	if o.Tolerance == 0 {
		o.Tolerance = DefaultTolerance
	}
	p := &plan{flat: flatten(b), profiles: &profiles{tol: o.Tolerance, known: map[shape]Profile{}}, progress: o.Progress}
	if p.progress == nil {
		p.progress = func(float64) {}
	}
	box, err := p.settle(p.profiles)
	if err != nil {
		return nil, err
	}
	const reach = maxCoord/unitsPerMM - 2
	s := box.Size()
	if max(s.X, s.Y, s.Z) > 2*reach {
		return nil, fmt.Errorf("%.4g x %.4g x %.4g mm: %w", s.X, s.Y, s.Z, ErrTooLarge)
	}
	// The middle of the grid stays where it is while the body grows on one side,
	// so that its leaves stay the same, unless the body needs all of the grid.
	step := 256.0
	if max(s.X, s.Y, s.Z) > 2*reach-step {
		step = 1
	}
	c := box.Min.Add(box.Max).Scale(0.5 / step)
	p.origin = geom.Vec3{X: math.Round(c.X), Y: math.Round(c.Y), Z: math.Round(c.Z)}.Scale(step)
	return p, nil
}

func newKernel() *kernel { return &kernel{space: newSpace(), sets: map[setSum][]int32{}} }

// build makes the mesh of a body, going on from what the kernel holds. After
// an error the kernel is of no more use.
func (k *kernel) build(ctx context.Context, p *plan) (*mesh.Mesh, Stats, error) {
	var st Stats
	fresh, gone, err := k.place(ctx, p)
	if err != nil {
		return nil, st, err
	}
	k.findContacts(fresh)
	if err := k.divideStale(ctx, p.progress, &st); err != nil {
		return nil, st, err
	}
	k.judgeWhole()
	works := k.working()
	st.Idle, st.working = idle(p.members, works), works
	all, ok := k.renewSurfaces(gone)
	if !ok {
		return nil, st, errOpen
	}
	w := &welder{k: k}
	n := 0
	for _, r := range all {
		n += len(r.tris)
	}
	w.tris = make([]weldTri, 0, n)
	for _, r := range all {
		st.Forced += r.forced
		for _, t := range r.tris {
			w.tris = append(w.tris, weldTri{t, r.plane, r.turned})
		}
	}
	m, err := w.mesh(func(v geom.Vec3) geom.Vec3 { return p.frame.Apply(v.Add(p.origin)) })
	st.Leaves, st.Points, st.Planes = len(k.live), len(k.pts), len(k.planes)
	for _, l := range k.live {
		st.Faces += int(k.leaves[l].f1 - k.leaves[l].f0)
	}
	st.Exact, st.Sheets = k.exact, w.sheets
	if err != nil {
		return nil, st, err
	}
	removeSlivers(m)
	if len(m.Triangles) == 0 || m.Volume() <= 0 { // what is left is thinner than the grid
		return nil, st, ErrEmpty
	}
	p.progress(1)
	return m, st, nil
}

// divideStale divides the touched faces that are stale.
func (k *kernel) divideStale(ctx context.Context, progress func(float64), st *Stats) error {
	var todo []int32
	for _, l := range k.live {
		for f := k.leaves[l].f0; f < k.leaves[l].f1; f++ {
			F := &k.faces[f]
			if F.touched {
				st.Touched++
			}
			if F.stale {
				F.cut, F.whole, F.sets = nil, unseen, nil
				if F.touched {
					todo = append(todo, f)
				}
			}
		}
	}
	// Faces that much comes near take long and go first.
	slices.SortStableFunc(todo, func(f, g int32) int {
		const long = 256
		return cmp.Compare(max(long, len(k.meets[g])), max(long, len(k.meets[f])))
	})
	return k.divideAll(ctx, todo, progress)
}

// judgeWhole gives its verdict to every untouched face. Neighbouring untouched
// faces share their verdict, so one point decides for all of them.
func (k *kernel) judgeWhole() {
	e := newEvaluator(k.members, len(k.leaves))
	done := make([]bool, len(k.faces))
	k.eachFace(func(f int32, F *face) { done[f] = F.touched })
	var patch []int32
	for _, l := range k.live {
		for f0 := k.leaves[l].f0; f0 < k.leaves[l].f1; f0++ {
			if done[f0] {
				continue
			}
			done[f0] = true
			patch = append(patch[:0], f0)
			known := true
			for n := 0; n < len(patch); n++ {
				F := &k.faces[patch[n]]
				known = known && F.whole != unseen
				for _, c := range F.loops {
					if g := c.across; !done[g] {
						done[g] = true
						patch = append(patch, g)
					}
				}
			}
			if known {
				continue
			}
			v, sets := k.judge(e, f0)
			for _, f := range patch {
				F := &k.faces[f]
				F.stale = F.stale || F.whole != v
				F.whole, F.sets = v, sets
			}
		}
	}
}

// judge tells whether an untouched face bounds the result, and which leaves
// hold the space beside it.
func (k *kernel) judge(e *evaluator, f int32) (verdict, []setSum) {
	var around []int32
	own := k.faces[f].leaf
	v := k.faces[f].loops[0].pt
	for _, l := range k.leaves[own].over {
		if k.inLeaf(l, v) == inside {
			around = append(around, l)
			e.toggle(l)
		}
	}
	out, outer := e.root(), e.holding
	e.toggle(own)
	in, inner := e.root(), e.holding
	e.toggle(own)
	sets := []setSum{outer, inner}
	k.sets[outer], k.sets[inner] = around, append(slices.Clone(around), own)
	for _, l := range around {
		e.toggle(l)
	}
	switch {
	case in == out:
		return dropped, sets
	case out:
		return flipped, sets
	}
	return kept, sets
}

// renewSurfaces makes the regions anew in every plane that has a stale face or
// a face of a leaf that is gone. It returns all regions, in the order of the
// faces that they begin with, and false when the edges of one do not close.
func (k *kernel) renewSurfaces(gone []int32) ([]*region, bool) {
	k.surfaces = append(k.surfaces, make([]*region, 2*len(k.planes)-len(k.surfaces))...)
	stale := make([]bool, len(k.planes))
	for _, l := range gone {
		for f := k.leaves[l].f0; f < k.leaves[l].f1; f++ {
			stale[k.faces[f].plane] = true
		}
	}
	k.eachFace(func(_ int32, F *face) {
		stale[F.plane] = stale[F.plane] || F.stale
		F.stale = false
	})
	var memory [mostWorkers]shelf
	made := k.outlines(stale, &memory)
	k.keepSlits(made)
	open := make([]bool, len(made))
	edges := func(i int) int { return len(made[i].edges) }
	k.sharesBySize(len(made), few, edges, func(k *kernel, _, i int) {
		if r := made[i]; r.raw == nil && len(r.edges) > 0 {
			open[i] = !k.trace(r)
		}
	})
	traced := made[:0]
	for i, r := range made {
		switch {
		case open[i]:
			return nil, false
		case r.raw == nil: // all of it lay inside
			k.surfaces[2*r.plane+k.sideOf(r.turned)] = nil
		default:
			traced = append(traced, r)
		}
	}
	all := k.allRegions()
	k.dropStraight(traced, all, &memory[0])
	var cutters [mostWorkers]triangulator
	corners := func(i int) (n int) {
		for _, l := range traced[i].loops {
			n += len(l)
		}
		return n
	}
	k.sharesBySize(len(traced), few, corners, func(k *kernel, w, i int) {
		k.arrangeLoops(traced[i].loops)
		k.triangulate(traced[i], &cutters[w], &memory[w])
	})
	return all, true
}

// eachFace calls do for the faces of the body in order.
func (k *kernel) eachFace(do func(f int32, F *face)) {
	for _, l := range k.live {
		for f := k.leaves[l].f0; f < k.leaves[l].f1; f++ {
			do(f, &k.faces[f])
		}
	}
}

// outlines makes the regions of the planes marked, without their loops.
func (k *kernel) outlines(stale []bool, memory *[mostWorkers]shelf) []*region {
	start := make([]int32, len(k.planes)+1)
	parts := func(f *face) bool { return stale[f.plane] && (len(f.cut) > 0 || f.whole >= kept) }
	k.eachFace(func(_ int32, F *face) {
		if parts(F) {
			start[F.plane+1]++
		}
	})
	for p := range k.planes {
		start[p+1] += start[p]
	}
	of := make([]int32, start[len(k.planes)])
	at := append([]int32(nil), start...)
	k.eachFace(func(f int32, F *face) {
		if parts(F) {
			of[at[F.plane]] = f
			at[F.plane]++
		}
	})
	var planes []int32
	for p := range k.planes {
		if stale[p] {
			planes = append(planes, int32(p))
		}
	}
	edges := func(i int) (n int) {
		for _, f := range of[start[planes[i]]:start[planes[i]+1]] {
			n += len(k.faces[f].cut) + len(k.faces[f].loops)
		}
		return n
	}
	k.sharesBySize(len(planes), few, edges, func(k *kernel, w, i int) {
		p := planes[i]
		k.outline(p, of[start[p]:start[p+1]], &memory[w])
	})
	made := make([]*region, 0, len(planes))
	for _, p := range planes {
		for _, r := range k.surfaces[2*p : 2*p+2] {
			if r != nil {
				made = append(made, r)
			}
		}
	}
	return made
}

// allRegions lists the regions of the body in the order of the faces that they
// begin with.
func (k *kernel) allRegions() []*region {
	n := 0
	for _, r := range k.surfaces {
		if r != nil {
			n++
		}
	}
	all := make([]*region, 0, n)
	k.eachFace(func(f int32, F *face) {
		for _, r := range k.surfaces[2*F.plane : 2*F.plane+2] {
			if r != nil && r.first == f {
				all = append(all, r)
			}
		}
	})
	return all
}
