package server

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// Whoever may read the data folder reads everybody's marks.
const (
	folderMode = 0o700
	fileMode   = 0o600
)

// ownNames are what stands in a data folder, besides files whose names begin with
// the database's.
var ownNames = []string{"library", "rubrics", "ranges.csv", "reviews.csv", "backups"}

// openFolder makes the data folder where it is missing, and closes it and what is
// in it to other users of the machine. Errors say in one sentence what to do.
func (s *Server) openFolder() error {
	dir := s.cfg.Data
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(dir, folderMode); err != nil {
			return fmt.Errorf("the data folder %s cannot be made; give this user the right to write the folder above it, or name another with --data (%w)", dir, err)
		}
		return nil
	case err != nil:
		return fmt.Errorf("the data folder %s cannot be looked at; give this user the right to it, or name another with --data (%w)", dir, err)
	case !info.IsDir():
		return fmt.Errorf("the data folder %s is a file; name a folder with --data", dir)
	case runtime.GOOS == "windows": // rights are not in the mode there
		return nil
	}
	if info.Mode().Perm()&0o077 != 0 {
		if err := closeFolder(dir, info); err != nil {
			return err
		}
	}
	return s.closeFiles()
}

// closeFolder takes a folder's rights from everybody else, if it is ours: a home
// folder or /tmp that was named by mistake is left alone.
func closeFolder(dir string, info fs.FileInfo) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("the data folder %s cannot be read; give this user the right to it, or name another with --data (%w)", dir, err)
	}
	database := slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return e.Name() == databaseName })
	strange := slices.IndexFunc(entries, func(e fs.DirEntry) bool {
		return !strings.HasPrefix(e.Name(), databaseName) && !slices.Contains(ownNames, e.Name())
	})
	if info.Mode()&fs.ModeSticky != 0 || (!database && strange >= 0) {
		return fmt.Errorf("the data folder %s is open to other users of this machine and holds other things than ours; name a folder of its own with --data, or close it with 'chmod 700 %s'", dir, dir)
	}
	if err := os.Chmod(dir, folderMode); err != nil {
		return fmt.Errorf("the data folder %s is open to other users of this machine and this user cannot close it; let its owner do 'chmod 700 %s' (%w)", dir, dir, err)
	}
	return nil
}

// closeFiles takes the rights of everybody else from all files. Only for the
// database is it an error where that cannot be done: the folder hides the others.
func (s *Server) closeFiles() error {
	dir, err := filepath.EvalSymlinks(s.cfg.Data) // a link to the folder is not walked into
	if err != nil {
		return fmt.Errorf("the data folder %s cannot be looked at; give this user the right to it, or name another with --data (%w)", s.cfg.Data, err)
	}
	return filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			s.log.Warn("a file of the data folder cannot be looked at", "cause", err)
			return nil
		}
		want := fs.FileMode(fileMode)
		if e.IsDir() {
			want = folderMode
		} else if !e.Type().IsRegular() {
			return nil // a link's mode says nothing
		}
		info, err := e.Info()
		if err != nil || info.Mode().Perm()&0o077 == 0 {
			return nil
		}
		if err = os.Chmod(path, info.Mode().Perm()&want); err == nil {
			return nil
		}
		if strings.HasPrefix(filepath.Base(path), databaseName) {
			return fmt.Errorf("%s can be read by other users of this machine and this user cannot change that; let its owner do 'chmod 600 %s' (%w)", path, path, err)
		}
		s.log.Warn("a file of the data folder belongs to somebody else and keeps its rights", "cause", err)
		return nil
	})
}
