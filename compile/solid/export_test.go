package solid

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"perch/compile/mesh"
)

var export = flag.String("export", "", "folder to write the cases to, for comparison with another library")

type exported struct {
	Name         string         `json:"name"`
	Leaves       []exportedLeaf `json:"leaves"`
	Tree         any            `json:"tree"`
	Volume, Area float64
	Genus        int
	Triangles    int
	Seconds      float64       // median of the builds, from the expression to the mesh
	Mesh         *exportedMesh `json:"mesh,omitempty"`
}

type exportedMesh struct {
	Vertices  [][3]float64 `json:"vertices,omitempty"`
	Triangles [][3]int32   `json:"triangles,omitempty"`
}

func exportMesh(m *mesh.Mesh) exportedMesh {
	e := exportedMesh{Triangles: m.Triangles}
	for _, v := range m.Vertices {
		e.Vertices = append(e.Vertices, [3]float64{v.X, v.Y, v.Z})
	}
	return e
}

// exportedLeaf is a prism (rings, z0, z1) or a ready mesh, with its placement
// by rows.
type exportedLeaf struct {
	Rings [][][2]float64 `json:"rings,omitempty"`
	Z0    float64        `json:"z0"`
	Z1    float64        `json:"z1"`
	exportedMesh
	M [12]float64 `json:"m"`
}

func exportBody(t *testing.T, name string, b *Body, tol float64) exported {
	x := exported{Name: name}
	f := flatten(b)
	prof := &profiles{tol: tol, known: map[shape]Profile{}}
	if _, err := f.settle(prof); err != nil {
		t.Fatal(err)
	}
	for _, l := range f.leaves {
		m := l.t.Then(f.frame)
		e := exportedLeaf{M: [12]float64{
			m.R[0].X, m.R[0].Y, m.R[0].Z, m.T.X, m.R[1].X, m.R[1].Y, m.R[1].Z, m.T.Y, m.R[2].X, m.R[2].Y, m.R[2].Z, m.T.Z}}
		if p, ok := l.shape.(*prism); ok {
			rings, _ := prof.of(p)
			e.Z0, e.Z1 = p.z0, p.z1
			for _, r := range rings {
				var ring [][2]float64
				for _, v := range r {
					ring = append(ring, [2]float64{v.X, v.Y})
				}
				e.Rings = append(e.Rings, ring)
			}
		} else {
			m, _ := build(t, leafBody(l.shape), tol)
			e.exportedMesh = exportMesh(m)
		}
		x.Leaves = append(x.Leaves, e)
	}
	var tree func(i int) any
	tree = func(i int) any {
		m := f.members[i]
		if m.op == opLeaf {
			return m.leaf
		}
		var args []any
		for j := range f.members {
			if f.members[j].parent == int32(i) {
				args = append(args, tree(j))
			}
		}
		return map[string]any{"op": []string{"join", "cut", "trim"}[m.op], "args": args}
	}
	x.Tree = tree(0)
	return x
}

// timed fills in what this package makes of a body, built once to warm up and
// then several times, small bodies more often. The garbage of what was built
// before is not its own.
func (x *exported) timed(t *testing.T, b *Body, tol float64) {
	m, err := Build(context.Background(), b, Options{Tolerance: tol})
	if err == nil {
		err = m.Check()
	}
	if err != nil {
		t.Fatal(err)
	}
	x.result(m)
	runtime.GC()
	var times []float64
	for rounds := 21; len(times) < rounds; {
		start := time.Now()
		if _, err := Build(context.Background(), b, Options{Tolerance: tol}); err != nil {
			t.Fatal(err)
		}
		times = append(times, time.Since(start).Seconds())
		if times[0] > 0.1 {
			rounds = 7
		}
	}
	x.Seconds = median(times)
}

func (x *exported) result(m *mesh.Mesh) {
	x.Volume, x.Area, x.Genus, x.Triangles = m.Volume(), m.Area(), m.Genus(), len(m.Triangles)
}

func median(v []float64) float64 {
	s := append([]float64(nil), v...)
	for i := range s {
		for j := i; j > 0 && s[j] < s[j-1]; j-- {
			s[j], s[j-1] = s[j-1], s[j]
		}
	}
	return s[len(s)/2]
}

// TestExport writes the reference cases and -trees random trees, each with
// what this package makes of it, when -export names a folder: NAME.json for a
// case, and the trees one a line, dealt to trees-0.jsonl and trees-1.jsonl.
func TestExport(t *testing.T) {
	if *export == "" {
		return
	}
	for _, c := range []struct {
		name string
		body *Body
	}{
		{"A", caseA()}, {"A2", caseA2()}, {"B", caseB()}, {"C", casePlate(20, -1, 5)}, {"C2", casePlate(20, 0, 4)},
		{"D", caseD()}, {"D2", caseD().Placed(turnZ(37))}, {"E", caseE()},
	} {
		x := exportBody(t, c.name, c.body, 0.01)
		x.timed(t, c.body, 0.01)
		data, err := json.Marshal(x)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*export, x.Name+".json"), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	inParallel(2, func(part int) { exportTrees(t, part, 2) })
}

// exportTrees writes the trees whose number leaves part when divided by parts.
func exportTrees(t *testing.T, part, parts int) {
	f, err := os.Create(filepath.Join(*export, fmt.Sprintf("trees-%d.jsonl", part)))
	if err != nil {
		t.Error(err)
		return
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	line := json.NewEncoder(w)
	r := rand.New(rand.NewPCG(*treeSeed, 3))
	for n := range *trees {
		b := randomTree(r, 1+r.IntN(2), n%2 == 1)
		if n%parts != part {
			continue
		}
		m, err := checked(b)
		if err != nil {
			t.Errorf("seed %d tree %d: %v", *treeSeed, n, err)
			return
		}
		x := exportBody(t, fmt.Sprintf("tree-%d", n), b, treeTolerance)
		x.result(m)
		e := exportMesh(m)
		x.Mesh = &e
		if err := line.Encode(x); err != nil {
			t.Error(err)
			return
		}
	}
	if err := w.Flush(); err != nil {
		t.Error(err)
	}
}
