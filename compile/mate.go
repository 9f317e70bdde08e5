package compile

import (
	"context"

	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/compile/value"
)

// Mate is a body that belongs beside a part and is not printed. It is built
// only when asked for.
type Mate struct {
	Name      string
	body      *value.Body
	around    geom.Box
	tolerance float64
}

func (d draft) mates(around geom.Box, tolerance float64) []Mate {
	var out []Mate
	for _, m := range d.mating {
		if m.Body != nil && m.Body.Solid != nil {
			out = append(out, Mate{m.Name, m.Body, around, tolerance})
		}
	}
	return out
}

// beyond is how far past its part an endless body is shown, mm.
const beyond = 20

// Mesh builds the body. An endless one is cut off a little beyond the part.
func (m Mate) Mesh(ctx context.Context) (*mesh.Mesh, error) {
	s := m.body.Solid
	if m.body.Endless {
		room := geom.Vec3{X: beyond, Y: beyond, Z: beyond}
		s = solid.Trim(s, solid.Box(m.around.Min.Sub(room), m.around.Max.Add(room)))
	}
	return solid.Build(ctx, s, solid.Options{Tolerance: m.tolerance})
}
