package check

import (
	"fmt"
	"slices"
	"strings"
)

// Caution is what people must know who use a part somewhere.
type Caution struct {
	Word string // after `caution`
	Text string
	// Names make the caution appear by itself: a part, a sketch of its file or a
	// body beside it is called so, or ends so.
	Names []string
	// When makes it appear by itself for what the part is or asks; nil for
	// never.
	When func(s Situation) bool
}

// Cautions lists the places of use that a part can state. The texts are the
// usual cautions of the trade; none of them stands for a standard, and no part
// is certified to any.
var Cautions = []Caution{
	{"optics", "Never look at or image the Sun through a telescope, camera lens or finder without a purpose-made solar filter over the whole front opening: eye damage is instant and painless. What holds such a filter needs two independent retainers. Keep caps on by day: an open tube can focus the Sun on a printed part.",
		[]string{"cap", "cell", "objective", "finder", "hood", "dew_shield", "shield", "front", "lens", "mask", "cover"}, nil},
	{"filter", "The filter goes over the front, never at the eyepiece. Check it for pinholes and damage before each use. It must not be able to fall or blow off: friction alone holds nothing. Cap or remove every finder. ISO 12312-2 covers eyewear and hand viewers without magnification, not filters on telescopes; a printed part is not certified to any standard.",
		[]string{"solar", "sun", "filter_cell", "solar_cell"}, nil},
	{"overhead", "Add a tether. Inspect for cracks before each night.", nil, nil},
	{"moving", "Slew through the whole range by hand, power off, and watch for snags and pinched fingers.",
		[]string{"cable", "cables", "lead", "leads", "comb", "clip", "mount"}, nil},
	{"load", "Not for lifting, climbing, life safety or as the only support of a heavy load. The part is about half as strong, or less, across its layers.",
		[]string{"hook", "handle", "bracket", "arm"}, func(s Situation) bool {
			return s.asks("sag") || s.asks("bending stress") || s.asks("first frequency")
		}},
	{"heat", "This part may creep or soften in the sun or in a parked car.", nil, func(s Situation) bool {
		soft := s.Part.Material.Softens
		return soft.Known() && soft.X-ParkedCar < KeepBelow
	}},
	{"power", "Not an enclosure for mains electricity. Low voltage only, with a fuse at the battery. For anything on the mains follow your local code and leave it to licensed practice.",
		[]string{"battery", "batteries", "power", "charger", "supply"}, nil},
	{"fumes", "Printing this plastic releases ultrafine particles and vapours (styrene from abs and asa). Ventilate.",
		nil, func(s Situation) bool { return s.Part.Material.Fumes }},
}

// A car parked in the sun gets as hot inside, and a part should soften so much
// later, degC and K: common practice.
const (
	ParkedCar = 65
	KeepBelow = 15
)

// Situation is what tells where a part is used.
type Situation struct {
	Part  *Finished
	Names []string // of the part, of its file, of the bodies beside it
	Asked []Result
	Said  []string // the cautions that the file states itself
}

func (s Situation) asks(query string) bool {
	return slices.ContainsFunc(s.Asked, func(r Result) bool { return r.Asked != nil && r.Asked.Name == query })
}

// Appearing returns the cautions that matter for a part and that its file does
// not state itself, with what made each appear.
func Appearing(s Situation) []Caution {
	var out []Caution
	for _, c := range Cautions {
		if slices.Contains(s.Said, c.Word) {
			continue
		}
		if name := c.named(s.Names); name != "" || c.When != nil && c.When(s) {
			out = append(out, c)
		}
	}
	return out
}

// named returns the name that makes the caution appear, or "".
func (c Caution) named(names []string) string {
	for _, n := range names {
		for _, word := range c.Names {
			if n == word || strings.HasSuffix(n, "_"+word) || strings.HasPrefix(n, word+"_") {
				return n
			}
		}
	}
	return ""
}

// Estimates is said with every report.
const Estimates = "Estimates, not test results. Print a test piece."

// HeldBy says what is wrong with how a filter is held, or "": two retainers that
// do not hang on each other are the least, and friction is none.
func HeldBy(retainers int, told bool) string {
	switch {
	case !told:
		return "it does not say how many retainers hold the filter"
	case retainers < 2:
		return fmt.Sprintf("the filter is held by %d retainer besides friction", retainers)
	}
	return ""
}
