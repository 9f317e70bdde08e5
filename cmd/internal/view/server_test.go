package view

import (
	"bufio"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"net/url"
	"runtime"
	"strings"
	"testing"
	"time"

	"perch/compile"
	"perch/compile/check"
	"perch/compile/geom"
	"perch/compile/mesh"
	"perch/compile/solid"
	"perch/lang/diag"
	"perch/lang/source"
)

// patient ends a test that waits for what never comes.
const patient = 30 * time.Second

func serve(t *testing.T) *Server {
	t.Helper()
	s, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("serving ended with %v", err)
		}
	})
	return s
}

func block(t testing.TB, tall float64) *mesh.Mesh {
	t.Helper()
	m, err := solid.Build(context.Background(), solid.Cut(
		solid.Box(geom.Vec3{X: -20, Y: -10}, geom.Vec3{X: 20, Y: 10, Z: tall}), solid.Cylinder(3, -1, tall+1)), solid.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func built(m *mesh.Mesh) Build {
	return Build{File: "block.perch", Saved: time.UnixMilli(1000), Whole: true, Tolerance: compile.DefaultTolerance, Result: &compile.Result{
		Parts: []compile.Part{{Name: "block", Mesh: m, Printed: m, Bounds: m.Bounds(), Volume: m.Volume(), Material: "petg"}},
		Sizes: []compile.SizeName{{Part: "block", Size: "high"}},
	}}
}

// raw sends one request as it is written and returns the status.
func raw(t *testing.T, s *Server, text string) int {
	t.Helper()
	c, err := net.Dial("tcp", s.listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	c.SetDeadline(time.Now().Add(patient))
	if _, err := io.WriteString(c, text); err != nil {
		t.Fatal(err)
	}
	r, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	return r.StatusCode
}

func TestOnlyLoopback(t *testing.T) {
	s := serve(t)
	host, _, err := net.SplitHostPort(s.listener.Addr().String())
	if err != nil || host != "127.0.0.1" {
		t.Errorf("it listens on %s", s.listener.Addr())
	}
}

// A foreign name may be made to point to 127.0.0.1 after a browser has
// trusted it; the Host header still gives it away.
func TestHosts(t *testing.T) {
	s := serve(t)
	_, port, _ := net.SplitHostPort(s.listener.Addr().String())
	for host, want := range map[string]int{
		"127.0.0.1:" + port: 200, "localhost:" + port: 200, "LOCALHOST:9999": 200, "[::1]:" + port: 200, "localhost": 200,
		"evil.example": 403, "evil.example:" + port: 403, "127.0.0.1.evil.example:" + port: 403, "localhost.evil.example": 403,
		"evil.example:80@localhost": 403, "0.0.0.0:" + port: 403, "127.1:" + port: 403, "2130706433:" + port: 403, "[::ffff:127.0.0.1]:" + port: 403,
		"localhost.": 403, "localhost:80:80": 403, "127.0.0.1#": 403,
	} {
		if got := raw(t, s, fmt.Sprintf("GET /%s/ HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", s.token, host)); got != want && !(want == 403 && got == 400) {
			t.Errorf("host %q: status %d, want %d", host, got, want)
		}
	}
	if got := raw(t, s, fmt.Sprintf("GET /%s/ HTTP/1.0\r\n\r\n", s.token)); got != 403 {
		t.Errorf("no host: status %d", got)
	}
	if got := raw(t, s, fmt.Sprintf("GET http://evil.example/%s/ HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", s.token)); got != 403 {
		t.Errorf("a foreign name in the request line: status %d", got)
	}
}

func TestOrigins(t *testing.T) {
	s := serve(t)
	for _, c := range []struct {
		header string
		want   int
	}{
		{"Origin: http://localhost:8111", 200},
		{"Origin: http://evil.example", 403},
		{"Origin: http://localhost:8112", 403}, // another program on this machine
		{"Origin: https://localhost:8111", 403},
		{"Origin: null", 403},
		{"Origin: http://localhost:8111\r\nOrigin: http://evil.example", 403},
		{"Sec-Fetch-Site: same-origin", 200},
		{"Sec-Fetch-Site: none\r\nSec-Fetch-Dest: document", 200},
		{"Sec-Fetch-Site: cross-site\r\nSec-Fetch-Dest: document", 200}, // a link that was followed
		{"Sec-Fetch-Site: cross-site\r\nSec-Fetch-Dest: script", 403},
		{"Sec-Fetch-Site: cross-site\r\nSec-Fetch-Dest: iframe", 403},
		{"Sec-Fetch-Site: same-site\r\nSec-Fetch-Dest: empty", 403},
	} {
		if got := raw(t, s, fmt.Sprintf("GET /%s/bench.js HTTP/1.1\r\nHost: localhost:8111\r\n%s\r\nConnection: close\r\n\r\n", s.token, c.header)); got != c.want {
			t.Errorf("%s: status %d, want %d", c.header, got, c.want)
		}
	}
}

func TestPaths(t *testing.T) {
	s := serve(t)
	host, token := s.listener.Addr().String(), s.token
	wrong := strings.Repeat("0", len(token))
	for _, path := range []string{
		"/", "/index.html", "/" + token, "/" + wrong + "/", "/" + token[:len(token)-1] + "/", "/" + token + "x/",
		"/" + token + "/server.go", "/" + token + "/page/bench.html", "/" + token + "/../../etc/passwd", "/" + token + "/..%2f..%2fetc%2fpasswd",
		"/" + token + "/%2e%2e/%2e%2e/etc/passwd", "/" + token + "//etc/passwd", "/" + token + "/./bench.html", "/" + token + "/bench.html/", "/" + token + "/bench%2ehtml%00.js",
		"/" + token + "/blob/", "/" + token + "/blob/../bench.html", "/" + token + "/blob/" + strings.Repeat("f", 32), "/" + token + "/block.perch",
		"/" + url.PathEscape(token[:4]) + "%2f" + token[5:] + "/", "/x/../" + token + "/bench.html",
	} {
		if got := raw(t, s, fmt.Sprintf("GET %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", path, host)); got != 404 && got != 400 {
			t.Errorf("%s: status %d", path, got)
		}
	}
	for _, method := range []string{"POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT"} {
		if got := raw(t, s, fmt.Sprintf("%s /%s/ HTTP/1.1\r\nHost: %s\r\nConnection: close\r\nContent-Length: 0\r\n\r\n", method, token, host)); got != 405 && got != 400 && got != 404 {
			t.Errorf("%s: status %d", method, got)
		}
	}
	if got := raw(t, s, fmt.Sprintf("GET /%s/ HTTP/1.1\r\nHost: %s\r\nX: %s\r\n\r\n", token, host, strings.Repeat("x", 1<<16))); got != 431 {
		t.Errorf("a header of 64 KiB: status %d", got)
	}
}

func TestPage(t *testing.T) {
	s := serve(t)
	for name, kind := range types {
		r, err := http.Get(s.URL() + name)
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(r.Body)
		r.Body.Close()
		if err != nil || r.StatusCode != 200 || len(body) == 0 || r.Header.Get("Content-Type") != kind {
			t.Errorf("%s: %s, %s, %d bytes", name, r.Status, r.Header.Get("Content-Type"), len(body))
		}
		if got := r.Header.Get("Content-Security-Policy"); got != policy || strings.Contains(got, "unsafe") {
			t.Errorf("%s: policy %q", name, got)
		}
		// The policy would stop these; they are not to be there at all.
		for _, no := range []string{"http://", "https://", " style=", " onclick=", "innerHTML", "eval("} {
			if strings.Contains(strings.ReplaceAll(string(body), "http://www.w3.org/2000/svg", ""), no) {
				t.Errorf("%s contains %q", name, no)
			}
		}
	}
}

// follower reads states as they come.
type follower struct {
	t      *testing.T
	body   io.Closer
	states chan document
}

type document struct {
	Now   int64
	State struct {
		Seq     int
		Designs []design
	}
}

func follow(t *testing.T, s *Server) *follower {
	t.Helper()
	r, err := http.Get(s.URL() + "events")
	if err != nil {
		t.Fatal(err)
	}
	if r.StatusCode != 200 {
		t.Fatal(r.Status)
	}
	f := &follower{t: t, body: r.Body, states: make(chan document, 1000)}
	t.Cleanup(func() { r.Body.Close() })
	go func() {
		defer close(f.states)
		lines := bufio.NewReader(r.Body)
		for {
			line, err := lines.ReadString('\n')
			if err != nil {
				return
			}
			if data, ok := strings.CutPrefix(line, "data: "); ok {
				var d document
				if json.Unmarshal([]byte(data), &d) == nil {
					f.states <- d
				}
			}
		}
	}()
	return f
}

// until waits for a state.
func (f *follower) until(what string, is func(document) bool) document {
	f.t.Helper()
	for end := time.After(patient); ; {
		select {
		case d, ok := <-f.states:
			if !ok {
				f.t.Fatalf("the stream ended before %s", what)
			}
			if is(d) {
				return d
			}
		case <-end:
			f.t.Fatalf("waited in vain for %s", what)
		}
	}
}

func get(t *testing.T, s *Server, path string) []byte {
	t.Helper()
	r, err := http.Get(s.URL() + path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != 200 {
		t.Fatalf("%s: %s %v", path, r.Status, err)
	}
	return data
}

func TestStates(t *testing.T) {
	s := serve(t)
	f := follow(t, s)
	ctx := context.Background()
	s.Show(ctx, built(block(t, 10)))
	first := f.until("the part", func(d document) bool { return len(d.State.Designs) == 1 }).State.Designs[0]
	if !first.Whole || len(first.Parts) != 1 || first.Shown != 1000 || len(first.Sizes) != 1 {
		t.Errorf("%+v", first)
	}
	data := get(t, s, "blob/"+first.Parts[0].Mesh)
	word := func(i int) int { return int(binary.LittleEndian.Uint32(data[4*i:])) }
	m := block(t, 10)
	if word(0) != packVersion || word(2) != len(m.Triangles) || len(data) != 4*(6+7*word(1)+3*word(2)+13*word(3)+10*(word(4)+word(5))) {
		t.Errorf("head %d %d %d of %d bytes", word(0), word(1), word(2), len(data))
	}
	top := math.Inf(-1)
	for i := range word(1) {
		top = max(top, float64(math.Float32frombits(uint32(word(6+3*i+2)))))
	}
	if top != 10 {
		t.Errorf("the block is %g mm high, want 10", top)
	}

	// A shape goes before its verdicts, and the old ones do not stay beside it.
	early := built(block(t, 11))
	early.Judging = true
	s.Show(ctx, early)
	if p := f.until("the shape", func(d document) bool { return d.State.Designs[0].Parts[0].Max[2] == 11 }).State.Designs[0].Parts[0]; !p.Judging || len(p.Checks) != 0 {
		t.Errorf("%+v", p)
	}
	judged := built(block(t, 11))
	judged.Result.Parts[0].Checks = []check.Result{{Text: "height <= 12mm", Outcome: check.Outcome{Pass: true}}}
	s.Show(ctx, judged)
	if p := f.until("the verdicts", func(d document) bool { return !d.State.Designs[0].Parts[0].Judging }).State.Designs[0].Parts[0]; len(p.Checks) != 1 || p.Max[2] != 11 {
		t.Errorf("%+v", p)
	}
	s.Show(ctx, built(block(t, 10)))

	// The size comes after, and a new text keeps it until it is built again.
	more := built(block(t, 25))
	more.Result.Parts[0].Size = "high"
	s.More(ctx, more, true)
	f.until("the size", func(d document) bool { return len(d.State.Designs[0].Parts) == 2 })
	s.Show(ctx, built(block(t, 12)))
	waits := f.until("the new text", func(d document) bool { return d.State.Designs[0].Parts[0].Mesh != first.Parts[0].Mesh }).State.Designs[0]
	if len(waits.Parts) != 2 || !waits.Parts[1].Old {
		t.Errorf("%+v", waits.Parts)
	}
	get(t, s, "blob/"+first.Parts[0].Mesh) // a page may still be asking for it

	s.Busy("block.perch", time.UnixMilli(1000))
	s.Busy("block.perch", time.UnixMilli(2000))
	if busy := f.until("the build that takes long", func(d document) bool { return d.State.Designs[0].Building }); busy.State.Seq != s.seq {
		t.Error("the text that is shown counts as being built")
	}

	s.Tell("block.perch", errors.New("the disk is full"))
	f.until("word of the disk", func(d document) bool {
		m := d.State.Designs[0].Messages
		return len(m) == 1 && m[0].Text == "the disk is full" && d.State.Designs[0].Whole
	})

	// A fault keeps the parts.
	text := source.New("block.perch", "part block {\n\tbad\n}\n")
	s.Show(ctx, Build{File: "block.perch", Saved: time.UnixMilli(3000), Result: &compile.Result{Diags: diag.List{{
		Code: "x", Message: "wrong", At: source.Span{File: text, Start: 14, End: 17}, Notes: []string{diag.Why("so")},
	}}}})
	bad := f.until("the fault", func(d document) bool { return !d.State.Designs[0].Whole }).State.Designs[0]
	if len(bad.Parts) != 2 || bad.Shown != 1000 || bad.Saved != 3000 || len(bad.Messages) != 1 {
		t.Fatalf("%+v", bad)
	}
	if got, want := bad.Messages[0].Spots[0], (spot{"block.perch", 2, "\tbad", 1, 4, ""}); got != want {
		t.Errorf("spot %+v, want %+v", got, want)
	}
	if r, _ := http.Get(s.URL() + "blob/" + first.Parts[0].Mesh); r.StatusCode != 404 {
		t.Errorf("a mesh of two states ago: %s", r.Status)
	}
	high := compile.SizeName{Part: "block", Size: "high"}
	if s.Looking("block.perch", high) {
		t.Error("nobody looks at the size")
	}
	if r, err := http.Get(s.URL() + "look?file=block.perch&part=block&size=high"); err != nil || r.StatusCode != 204 || !s.Looking("block.perch", high) {
		t.Error("the look at the size is not known")
	}
	s.Drop("block.perch")
	f.until("the end of it", func(d document) bool { return len(d.State.Designs) == 0 })
	if len(s.blobs) == 0 {
		t.Error("the last state's meshes went at once")
	}
	s.Show(ctx, Build{File: "other.perch", Result: &compile.Result{}, Err: errors.New("gone")})
	if len(s.blobs) != 0 {
		t.Errorf("%d meshes are kept that nobody names", len(s.blobs))
	}
}

// A page that reads nothing costs one state, and the others are not kept
// waiting.
func TestSlowPage(t *testing.T) {
	s := serve(t)
	c, err := net.Dial("tcp", s.listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "GET /%s/events HTTP/1.1\r\nHost: localhost\r\n\r\n", s.token)
	f := follow(t, s)
	b := built(block(t, 10))
	b.Result.Diags = make(diag.List, mostMessages)
	for i := range b.Result.Diags {
		b.Result.Diags[i].Message = strings.Repeat("much to read ", 2000)
	}
	const saves = 200
	began := memory()
	for i := range saves {
		b.Saved = time.UnixMilli(int64(1000 + i))
		s.Show(context.Background(), b)
	}
	f.until("the last save", func(d document) bool {
		return len(d.State.Designs) == 1 && d.State.Designs[0].Saved == 1000+saves-1
	})
	// 200 states of 1.6 MB would be 320 MB.
	if grown := memory() - began; grown > 60<<20 {
		t.Errorf("%d MB more are in use", grown>>20)
	}
}

func memory() int64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// A thousand connections that say nothing take a bounded number of places,
// the page that is open goes on, and a new one finds its way when they have
// gone.
func TestThousandConnections(t *testing.T) {
	s := serve(t)
	f := follow(t, s)
	f.until("the first state", func(document) bool { return true })
	before := runtime.NumGoroutine()
	var all []net.Conn
	defer func() {
		for _, c := range all {
			c.Close()
		}
	}()
	for range 1000 {
		c, err := net.DialTimeout("tcp", s.listener.Addr().String(), patient)
		if err != nil {
			break // the system has no room for more
		}
		all = append(all, c)
	}
	if len(all) < 500 {
		t.Fatalf("only %d connections could be opened", len(all))
	}
	s.Show(context.Background(), built(block(t, 10)))
	f.until("the part", func(d document) bool { return len(d.State.Designs) == 1 })
	if n := s.listener.open.Load(); n > mostConnections {
		t.Errorf("%d connections are open, at most %d may be", n, mostConnections)
	}
	if n := runtime.NumGoroutine() - before; n > 2*mostConnections {
		t.Errorf("%d goroutines more", n)
	}
	for _, c := range all {
		c.Close()
	}
	for end := time.Now().Add(patient); ; time.Sleep(5 * time.Millisecond) {
		if r, err := http.Get(s.URL()); err == nil {
			r.Body.Close()
			break
		} else if time.Now().After(end) {
			t.Fatal(err)
		}
	}
}

func TestManyPages(t *testing.T) {
	s := serve(t)
	var refused int
	for range mostViewers + 5 {
		r, err := http.Get(s.URL() + "events")
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if r.StatusCode == http.StatusServiceUnavailable {
			refused++
		}
	}
	if refused != 5 {
		t.Errorf("%d pages were refused, want 5", refused)
	}
}

func TestPortTaken(t *testing.T) {
	s := serve(t)
	if _, err := Listen(s.port); err == nil || !strings.Contains(err.Error(), "give another one") {
		t.Errorf("a port that is taken: %v", err)
	}
}

func BenchmarkPack(b *testing.B) {
	m, err := solid.Build(context.Background(), solid.Ball(20), solid.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(len(m.Triangles)), "triangles")
	for b.Loop() {
		pack(m, compile.DefaultTolerance)
	}
}
