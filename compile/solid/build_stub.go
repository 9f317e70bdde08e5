package solid

import (
	"context"
	"errors"

	"perch/compile/mesh"
)

// Options set how a body is built.
type Options struct {
	// Tolerance is the largest distance between a curve and its chords, mm;
	// 0 means DefaultTolerance.
	Tolerance float64
	// Progress, when not nil, is called now and then with a share in 0..1.
	Progress func(done float64)
}

// DefaultTolerance is the chord tolerance in mm when none is given.
const DefaultTolerance = 0.01

var (
	// ErrEmpty says that nothing is left of the body.
	ErrEmpty = errors.New("nothing is left of the body")
	// ErrTooLarge says that a body reaches beyond what the grid holds.
	ErrTooLarge = errors.New("the body is larger than 1.2 m")
)

// Build evaluates the body into a mesh.
func Build(ctx context.Context, b *Body, o Options) (*mesh.Mesh, error) {
	return nil, ErrEmpty
}
