package output

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"perch/compile/geom"
	"perch/compile/mesh"
)

// box returns the block from a to b: 8 vertices, 12 triangles.
func box(a, b geom.Vec3) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		v := a
		if i&1 != 0 {
			v.X = b.X
		}
		if i&2 != 0 {
			v.Y = b.Y
		}
		if i&4 != 0 {
			v.Z = b.Z
		}
		m.Vertices = append(m.Vertices, v)
	}
	for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

func with(a, b *mesh.Mesh) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: slices.Clone(a.Vertices), Triangles: slices.Clone(a.Triangles)}
	n := int32(len(a.Vertices))
	m.Vertices = append(m.Vertices, b.Vertices...)
	for _, t := range b.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{t[0] + n, t[1] + n, t[2] + n})
	}
	return m
}

func stl(t *testing.T, m *mesh.Mesh) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSTL(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// facet is one record of a binary STL.
type facet struct {
	Normal    [3]float32
	Corners   [3]point
	Attribute uint16
}

func facets(t *testing.T, data []byte) []facet {
	t.Helper()
	fs := make([]facet, binary.LittleEndian.Uint32(data[80:]))
	if err := binary.Read(bytes.NewReader(data[84:]), binary.LittleEndian, fs); err != nil {
		t.Fatal(err)
	}
	return fs
}

// read makes a mesh of an STL as a reader must: corners are one vertex when
// their coordinates are equal.
func read(t *testing.T, data []byte) *mesh.Mesh {
	t.Helper()
	m := &mesh.Mesh{}
	at := map[point]int32{}
	for _, f := range facets(t, data) {
		var tri [3]int32
		for k, p := range f.Corners {
			n, ok := at[p]
			if !ok {
				n = int32(len(m.Vertices))
				at[p] = n
				m.Vertices = append(m.Vertices, geom.Vec3{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])})
			}
			tri[k] = n
		}
		m.Triangles = append(m.Triangles, tri)
	}
	return m
}

// Facts of the binary form: M. Burns, Automated Fabrication (1993), section
// 6.5: an 80-byte header, uint32 count, 50 bytes a facet, so 684 bytes for
// the 12 facets of a block; facets counter-clockwise seen from outside, unit
// normals outward, attribute 0; not beginning with "solid".
func TestSTLForm(t *testing.T) {
	m := box(geom.Vec3{X: -5, Y: -2, Z: math.Copysign(0, -1)}, geom.Vec3{X: 5, Y: 2, Z: 3})
	data := stl(t, m)
	if len(data) != 684 {
		t.Fatalf("%d bytes, want 684", len(data))
	}
	if bytes.HasPrefix(data, []byte("solid")) || !bytes.Contains(data[:80], []byte("millimetres")) {
		t.Errorf("header %q", data[:80])
	}
	fs := facets(t, data)
	if len(fs) != 12 {
		t.Fatalf("%d facets", len(fs))
	}
	for i, f := range fs {
		p, q, r := m.Corners(i)
		n := q.Sub(p).Cross(r.Sub(p)).Unit()
		if got := (geom.Vec3{X: float64(f.Normal[0]), Y: float64(f.Normal[1]), Z: float64(f.Normal[2])}); got != n {
			t.Errorf("facet %d: normal %v, want %v", i, got, n)
		}
		if f.Attribute != 0 {
			t.Errorf("facet %d: attribute %d", i, f.Attribute)
		}
	}
	back := read(t, data)
	if err := back.Check(); err != nil {
		t.Error(err)
	}
	if v := back.Volume(); v != 120 {
		t.Errorf("volume %g, want 10·4·3", v)
	}
	if !bytes.Equal(data, stl(t, m)) {
		t.Error("the same mesh gave other bytes")
	}
	for i := 84; i < len(data); i += 50 {
		for k := range 12 {
			if binary.LittleEndian.Uint32(data[i+4*k:]) == 1<<31 {
				t.Fatal("minus zero in the file")
			}
		}
	}
}

// Corners nearer than a float32 step, and corners of two bodies at one place,
// must stay apart in a file that knows corners by their coordinates only.
func TestSTLKeepsCornersApart(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		// At 100 mm float32 (IEEE 754) has steps of 2⁻¹⁷ mm; the thin block
		// is far thinner.
		"thin block": box(geom.Vec3{X: 100}, geom.Vec3{X: 100 + 1e-7, Y: 1, Z: 1}),
		"two blocks on one edge": with(
			box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1}),
			box(geom.Vec3{X: 1, Y: 1}, geom.Vec3{X: 2, Y: 2, Z: 1})),
		"two blocks on one corner": with(
			box(geom.Vec3{X: -1, Y: -1, Z: -1}, geom.Vec3{}),
			box(geom.Vec3{}, geom.Vec3{X: 2, Y: 2, Z: 2})),
		"three in one place": with(with(
			box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1}),
			box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})),
			box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})),
	} {
		t.Run(name, func(t *testing.T) {
			data := stl(t, m)
			back := read(t, data)
			if len(back.Vertices) != len(m.Vertices) {
				t.Fatalf("%d corners, want %d", len(back.Vertices), len(m.Vertices))
			}
			for _, f := range back.Inspect().Faults {
				if f.Kind < mesh.Needle { // the blocks are thin, or cross, as they did
					t.Error(f.Count, f.Kind)
				}
			}
			for i, f := range facets(t, data) {
				n := f.Normal
				l := math.Sqrt(float64(n[0])*float64(n[0]) + float64(n[1])*float64(n[1]) + float64(n[2])*float64(n[2]))
				if math.Abs(l-1) > 1e-6 {
					t.Errorf("facet %d: normal %v", i, n)
				}
			}
			for i, tri := range m.Triangles {
				for k := range 3 {
					d := back.Vertices[back.Triangles[i][k]].Sub(m.Vertices[tri[k]]).Len()
					if d > 3e-5 {
						t.Errorf("a corner went %g mm aside", d)
					}
				}
			}
		})
	}
}

func TestTooManyCornersInOnePlace(t *testing.T) {
	m := &mesh.Mesh{}
	for range 4 * mostSteps {
		m = with(m, box(geom.Vec3{X: -1, Y: -1, Z: -1}, geom.Vec3{}))
	}
	if err := WriteSTL(io.Discard, m); err == nil || !strings.Contains(err.Error(), "too many corners") {
		t.Errorf("got %v", err)
	}
}

func TestCoordinatesOutOfRange(t *testing.T) {
	for _, x := range []float64{1e39, math.Inf(1), math.NaN()} {
		m := box(geom.Vec3{}, geom.Vec3{X: x, Y: 1, Z: 1})
		if err := WriteSTL(io.Discard, m); err == nil || !strings.Contains(err.Error(), "does not fit") {
			t.Errorf("%g: STL: %v", x, err)
		}
		if err := Write3MF(io.Discard, Info{}, Object{"a", m}); err == nil {
			t.Errorf("%g: 3MF: no error", x)
		}
	}
}

// modelFile is what the 3MF core specification 1.4.0 asks of a model part
// (sections 3.4, 4.1, appendix C), as far as Perch writes it.
type modelFile struct {
	XMLName  xml.Name `xml:"http://schemas.microsoft.com/3dmanufacturing/core/2015/02 model"`
	Unit     string   `xml:"unit,attr"`
	Metadata []struct {
		Name string `xml:"name,attr"`
		Text string `xml:",chardata"`
	} `xml:"metadata"`
	Objects []struct {
		ID       int    `xml:"id,attr"`
		Type     string `xml:"type,attr"`
		Name     string `xml:"name,attr"`
		Vertices []struct {
			X float32 `xml:"x,attr"`
			Y float32 `xml:"y,attr"`
			Z float32 `xml:"z,attr"`
		} `xml:"mesh>vertices>vertex"`
		Triangles []struct {
			V1 int32 `xml:"v1,attr"`
			V2 int32 `xml:"v2,attr"`
			V3 int32 `xml:"v3,attr"`
		} `xml:"mesh>triangles>triangle"`
	} `xml:"resources>object"`
	Items []struct {
		ObjectID  int    `xml:"objectid,attr"`
		Transform string `xml:"transform,attr"`
	} `xml:"build>item"`
}

func unpack(t *testing.T, data []byte) (*zip.Reader, modelFile) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var m modelFile
	if err := xml.Unmarshal(part(t, z, "3D/3dModel.model"), &m); err != nil {
		t.Fatal(err)
	}
	return z, m
}

func part(t *testing.T, z *zip.Reader, name string) []byte {
	t.Helper()
	f, err := z.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestThreeMF(t *testing.T) {
	name := `a "b" <c> & ` + "\x1b[31m"
	a := box(geom.Vec3{X: -5, Y: -2, Z: 0.1}, geom.Vec3{X: 5, Y: 2, Z: 3})
	var b bytes.Buffer
	if err := Write3MF(&b, Info{Application: "Perch 1 & more"}, Object{name, a}); err != nil {
		t.Fatal(err)
	}
	z, m := unpack(t, b.Bytes())
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		if f.Flags&8 != 0 {
			t.Errorf("%s: sizes stand behind the data", f.Name)
		}
	}
	if want := []string{"[Content_Types].xml", "_rels/.rels", "3D/3dModel.model"}; !slices.Equal(names, want) {
		t.Errorf("parts %q", names)
	}
	// Content type and relationship type: specification appendix C and 2.1.
	if !bytes.Contains(part(t, z, "[Content_Types].xml"), []byte(`Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"`)) {
		t.Error("content type of the model is missing")
	}
	if !bytes.Contains(part(t, z, "_rels/.rels"), []byte(`Target="/3D/3dModel.model"`)) {
		t.Error("no relationship to the model")
	}
	if m.Unit != "millimeter" {
		t.Errorf("unit %q", m.Unit)
	}
	clean := `a "b" <c> & ` + "\ufffd[31m"
	if len(m.Metadata) != 2 || m.Metadata[0].Name != "Title" || m.Metadata[0].Text != clean ||
		m.Metadata[1].Name != "Application" || m.Metadata[1].Text != "Perch 1 & more" {
		t.Errorf("metadata %+v", m.Metadata)
	}
	if len(m.Objects) != 1 || m.Objects[0].Type != "model" || m.Objects[0].Name != clean {
		t.Fatalf("objects %+v", m.Objects)
	}
	back := &mesh.Mesh{}
	for _, v := range m.Objects[0].Vertices {
		back.Vertices = append(back.Vertices, geom.Vec3{X: float64(v.X), Y: float64(v.Y), Z: float64(v.Z)})
	}
	for _, v := range m.Objects[0].Triangles {
		back.Triangles = append(back.Triangles, [3]int32{v.V1, v.V2, v.V3})
	}
	if err := back.Check(); err != nil {
		t.Error(err)
	}
	for i, v := range back.Vertices {
		if v != mesh.Single(a.Vertices[i]) {
			t.Errorf("vertex %d: %v, want %v to float32", i, v, a.Vertices[i])
		}
	}
	// Positive octant by the build item (section 3.1), rows of 3.3.
	if len(m.Items) != 1 || m.Items[0].ObjectID != m.Objects[0].ID || m.Items[0].Transform != "1 0 0 0 1 0 0 0 1 5 2 0" {
		t.Errorf("items %+v", m.Items)
	}
}

func TestThreeMFSeveralObjects(t *testing.T) {
	a := box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})
	var b bytes.Buffer
	if err := Write3MF(&b, Info{Application: "Perch"}, Object{"one", a}, Object{"two", a}); err != nil {
		t.Fatal(err)
	}
	_, m := unpack(t, b.Bytes())
	if len(m.Objects) != 2 || len(m.Items) != 2 || m.Items[1].ObjectID != m.Objects[1].ID || m.Items[0].Transform != "" {
		t.Errorf("%+v", m.Items)
	}
	if m.Objects[0].ID == m.Objects[1].ID || m.Objects[0].ID < 1 {
		t.Error("object numbers must be different and above 0")
	}
}

// A build item of a plate: a row vector times the rows of the matrix, 3MF core
// specification 1.4.0, section 3.3. The corner (1, 0) of the box goes to (0, 1)
// by one quarter turn, and from there by the move.
func TestThreeMFPlate(t *testing.T) {
	a := box(geom.Vec3{}, geom.Vec3{X: 1, Y: 2, Z: 3})
	var b bytes.Buffer
	items := []Item{{Object: 0, Move: geom.Vec3{X: 4}}, {Object: 1, Quarters: 1, Move: geom.Vec3{X: 10, Y: 20, Z: 0.5}}, {Object: 0}}
	if err := WritePlate(&b, Info{Application: "Perch"}, []Object{{"one", a}, {"two", a}}, items); err != nil {
		t.Fatal(err)
	}
	_, m := unpack(t, b.Bytes())
	if len(m.Objects) != 2 || len(m.Items) != 3 {
		t.Fatalf("%d objects, items %+v", len(m.Objects), m.Items)
	}
	if m.Items[0].Transform != "1 0 0 0 1 0 0 0 1 4 0 0" || m.Items[2].Transform != "" || m.Items[2].ObjectID != m.Objects[0].ID {
		t.Errorf("items %+v", m.Items)
	}
	var r [12]float64
	for i, s := range strings.Fields(m.Items[1].Transform) {
		r[i], _ = strconv.ParseFloat(s, 64)
	}
	p := [3]float64{1, 0, 0}
	var got [3]float64
	for i := range got {
		got[i] = p[0]*r[i] + p[1]*r[3+i] + p[2]*r[6+i] + r[9+i]
	}
	if got != [3]float64{10, 21, 0.5} {
		t.Errorf("(1, 0, 0) goes to %v", got)
	}
}

func TestThreeMFSameBytes(t *testing.T) {
	a := box(geom.Vec3{X: -1. / 3}, geom.Vec3{X: 1, Y: math.Pi, Z: 1e-5})
	var b, c bytes.Buffer
	for _, w := range []io.Writer{&b, &c} {
		if err := Write(w, ThreeMF, Info{Application: "Perch"}, Object{"one", a}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(b.Bytes(), c.Bytes()) {
		t.Error("the same mesh gave other bytes")
	}
}

// The shortest decimal must read back as the same float32.
func TestNumber(t *testing.T) {
	for _, x := range []float32{0, 1, -2.5, 0.1, 1. / 3, 1e-5, 123456.79, math.MaxFloat32, math.SmallestNonzeroFloat32} {
		s := string(number(nil, x))
		y, err := strconv.ParseFloat(s, 32)
		if err != nil || float32(y) != x {
			t.Errorf("%g became %s", x, s)
		}
	}
}

func TestUnknownFormat(t *testing.T) {
	if err := Write(io.Discard, "obj", Info{}, Object{"a", box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})}); err == nil {
		t.Error("no error")
	}
}

// failing takes n bytes and then fails, as a full disk does.
type failing struct{ n int }

var errFull = errors.New("no space left on device")

func (f *failing) Write(p []byte) (int, error) {
	if len(p) > f.n {
		n := f.n
		f.n = 0
		return n, errFull
	}
	f.n -= len(p)
	return len(p), nil
}

func TestWritersReportWriteErrors(t *testing.T) {
	m := box(geom.Vec3{}, geom.Vec3{X: 1, Y: 1, Z: 1})
	for _, f := range []Format{STL, ThreeMF} {
		var whole bytes.Buffer
		if err := Write(&whole, f, Info{}, Object{"a", m}); err != nil {
			t.Fatal(err)
		}
		for n := range whole.Len() {
			if err := Write(&failing{n}, f, Info{}, Object{"a", m}); !errors.Is(err, errFull) {
				t.Fatalf("%s, %d bytes of %d: %v", f, n, whole.Len(), err)
			}
		}
	}
}
