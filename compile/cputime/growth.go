package cputime

import "math"

// Growth measures how the processor time of something grows with its size.
type Growth struct {
	Sizes []int // ascending
	Run   func(size int)

	best []float64 // seconds of one run, by size
}

// Measure times every size once more, small ones as many times over as makes
// up the largest size, so that what the collector of garbage takes falls on
// all of them alike. Of each size the best time counts.
func (g *Growth) Measure() {
	if g.best == nil {
		g.best = make([]float64, len(g.Sizes))
	}
	largest := g.Sizes[len(g.Sizes)-1]
	for i, n := range g.Sizes {
		times := max(1, largest/n)
		began := Used()
		for range times {
			g.Run(n)
		}
		if t := (Used() - began).Seconds() / float64(times); g.best[i] == 0 || t < g.best[i] {
			g.best[i] = t
		}
	}
}

// Largest returns the best time for the largest size, in seconds.
func (g *Growth) Largest() float64 { return g.best[len(g.best)-1] }

// Exponent returns the k of time = c·size^k that fits best: the slope of the
// regression of log time on log size.
func (g *Growth) Exponent() float64 {
	var mx, my, sxy, sxx float64
	for i, n := range g.Sizes {
		mx += math.Log(float64(n)) / float64(len(g.Sizes))
		my += math.Log(g.best[i]) / float64(len(g.Sizes))
	}
	for i, n := range g.Sizes {
		x := math.Log(float64(n)) - mx
		sxy += float64(x * (math.Log(g.best[i]) - my))
		sxx += float64(x * x)
	}
	return sxy / sxx
}
