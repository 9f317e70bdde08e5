package sketch

import (
	"context"
	"sync"

	"perch/compile/solve"
)

// following is worked out when first asked for: most measures of a sketch are
// never asked how far they follow the measurements.
type following struct {
	once sync.Once
	of   *solve.Following
}

// Ties returns how the value of an expression at the solution follows the
// sources of the constants that the sketch was drawn with, to first order.
func (v *Solved) Ties(e *solve.Expr) []solve.Tie {
	v.following.once.Do(func() {
		v.following.of = v.sketch.sys.Follow(context.Background(), v.Result)
	})
	return v.following.of.Ties(v.Result, e)
}
