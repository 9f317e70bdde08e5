package main

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"golang.org/x/term"

	"perch/lang/diag/render"
)

// A build that takes longer than patience shows how far it is, then as often
// as beat.
const (
	patience = time.Second
	beat     = 100 * time.Millisecond
)

func isTerminal(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }

// widest is the most columns that messages are spread over: longer lines are
// hard to read.
const widest = 100

// columns returns how wide a terminal is, up to what is read with ease; 0 when
// it is none.
func columns(f *os.File, live bool) int {
	if !live {
		return 0
	}
	w, _, err := term.GetSize(int(f.Fd()))
	if err != nil || w <= 0 {
		return widest
	}
	return min(w, widest)
}

// progress shows on one line of a terminal how far a build is.
type progress struct {
	c     *console
	since time.Time

	mu    sync.Mutex
	last  time.Time
	width int // of the line that stands there
}

func newProgress(c *console) *progress {
	return &progress{c: c, since: time.Now()}
}

// note takes up how far a part is. It may be called from several goroutines.
func (p *progress) note(part string, share float64) {
	if !p.c.live {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	now := time.Now()
	if now.Sub(p.since) < patience || now.Sub(p.last) < beat {
		return
	}
	p.last = now
	line := fmt.Sprintf("%s: %3.0f %%", render.Clean(part), 100*max(0, min(1, share)))
	width := utf8.RuneCountInString(line)
	fmt.Fprintf(p.c.err, "\r%s%s", line, strings.Repeat(" ", max(0, p.width-width)))
	p.width = width
}

// clear takes the line back.
func (p *progress) clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.width > 0 {
		fmt.Fprintf(p.c.err, "\r%s\r", strings.Repeat(" ", p.width))
		p.width = 0
	}
}
