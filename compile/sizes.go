package compile

import (
	"slices"

	"perch/compile/check"
	"perch/compile/eval"
	"perch/lang/diag"
)

// gathered makes one message of those that several sizes gave alike. What
// every size of the parts gave is told as if there were no sizes; what single
// ones gave is told of these, and an error then points at their rows.
func gathered(list diag.List, builds []eval.Build) diag.List {
	var out diag.List
	for _, d := range list {
		same := func(o diag.Diagnostic) bool {
			return o.Code == d.Code && o.At == d.At && o.Message == d.Message && slices.Equal(o.Notes, d.Notes)
		}
		i := slices.IndexFunc(out, same)
		switch {
		case i < 0 || len(d.Sizes) == 0 && len(out[i].Sizes) == 0:
			out = append(out, d)
		case len(d.Sizes) == 0 || len(out[i].Sizes) == 0:
			out[i].Sizes = nil
		default:
			out[i].Sizes = append(slices.Clip(out[i].Sizes), d.Sizes...)
		}
	}
	all := map[string]int{} // builds of each part
	of := map[string]eval.Build{}
	for _, b := range builds {
		all[b.Part]++
		of[eval.FullName(b.Part, b.Size)] = b
	}
	for i := range out {
		toRow(&out[i], of, all)
	}
	out.Sort()
	return out
}

// toRow lets an error of single sizes point at the row of the first. Where all
// sizes of a part gave it, the cause is the part.
func toRow(d *diag.Diagnostic, of map[string]eval.Build, all map[string]int) {
	if len(d.Sizes) == 0 {
		return
	}
	b := of[d.Sizes[0]]
	if len(d.Sizes) == all[b.Part] && all[b.Part] > 1 {
		d.Sizes = nil
		return
	}
	if !b.At.Valid() || d.At == b.At {
		return
	}
	if d.Severity == diag.Error && d.Code != check.Failed {
		d.Labels = append([]diag.Label{{At: d.At, Text: "comes out here"}}, d.Labels...)
		d.At = b.At
		return
	}
	d.Labels = append(d.Labels, diag.Label{At: b.At, Text: "in this size"})
}
