package solid

import "slices"

// halfEdge is one side of an undirected edge lo–hi.
type halfEdge struct {
	lo, hi int32
	id     int32
}

// groupEdges orders half-edges so that those of one edge stand together, by
// ascending id, and calls do for every edge. Points are small numbers, so
// they are dealt to buckets by their lower end first.
func groupEdges(halves []halfEdge, points int, do func(group []halfEdge)) {
	start := make([]int32, points+1)
	for _, h := range halves {
		start[h.lo+1]++
	}
	for i := range points {
		start[i+1] += start[i]
	}
	dealt := make([]halfEdge, len(halves))
	at := slices.Clone(start[:points])
	for _, h := range halves {
		dealt[at[h.lo]] = h
		at[h.lo]++
	}
	for p := range points {
		bucket := dealt[start[p]:start[p+1]]
		// Insertion sort: buckets hold a handful, in order of id already.
		for i := 1; i < len(bucket); i++ {
			for j := i; j > 0 && bucket[j].hi < bucket[j-1].hi; j-- {
				bucket[j], bucket[j-1] = bucket[j-1], bucket[j]
			}
			if i == 64 {
				slices.SortStableFunc(bucket, func(a, b halfEdge) int { return int(a.hi) - int(b.hi) })
				break
			}
		}
		for i := 0; i < len(bucket); {
			j := i + 1
			for j < len(bucket) && bucket[j].hi == bucket[i].hi {
				j++
			}
			do(bucket[i:j])
			i = j
		}
	}
}
