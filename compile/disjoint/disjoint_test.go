package disjoint

import (
	"math/rand/v2"
	"testing"
)

// Against labels that are all rewritten at every union.
func TestSets(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := 1; n < 60; n++ {
		s, label := New(n), make([]int32, n)
		for i := range label {
			label[i] = int32(i)
		}
		for range n {
			a, b := int32(r.IntN(n)), int32(r.IntN(n))
			from, to := max(label[a], label[b]), min(label[a], label[b])
			if name, two := s.Unite(a, b); name != to || two != (from != to) {
				t.Fatalf("%d with %d: set %d, two %v; want %d", a, b, name, two, to)
			}
			for i := range label {
				if label[i] == from {
					label[i] = to
				}
				if s.Of(int32(i)) != label[i] {
					t.Fatalf("%d is in set %d, want %d", i, s.Of(int32(i)), label[i])
				}
			}
		}
	}
	if s := Renew(make(Sets, 9), 4); len(s) != 4 || s.Of(3) != 3 {
		t.Error(s)
	}
}
