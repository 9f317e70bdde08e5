package view

import (
	"crypto/subtle"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
)

// Limits. Whoever can reach the loopback address can open connections; they
// must not be able to use up the machine.
const (
	mostConnections = 128 // surplus ones are closed at once
	mostViewers     = 32  // pages that are told of builds
	mostHeader      = 8 << 10
)

// policy lets the page use its own files and nothing else: nothing inline,
// nothing from elsewhere, no frame around it.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'"

// guard refuses what does not come from a page of this server: a request
// under another host name (a foreign name that was made to point here), from
// another origin, by another method, or without the token.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Cache-Control", "no-store")
		rest, ok := s.tokened(r.URL.Path)
		switch {
		case !local(r.Host), !sameOrigin(r):
			http.Error(w, "refused", http.StatusForbidden)
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			h.Set("Allow", "GET, HEAD")
			http.Error(w, "only reading", http.StatusMethodNotAllowed)
		case !ok || r.URL.RawPath != "" || r.ContentLength > 0:
			http.Error(w, "not here", http.StatusNotFound)
		default:
			r.URL.Path = rest
			next.ServeHTTP(w, r)
		}
	})
}

// tokened takes the token off a path.
func (s *Server) tokened(path string) (rest string, ok bool) {
	token, rest, found := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	if !found || subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) != 1 {
		return "", false
	}
	return rest, true
}

// local reports whether a Host header names this machine. The port may be
// another one: a tunnel gives the page a port of its own.
func local(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	switch strings.ToLower(name) {
	case "localhost", "127.0.0.1", "::1", "[::1]":
		return true
	}
	return false
}

// sameOrigin reports whether a request that says where it comes from comes
// from this page. A person who follows a link to the page comes from
// elsewhere; browsers mark that as a document.
func sameOrigin(r *http.Request) bool {
	if o := r.Header.Values("Origin"); len(o) > 1 || len(o) == 1 && !strings.EqualFold(o[0], "http://"+r.Host) {
		return false
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	}
	return r.Header.Get("Sec-Fetch-Dest") == "document"
}

// limited closes connections beyond a number at once, so that they cannot
// keep the others waiting.
type limited struct {
	net.Listener
	open atomic.Int64
}

func (l *limited) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		if l.open.Add(1) > mostConnections {
			l.open.Add(-1)
			c.Close()
			continue
		}
		return &counted{Conn: c, leave: sync.OnceFunc(func() { l.open.Add(-1) })}, nil
	}
}

type counted struct {
	net.Conn
	leave func()
}

func (c *counted) Close() error {
	c.leave()
	return c.Conn.Close()
}
