// Package mesh holds indexed triangle meshes, what can be measured on them,
// and the checks that every mesh Perch writes must pass.
package mesh

import "perch/compile/geom"

// Mesh is a set of triangles over shared vertices, in millimetres. Triangles
// are counter-clockwise seen from outside.
type Mesh struct {
	Vertices  []geom.Vec3
	Triangles [][3]int32
}
