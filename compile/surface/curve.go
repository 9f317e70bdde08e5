package surface

import (
	"cmp"
	"math"
	"slices"

	"perch/compile/geom"
)

// curves joins crisp edges between the same two faces to runs.
func (f *finder) curves() {
	type key struct{ lo, hi int32 }
	keyOf := func(i int32) key {
		a, b := f.facets[f.edges[i].facets[0]].face, f.facets[f.edges[i].facets[1]].face
		return key{min(a, b), max(a, b)}
	}
	var crisp []int32
	for i := range f.edges {
		if f.edges[i].Crisp {
			crisp = append(crisp, int32(i))
		}
	}
	slices.SortFunc(crisp, func(a, b int32) int {
		x, y := keyOf(a), keyOf(b)
		return cmp.Or(cmp.Compare(x.lo, y.lo), cmp.Compare(x.hi, y.hi), cmp.Compare(a, b))
	})
	for from := 0; from < len(crisp); {
		to := from + 1
		for to < len(crisp) && keyOf(crisp[to]) == keyOf(crisp[from]) {
			to++
		}
		f.chains(crisp[from:to])
		from = to
	}
}

// chains divides the edges between two faces into connected runs.
func (f *finder) chains(edges []int32) {
	at := map[int32][]int32{}
	for _, i := range edges {
		at[f.edges[i].A] = append(at[f.edges[i].A], i)
		at[f.edges[i].B] = append(at[f.edges[i].B], i)
	}
	for _, i := range edges {
		if f.edges[i].Curve >= 0 {
			continue
		}
		id := int32(len(f.runs))
		f.edges[i].Curve = id
		run := []int32{i}
		closed := true
		for k := 0; k < len(run); k++ {
			for _, v := range [2]int32{f.edges[run[k]].A, f.edges[run[k]].B} {
				closed = closed && len(at[v]) == 2
				for _, j := range at[v] {
					if len(at[v]) == 2 && f.edges[j].Curve < 0 {
						f.edges[j].Curve = id
						run = append(run, j)
					}
				}
			}
		}
		f.runs = append(f.runs, f.curve(run, closed))
	}
}

// curve names a run: a straight line, a circle or an arc, or neither.
func (f *finder) curve(run []int32, closed bool) Curve {
	c := Curve{Closed: closed}
	var ps []geom.Vec3
	for _, i := range run {
		a, b := f.m.Vertices[f.edges[i].A], f.m.Vertices[f.edges[i].B]
		ps = append(ps, a, b)
		c.Length += b.Sub(a).Len()
	}
	first := f.along(&f.edges[run[0]])
	turned := geom.Vec3{}
	c.Straight = true
	for _, i := range run {
		w := first.Cross(f.along(&f.edges[i]))
		if w.Len() > flatAngle {
			c.Straight = false
			if w.Len() > turned.Len() {
				turned = w
			}
		}
	}
	if c.Straight {
		c.Axis = first
		return c
	}
	if len(run) < least {
		return c
	}
	axis := turned.Unit()
	u, v := across(axis)
	var fit circleFit
	for _, p := range ps {
		fit.add(geom.Vec2{X: u.Dot(p), Y: v.Dot(p)})
	}
	if !fit.fit() {
		return c
	}
	level := axis.Dot(ps[0])
	for _, p := range ps {
		d := geom.Vec2{X: u.Dot(p), Y: v.Dot(p)}.Sub(fit.c).Len() - fit.r
		if math.Abs(d) > near || math.Abs(axis.Dot(p)-level) > near {
			return c
		}
	}
	c.Radius, c.Axis = fit.r, axis
	c.Centre = u.Scale(fit.c.X).Add(v.Scale(fit.c.Y)).Add(axis.Scale(level))
	return c
}
