package check

import (
	"fmt"
	"math"

	"perch/lang/unit"
)

var leastTime = Query{
	Name: "least time", Dim: unit.Time, Doc: "a lower bound of the printing time: the solid volume by a mean flow",
	Formula: "time = volume / mean flow",
	Source:  "mass balance; the mean flow of the workshop", Example: "least time <= 90min",
	Change: "make the part smaller or hollow",
	Find: func(p *Finished, _ *Given) Finding {
		return Finding{
			Value: p.Mesh.Volume() / p.Shop.Flow(),
			Where: fmt.Sprintf("printed solid at %g mm3/s; travel, layer changes and heating come on top", p.Shop.Flow()),
		}
	},
}

// strand is the diameter of the filament, mm: the common size.
const strand = 1.75

var filament = Query{
	Name: "filament", Dim: unit.Length, Unit: "m", Doc: "the length of filament in the part, printed solid",
	Formula: "length = volume / (pi/4 d^2) with filament of d = 1.75 mm",
	Source:  "mass balance", Example: "filament <= 20m",
	Change: "make the part smaller or hollow",
	Find: func(p *Finished, _ *Given) Finding {
		return Finding{
			Value: p.Mesh.Volume() / (math.Pi / 4 * strand * strand),
			Where: "of 1.75 mm, printed solid, without purge and skirt",
		}
	},
}
