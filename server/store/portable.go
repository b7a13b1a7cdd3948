package store

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// The portable form of a database is a ZIP with one member of JSON Lines a table,
// the school's own files as they are, and at the end manifest.json, which says
// what must be in it. It is the same for every database and is read by any
// program that reads ZIP and JSON.
//
// A row is an object of its columns. Whole numbers are numbers; texts and bytes
// are strings where they are UTF-8, else {"base64": "..."}. The rows stand in the
// order of the primary key, so that equal databases have equal members.
const (
	portableFormat  = "dewclaw backup"
	portableVersion = 1
	manifestName    = "manifest.json"
)

// What a file of ours never exceeds; one that does is refused before it fills a disk.
const (
	mostFiles    = 20000 // of the school's own
	mostTables   = 1000
	mostManifest = 16 << 20  // bytes
	mostRow      = 128 << 20 // bytes of one line; the longest holds a recording of 48 MB
	mostRatio    = 250       // bytes out of one packed byte,
	freeRatio    = 16 << 20  // of members that are larger than this
)

// Manifest says what a backup holds.
type Manifest struct {
	Format  string      `json:"format"`
	Version int         `json:"version"`
	Taken   time.Time   `json:"taken"`
	Program string      `json:"program"` // which made it
	Schema  int64       `json:"schema"`
	Keys    bool        `json:"keys"` // with what signs tokens
	Tables  []TableKept `json:"tables"`
	Files   []FileKept  `json:"files"`
}

// TableKept is one table of a backup.
type TableKept struct {
	Name    string   `json:"name"`
	Columns []column `json:"columns"`
	Rows    int64    `json:"rows"`
	FileKept
}

// FileKept is one member of a backup and what was in it.
type FileKept struct {
	Member string `json:"member"` // its name in the ZIP
	Bytes  int64  `json:"bytes"`  // unpacked
	SHA256 string `json:"sha256"`
}

// The kinds of columns. The schema has no others.
const (
	kindText    = "text"
	kindInteger = "integer"
	kindBytes   = "bytes"
)

// column is one column of a table.
type column struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
}

// Rows adds up the rows of all tables.
func (m Manifest) Rows() (n int64) {
	for _, t := range m.Tables {
		n += t.Rows
	}
	return n
}

// Table returns what is kept of a table.
func (m Manifest) Table(name string) (TableKept, bool) {
	i := slices.IndexFunc(m.Tables, func(t TableKept) bool { return t.Name == name })
	if i < 0 {
		return TableKept{}, false
	}
	return m.Tables[i], true
}

// readManifest reads a manifest strictly as far as we know it.
func readManifest(text []byte) (m Manifest, err error) {
	if err := json.Unmarshal(text, &m); err != nil {
		return m, fmt.Errorf("%w: %s: %w", ErrBackup, manifestName, err)
	}
	switch newest := newestMigration(migrationFiles); {
	case m.Format != portableFormat:
		return m, fmt.Errorf("%w: its format is %q, right would be %q", ErrBackup, m.Format, portableFormat)
	case m.Version > portableVersion || m.Schema > newest:
		return m, fmt.Errorf("%w: the backup has form %d and schema %d, this program knows %d and %d", ErrNewer, m.Version, m.Schema, portableVersion, newest)
	case m.Version < 1 || m.Schema < 1 || len(m.Tables) == 0:
		return m, fmt.Errorf("%w: its manifest names no form, schema or table", ErrBackup)
	}
	return m, nil
}

// Secrets that let whoever has them sign tokens or guess hidden ids are left out
// of a backup unless they are asked for: by table, which rows those are.
var secretRows = map[string]string{
	"signing_keys": "1 = 1",
	"settings":     "name LIKE 'secret.%'",
}
