package compile

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"perch/compile/builtin"
	"perch/compile/check"
	"perch/compile/eval"
	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/unit"
)

// draft is a part that has been worked out and waits to be built.
type draft struct {
	file       string // absolute path
	name, size string
	at         source.Span // its name in the text
	body       *solid.Body
	material   builtin.Material
	assumed    bool
	checks     []check.Check
	mating     []eval.Mating
	steps      []eval.Operation
	operations map[*solid.Body]eval.Operation
	shop       *workshop.Profile
	shifts     []eval.Shift
	said       []string
	turn       *geom.Transform // for the bed, nil for as drawn
}

// fullName names the part and its size in messages.
func (d draft) fullName() string {
	return eval.FullName(d.name, d.size)
}

// slot is the name under which the session keeps what it built.
func (d draft) slot() string { return d.file + " " + d.fullName() }

// made is a built part that waits to be judged.
type made struct {
	mesh    *mesh.Mesh
	stats   solid.Stats
	elapsed time.Duration
	facts   check.Facts
	sound   func() error // tells, when it is known, what is wrong with the mesh
}

// finish builds the drafts, several at a time, and judges them. Parts and
// messages keep the written order whatever ends first. Between the two, shapes
// is told of the parts, when all could be built.
func finish(ctx context.Context, bodies *solid.Cache, drafts []draft, o Options, res *Result, shapes func([]Part)) error {
	type ending struct {
		made  *made
		part  *Part
		diags diag.List
		err   error
	}
	ends := make([]ending, len(drafts))
	each(len(drafts), func(i int) {
		e := &ends[i]
		e.made, e.diags, e.err = drafts[i].make(ctx, bodies, o)
	})
	if shapes != nil && !slices.ContainsFunc(ends, func(e ending) bool { return e.made == nil || e.made.sound() != nil }) {
		parts := make([]Part, len(drafts))
		for i, d := range drafts {
			parts[i] = d.part(ends[i].made, o)
		}
		shapes(parts)
	}
	each(len(drafts), func(i int) {
		if e := &ends[i]; e.made != nil {
			e.part, e.diags, e.err = drafts[i].judge(ctx, bodies, e.made, o)
		}
	})
	for i, e := range ends {
		if e.err != nil {
			return e.err
		}
		for _, f := range e.diags {
			if drafts[i].size != "" {
				f.Sizes = []string{drafts[i].fullName()}
			}
			res.Diags.Add(f)
		}
		if e.part != nil {
			res.Parts = append(res.Parts, *e.part)
		}
	}
	res.Diags = onceOverlapping(res.Diags)
	return nil
}

// each does n pieces of work, as many at a time as there are processors.
func each(n int, do func(i int)) {
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var all sync.WaitGroup
	for i := range n {
		slots <- struct{}{}
		all.Go(func() {
			defer func() { <-slots }()
			do(i)
		})
	}
	all.Wait()
}

// fell makes a diagnostic of a panic in one part, which must not end the others.
func (d draft) fell(l *diag.List, err *error) {
	if r := recover(); r != nil {
		*l, *err = diag.List{internal(r, d.at)}, nil
	}
}

// make builds one part. The error is that of a build that was stopped; what is
// made is nil when the body has faults.
func (d draft) make(ctx context.Context, bodies *solid.Cache, o Options) (out *made, l diag.List, err error) {
	defer d.fell(&l, &err)
	began := time.Now()
	so := solid.Options{Tolerance: o.Tolerance}
	if o.Progress != nil {
		so.Progress = func(share float64) { o.Progress(d.fullName(), share) }
	}
	m, st, err := bodies.BuildStats(ctx, d.slot(), d.body, so)
	if stopped := ctx.Err(); stopped != nil {
		return nil, nil, stopped
	}
	if err != nil {
		return nil, diag.List{d.fault(ctx, err)}, ctx.Err()
	}
	elapsed := time.Since(began)
	sound := inspected(bodies, m)
	return &made{m, st, elapsed, check.Measure(d.finished(ctx, m, d.turn, o)), sound}, nil, nil
}

// judge works out the checks of a built part. The error is that of a build that
// was stopped.
func (d draft) judge(ctx context.Context, bodies *solid.Cache, m *made, o Options) (out *Part, l diag.List, err error) {
	defer d.fell(&l, &err)
	p, f := d.part(m, o), m.facts
	p.Checks, l = check.Run(d.checks, f, d.others(ctx, bodies, f, o))
	overlaps, told := d.overlaps(ctx, bodies, m.mesh)
	l = append(append(d.idle(m.stats.Idle), overlaps...), l...)
	if o.Standard {
		p.Standing = check.Standard(f.Part, p.Checks, told)
		p.Cautions = check.Appearing(check.Situation{Part: f.Part, Names: d.names(), Asked: p.Checks, Said: d.said})
	}
	if stopped := ctx.Err(); stopped != nil {
		return nil, nil, stopped
	}
	if err := m.sound(); err != nil {
		return nil, diag.List{internal(err, d.at)}, nil
	}
	return &p, l, nil
}

// part is the built part without what is judged of it.
func (d draft) part(m *made, o Options) Part {
	f, printed := m.facts, m.mesh
	if f.Part.Lying != nil {
		printed = f.Part.Lying.Mesh
	}
	bounds := m.mesh.Bounds()
	return Part{
		Printed: printed,
		Name:    d.name, Size: d.size, Mesh: m.mesh, Bounds: bounds,
		Volume: f.Volume, Surface: f.Surface, Mass: f.Mass,
		Material: d.material.Name, MaterialAssumed: d.assumed, Cost: float64(f.Mass * d.material.Price.X),
		Elapsed: m.elapsed, Mating: d.mates(bounds, o.Tolerance),
		body: d.body, tolerance: cmp.Or(o.Tolerance, DefaultTolerance),
	}
}

// inspected looks at a mesh while the part is judged, and tells what is wrong
// with it: nothing is written of a part with a mesh that is unfit.
func inspected(bodies *solid.Cache, m *mesh.Mesh) func() error {
	found := make(chan error, 1)
	go func() {
		defer func() {
			if r := recover(); r != nil {
				found <- fmt.Errorf("%v", r)
			}
		}()
		found <- bodies.Check(m)
	}()
	return sync.OnceValue(func() error { return <-found })
}

// names are what tells where the part is used: its own name, that of its file,
// those of the bodies beside it.
func (d draft) names() []string {
	out := []string{d.name, strings.TrimSuffix(filepath.Base(d.file), extension)}
	for _, m := range d.mating {
		out = append(out, m.Name)
	}
	return out
}

// finished is the built part as checks see it.
func (d draft) finished(ctx context.Context, m *mesh.Mesh, turn *geom.Transform, o Options) *check.Finished {
	p := &check.Finished{Mesh: m, Shop: d.shop, Material: d.material, Tolerance: o.Tolerance, Context: ctx}
	if turn != nil {
		p.Lying = &check.Lying{}
		p.Lying.Mesh, p.Lying.Motion = m.Laid(*turn)
	}
	for _, b := range d.mating {
		p.Mates = append(p.Mates, check.Mate{Name: b.Name, Body: b.Body})
	}
	return p
}

func sameTurn(a, b *geom.Transform) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// others are the part with each measurement shifted, built when first asked
// for.
func (d draft) others(ctx context.Context, bodies *solid.Cache, own check.Facts, o Options) []check.Shift {
	other := func(p *eval.Part, slot string) check.Other {
		if p == nil {
			return check.Other{}
		}
		type built struct {
			facts check.Facts
			ok    bool
		}
		once := sync.OnceValue(func() built {
			m, err := bodies.Build(ctx, d.slot()+slot, p.Body, solid.Options{Tolerance: o.Tolerance})
			if err != nil {
				return built{}
			}
			if m == own.Part.Mesh && sameTurn(p.Print, d.turn) { // the measurement is not in the part
				return built{own, true}
			}
			return built{check.Measure(d.finished(ctx, m, p.Print, o)), true}
		})
		return check.Other{Checks: p.Checks, Facts: func() (check.Facts, bool) {
			b := once()
			return b.facts, b.ok
		}}
	}
	out := make([]check.Shift, len(d.shifts))
	for i, s := range d.shifts {
		out[i] = check.Shift{Name: s.Name, Up: other(s.Up, fmt.Sprintf(" shift %d up", i)), Down: other(s.Down, fmt.Sprintf(" shift %d down", i))}
	}
	return out
}

// fault tells why a body could not be built.
func (d draft) fault(ctx context.Context, err error) diag.Diagnostic {
	f := diag.Diagnostic{Code: PartUnbuilt, At: d.at, Message: fmt.Sprintf("part `%s` cannot be built: %v", d.fullName(), err)}
	var v *value.Fault
	switch {
	case errors.Is(err, solid.ErrEmpty):
		return d.empty(ctx)
	case errors.Is(err, solid.ErrTooLarge):
		f.Code = PartTooLarge
		f.Notes = []string{diag.Do("look for a size with a wrong unit, such as m for mm")}
	case errors.As(err, &v):
		f.Code, f.Notes = v.Code, v.Notes
	default:
		f.Notes = []string{diag.Do("build with the steps of the part taken out one by one, from the last, to find the one at fault")}
	}
	return f
}

// empty finds the step that took the last of a part.
func (d draft) empty(ctx context.Context) diag.Diagnostic {
	f := diag.Diagnostic{
		Code: PartEmpty, At: d.at,
		Message: fmt.Sprintf("nothing is left of part `%s`", d.fullName()),
		Notes: []string{
			diag.Why("its cuts and trims take away all that was joined"),
			diag.Do("leave out the last cut or trim, build, and see where the bodies lie"),
		},
	}
	for _, s := range d.steps {
		_, err := solid.Build(ctx, s.Solid, solid.Options{})
		if !errors.Is(err, solid.ErrEmpty) {
			continue
		}
		f.At = s.At
		f.Labels = []diag.Label{{At: d.at, Text: "of this part nothing is left"}}
		switch s.Word {
		case "cut":
			f.Message = fmt.Sprintf("this cut takes away all that is left of part `%s`", d.fullName())
			f.Notes = []string{diag.Why("what was joined before it lies wholly inside what it cuts"), diag.Do("make the cut smaller, or move it")}
		case "trim":
			f.Message = fmt.Sprintf("this trim leaves nothing of part `%s`", d.fullName())
			f.Notes = []string{diag.Why("what was joined before it lies wholly outside the body that it is kept within"), diag.Do("move that body over the part, or make it larger")}
		default:
			f.Message = fmt.Sprintf("this body is empty, so nothing is there of part `%s`", d.fullName())
			f.Notes = []string{diag.Why("it is thinner than what can be built, or takes all of itself away"), diag.Do("look at its sizes, and at what follows `less` and `within` in it")}
		}
		return f
	}
	return f
}

// idle warns of steps that change nothing: the maker meant something by them.
func (d draft) idle(bodies []*solid.Body) diag.List {
	var l diag.List
	for _, b := range bodies {
		o, ok := d.operations[b]
		if !ok {
			continue
		}
		f := diag.Diagnostic{Code: eval.StepIdle, Severity: diag.Warning, At: o.At}
		switch o.Word {
		case "join", "with", "emboss":
			f.Message = fmt.Sprintf("this `%s` adds nothing", o.Word)
			f.Notes = []string{diag.Why("what it adds lies wholly inside what is there already"), diag.Do("move it or make it larger, or take it out")}
		case "cut", "less", "engrave":
			f.Message = fmt.Sprintf("this `%s` takes nothing away", o.Word)
			f.Notes = []string{diag.Why("it does not reach into what is there so far"), diag.Do("look at its place and its direction, and whether it stands before the body it is meant for; or take it out")}
		default:
			f.Message = fmt.Sprintf("this `%s` takes nothing away", o.Word)
			f.Notes = []string{diag.Why("all that is there so far lies inside it"), diag.Do("move it or make it smaller, or take it out")}
		}
		l.Add(f)
	}
	l.Sort()
	return l
}

// Limits of the search for overlaps: parts of more triangles would wait too
// long for it, and what is thinner may come of two curves that are divided
// into chords at different places.
const (
	overlapTriangles = 20000
	overlapThickness = 2 * DefaultTolerance // mm
)

// overlaps warns of mating bodies that the part reaches into: the thing would
// not go there. A mating body that a check speaks of is left to the check. told
// names the bodies that are warned of.
func (d draft) overlaps(ctx context.Context, bodies *solid.Cache, m *mesh.Mesh) (l diag.List, told []string) {
	if len(m.Triangles) > overlapTriangles {
		return nil, nil
	}
	for _, a := range d.mating {
		if a.Checked {
			continue
		}
		both, err := bodies.Build(ctx, d.slot()+" within "+a.Name, solid.Trim(d.body, a.Body.Solid), solid.Options{})
		if err != nil {
			continue
		}
		v := both.Volume()
		if v < overlapThickness*both.Area()/2 {
			continue
		}
		b := both.Bounds()
		told = append(told, a.Name)
		l.Add(diag.Diagnostic{
			Code: MatingOverlap, Severity: diag.Warning, At: a.At,
			Message: fmt.Sprintf("part `%s` reaches into `%s`, which is not printed but there", d.fullName(), a.Name),
			Notes: []string{
				diag.Why(fmt.Sprintf("they share %s, between %s and %s", value.Of(v, unit.Volume), place(b.Min), place(b.Max))),
				diag.Do(fmt.Sprintf("cut it away as the last step: `cut %s`; or, if it is meant to press there, say so: `check interference to %s <= 0.3mm`", a.Name, a.Name)),
			},
			Places: []diag.Place{{b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z}},
		})
	}
	return l, told
}

// onceOverlapping drops the word that a mating body is not used where the part
// reaches into it: both ask for the same step.
func onceOverlapping(l diag.List) diag.List {
	return slices.DeleteFunc(l, func(d diag.Diagnostic) bool {
		return d.Code == "name-unused" && slices.ContainsFunc(l, func(o diag.Diagnostic) bool { return o.Code == MatingOverlap && o.At == d.At })
	})
}

func place(p geom.Vec3) string {
	return fmt.Sprintf("(%s, %s, %s) mm", check.Tenths(p.X), check.Tenths(p.Y), check.Tenths(p.Z))
}
