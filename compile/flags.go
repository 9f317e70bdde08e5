package compile

import "strings"

// OptionsOf reads flags as they stand behind `perch check`: --set, --size and
// --all-sizes. It is for the examples of messages, which know no others.
func OptionsOf(flags []string) Options {
	var o Options
	for i := 0; i < len(flags); i++ {
		switch flags[i] {
		case "--all-sizes":
			o.AllSizes = true
		case "--size":
			i++
			o.Sizes = append(o.Sizes, flags[i])
		case "--set":
			i++
			name, value, _ := strings.Cut(flags[i], "=")
			o.Settings = append(o.Settings, Setting{Name: name, Value: value})
		}
	}
	return o
}
