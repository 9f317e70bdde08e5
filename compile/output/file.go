package output

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
)

// WriteFile writes a file by way of a temporary file in the same folder that
// takes its name only when every byte is on the disk. When write fails, the
// disk is full or the program dies, the old file is as it was. A file that
// exists keeps its permissions; one that the user may not write is left
// alone. A symbolic link stays, and the file it points to is replaced.
func WriteFile(path string, write func(io.Writer) error) (err error) {
	target, err := Target(path)
	if err != nil {
		return err
	}
	mode, err := replaceable(target)
	if err != nil {
		return err
	}
	f, err := temporary(filepath.Dir(target))
	if err != nil {
		return err
	}
	done := false
	defer func() { // also when write panics
		if !done {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if mode != 0 {
		if err := f.Chmod(mode); err != nil {
			return fmt.Errorf("write %s: %w", path, cause(err))
		}
	}
	if err := write(f); err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	if err := os.Rename(f.Name(), target); err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	done = true
	syncDir(filepath.Dir(target))
	return nil
}

// mostLinks bounds a chain of symbolic links, as the system does.
const mostLinks = 40

// Target follows symbolic links from path to the file that WriteFile would
// replace. The file need not exist.
func Target(path string) (string, error) {
	at := path
	for range mostLinks {
		info, err := os.Lstat(at)
		if errors.Is(err, fs.ErrNotExist) {
			return at, nil
		}
		if err != nil {
			return "", fmt.Errorf("write %s: %w", path, cause(err))
		}
		if info.Mode()&fs.ModeSymlink == 0 {
			return at, nil
		}
		link, err := os.Readlink(at)
		if err != nil {
			return "", fmt.Errorf("write %s: %w", path, cause(err))
		}
		if !filepath.IsAbs(link) {
			link = filepath.Join(filepath.Dir(at), link)
		}
		at = link
	}
	return "", fmt.Errorf("write %s: its symbolic links go round in a circle", path)
}

// replaceable returns the permissions of the file at path, or 0 when there is
// none. It fails when what stands there must not be replaced.
func replaceable(path string) (fs.FileMode, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("write %s: %w", path, cause(err))
	}
	switch {
	case info.IsDir():
		return 0, fmt.Errorf("write %s: a folder has this name", path)
	case !info.Mode().IsRegular():
		return 0, fmt.Errorf("write %s: not an ordinary file", path)
	}
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return 0, fmt.Errorf("write %s: the file is there and cannot be replaced: %w", path, cause(err))
	}
	f.Close()
	return info.Mode().Perm(), nil
}

// temporary creates a new file with the permissions any new file would get.
func temporary(dir string) (*os.File, error) {
	for {
		name := filepath.Join(dir, ".perch-"+strconv.FormatUint(rand.Uint64(), 36)+".tmp")
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("write into folder %s: %w", dir, cause(err))
		}
		return f, nil
	}
}

// syncDir makes the new name last through a power cut where the system can.
// Not every file system can, and the data itself is already safe.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}

// cause drops the operation and the path from a file error: the message names
// the file that the user knows, not the temporary one.
func cause(err error) error {
	switch e := err.(type) {
	case *fs.PathError:
		return e.Err
	case *os.LinkError:
		return e.Err
	}
	return err
}
