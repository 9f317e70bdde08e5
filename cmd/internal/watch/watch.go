// Package watch builds files again whenever they, or files they lean on, are
// saved.
//
// It listens on folders, never on files: most editors save by writing a new
// file and giving it the old name, and a file that is listened to is then the
// wrong one. An event only wakes the watcher up; what decides is whether the
// content differs from what the last build read. So saves that change
// nothing, events for other files and events that come twice cost a look and
// no build, and an event that comes while a build runs is never lost.
package watch

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/fsnotify/fsnotify"
)

// Stamp tells one content of a file from another.
type Stamp struct {
	Found bool
	Sum   [sha256.Size]byte // of the content; zero when not found
}

// Of returns the stamp of a content.
func Of(content []byte) Stamp { return Stamp{Found: true, Sum: sha256.Sum256(content)} }

var emptyFile = Of(nil)

// blank reports whether there is nothing in the file, or no file.
func (s Stamp) blank() bool { return !s.Found || s == emptyFile }

// Builder builds one file and returns what it read: the stamp of every file
// that it opened or looked for, by absolute path. It stops early, without
// writing anything, when ctx ends; its answer is then not used.
//
// A build begins with the first event of a save, which may not be over yet.
// So before anything of it is written or shown, the builder calls settled with
// what it read: that waits until the files have been still for long enough, and
// reports whether the build still stands.
type Builder func(ctx context.Context, file string, settled func(read map[string]Stamp) bool) map[string]Stamp

// Config says what to watch.
type Config struct {
	// Paths are files, and folders whose files are all built.
	Paths []string
	// Accept chooses among the files of a folder by name.
	Accept func(name string) bool
	// Build is called for one file at a time.
	Build Builder
	// Gone is told when a file of a folder is no longer there.
	Gone func(file string)
	// Trouble is told when the system cannot watch a folder.
	Trouble func(error)

	// Quiet is how long the files must be still before a save counts as
	// finished (0: 16 ms). Builds run meanwhile.
	Quiet time.Duration
	// Grace is how much longer to wait when a file is empty or missing: many
	// editors empty a file, or move it away, before they write it (0: 300 ms).
	Grace time.Duration
	// Poll is how often to look without any event, for folders on systems
	// that send none (0: every 2 s; below 0: never).
	Poll time.Duration
}

// A look comes at once after an event, but not sooner after the last look
// than pause, and looking takes no more than one part in share of the time.
const (
	pause = 3 * time.Millisecond
	share = 5
)

// Run builds every file once, then again after each save, until ctx ends. It
// returns an error only when watching cannot begin.
func Run(ctx context.Context, c Config) error {
	if c.Quiet == 0 {
		c.Quiet = 16 * time.Millisecond
	}
	if c.Grace == 0 {
		c.Grace = 300 * time.Millisecond
	}
	if c.Poll == 0 {
		c.Poll = 2 * time.Second
	}
	notify, err := fsnotify.NewWatcher()
	if err != nil {
		return fmt.Errorf("the system has no room for another watch: %w; end other programs that watch folders", err)
	}
	defer notify.Close()
	w := &watcher{
		Config:  c,
		notify:  notify,
		folders: map[string]bool{},
		doubt:   map[string]time.Time{},
		done:    make(chan outcome),
		asked:   make(chan ask),
	}
	for _, name := range c.Paths {
		abs, err := filepath.Abs(name)
		if err != nil {
			return err
		}
		info, err := os.Stat(abs)
		if err != nil {
			var p *fs.PathError
			if errors.As(err, &p) {
				err = p.Err
			}
			return fmt.Errorf("%s: %w", name, err)
		}
		if info.IsDir() {
			w.roots = append(w.roots, root{abs, name})
		} else if w.find(abs) == nil {
			w.designs = append(w.designs, &design{path: abs, shown: name, named: true})
		}
	}
	w.loop(ctx)
	return nil
}

type watcher struct {
	Config
	notify  *fsnotify.Watcher
	roots   []root
	designs []*design
	folders map[string]bool      // listened to; false after a failure
	doubt   map[string]time.Time // when a file was first seen blank
	now     map[string]Stamp     // as of the last look

	running *design
	stale   bool // the running build has been told to stop
	cancel  context.CancelFunc
	done    chan outcome
	asked   chan ask
	asking  chan struct{} // of the running build, closed once it may be shown

	stirred time.Time // when a look last found a file changed
	free    time.Time // before that no look
	next    *time.Timer
	due     time.Time // when next fires, zero for never
}

// root is a folder given by the user; shown is how it was written.
type root struct{ path, shown string }

// design is a file that is built for itself.
type design struct {
	path, shown string
	named       bool // given by the user, not found in a folder
	built       bool // at least once, or being built
	dirty       bool
	torn        bool             // a build read it while it was being saved
	seen        map[string]Stamp // what the last build read
}

// ask is a build that wants to be shown.
type ask struct {
	of   *design
	read map[string]Stamp
	may  chan struct{}
}

type outcome struct {
	of   *design
	seen map[string]Stamp
}

func (w *watcher) loop(ctx context.Context) {
	w.next = time.NewTimer(0) // the first look comes at once
	defer w.next.Stop()
	var poll <-chan time.Time
	if w.Poll > 0 {
		t := time.NewTicker(w.Poll)
		defer t.Stop()
		poll = t.C
	}
	for {
		select {
		case <-ctx.Done():
			w.stop()
			return
		case e := <-w.notify.Events:
			w.moved(e)
			w.lookAfter(0)
		case err := <-w.notify.Errors:
			// Events that overflowed are made up for by a look.
			if !errors.Is(err, fsnotify.ErrEventOverflow) {
				w.trouble(err)
			}
			w.lookAfter(0)
		case <-w.next.C:
			w.due = time.Time{}
			w.turn(ctx)
		case <-poll:
			w.turn(ctx)
		case a := <-w.asked:
			w.ask(a)
			w.turn(ctx)
		case o := <-w.done:
			w.finish(o)
			w.turn(ctx)
		}
	}
}

// lookAfter asks for a look in a while, unless one comes sooner.
func (w *watcher) lookAfter(wait time.Duration) {
	at := time.Now().Add(wait)
	if at.Before(w.free) {
		at = w.free
	}
	if w.due.IsZero() || at.Before(w.due) {
		w.due = at
		w.next.Reset(time.Until(at))
	}
}

// turn looks, begins the next build, and lets the running one be shown when
// nothing has changed for long enough.
func (w *watcher) turn(ctx context.Context) {
	began := time.Now()
	again := w.look()
	w.free = time.Now().Add(max(pause, share*time.Since(began)))
	if again > 0 {
		w.lookAfter(again)
	}
	w.start(ctx)
	if w.asking == nil {
		return
	}
	if left := w.Quiet - time.Since(w.stirred); left > 0 {
		w.lookAfter(left)
		return
	}
	close(w.asking)
	w.asking = nil
}

// ask takes up that the running build has come to its end. A build that read
// another text than the look before it saw has met a save half way.
func (w *watcher) ask(a ask) {
	if a.of != w.running || w.stale {
		return
	}
	for p, s := range a.of.seen {
		if read, ok := a.read[p]; ok && read != s {
			a.of.torn = true
			w.abandon()
			return
		}
	}
	w.asking = a.may
}

// abandon tells the running build to stop.
func (w *watcher) abandon() {
	w.stale, w.asking = true, nil
	w.cancel()
}

// moved forgets a folder that was itself moved or removed, so that the next
// look listens to what has its name then.
func (w *watcher) moved(e fsnotify.Event) {
	if _, ok := w.folders[e.Name]; ok && (e.Has(fsnotify.Remove) || e.Has(fsnotify.Rename)) {
		_ = w.notify.Remove(e.Name) // it may be gone already
		delete(w.folders, e.Name)
	}
}

// look compares the disk with what the builds read and marks what must be
// built. It returns after how long to look again, or 0.
func (w *watcher) look() (again time.Duration) {
	w.listen()
	w.discover()
	w.scan()
	for _, d := range w.designs {
		if !d.built {
			d.dirty = true
			continue
		}
		changed, wait := w.changed(d)
		if wait > 0 && (again == 0 || wait < again) {
			again = wait
		}
		if !changed && (!d.torn || wait > 0) {
			continue
		}
		d.dirty, d.torn = true, false
		if d == w.running && !w.stale {
			w.abandon()
		}
	}
	return again
}

// changed reports whether a file that d leans on differs from what d's build
// read. A file that has just become blank is not believed before Grace is
// over; then wait says how long that is.
func (w *watcher) changed(d *design) (changed bool, wait time.Duration) {
	for _, p := range sorted(d.seen) {
		now := w.now[p]
		if now == d.seen[p] {
			continue
		}
		if left := w.doubtful(p, now, d.seen[p]); left > 0 {
			wait = max(wait, left)
			continue
		}
		changed = true
	}
	return changed && wait == 0, wait
}

func (w *watcher) doubtful(path string, now, seen Stamp) time.Duration {
	if !now.blank() || seen.blank() {
		return 0
	}
	since, ok := w.doubt[path]
	if !ok {
		since = time.Now()
		w.doubt[path] = since
	}
	return w.Grace - time.Since(since)
}

// scan reads every file that a build leaned on.
func (w *watcher) scan() {
	before := w.now
	w.now = map[string]Stamp{}
	for _, d := range w.designs {
		w.now[d.path] = Stamp{}
		for p := range d.seen {
			w.now[p] = Stamp{}
		}
	}
	for p := range w.now {
		w.now[p] = stampOf(p)
		if was, ok := before[p]; ok && was != w.now[p] {
			w.stirred = time.Now()
		}
	}
	for p := range w.doubt {
		if !w.now[p].blank() {
			delete(w.doubt, p)
		}
	}
}

// stampOf reads the stamp of a file; what is not an ordinary file counts as
// missing.
func stampOf(path string) Stamp {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return Stamp{}
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return Stamp{}
	}
	return Of(b)
}

// discover takes up new files of the watched folders and drops those that are
// gone for longer than Grace.
func (w *watcher) discover() {
	for _, r := range w.roots {
		entries, err := os.ReadDir(r.path)
		if err != nil {
			continue // the folder is away; its files are dropped below
		}
		for _, e := range entries {
			path := filepath.Join(r.path, e.Name())
			if !w.Accept(e.Name()) || w.find(path) != nil || !stampOf(path).Found {
				continue
			}
			w.designs = append(w.designs, &design{path: path, shown: filepath.Join(r.shown, e.Name())})
		}
	}
	slices.SortStableFunc(w.designs, func(a, b *design) int {
		switch {
		case a.named != b.named:
			if a.named {
				return -1
			}
			return 1
		case a.named:
			return 0
		case a.path < b.path:
			return -1
		case a.path > b.path:
			return 1
		}
		return 0
	})
	w.designs = slices.DeleteFunc(w.designs, func(d *design) bool {
		if d.named || d == w.running || stampOf(d.path).Found {
			return false
		}
		if d.built && w.doubtful(d.path, Stamp{}, Stamp{Found: true}) > 0 {
			return false
		}
		delete(w.doubt, d.path)
		if w.Gone != nil {
			w.Gone(d.shown)
		}
		return true
	})
}

func (w *watcher) find(path string) *design {
	for _, d := range w.designs {
		if d.path == path {
			return d
		}
	}
	return nil
}

// listen makes the set of folders listened to fit the files in use. For a
// folder that does not exist it takes the nearest one above that does.
func (w *watcher) listen() {
	want := map[string]bool{}
	for _, r := range w.roots {
		want[existing(r.path)] = true
	}
	for _, d := range w.designs {
		want[existing(filepath.Dir(d.path))] = true
		for p := range d.seen {
			want[existing(filepath.Dir(p))] = true
		}
	}
	for _, f := range sorted(w.folders) {
		if !want[f] {
			_ = w.notify.Remove(f) // it may be gone already
			delete(w.folders, f)
		}
	}
	for _, f := range sorted(want) {
		if _, ok := w.folders[f]; ok {
			continue
		}
		err := w.notify.Add(f)
		w.folders[f] = err == nil
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			w.trouble(err)
		}
	}
}

// existing returns dir, or the nearest folder above it that exists.
func existing(dir string) string {
	for {
		if info, err := os.Stat(dir); err == nil && info.IsDir() {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			return dir
		}
		dir = up
	}
}

func (w *watcher) trouble(err error) {
	if w.Trouble != nil {
		w.Trouble(err)
	}
}

// start begins the next build when none is running.
func (w *watcher) start(ctx context.Context) {
	if w.running != nil {
		return
	}
	i := slices.IndexFunc(w.designs, func(d *design) bool { return d.dirty })
	if i < 0 {
		return
	}
	d := w.designs[i]
	d.dirty, d.built = false, true
	// Until the build says what it read, a change against the last look
	// counts.
	if d.seen == nil {
		d.seen = map[string]Stamp{d.path: {}}
	}
	for p := range d.seen {
		d.seen[p] = w.now[p]
	}
	w.running, w.stale = d, false
	build, cancel := context.WithCancel(ctx)
	w.cancel = cancel
	wait := func(read map[string]Stamp) bool {
		may := make(chan struct{})
		select {
		case w.asked <- ask{d, read, may}:
		case <-build.Done():
			return false
		}
		select {
		case <-may:
			return build.Err() == nil
		case <-build.Done():
			return false
		}
	}
	go func() {
		seen := w.Build(build, d.shown, wait)
		w.done <- outcome{d, seen}
	}()
}

// finish takes up what a build read, unless it was told to stop.
func (w *watcher) finish(o outcome) {
	w.cancel()
	w.running, w.asking = nil, nil
	if w.stale {
		return // it is dirty, and what it saw then is in seen
	}
	o.of.seen = map[string]Stamp{o.of.path: w.now[o.of.path]}
	for p, s := range o.seen {
		o.of.seen[p] = s
	}
}

// stop ends the running build and waits for it.
func (w *watcher) stop() {
	if w.running != nil {
		w.cancel()
		<-w.done
		w.running = nil
	}
}

func sorted[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
