package compile

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/resolve"
)

// findShop finds the file that states the workshop. A design that states one
// itself is the workshop; else it is the named file; else the nearest
// workshop.perch from the folder of the design upwards. The search ends with
// the folder that holds .git, or at the root: a workshop belongs to the
// designs that are kept together with it.
func (l *loader) findShop(named string) error {
	switch {
	case statesShop(l.main.tree):
		l.shop = l.main
		return nil
	case named != "":
		abs := absolute(named)
		text, key, err := l.read(abs)
		if err != nil {
			return fmt.Errorf("%s: %w", named, err)
		}
		l.openShop(key, abs, named, text)
		return nil
	}
	shown := filepath.Dir(l.main.shown)
	if l.folder {
		shown = l.main.shown
	}
	for dir := l.root; ; dir, shown = filepath.Dir(dir), filepath.Join(shown, "..") {
		abs := filepath.Join(dir, workshop.FileName)
		text, key, err := l.read(abs)
		if err == nil && key != l.main.key {
			l.openShop(key, abs, filepath.Join(shown, workshop.FileName), text)
			return nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, errFolder) {
			return fmt.Errorf("%s: %w", filepath.Join(shown, workshop.FileName), err)
		}
		if _, err := os.Stat(filepath.Join(dir, ".git")); err == nil || dir == filepath.Dir(dir) {
			return nil
		}
	}
}

func (l *loader) openShop(key, abs, shown, text string) {
	if known, ok := l.modules[key]; ok { // the design uses it, too
		l.shop = known
		return
	}
	l.shop = l.open(key, abs, shown, text)
	l.follow(l.shop)
}

func statesShop(f *ast.File) bool {
	return slices.ContainsFunc(f.Decls, func(d ast.Decl) bool { _, ok := d.(*ast.Workshop); return ok })
}

// withMaterials adds the materials that the workshop states to the words that
// parts may name.
func (l *loader) withMaterials(lists map[resolve.Words][]string) map[resolve.Words][]string {
	if l.shop == nil {
		return lists
	}
	out := maps.Clone(lists)
	names := slices.Clone(lists[resolve.Materials])
	for _, d := range l.shop.tree.Decls {
		w, ok := d.(*ast.Workshop)
		if !ok {
			continue
		}
		for _, e := range w.Entries {
			if name := e.Path[0].Name; len(e.Path) == 2 && name != workshop.FitWord && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	out[resolve.Materials] = names
	return out
}
