package main

import (
	"math"

	"perch/compile"
	"perch/compile/check"
	"perch/lang/diag/render"
)

// facts are what people look at after a save, by the full names of the parts
// in their order.
type facts []fact

type fact struct {
	name   string
	size   [3]float64
	volume float64
	checks []check.Result
}

func factsOf(parts []compile.Part) facts {
	var out facts
	for _, p := range parts {
		s := p.Bounds.Size()
		out = append(out, fact{fullName(p), [3]float64{s.X, s.Y, s.Z}, p.Volume, p.Checks})
	}
	return out
}

func (f facts) find(name string) (fact, bool) {
	for _, p := range f {
		if p.name == name {
			return p, true
		}
	}
	return fact{}, false
}

// since tells what is new against old, in short pieces; nothing when there is
// no old build to compare with.
func (f facts) since(old facts) []string {
	if old == nil {
		return nil
	}
	var out []string
	for _, p := range f {
		was, ok := old.find(p.name)
		if !ok {
			out = append(out, "new part "+render.Clean(p.name))
			continue
		}
		news := p.since(was)
		if len(news) > 0 && len(f) > 1 {
			news[0] = render.Clean(p.name) + " " + news[0]
		}
		out = append(out, news...)
	}
	for _, p := range old {
		if _, ok := f.find(p.name); !ok {
			out = append(out, "no part "+render.Clean(p.name)+" any more")
		}
	}
	return out
}

// Differences below these show no more in what is printed.
const (
	sameLength = 0.005 // mm
	sameShare  = 5e-5  // of a volume
)

func (p fact) since(was fact) []string {
	var out []string
	for i, axis := range []string{"x", "y", "z"} {
		if math.Abs(p.size[i]-was.size[i]) >= sameLength {
			out = append(out, axis+" "+fixed(was.size[i], 2)+" -> "+fixed(p.size[i], 2)+" mm")
		}
	}
	if math.Abs(p.volume-was.volume) > sameShare*was.volume {
		out = append(out, "volume "+volume(was.volume)+" -> "+volume(p.volume))
	}
	for i, c := range p.checks {
		for k, w := range was.checks {
			// The same check may stand twice; then the places decide.
			if c.Text == w.Text && (i == k || len(p.checks) != len(was.checks)) {
				if turned := turned(w, c); turned != "" {
					out = append(out, turned+": "+render.Clean(c.Text))
				}
				break
			}
		}
	}
	return out
}

// turned says how a check changed, or "".
func turned(was, now check.Result) string {
	word := func(r check.Result) string {
		switch {
		case r.Unknown != "":
			return "cannot be told now"
		case r.Pass:
			return "now holds"
		}
		return "now fails"
	}
	if word(was) == word(now) {
		return ""
	}
	return word(now)
}
