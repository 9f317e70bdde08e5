package check

import "fmt"

var looseIslands = Query{
	Name: "loose islands", Doc: "the number of places that are begun in the air, with nothing below",
	Formula: "the pieces that begin above the bed and stand alone for more than one layer",
	Source:  "a layer needs something below it", Example: "loose islands = 0",
	Change: "let them stand on something, or turn the part",
	Find: func(p *Finished, _ *Given) Finding {
		list := p.laid().Mesh.Islands(p.Shop.Layer())
		f := Finding{Value: float64(len(list))}
		for _, s := range list {
			w, at := spot(p.drawn(s.At))
			if f.Where == "" {
				f.Where = "one begins " + w
			}
			f.Places = append(f.Places, at...)
		}
		if len(list) > 1 {
			f.Where = fmt.Sprintf("%s, the lowest of %d", f.Where, len(list))
		}
		return f
	},
}
