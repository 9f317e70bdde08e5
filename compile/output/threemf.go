package output

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/xml"
	"hash/crc32"
	"io"
	"strconv"

	"perch/compile/geom"
)

// The parts of a 3MF package. Source: 3MF core specification 1.4.0, sections
// 2 to 4 and appendix C; the package itself follows the Open Packaging
// Conventions (ISO/IEC 29500-2).
const (
	contentTypes = xml.Header + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
 <Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
 <Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
`
	relationships = xml.Header + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
 <Relationship Target="/3D/3dModel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
`
	modelOpen = xml.Header + `<model unit="millimeter" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
`
)

// Write3MF writes the objects as one 3MF package, one object and one build
// item each. The numbers are the shortest that read back as the same float32.
// An object that reaches below 0 along an axis is moved by its build item
// into the positive octant (section 3.1); its own coordinates stay as drawn.
// Nothing in the package depends on the day or the machine.
func Write3MF(w io.Writer, info Info, objects ...Object) error {
	return writePackage(w, info, objects, nil)
}

// Item is one copy of an object on the bed: turned about the z axis by quarter
// turns anticlockwise from above, then moved, in mm.
type Item struct {
	Object   int // its number in the list, from 0
	Quarters int
	Move     geom.Vec3
}

// WritePlate writes the objects as one 3MF package in which every item is a
// build item, so that an object of which there are many copies is stored once.
func WritePlate(w io.Writer, info Info, objects []Object, items []Item) error {
	return writePackage(w, info, objects, items)
}

// writePackage writes the package; without items every object is built once.
func writePackage(w io.Writer, info Info, objects []Object, items []Item) error {
	model, err := model(info, objects, items)
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	for _, part := range []struct {
		name string
		data []byte
	}{
		{"[Content_Types].xml", []byte(contentTypes)},
		{"_rels/.rels", []byte(relationships)},
		{"3D/3dModel.model", model},
	} {
		if err := deflated(z, part.name, part.data); err != nil {
			return err
		}
	}
	return z.Close()
}

// dosEpoch is 1 January 1980, the first day a zip file can hold.
const dosEpoch = 1<<5 | 1

// deflated adds a file whose sizes stand before its data, where the simplest
// readers look for them.
func deflated(z *zip.Writer, name string, data []byte) error {
	var packed bytes.Buffer
	f, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err != nil {
		return err
	}
	if _, err := f.Write(data); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	w, err := z.CreateRaw(&zip.FileHeader{
		Name:               name,
		Method:             zip.Deflate,
		ModifiedDate:       dosEpoch,
		CRC32:              crc32.ChecksumIEEE(data),
		CompressedSize64:   uint64(packed.Len()),
		UncompressedSize64: uint64(len(data)),
	})
	if err != nil {
		return err
	}
	_, err = w.Write(packed.Bytes())
	return err
}

func model(info Info, objects []Object, items []Item) ([]byte, error) {
	b := []byte(modelOpen)
	if len(objects) == 1 {
		b = metadata(b, "Title", objects[0].Name)
	}
	b = metadata(b, "Application", info.Application)
	b = append(b, " <resources>\n"...)
	moves := make([]point, len(objects))
	for i, o := range objects {
		points, ts, err := rounded(o.Mesh)
		if err != nil {
			return nil, err
		}
		for _, p := range points {
			for k, x := range p {
				moves[i][k] = max(moves[i][k], -x)
			}
		}
		b = object(b, i+1, o.Name, points, ts)
	}
	b = append(b, " </resources>\n <build>\n"...)
	if items == nil {
		for i, d := range moves {
			b = item(b, i+1, 0, d)
		}
	}
	for _, it := range items {
		move, err := single(it.Move)
		if err != nil {
			return nil, err
		}
		b = item(b, it.Object+1, it.Quarters, move)
	}
	return append(b, " </build>\n</model>\n"...), nil
}

func metadata(b []byte, name, value string) []byte {
	b = append(b, ` <metadata name="`+name+`">`...)
	return append(escaped(b, value), "</metadata>\n"...)
}

func object(b []byte, id int, name string, points []point, ts [][3]int32) []byte {
	b = append(b, `  <object id="`...)
	b = strconv.AppendInt(b, int64(id), 10)
	b = append(b, `" type="model" name="`...)
	b = escaped(b, name)
	b = append(b, "\">\n   <mesh>\n    <vertices>\n"...)
	for _, p := range points {
		b = append(b, `     <vertex x="`...)
		b = number(b, p[0])
		b = append(b, `" y="`...)
		b = number(b, p[1])
		b = append(b, `" z="`...)
		b = number(b, p[2])
		b = append(b, "\"/>\n"...)
	}
	b = append(b, "    </vertices>\n    <triangles>\n"...)
	for _, t := range ts {
		b = append(b, `     <triangle v1="`...)
		b = strconv.AppendInt(b, int64(t[0]), 10)
		b = append(b, `" v2="`...)
		b = strconv.AppendInt(b, int64(t[1]), 10)
		b = append(b, `" v3="`...)
		b = strconv.AppendInt(b, int64(t[2]), 10)
		b = append(b, "\"/>\n"...)
	}
	return append(b, "    </triangles>\n   </mesh>\n  </object>\n"...)
}

// quarterTurns are the rows of a turn by 0 to 3 quarters; a point is a row
// times them (section 3.3).
var quarterTurns = [4]string{"1 0 0 0 1 0 0 0 1", "0 1 0 -1 0 0 0 0 1", "-1 0 0 0 -1 0 0 0 1", "0 -1 0 1 0 0 0 0 1"}

func item(b []byte, id, quarters int, move point) []byte {
	b = append(b, `  <item objectid="`...)
	b = strconv.AppendInt(b, int64(id), 10)
	if quarters != 0 || move != (point{}) {
		b = append(b, `" transform="`...)
		b = append(b, quarterTurns[quarters]...)
		for _, x := range move {
			b = append(b, ' ')
			b = number(b, x)
		}
	}
	return append(b, "\"/>\n"...)
}

// number appends the shortest decimal that reads back as x.
func number(b []byte, x float32) []byte { return strconv.AppendFloat(b, float64(x), 'g', -1, 32) }

// escaped appends s fit for text and for attribute values. Characters that
// XML cannot hold become U+FFFD.
func escaped(b []byte, s string) []byte {
	var t bytes.Buffer
	_ = xml.EscapeText(&t, []byte(s)) // a bytes.Buffer does not fail
	return append(b, t.Bytes()...)
}
