package main

import (
	"math"
	"os"
	"runtime"
	"runtime/debug"
)

// roomy is how much memory a command takes before the first garbage is
// collected, in bytes. Most commands end with less.
const roomy = 192 << 20

// collectLate puts off the collecting of garbage: a short command would spend a
// quarter of its time on it. After the first collection, or where the user has
// set the collector by GOGC or GOMEMLIMIT, it works as always.
func collectLate() {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(roomy)
	first := new([16]byte)
	runtime.AddCleanup(first, func(int) {
		debug.SetGCPercent(100)
		debug.SetMemoryLimit(math.MaxInt64)
	}, 0)
}
