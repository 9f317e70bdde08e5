package main

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"perch/compile/geom"
	"perch/compile/mesh"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"perch": main})
}

// TestScripts runs the command scripts, each beside a copy of testdata/jobs.
// Besides the commands of testscript they know:
//
//	watch ARGS…             start `perch watch ARGS…`
//	told N PATTERN          wait until it has printed N lines that match
//	interrupt               press Ctrl-C, wait for its end, which must be 0;
//	                        what it printed is then in watch.out and watch.err
//	save MANNER FILE TEXT   save the content of TEXT as FILE the way an editor
//	                        does: over, empty, rename, away, burst
//	solid FILE VOLUME [P]   read an STL file, check that it is closed and has
//	                        the volume in mm³ to the part P, else to 1e-5
//	escapes FILE            turn \e into an escape character, \a into a bell
//	ends N COMMAND ARGS…    run a command that must end with exit status N
//	unzip FILE              list a zip file and its contents into unzip.out
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("..", "..", "testdata", "script"),
		Setup: func(e *testscript.Env) error {
			// Beside the script, so that messages name the files by a short
			// path and wrap alike wherever the repository lies.
			jobs := os.DirFS(filepath.Join("..", "..", "testdata", "jobs"))
			if err := os.CopyFS(filepath.Join(e.WorkDir, "jobs"), jobs); err != nil {
				return err
			}
			w := &watched{}
			e.Values[watchedKey{}] = w
			e.Defer(w.kill)
			e.Setenv("ESC", "\x1b[31mred\a")
			e.Setenv("NAME", "\x1b]0;title\a.perch")
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"watch":     startWatch,
			"told":      told,
			"interrupt": interrupt,
			"save":      save,
			"solid":     solid,
			"unzip":     unzip,
			"escapes":   escapes,
			"ends":      ends,
		},
	})
}

type watchedKey struct{}

// watched is the `perch watch` that a script has running.
type watched struct {
	cmd      *exec.Cmd
	out, err lines
}

// lines collects output that is read while it grows.
type lines struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

func (w *watched) kill() {
	if w.cmd != nil && w.cmd.ProcessState == nil {
		w.cmd.Process.Kill()
		w.cmd.Wait()
	}
}

func running(ts *testscript.TestScript) *watched {
	return ts.Value(watchedKey{}).(*watched)
}

func startWatch(ts *testscript.TestScript, neg bool, args []string) {
	w := running(ts)
	w.kill()
	w.out, w.err = lines{}, lines{}
	w.cmd = exec.Command("perch", append([]string{"watch"}, args...)...)
	w.cmd.Dir = ts.Getenv("WORK")
	w.cmd.Stdout, w.cmd.Stderr = &w.out, &w.err
	ts.Check(w.cmd.Start())
}

// patient ends a script that waits for what never comes. Nothing is asserted
// about time.
const patient = 60 * time.Second

func told(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("told N PATTERN")
	}
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	pattern, err := regexp.Compile("(?m)" + args[1])
	ts.Check(err)
	w := running(ts)
	for end := time.Now().Add(patient); len(pattern.FindAllString(w.out.String(), -1)) < n; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			ts.Fatalf("waited in vain for %s\n[stdout]\n%s[stderr]\n%s", args[1], w.out.String(), w.err.String())
		}
	}
}

func interrupt(ts *testscript.TestScript, neg bool, args []string) {
	w := running(ts)
	ts.Check(w.cmd.Process.Signal(os.Interrupt))
	err := w.cmd.Wait()
	ts.Check(os.WriteFile(ts.MkAbs("watch.out"), []byte(w.out.String()), 0o666))
	ts.Check(os.WriteFile(ts.MkAbs("watch.err"), []byte(w.err.String()), 0o666))
	if err != nil {
		ts.Fatalf("watch ended with %v\n[stdout]\n%s[stderr]\n%s", err, w.out.String(), w.err.String())
	}
}

func save(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("save MANNER FILE TEXT")
	}
	path, text := ts.MkAbs(args[1]), ts.ReadFile(args[2])
	write := func(path, text string) { ts.Check(os.WriteFile(path, []byte(text), 0o666)) }
	const pause = 30 * time.Millisecond
	switch args[0] {
	case "over":
		write(path, text)
	case "empty":
		f, err := os.Create(path)
		ts.Check(err)
		time.Sleep(pause)
		_, err = f.WriteString(text)
		ts.Check(err)
		ts.Check(f.Close())
	case "rename":
		write(path+".new", text)
		ts.Check(os.Rename(path+".new", path))
	case "away":
		ts.Check(os.Rename(path, path+"~"))
		time.Sleep(pause)
		write(path, text)
		ts.Check(os.Remove(path + "~"))
	case "burst":
		for i := range 6 {
			write(path, fmt.Sprintf("%s\n# draft %d\n", text, i))
		}
		write(path, text)
	default:
		ts.Fatalf("unknown manner %s", args[0])
	}
}

// solid reads a binary STL as any reader does: corners are one when their
// coordinates are equal.
func solid(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 && len(args) != 3 {
		ts.Fatalf("solid FILE VOLUME [P]")
	}
	want, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	part := 1e-5
	if len(args) == 3 {
		part, err = strconv.ParseFloat(args[2], 64)
		ts.Check(err)
	}
	data := []byte(ts.ReadFile(args[0]))
	if len(data) < 84 || len(data) != 84+50*int(binary.LittleEndian.Uint32(data[80:])) {
		ts.Fatalf("%s: %d bytes are no binary STL", args[0], len(data))
	}
	m := readSTL(data)
	ts.Check(m.Check())
	if got := m.Volume(); math.Abs(got-want) > part*want {
		ts.Fatalf("%s: volume %.8g mm³, want %.8g", args[0], got, want)
	}
}

func readSTL(data []byte) *mesh.Mesh {
	m := &mesh.Mesh{}
	number := map[geom.Vec3]int32{}
	for at := 84; at < len(data); at += 50 {
		var t [3]int32
		for k := range 3 {
			x := func(i int) float64 {
				return float64(math.Float32frombits(binary.LittleEndian.Uint32(data[at+12+12*k+4*i:])))
			}
			v := geom.Vec3{X: x(0), Y: x(1), Z: x(2)}
			n, ok := number[v]
			if !ok {
				n = int32(len(m.Vertices))
				number[v] = n
				m.Vertices = append(m.Vertices, v)
			}
			t[k] = n
		}
		m.Triangles = append(m.Triangles, t)
	}
	return m
}

func ends(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 2 {
		ts.Fatalf("ends N COMMAND ARGS…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	cmd := exec.Command(args[1], args[2:]...)
	cmd.Dir = ts.MkAbs(".")
	cmd.Stdout, cmd.Stderr = ts.Stdout(), ts.Stderr()
	err = cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		ts.Fatalf("%v", err)
	}
	if got := cmd.ProcessState.ExitCode(); got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

func escapes(ts *testscript.TestScript, neg bool, args []string) {
	text := strings.NewReplacer(`\e`, "\x1b", `\a`, "\a").Replace(ts.ReadFile(args[0]))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o666))
}

func unzip(ts *testscript.TestScript, neg bool, args []string) {
	z, err := zip.OpenReader(ts.MkAbs(args[0]))
	ts.Check(err)
	defer z.Close()
	var out strings.Builder
	for _, f := range z.File {
		fmt.Fprintf(&out, "== %s\n", f.Name)
		r, err := f.Open()
		ts.Check(err)
		_, err = io.Copy(&out, r)
		ts.Check(err)
		ts.Check(r.Close())
	}
	ts.Check(os.WriteFile(ts.MkAbs("unzip.out"), []byte(out.String()), 0o666))
}
