package compile

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/parse"
	"perch/lang/source"
	"perch/lang/spell"
)

// module is one parsed file.
type module struct {
	key   string // the same for the same file, however it was reached
	path  string // absolute; "" in the standard library
	shown string // as messages print it
	tree  *ast.File
	diags diag.List
	uses  map[string]*module // by the name that this file gives them
}

// loader reads a file and everything it uses.
type loader struct {
	session *Session
	main    *module
	folder  bool    // main only stands for its folder
	shop    *module // states the workshop, or nil
	root    string  // folder of the main file, as named
	real    string  // the same after following links
	files   map[string]File
	modules map[string]*module
	order   []*module // each after those it uses
	stack   []step
	unused  diag.List // what the main file declares and does not use
}

func newLoader(s *Session) *loader {
	return &loader{session: s, files: map[string]File{}, modules: map[string]*module{}}
}

// step is one `use` on the way from the main file to the file being loaded.
type step struct {
	from *module
	at   source.Span
}

// Bounds that no honest design meets.
const (
	mostModules = 500
	mostBytes   = 16<<20 + 1 // one more than parse accepts, so that it tells
)

// extension ends the names of part files.
const extension = ".perch"

// libraryName stands before the names of standard modules in messages.
const libraryName = "stdlib/"

// load reads the main file. Faults of the files it uses become diagnostics at
// the `use`.
func (l *loader) load(name string) error {
	abs := absolute(name)
	l.root = filepath.Dir(abs)
	l.real = l.root
	if real, err := filepath.EvalSymlinks(l.root); err == nil {
		l.real = real
	}
	text, key, err := l.read(abs)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	m := l.open(key, abs, name, text)
	l.main = m
	l.follow(m)
	return nil
}

// standFor makes an empty file of a folder, to ask what holds in it; ok is
// false when the name is that of no folder.
func (l *loader) standFor(name string) (ok bool) {
	abs := absolute(name)
	if info, err := os.Stat(abs); err != nil || !info.IsDir() {
		return false
	}
	l.root, l.real, l.folder = abs, realPath(abs), true
	l.main = l.open(abs, abs, filepath.Clean(name), "")
	l.follow(l.main)
	return true
}

// open parses a text, or takes the tree of the last time when the text is the
// same.
func (l *loader) open(key, abs, shown, text string) *module {
	s := l.session
	s.mu.Lock()
	p, ok := s.parsed[shown]
	s.mu.Unlock()
	if !ok || p.text != text {
		tree, diags := parse.File(source.New(shown, text))
		p = parsed{text, tree, diags}
		s.mu.Lock()
		s.parsed[shown] = p
		s.mu.Unlock()
	}
	m := &module{key: key, path: abs, shown: shown, tree: p.tree, uses: map[string]*module{}}
	m.diags.Add(p.diags...)
	l.modules[key] = m
	return m
}

// follow loads what m uses and then puts m into the order.
func (l *loader) follow(m *module) {
	for _, d := range m.tree.Decls {
		u, ok := d.(*ast.Use)
		if !ok {
			continue
		}
		if u.Path == nil {
			for _, name := range u.Names {
				l.use(m, name, name.Place, l.standard)
			}
			continue
		}
		for _, name := range u.Names {
			l.use(m, name, u.Place, func(m *module, _ string, at source.Span) *module {
				return l.own(m, u.Path.Value, at)
			})
		}
	}
	l.order = append(l.order, m)
}

// use binds one name of a `use` to its module.
func (l *loader) use(m *module, name ast.Ident, at source.Span, find func(*module, string, source.Span) *module) {
	l.stack = append(l.stack, step{m, at})
	if used := find(m, name.Name, at); used != nil {
		m.uses[name.Name] = used
	}
	l.stack = l.stack[:len(l.stack)-1]
}

// standard finds a module of the standard library.
func (l *loader) standard(m *module, name string, at source.Span) *module {
	key := libraryName + name + extension
	if known, ok := l.modules[key]; ok {
		return l.known(m, known, at)
	}
	text, err := fs.ReadFile(l.session.library, name+extension)
	if err != nil {
		m.diags.Add(l.notStandard(m, name, at))
		return nil
	}
	used := l.open(key, "", key, string(text))
	l.follow(used)
	return used
}

func (l *loader) notStandard(m *module, name string, at source.Span) diag.Diagnostic {
	names := l.standardNames()
	d := diag.Diagnostic{
		Code: ModuleUnknown, At: at,
		Message: fmt.Sprintf("there is no standard module `%s`", name),
		Notes:   []string{diag.Why("the standard modules are " + strings.Join(names, ", "))},
	}
	if near, ok := spell.Nearest(name, names); ok {
		d.Notes = append(d.Notes, diag.Do(fmt.Sprintf("write `use %s` if that is meant", near)))
		d.Fixes = []diag.Fix{{Text: "use " + near, Edits: []diag.Edit{{At: at, New: near}}}}
	}
	if m.path != "" {
		d.Notes = append(d.Notes, diag.Do(fmt.Sprintf("for a file of your own write `use %s from \"%s%s\"`", name, name, extension)))
	}
	return d
}

func (l *loader) standardNames() []string {
	entries, err := fs.ReadDir(l.session.library, ".")
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries { // sorted by name
		if n, ok := strings.CutSuffix(e.Name(), extension); ok {
			names = append(names, n)
		}
	}
	return names
}

// known returns a module that has been met before, unless it is still being
// loaded: then the files use each other in a circle.
func (l *loader) known(m, used *module, at source.Span) *module {
	i := slices.IndexFunc(l.stack, func(s step) bool { return s.from == used })
	if i < 0 {
		return used
	}
	way := make([]string, 0, len(l.stack)-i+1)
	d := diag.Diagnostic{Code: UseCycle, At: at}
	for _, s := range l.stack[i:] {
		way = append(way, s.from.shown)
		if s.at != at {
			d.Labels = append(d.Labels, diag.Label{At: s.at, Text: "used here"})
		}
	}
	way = append(way, used.shown)
	if len(way) == 2 {
		d.Message = fmt.Sprintf("`%s` uses itself", used.shown)
		d.Notes = []string{diag.Do("take this line out: the names of a file are known in it without `use`")}
	} else {
		d.Message = "these files use each other in a circle: " + strings.Join(way, " → ")
		d.Notes = []string{
			diag.Why("no file of a circle can be read first"),
			diag.Do("move what they share into a file of its own that both use"),
		}
	}
	m.diags.Add(d)
	return nil
}

// own finds a file of the maker's own, named relative to the file m.
func (l *loader) own(m *module, name string, at source.Span) *module {
	fail := func(code diag.Code, message string, notes ...string) *module {
		m.diags.Add(diag.Diagnostic{Code: code, At: at, Message: message, Notes: notes})
		return nil
	}
	outside := func() *module {
		return fail(UseOutside, fmt.Sprintf("%q lies outside the folder of this design", name),
			diag.Why("a design reads only files in the folder of the file being built, and in folders within it"),
			diag.Do("copy the file into that folder and name it from there"))
	}
	switch {
	case m.path == "":
		return fail(UseOutside, "a standard module cannot use files",
			diag.Do("use other standard modules by their names alone"))
	case name == "":
		return fail(UseMissing, "`from` names no file",
			diag.Do(`write the file between the quotes, such as from "shared/dims.perch"`))
	case strings.ContainsRune(name, '\\'):
		return fail(UseMissing, fmt.Sprintf("%q is written with \\", name),
			diag.Do("write / between a folder and a file, on every system"))
	case path.IsAbs(name) || filepath.IsAbs(filepath.FromSlash(name)) || filepath.VolumeName(name) != "":
		return fail(UseOutside, fmt.Sprintf("%q is not named from this file", name),
			diag.Why("a design must work in whatever folder it is put"),
			diag.Do("name the file from the folder of this file, without a leading / or drive"))
	}
	abs := filepath.Join(filepath.Dir(m.path), filepath.FromSlash(name))
	if !inside(l.root, abs) || !inside(l.real, realPath(abs)) {
		return outside()
	}
	text, key, err := l.read(abs)
	if err != nil {
		return l.unread(m, name, abs, at, err)
	}
	if known, ok := l.modules[key]; ok {
		return l.known(m, known, at)
	}
	if len(l.modules) >= mostModules {
		return fail(UseTooMany, fmt.Sprintf("this design uses more than %d files", mostModules),
			diag.Do("bring together what belongs together"))
	}
	used := l.open(key, abs, filepath.Join(filepath.Dir(m.shown), filepath.FromSlash(name)), text)
	l.follow(used)
	return used
}

// unread reports why a file of the maker's own could not be read.
func (l *loader) unread(m *module, name, abs string, at source.Span, err error) *module {
	d := diag.Diagnostic{Code: UseMissing, At: at}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		d.Message = fmt.Sprintf("there is no file %q", name)
		d.Notes = []string{diag.Why("the name counts from the folder of the file that says `use`")}
		if near, ok := spell.Nearest(filepath.Base(abs), siblings(abs)); ok {
			d.Notes = append(d.Notes, diag.Do(fmt.Sprintf("the same folder holds %q: write that if it is meant", near)))
		} else {
			d.Notes = append(d.Notes, diag.Do("make the file, or set the name right"))
		}
	default:
		d.Code = UseUnreadable
		d.Message = fmt.Sprintf("%q cannot be read: %v", name, err)
		d.Notes = []string{diag.Do("check that it is a part file that you may read")}
	}
	m.diags.Add(d)
	return nil
}

// siblings lists the part files in the folder of a path.
func siblings(abs string) []string {
	entries, err := os.ReadDir(filepath.Dir(abs))
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), extension) {
			names = append(names, e.Name())
		}
	}
	return names
}

// inside reports whether path is dir or lies below it; both are clean.
func inside(dir, path string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && filepath.IsLocal(rel)
}

// realPath follows links as far as the path exists.
func realPath(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	dir, name := filepath.Split(path)
	dir = filepath.Clean(dir)
	if dir == path {
		return path
	}
	// A link that leads nowhere yet must not lead outside later.
	if to, err := os.Readlink(path); err == nil {
		if filepath.IsAbs(to) {
			return filepath.Clean(to)
		}
		return filepath.Join(realPath(dir), to)
	}
	return filepath.Join(realPath(dir), name)
}

// read returns the text of a file, unsaved text before that on disk, and a
// key that is the same for every name of the file. It notes that the file was
// looked for.
func (l *loader) read(abs string) (text, key string, err error) {
	l.session.mu.Lock()
	text, unsaved := l.session.overlay[abs]
	l.session.mu.Unlock()
	key = realPath(abs)
	if !unsaved {
		text, err = readRegular(abs)
	}
	seen := File{Path: abs, Found: err == nil}
	if seen.Found {
		seen.Sum = sha256.Sum256([]byte(text))
	}
	l.files[abs] = seen
	if key != abs {
		seen.Path = key
		l.files[key] = seen
	}
	return text, key, err
}

var (
	errFolder = errors.New("it is a folder, not a part file")
	errOdd    = errors.New("it is not an ordinary file")
)

// readRegular reads a file. It does not wait at a pipe or a device.
func readRegular(path string) (string, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return "", plain(err)
	case info.IsDir():
		return "", errFolder
	case !info.Mode().IsRegular():
		return "", errOdd
	}
	f, err := os.Open(path)
	if err != nil {
		return "", plain(err)
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, mostBytes))
	if err != nil {
		return "", plain(err)
	}
	return string(b), nil
}

// plain drops the path from a file error; the message around it has it.
func plain(err error) error {
	if p, ok := err.(*fs.PathError); ok {
		return p.Err
	}
	return err
}

func (l *loader) sortedFiles() []File {
	files := make([]File, 0, len(l.files))
	for _, f := range l.files {
		files = append(files, f)
	}
	slices.SortFunc(files, func(a, b File) int { return strings.Compare(a.Path, b.Path) })
	return files
}
