package solid

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"perch/compile/geom"
)

// ErrCrossed says that the rings of a profile cross; the message tells where,
// in the coordinates of the profile.
var ErrCrossed = errors.New("the outline crosses itself")

// profiles computes the profile of each shape once a build, however many
// copies of it there are, and refuses one whose rings cross.
type profiles struct {
	tol   float64
	known map[shape]Profile
}

func (p *profiles) of(s shape) (Profile, error) {
	if prof, ok := p.known[s]; ok {
		return prof, nil
	}
	prof, err := s.profile(p.tol)
	if err == nil {
		err = uncrossed(prof)
	}
	if err == nil {
		p.known[s] = prof
	}
	return prof, err
}

// side of a ring, rounded to the grid, from left to right.
type ringSide struct{ ax, ay, bx, by int64 }

// uncrossed returns an error when two sides of the rings cross properly.
// Sides may touch.
func uncrossed(p Profile) error {
	var sides []ringSide
	for _, ring := range p {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			for _, v := range [4]float64{a.X, a.Y, b.X, b.Y} {
				if !(math.Abs(v) < 2*maxCoord/unitsPerMM) {
					return fmt.Errorf("a corner at (%g, %g): %w", a.X, a.Y, ErrTooLarge)
				}
			}
			s := ringSide{gridOf(a.X), gridOf(a.Y), gridOf(b.X), gridOf(b.Y)}
			if s.ax > s.bx {
				s = ringSide{s.bx, s.by, s.ax, s.ay}
			}
			sides = append(sides, s)
		}
	}
	slices.SortFunc(sides, func(s, t ringSide) int {
		return cmp.Or(cmp.Compare(s.ax, t.ax), cmp.Compare(s.ay, t.ay), cmp.Compare(s.bx, t.bx), cmp.Compare(s.by, t.by))
	})
	var active []ringSide
	for _, s := range sides {
		keep := active[:0]
		for _, t := range active {
			if t.bx < s.ax {
				continue
			}
			keep = append(keep, t)
			if s.crosses(t) {
				at := geom.Vec2{X: float64(s.ax+s.bx) / 2 / unitsPerMM, Y: float64(s.ay+s.by) / 2 / unitsPerMM}
				return fmt.Errorf("near (%.4g, %.4g) mm: %w", at.X, at.Y, ErrCrossed)
			}
		}
		active = append(keep, s)
	}
	return nil
}

func gridOf(v float64) int64 { return int64(math.Round(v * unitsPerMM)) }

// crosses reports whether s and t have one common point inside both.
func (s ringSide) crosses(t ringSide) bool {
	if min(s.ay, s.by) > max(t.ay, t.by) || min(t.ay, t.by) > max(s.ay, s.by) {
		return false
	}
	return s.side(t.ax, t.ay)*s.side(t.bx, t.by) < 0 && t.side(s.ax, s.ay)*t.side(s.bx, s.by) < 0
}

// side is exact: coordinates stay below 2^28.
func (s ringSide) side(x, y int64) int {
	return signOf((s.bx-s.ax)*(y-s.ay) - (s.by-s.ay)*(x-s.ax))
}
