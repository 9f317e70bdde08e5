package check

import (
	"context"
	"fmt"
	"sync"

	"perch/compile/builtin"
	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/value"
)

// Workshop is what a check must know of the printer; *workshop.Profile has it.
// Lengths are in mm.
type Workshop interface {
	Bed() geom.Vec3    // what can be printed
	Nozzle() float64   // its bore
	Line() float64     // width of a track
	Layer() float64    // height of a layer
	Bridge() float64   // the longest bridge
	Overhang() float64 // the steepest lean from upright, radians
	Flow() float64     // mean, mm³/s
}

// Mate is a body that is not printed, by its name in the file.
type Mate struct {
	Name string
	Body *value.Body
}

// Lying is a part laid on the bed to be printed.
type Lying struct {
	Mesh   *mesh.Mesh
	Motion geom.Transform // from the part as drawn, keeps lengths
	once   sync.Once
	tree   *mesh.Tree
}

// Finished is a built part. What is costly is done once, when first asked. It
// may be used by several goroutines.
type Finished struct {
	Mesh *mesh.Mesh
	Shop Workshop
	// Lying is how the part lies on the bed; nil for as it is drawn.
	Lying *Lying
	// Material is what the part is printed in.
	Material builtin.Material
	Mates    []Mate
	// Tolerance is the chord tolerance the part was built at, mm; bodies that
	// are not printed are built at the same.
	Tolerance float64
	// Context stops the building of such bodies.
	Context context.Context

	once     sync.Once
	tree     *mesh.Tree
	mu       sync.Mutex
	mates    map[*value.Body]*mated
	answered map[string]*answer
	hangs    map[float64]*hang
}

// hang is what leans more than a limit, worked out when first asked.
type hang struct {
	once sync.Once
	over []mesh.Overhang
}

// overhangs returns what leans more than a limit, in radians, as the part lies
// on the bed: overhang and bridge ask for the same.
func (p *Finished) overhangs(limit float64) []mesh.Overhang {
	p.mu.Lock()
	if p.hangs == nil {
		p.hangs = map[float64]*hang{}
	}
	h := p.hangs[limit]
	if h == nil {
		h = &hang{}
		p.hangs[limit] = h
	}
	p.mu.Unlock()
	h.once.Do(func() { h.over = p.laid().Overhangs(limit, flat, p.chords()) })
	return h.over
}

// answer is what a query found, worked out when first asked.
type answer struct {
	once  sync.Once
	found Finding
}

// Ask puts a query to the part. The same question is worked out once, since a
// measurement that does not change the part asks it again.
func (p *Finished) Ask(q *Query, g *Given) Finding {
	key := fmt.Sprintf("%s %v", q.Name, g.Limit)
	for _, b := range g.Values {
		key += fmt.Sprintf(" %s %p %v %v", b.Word, b.Body, b.Point, b.X.X)
	}
	p.mu.Lock()
	if p.answered == nil {
		p.answered = map[string]*answer{}
	}
	a := p.answered[key]
	if a == nil {
		a = &answer{}
		p.answered[key] = a
	}
	p.mu.Unlock()
	a.once.Do(func() { a.found = q.Find(p, g) })
	return a.found
}

// mated is a body that is not printed, built when first asked for.
type mated struct {
	once sync.Once
	tree *mesh.Tree
	err  error
}

// Tree returns the tree of the mesh.
func (p *Finished) Tree() *mesh.Tree {
	p.once.Do(func() { p.tree = mesh.NewTree(p.Mesh) })
	return p.tree
}

// laid returns the tree of the mesh as it lies on the bed.
func (p *Finished) laid() *mesh.Tree {
	l := p.Lying
	if l == nil {
		return p.Tree()
	}
	l.once.Do(func() { l.tree = mesh.NewTree(l.Mesh) })
	return l.tree
}

// drawn is a point of the part on the bed where the part as drawn has it.
func (p *Finished) drawn(q geom.Vec3) geom.Vec3 {
	if p.Lying == nil {
		return q
	}
	return p.Lying.Motion.Back(q)
}

// drawnBox is the box round a box on the bed, of the part as drawn.
func (p *Finished) drawnBox(b geom.Box) geom.Box {
	if p.Lying == nil || b.Empty() {
		return b
	}
	out := geom.EmptyBox()
	for i := range 8 {
		c := b.Min
		if i&1 != 0 {
			c.X = b.Max.X
		}
		if i&2 != 0 {
			c.Y = b.Max.Y
		}
		if i&4 != 0 {
			c.Z = b.Max.Z
		}
		out.Add(p.drawn(c))
	}
	return out
}

// up is the direction, in the part as drawn, that is up on the bed.
func (p *Finished) up() geom.Vec3 {
	if p.Lying == nil {
		return geom.Vec3{Z: 1}
	}
	return p.Lying.Motion.BackDir(geom.Vec3{Z: 1})
}

// asPrinted is said behind what holds on the bed, where that is not as drawn.
func (p *Finished) asPrinted() string {
	if p.Lying == nil {
		return ""
	}
	return ", as printed"
}

// beyond is how far past the part an endless body is cut off, mm.
const beyond = 20

// mate builds a body that is not printed, once; an endless one is cut off
// beyond the part.
func (p *Finished) mate(b *value.Body) (*mesh.Tree, error) {
	p.mu.Lock()
	if p.mates == nil {
		p.mates = map[*value.Body]*mated{}
	}
	m := p.mates[b]
	if m == nil {
		m = &mated{}
		p.mates[b] = m
	}
	p.mu.Unlock()
	m.once.Do(func() { m.tree, m.err = p.buildMate(b) })
	return m.tree, m.err
}

func (p *Finished) buildMate(b *value.Body) (*mesh.Tree, error) {
	s := b.Solid
	if b.Endless {
		box := p.Mesh.Bounds()
		m := geom.Vec3{X: beyond, Y: beyond, Z: beyond}
		s = solid.Trim(s, solid.Box(box.Min.Sub(m), box.Max.Add(m)))
	}
	ctx := p.Context
	if ctx == nil {
		ctx = context.Background()
	}
	m, err := solid.Build(ctx, s, solid.Options{Tolerance: p.Tolerance})
	if err != nil {
		return nil, err
	}
	return mesh.NewTree(m), nil
}

// flat is how far from the lowest point a face still lies on the bed, mm.
const flat = 0.02
