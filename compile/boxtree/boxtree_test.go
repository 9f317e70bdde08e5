package boxtree

import (
	"math/rand/v2"
	"testing"

	"perch/compile/geom"
)

// scattered returns boxes of many sizes; some have one centre.
func scattered(n int, size float64) []geom.Box {
	r := rand.New(rand.NewPCG(1, uint64(n)))
	boxes := make([]geom.Box, n)
	for i := range boxes {
		c := geom.Vec3{X: 100 * r.Float64(), Y: 40 * r.Float64(), Z: float64(r.IntN(3))}
		if i%7 == 0 {
			c = geom.Vec3{X: 50, Y: 20, Z: 1}
		}
		d := geom.Vec3{X: size * r.Float64(), Y: size * r.Float64(), Z: size * r.Float64()}
		boxes[i] = geom.Box{Min: c.Sub(d), Max: c.Add(d)}
	}
	return boxes
}

// TestPairs compares what the trees find with a look at all pairs.
func TestPairs(t *testing.T) {
	for _, n := range []int{0, 1, 2, 5, 300} {
		a, b := scattered(n, 2), scattered(n+3, 5)
		s, u := New(a), New(b)
		found := map[[2]int32]int{}
		s.Pairs(u, func(i, j int32) bool { found[[2]int32{i, j}]++; return true })
		own := map[[2]int32]int{}
		s.SelfPairs(func(i, j int32) bool { own[[2]int32{min(i, j), max(i, j)}]++; return true })
		for i := range a {
			for j := range b {
				if c := found[[2]int32{int32(i), int32(j)}]; Overlap(&a[i], &b[j]) != (c == 1) || c > 1 {
					t.Errorf("%d: pair %d, %d was found %d times", n, i, j, c)
				}
			}
			for j := range i {
				if c := own[[2]int32{int32(j), int32(i)}]; Overlap(&a[i], &a[j]) != (c == 1) || c > 1 {
					t.Errorf("%d: pair %d, %d of one tree was found %d times", n, j, i, c)
				}
			}
			if own[[2]int32{int32(i), int32(i)}] > 0 {
				t.Errorf("%d: %d was paired with itself", n, i)
			}
		}
	}
}

// TestAt compares what holds a point with a look at all boxes.
func TestAt(t *testing.T) {
	boxes := scattered(400, 10)
	s := New(boxes)
	for i := range boxes {
		p := boxes[i].Max
		want, got := 0, 0
		for j := range boxes {
			if Overlap(&boxes[j], &geom.Box{Min: p, Max: p}) {
				want++
			}
		}
		s.At(p, func(int32) { got++ })
		if got != want {
			t.Errorf("%d boxes hold %v, want %d", got, p, want)
		}
	}
	New(nil).At(geom.Vec3{}, func(int32) { t.Error("nothing holds the point") })
}

// TestStop leaves off at the first pair.
func TestStop(t *testing.T) {
	s := New(scattered(100, 50))
	n := 0
	s.Pairs(s, func(_, _ int32) bool { n++; return false })
	s.SelfPairs(func(_, _ int32) bool { n++; return false })
	if n != 2 {
		t.Errorf("%d calls, want 2", n)
	}
}

// TestNodes looks at the frame of a tree: every node lies in its parent's box,
// and the leaves hold everything once.
func TestNodes(t *testing.T) {
	boxes := scattered(1000, 3)
	s := New(boxes)
	seen := make([]int, len(boxes))
	for i, n := range s.Nodes {
		if n.Left != 0 {
			for _, c := range s.Nodes[n.Left : n.Left+2] {
				if join(c.Box, n.Box) != n.Box || c.From < n.From || c.To > n.To {
					t.Fatalf("node %d does not hold its children", i)
				}
			}
			continue
		}
		if n.To-n.From > leafSize {
			t.Errorf("a leaf of %d", n.To-n.From)
		}
		for _, x := range s.Order[n.From:n.To] {
			seen[x]++
			if join(boxes[x], n.Box) != n.Box {
				t.Fatalf("leaf %d does not hold %d", i, x)
			}
		}
	}
	for x, n := range seen {
		if n != 1 {
			t.Errorf("%d stands in %d leaves", x, n)
		}
	}
}

func BenchmarkNew(b *testing.B) {
	boxes := scattered(100000, 1)
	for b.Loop() {
		New(boxes)
	}
}
