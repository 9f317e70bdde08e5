// Package cputime tells the processor time that the process has used, for
// benchmarks that compare sizes: on a machine with other work to do it is
// steadier than the clock on the wall.
package cputime
