package compile

import (
	"context"
	"errors"
	"math"
	"testing"

	"perch/compile/geom"
)

// A saddle of 34 on a tube of R 57.4049 with 3 over the crown: its plain
// section is 130.916 mm² (circular segment, handbook formula), so a slice of 3
// mm holds 392.75 mm³, lies flat and keeps its shape.
func TestSlice(t *testing.T) {
	s := New()
	s.Set("saddle.perch", `part saddle {
    mating pipe = cylinder radius 57.4049mm, along y, centre (0, 0, -57.4049mm)
    join box width 34mm, depth 40mm, from z = -4mm to z = 3mm
    cut  pipe
    cut  cylinder diameter 3mm, along z, centre (0, 15mm, 0)
}
`)
	res, err := s.Build(context.Background(), "saddle.perch", Options{})
	if err != nil || res.Diags.HasErrors() {
		t.Fatal(err, res.Diags)
	}
	p := res.Parts[0]
	sl, err := p.Slice(context.Background(), Trial{At: math.NaN(), Thick: 3})
	if err != nil {
		t.Fatal(err)
	}
	// The chords of the tube leave at most 0.01 mm over 34.5 mm.
	if want := 3 * 130.916; sl.Volume < want || sl.Volume > want+3*34.5*0.01 || sl.At != 0 || sl.Across != (geom.Vec3{Y: 1}) {
		t.Errorf("%g mm³ at %g across %v, want %g", sl.Volume, sl.At, sl.Across, want)
	}
	if b := sl.Mesh.Bounds(); math.Abs(b.Min.Z) > 1e-6 || math.Abs(b.Max.Z-3) > 1e-6 {
		t.Errorf("from z = %g to %g", b.Min.Z, b.Max.Z)
	}
	if err := sl.Mesh.Check(); err != nil {
		t.Error(err)
	}
	if _, err := p.Slice(context.Background(), Trial{Across: geom.Vec3{Y: 1}, At: 70, Thick: 3}); !errors.Is(err, ErrNoSlice) {
		t.Error(err)
	}
	if _, err := p.Slice(context.Background(), Trial{To: "camera", At: math.NaN(), Thick: 3}); err == nil {
		t.Error("no error for a body that is not there")
	}
}
