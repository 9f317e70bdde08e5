// Package view shows parts in a browser on the same machine: a page that is
// told of every build, and the meshes it asks for.
//
// The server listens on the loopback address only, under a path that begins
// with a random token; it reads no file of the disk on request. Every page
// has a place for the newest state and no queue, so a slow one skips states
// and keeps nobody waiting.
package view

import (
	"context"
	"crypto/rand"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"perch/compile"
	"perch/lang/diag/render"
)

//go:embed page
var page embed.FS

// types are the files of the page.
var types = map[string]string{
	"bench.html": "text/html; charset=utf-8",
	"bench.css":  "text/css; charset=utf-8",
	"bench.js":   "text/javascript; charset=utf-8",
	"stage.js":   "text/javascript; charset=utf-8",
	"camera.js":  "text/javascript; charset=utf-8",
	"shape.js":   "text/javascript; charset=utf-8",
	"measure.js": "text/javascript; charset=utf-8",
	"sketch.js":  "text/javascript; charset=utf-8",
	"icon.svg":   "image/svg+xml",
}

// Waits. Reading a request takes no time on a loopback; a tunnel may be slow.
const (
	headerWait = 5 * time.Second
	idleWait   = 30 * time.Second
	writeWait  = 20 * time.Second
	pulse      = 10 * time.Second // between signs of life when nothing happens
)

// Server shows designs. Its methods may be called from several goroutines.
type Server struct {
	token    string
	listener *limited
	port     int

	mu      sync.Mutex
	designs []*design
	seq     int
	state   []byte // JSON of the newest state
	blobs   map[string]*blob
	viewers map[*viewer]bool
	looked  look // the newest that a page asked for
}

// look is what a page shows.
type look struct{ file, part, size string }

// Looking reports whether the page that was used last shows this size.
func (s *Server) Looking(file string, z compile.SizeName) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.looked == look{render.Clean(file), z.Part, z.Size}
}

// viewer is a page that is told of builds.
type viewer struct{ news chan struct{} }

// Listen opens a server on the loopback address; port 0 takes any that is
// free.
func Listen(port int) (*Server, error) {
	var secret [24]byte
	if _, err := rand.Read(secret[:]); err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		return nil, fmt.Errorf("port %d cannot be used: %w; give another one, or leave it out", port, err)
	}
	s := &Server{
		token: hex.EncodeToString(secret[:]), listener: &limited{Listener: l},
		port:  l.Addr().(*net.TCPAddr).Port,
		blobs: map[string]*blob{}, viewers: map[*viewer]bool{},
	}
	s.renew()
	return s, nil
}

// URL is where the page is.
func (s *Server) URL() string { return fmt.Sprintf("http://127.0.0.1:%d/%s/", s.port, s.token) }

// Serve answers until ctx ends.
func (s *Server) Serve(ctx context.Context) error {
	h := &http.Server{
		Handler:           s.guard(http.HandlerFunc(s.answer)),
		ReadHeaderTimeout: headerWait,
		ReadTimeout:       headerWait,
		IdleTimeout:       idleWait,
		MaxHeaderBytes:    mostHeader,
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	stop := context.AfterFunc(ctx, func() { h.Close() })
	defer stop()
	if err := h.Serve(s.listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// answer serves a path behind the token.
func (s *Server) answer(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "events" {
		s.events(w, r)
		return
	}
	// One deadline for the whole answer: it is in memory.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(writeWait))
	if r.URL.Path == "look" {
		q := r.URL.Query()
		s.mu.Lock()
		s.looked = look{q.Get("file"), q.Get("part"), q.Get("size")}
		s.mu.Unlock()
		w.WriteHeader(http.StatusNoContent)
		return
	}
	if id, ok := strings.CutPrefix(r.URL.Path, "blob/"); ok {
		s.sendBlob(w, id)
		return
	}
	name := r.URL.Path
	if name == "" {
		name = "bench.html"
	}
	kind, ok := types[name]
	if !ok {
		http.Error(w, "not here", http.StatusNotFound)
		return
	}
	data, err := page.ReadFile("page/" + name)
	if err != nil {
		http.Error(w, "not here", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", kind)
	_, _ = w.Write(data)
}

func (s *Server) sendBlob(w http.ResponseWriter, id string) {
	s.mu.Lock()
	b := s.blobs[id]
	s.mu.Unlock()
	if b == nil {
		http.Error(w, "no longer here", http.StatusNotFound)
		return
	}
	data := b.bytes()
	w.Header().Set("Content-Type", b.kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = w.Write(data)
}

// events sends the newest state, and again after every change, as
// server-sent events.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	v, ok := s.enter()
	if !ok {
		http.Error(w, "too many pages are open", http.StatusServiceUnavailable)
		return
	}
	defer s.leave(v)
	out := http.NewResponseController(w)
	_ = out.SetReadDeadline(time.Time{}) // the request has been read
	w.Header().Set("Content-Type", "text/event-stream")
	beat := time.NewTicker(pulse)
	defer beat.Stop()
	for {
		_ = out.SetWriteDeadline(time.Now().Add(writeWait))
		select {
		case <-r.Context().Done():
			return
		case <-v.news:
			s.mu.Lock()
			state := s.state
			s.mu.Unlock()
			if _, err := fmt.Fprintf(w, "data: {\"now\":%d,\"state\":%s}\n\n", time.Now().UnixMilli(), state); err != nil {
				return
			}
		case <-beat.C:
			if _, err := fmt.Fprintf(w, ": still here\n\n"); err != nil {
				return
			}
		}
		if out.Flush() != nil {
			return
		}
	}
}

func (s *Server) enter() (*viewer, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.viewers) >= mostViewers {
		return nil, false
	}
	v := &viewer{make(chan struct{}, 1)}
	v.news <- struct{}{}
	s.viewers[v] = true
	return v, true
}

func (s *Server) leave(v *viewer) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.viewers, v)
}

// tell lets every page know that there is news; one that has not yet taken up
// the last news needs no second word. s.mu is held.
func (s *Server) tell() {
	for v := range s.viewers {
		select {
		case v.news <- struct{}{}:
		default:
		}
	}
}
