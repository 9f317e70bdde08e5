package mesh

import (
	"math"

	"perch/compile/geom"
)

// Section returns where a plane cuts the mesh, as closed chains; the inside
// lies to the left when one looks against the normal. The plane goes through
// point, and normal has length 1. A plane that would pass through a corner is
// moved along the normal by so little that no printer resolves it.
func (m *Mesh) Section(point, normal geom.Vec3) [][]geom.Vec3 {
	level := clearOf(m, normal.Dot(point), normal)
	side := make([]bool, len(m.Vertices)) // above the plane
	for i, v := range m.Vertices {
		side[i] = v.Dot(normal) > level
	}
	// Every triangle that is cut leads from one of its edges to another.
	type edge [2]int32
	next := map[edge]edge{}
	var order []edge
	for _, t := range m.Triangles {
		var in, out edge
		cut := false
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			switch e := (edge{min(a, b), max(a, b)}); {
			case side[a] && !side[b]:
				in, cut = e, true
			case !side[a] && side[b]:
				out, cut = e, true
			}
		}
		if cut {
			next[in] = out
			order = append(order, in)
		}
	}
	at := func(e edge) geom.Vec3 {
		a, b := m.Vertices[e[0]], m.Vertices[e[1]]
		p, q := a.Dot(normal)-level, b.Dot(normal)-level
		return a.Add(b.Sub(a).Scale(p / (p - q)))
	}
	var chains [][]geom.Vec3
	for _, e := range order {
		var chain []geom.Vec3
		for {
			to, ok := next[e]
			if !ok {
				break
			}
			delete(next, e)
			chain = append(chain, at(e))
			e = to
		}
		if len(chain) >= 3 {
			chains = append(chains, chain)
		}
	}
	return chains
}

// clearOf moves a level until no corner lies on it.
func clearOf(m *Mesh, level float64, normal geom.Vec3) float64 {
	const step = 1e-6 // mm
	for {
		least := math.Inf(1)
		for _, v := range m.Vertices {
			least = min(least, math.Abs(v.Dot(normal)-level))
		}
		if least > step/10 {
			return level
		}
		level += step
	}
}
