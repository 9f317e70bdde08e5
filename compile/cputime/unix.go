//go:build unix

package cputime

import (
	"syscall"
	"time"
)

// Used returns the time spent by all threads of the process so far, in user
// and in system mode.
func Used() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		return time.Duration(time.Now().UnixNano())
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}
