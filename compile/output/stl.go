package output

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"perch/compile/mesh"
)

// stlHeader fills the first of the 80 bytes that open a binary STL; the rest
// are zero. It must not begin with "solid", which marks the text form, and it
// is the only place to say what a length means: the format has no unit.
const stlHeader = "Binary STL written by Perch. All lengths are in millimetres."

// WriteSTL writes m as binary STL: an 80-byte header, the number of triangles
// as uint32, then for each triangle 12 float32 (unit normal, three corners
// counter-clockwise from outside) and a uint16 that is 0, all little-endian;
// 84 + 50·n bytes for n triangles. Source: M. Burns, Automated Fabrication
// (1993), section 6.5.
func WriteSTL(w io.Writer, m *mesh.Mesh) error {
	if uint64(len(m.Triangles)) > math.MaxUint32 {
		return fmt.Errorf("%d triangles are more than an STL file can count", len(m.Triangles))
	}
	points, ts, err := rounded(m)
	if err != nil {
		return err
	}
	b := bufio.NewWriterSize(w, 1<<16)
	var head [84]byte
	copy(head[:80], stlHeader)
	binary.LittleEndian.PutUint32(head[80:], uint32(len(ts)))
	if _, err := b.Write(head[:]); err != nil {
		return err
	}
	var rec [50]byte
	for i, t := range ts {
		// The normal comes from the unrounded corners, so that a sliver that
		// float32 flattens still has one of unit length.
		p, q, r := m.Corners(i)
		n := q.Sub(p).Cross(r.Sub(p)).Unit()
		put := rec[:0]
		for _, x := range [3]float64{n.X, n.Y, n.Z} {
			put = binary.LittleEndian.AppendUint32(put, math.Float32bits(positiveZero(float32(x))))
		}
		for _, v := range t {
			for _, x := range points[v] {
				put = binary.LittleEndian.AppendUint32(put, math.Float32bits(x))
			}
		}
		if _, err := b.Write(rec[:]); err != nil {
			return err
		}
	}
	return b.Flush()
}
