// Package output writes finished meshes to files: binary STL and 3MF. A
// writer gets a mesh that has passed mesh.Check and gives the same bytes for
// the same mesh. WriteFile puts the bytes on disk whole or not at all.
//
// Both formats hold the same points, rounded to float32: STL has nothing
// finer, and many readers of 3MF keep nothing finer. At 100 mm one step of
// float32 is 0.0000076 mm, a thousandth of the chord tolerance.
package output

import (
	"fmt"
	"io"
	"math"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// Format is a kind of mesh file.
type Format string

const (
	// STL is binary STL.
	STL Format = "stl"
	// ThreeMF is the 3MF core format.
	ThreeMF Format = "3mf"
)

// Extension returns the end of the file name, with its dot.
func (f Format) Extension() string { return "." + string(f) }

// Info describes where a file comes from.
type Info struct {
	// Application names the program and its version.
	Application string
}

// Object is one part to be written.
type Object struct {
	Name string
	Mesh *mesh.Mesh
}

// Write writes o to w in the given format. It fails when the mesh cannot be
// held in the format or when w fails.
func Write(w io.Writer, f Format, info Info, o Object) error {
	switch f {
	case STL:
		return WriteSTL(w, o.Mesh)
	case ThreeMF:
		return Write3MF(w, info, o)
	}
	return fmt.Errorf("unknown file format %q; stl and 3mf are known", string(f))
}

// point is a vertex as it is written.
type point [3]float32

// leastStep is the least distance, in mm, by which a point is set aside: far
// below anything a printer resolves, far above the steps of float32 near 0,
// which readers may take for 0.
const leastStep = 0x1p-20

// mostSteps bounds the search for a free place beside a taken one.
const mostSteps = 64

// rounded returns the vertices that triangles use, rounded to float32, and
// the triangles numbered by them.
//
// A file that holds coordinates only (STL) keeps two vertices apart only when
// they differ in float32. Vertices that would fall on one place, because they
// are nearer than a float32 step or because two bodies touch there, are set
// apart by a step or a few: away from each other when they differ at all,
// else towards the middle of their own neighbours. So every triangle keeps
// three different corners and every edge its two triangles. The choice
// depends on the mesh alone.
func rounded(m *mesh.Mesh) ([]point, [][3]int32, error) {
	vs, ts := used(m)
	points := make([]point, len(vs))
	taken := make(map[point]int32, len(vs))
	var clash []int32
	for i, v := range vs {
		p, err := single(v)
		if err != nil {
			return nil, nil, err
		}
		points[i] = p
		if _, ok := taken[p]; ok {
			clash = append(clash, int32(i))
		} else {
			taken[p] = int32(i)
		}
	}
	if len(clash) == 0 {
		return points, ts, nil
	}
	for i, d := range inward(vs, ts, clash) {
		v := clash[i]
		if apart := vs[v].Sub(vs[taken[points[v]]]); apart != (geom.Vec3{}) {
			d = apart
		}
		p, ok := aside(points[v], d, taken)
		if !ok {
			return nil, nil, fmt.Errorf("too many corners lie at (%.6g, %.6g, %.6g) mm to be told apart in a file", vs[v].X, vs[v].Y, vs[v].Z)
		}
		points[v] = p
		taken[p] = v
	}
	return points, ts, nil
}

// used drops vertices that no triangle uses.
func used(m *mesh.Mesh) ([]geom.Vec3, [][3]int32) {
	number := make([]int32, len(m.Vertices))
	for _, t := range m.Triangles {
		for _, v := range t {
			number[v] = 1
		}
	}
	var vs []geom.Vec3
	for i, n := range number {
		if n != 0 {
			number[i] = int32(len(vs))
			vs = append(vs, m.Vertices[i])
		}
	}
	ts := make([][3]int32, len(m.Triangles))
	for i, t := range m.Triangles {
		ts[i] = [3]int32{number[t[0]], number[t[1]], number[t[2]]}
	}
	return vs, ts
}

func single(v geom.Vec3) (point, error) {
	p := point{float32(v.X), float32(v.Y), float32(v.Z)}
	for k, x := range p {
		if x64 := float64(x); math.IsNaN(x64) || math.IsInf(x64, 0) {
			return p, fmt.Errorf("a corner at (%g, %g, %g) mm does not fit into a mesh file", v.X, v.Y, v.Z)
		}
		p[k] = positiveZero(x)
	}
	return p, nil
}

// positiveZero turns minus zero into zero.
func positiveZero(x float32) float32 {
	if x == 0 {
		return 0
	}
	return x
}

// inward returns for each of the listed vertices the way from it to the mean
// of its neighbours.
func inward(vs []geom.Vec3, ts [][3]int32, of []int32) []geom.Vec3 {
	place := make(map[int32]int, len(of))
	for i, v := range of {
		place[v] = i
	}
	sum := make([]geom.Vec3, len(of))
	for _, t := range ts {
		for k, v := range t {
			if i, ok := place[v]; ok {
				sum[i] = sum[i].Add(vs[t[(k+1)%3]].Sub(vs[v])).Add(vs[t[(k+2)%3]].Sub(vs[v]))
			}
		}
	}
	return sum
}

// aside returns a free place near p, first along the axis in which d is
// largest.
func aside(p point, d geom.Vec3, taken map[point]int32) (point, bool) {
	way := [3]float64{d.X, d.Y, d.Z}
	axes := [3]int{0, 1, 2}
	for i := range axes { // largest first; equal ones keep x, y, z
		for k := i + 1; k < 3; k++ {
			if math.Abs(way[axes[k]]) > math.Abs(way[axes[i]]) {
				axes[i], axes[k] = axes[k], axes[i]
			}
		}
	}
	for n := 1; n <= mostSteps; n++ {
		for _, k := range axes {
			q := p
			q[k] = stepped(p[k], n, way[k])
			if _, ok := taken[q]; !ok {
				return q, true
			}
		}
	}
	return p, false
}

// stepped moves x by n steps of float32, none shorter than leastStep.
func stepped(x float32, n int, way float64) float32 {
	step := max(float64(math.Nextafter32(abs32(x), math.MaxFloat32)-abs32(x)), leastStep)
	if way < 0 {
		step = -step
	}
	return float32(float64(x) + float64(float64(n)*step))
}

func abs32(x float32) float32 { return float32(math.Abs(float64(x))) }
