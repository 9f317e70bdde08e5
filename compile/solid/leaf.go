package solid

import "perch/compile/geom"

type poly struct{}

type prism struct {
	area    Area
	z0, z1  float64
	endless bool
}

func (p *prism) polyhedron(tol float64) (poly, error) { return poly{}, nil }
func (p *prism) bounds(tol float64) (geom.Box, error) { return geom.Box{}, nil }

type turned struct {
	area  Area
	angle float64
}

func (p *turned) polyhedron(tol float64) (poly, error) { return poly{}, nil }
func (p *turned) bounds(tol float64) (geom.Box, error) { return geom.Box{}, nil }
