// Package web holds the pages' templates and static files, embedded, and the
// drawing of the animal. It imports nothing of ours: what it draws is handed
// to it.
package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"sync"
)

//go:embed templates static
var embedded embed.FS

// Files are the templates and the static files of one build.
type Files struct {
	Templates fs.FS // layout.html, pages/, parts/
	Static    fs.FS // css/, js/, img/
	Version   string
}

// Embedded are the files inside the program. Version is a hash of the whole
// static tree: it stands in the URL's path, so that the files may be cached for ever.
var Embedded = sync.OnceValue(func() Files {
	f, err := open(embedded)
	if err != nil {
		panic(err) // the tree is part of the program
	}
	return f
})

// OnDisk are the files below dir, read anew at each request, for whoever edits
// them. Their Version is always "dev".
func OnDisk(dir string) (Files, error) {
	f, err := open(os.DirFS(dir))
	if err != nil {
		return Files{}, fmt.Errorf("web files in %s: %w", dir, err)
	}
	f.Version = "dev"
	return f, nil
}

// open finds the two trees and hashes the static one.
func open(root fs.FS) (Files, error) {
	templates, err := fs.Sub(root, "templates")
	if err != nil {
		return Files{}, err
	}
	static, err := fs.Sub(root, "static")
	if err != nil {
		return Files{}, err
	}
	version, err := hash(static)
	return Files{Templates: templates, Static: static, Version: version}, err
}

// hash is the start of the SHA-256 of every path and content of a tree.
func hash(tree fs.FS) (string, error) {
	h := sha256.New()
	err := fs.WalkDir(tree, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(tree, path)
		if err != nil {
			return err
		}
		fmt.Fprintf(h, "%s %d\n", path, len(b))
		_, err = h.Write(b)
		return err
	})
	return hex.EncodeToString(h.Sum(nil))[:12], err
}
