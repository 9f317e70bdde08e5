package solid

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"sync"
	"unsafe"

	"perch/compile/mesh"
)

// Cache keeps finished builds under names, so that a body that was built
// before costs nothing, and one that differs from the last of its name in some
// leaves costs what depends on those. What it returns is the same to the last
// byte as what Build returns, whose checks
// are left to Check. It may be used from several goroutines.
type Cache struct {
	mu    sync.Mutex
	limit int
	kept  []*memo // the one used last at the end
}

// memo is a finished build.
type memo struct {
	name   string
	key    leafKey // of the whole body
	leaves map[leafKey]int
	kernel *kernel
	mesh   *mesh.Mesh
	stats  Stats
	sound  bool // the mesh has passed its checks
	cold   int  // points after the build from nothing
	bytes  int
}

// NewCache returns a cache that holds builds of about limit bytes in all.
func NewCache(limit int) *Cache { return &Cache{limit: limit} }

// Build is Build of the package, going on from the last build under the name.
// Meshes are shared between builds of one body: they must not be changed.
func (c *Cache) Build(ctx context.Context, name string, b *Body, o Options) (*mesh.Mesh, error) {
	m, _, err := c.BuildStats(ctx, name, b, o)
	return m, err
}

// BuildStats is Build with the counts of the build that made the mesh.
func (c *Cache) BuildStats(ctx context.Context, name string, b *Body, o Options) (*mesh.Mesh, Stats, error) {
	p, err := prepare(b, o)
	if err != nil {
		return nil, Stats{}, err
	}
	whole, leaves, err := p.sum()
	if err != nil {
		return nil, Stats{}, err
	}
	old, same := c.take(name, whole, leaves)
	if same {
		p.progress(1)
		st := old.stats
		st.Idle = idle(p.members, st.working)
		return old.mesh, st, nil
	}
	k, cold := newKernel(), 0
	if old != nil {
		k, cold = old.kernel, old.cold
	}
	m, st, err := k.build(ctx, p)
	if err != nil {
		return nil, st, err
	}
	if cold == 0 {
		cold = len(k.pts)
	}
	c.keep(&memo{name: name, key: whole, leaves: leaves, kernel: k, mesh: m, stats: st, cold: cold, bytes: k.bytes()})
	return m, st, nil
}

// Check is m.Check, done once for a mesh that the cache holds.
func (c *Cache) Check(m *mesh.Mesh) error {
	if c.sound(m, false) {
		return nil
	}
	err := m.Check()
	if err == nil {
		c.sound(m, true)
	}
	return err
}

// sound reports whether a mesh has passed its checks; with passed it notes so.
func (c *Cache) sound(m *mesh.Mesh, passed bool) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	i := slices.IndexFunc(c.kept, func(k *memo) bool { return k.mesh == m })
	if i < 0 {
		return false
	}
	c.kept[i].sound = c.kept[i].sound || passed
	return c.kept[i].sound
}

// sum returns the key of the whole body and how often each leaf is in it.
func (p *plan) sum() (whole leafKey, leaves map[leafKey]int, err error) {
	h := sha256.New()
	leaves = map[leafKey]int{}
	known := true
	for i := range p.leaves {
		prof, err := p.profiles.of(p.leaves[i].shape)
		if err != nil {
			return whole, nil, err
		}
		key, err := keyOf(p.leaves[i].shape, &grid{t: p.leaves[i].t, origin: p.origin}, prof, p.profiles.tol)
		if err != nil {
			return whole, nil, err
		}
		p.keys = append(p.keys, key)
		known = known && key != leafKey{}
		leaves[key]++
		h.Write(key[:])
	}
	if known {
		for _, m := range p.members {
			fmt.Fprint(h, m.op, m.parent, m.leaf)
		}
		fmt.Fprint(h, p.frame, p.origin)
		h.Sum(whole[:0])
	}
	return whole, leaves, nil
}

// take hands out the build of the same body, which stays, or else the last
// build under the name, which leaves the cache. A build that shares less than
// half of its leaves is not worth going on from.
func (c *Cache) take(name string, whole leafKey, leaves map[leafKey]int) (m *memo, same bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, m := range c.kept {
		if m.key == whole && whole != (leafKey{}) {
			c.kept = append(slices.Delete(c.kept, i, i+1), m)
			return m, true
		}
	}
	i := slices.IndexFunc(c.kept, func(m *memo) bool { return m.name == name })
	if i < 0 {
		return nil, false
	}
	m = c.kept[i]
	c.kept = slices.Delete(c.kept, i, i+1)
	shared, all := 0, 0
	for key, n := range m.leaves {
		shared += min(n, leaves[key])
		all += n
	}
	if 2*shared < all {
		return nil, false
	}
	return m, false
}

// keep puts a build in, in place of the last of its name, and drops the oldest
// beyond the limit. A build that has grown to twice its first size by what is
// no longer used is not kept.
func (c *Cache) keep(m *memo) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.kept = slices.DeleteFunc(c.kept, func(o *memo) bool { return o.name == m.name })
	if len(m.kernel.pts) > 2*m.cold+1000 {
		return
	}
	c.kept = append(c.kept, m)
	sum := 0
	for _, m := range c.kept {
		sum += m.bytes
	}
	for len(c.kept) > 0 && sum > c.limit {
		sum -= c.kept[0].bytes
		c.kept = slices.Delete(c.kept, 0, 1)
	}
}

// bytes estimates what a kernel holds in memory.
func (k *kernel) bytes() int {
	n := len(k.planes)*int(unsafe.Sizeof(plane{})) + 4*len(k.byPlane.ids) +
		len(k.pts)*int(unsafe.Sizeof(point{})) + len(k.hom)*int(unsafe.Sizeof(homogeneous{})) +
		16*(len(k.triples.vals)+len(k.cells.vals)) + len(k.faces)*int(unsafe.Sizeof(face{}))
	for i := range k.faces {
		n += 8*len(k.faces[i].loops) + 12*len(k.faces[i].cut) + 4*len(k.meets[i])
	}
	for _, r := range k.surfaces {
		if r != nil {
			n += 200 + 12*len(r.tris)
			for _, l := range r.raw {
				n += 60 + 8*len(l)
			}
		}
	}
	return n
}
