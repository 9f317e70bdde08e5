package check

import "fmt"

var fitsBed = Query{
	Name: "fits bed", Flag: true, Doc: "whether the part fits the printer's bed, either way round",
	Formula: "the extent along x, y and z against the bed, also with x and y exchanged",
	Source:  "the bed of the workshop", Example: "fits bed",
	Change: "divide the part, or turn it",
	Find: func(p *Finished, _ *Given) Finding {
		s, b := p.laid().Mesh.Bounds().Size(), p.Shop.Bed()
		f := Finding{Where: fmt.Sprintf("the part is %.1f x %.1f x %.1f mm, the bed %g x %g x %g mm%s", s.X, s.Y, s.Z, b.X, b.Y, b.Z, p.asPrinted())}
		if s.Z <= b.Z && (s.X <= b.X && s.Y <= b.Y || s.X <= b.Y && s.Y <= b.X) {
			f.Value = 1
		} else {
			f.Places = append(f.Places, placeOf(p.Mesh.Bounds()))
		}
		return f
	},
}
