// Package disjoint keeps disjoint sets of the numbers from 0 to n - 1, which
// can be united (union-find with path halving: R. E. Tarjan and J. van Leeuwen,
// Worst-case analysis of set union algorithms, 1984).
package disjoint

// Sets are disjoint sets of numbers, each named by its least.
type Sets []int32

// New returns n sets of one number each.
func New(n int) Sets { return Renew(nil, n) }

// Renew returns n sets of one number each, in the memory of old where that
// suffices.
func Renew(old Sets, n int) Sets {
	if cap(old) < n {
		old = make(Sets, n, n+n/2)
	}
	old = old[:n]
	for i := range old {
		old[i] = int32(i)
	}
	return old
}

// Of returns the name of the set of x.
func (s Sets) Of(x int32) int32 {
	for s[x] != x {
		s[x] = s[s[x]]
		x = s[x]
	}
	return x
}

// Unite makes one set of those of a and b. It returns its name, and whether
// they were two.
func (s Sets) Unite(a, b int32) (name int32, two bool) {
	a, b = s.Of(a), s.Of(b)
	name = min(a, b)
	s[max(a, b)] = name
	return name, a != b
}
