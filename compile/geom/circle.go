package geom

import "math"

// Sides returns the number of sides of a circle of radius r whose chords
// leave it by at most tol: max(8, ceil(π / acos(1 - tol/r))).
func Sides(r, tol float64) int {
	if !(tol < r) {
		return 8
	}
	return max(8, int(math.Ceil(math.Pi/math.Acos(1-tol/r)-1e-9)))
}

// FourFold rounds a number of sides up to a multiple of four, so that a
// circle measures its full diameter along both axes.
func FourFold(n int) int { return (n + 3) / 4 * 4 }
