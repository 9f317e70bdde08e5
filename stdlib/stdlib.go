// Package stdlib holds the standard modules of the language, written in it:
// tubes, straps, cables and fasteners. `use tube` in a part file reads
// tube.perch.
package stdlib

import "embed"

// Files holds the modules as NAME.perch.
//
//go:embed *.perch
var Files embed.FS
