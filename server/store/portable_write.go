package store

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"time"
)

// BackupOptions say what goes into a backup besides the tables.
type BackupOptions struct {
	Keys    bool     // what signs tokens, too
	Program string   // named in the manifest
	Files   fs.FS    // the school's own files; nil: none
	Under   []string // which files and folders of Files; what is not there is left out
}

// Backup writes the whole database as it is at one moment, while others go on
// writing to it, row by row. What it needs of memory does not grow with it.
func (s *Store) Backup(ctx context.Context, to io.Writer, o BackupOptions) (m Manifest, err error) {
	tx, err := pool(s.read).BeginTx(ctx, s.words.snapshot)
	if err != nil {
		return m, wrap("backup", err)
	}
	defer func() { err = errors.Join(err, ignoreDone(tx.Rollback())) }()
	m = Manifest{Format: portableFormat, Version: portableVersion, Taken: s.now(), Program: o.Program, Keys: o.Keys}
	err = tx.QueryRowContext(ctx, "SELECT MAX(version_id) FROM goose_db_version").Scan(&m.Schema)
	if err != nil {
		return m, wrap("backup", err)
	}
	tables, err := layouts(ctx, tx, s.words)
	if err != nil {
		return m, wrap("backup", err)
	}
	w := packer{zip: zip.NewWriter(to), at: m.Taken}
	w.zip.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, packLevel) })
	for _, t := range tables {
		kept, err := w.table(ctx, tx, t, o.Keys)
		if err != nil {
			return m, wrap("backup: table "+t.name, err)
		}
		m.Tables = append(m.Tables, kept)
	}
	if m.Files, err = w.files(o.Files, o.Under); err != nil {
		return m, fmt.Errorf("backup: %w", err)
	}
	return m, wrap("backup", w.finish(m))
}

// packLevel packs acts to a fifth. A higher one takes the processor from who acts.
const packLevel = 4

// packer writes members one after another.
type packer struct {
	zip *zip.Writer
	at  time.Time
}

// member writes one member and says what was in it.
func (p packer) member(name string, write func(w *bufio.Writer) error) (kept FileKept, err error) {
	into, err := p.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: p.at})
	if err != nil {
		return kept, err
	}
	sum := sha256.New()
	count := &counter{to: io.MultiWriter(into, sum)}
	w := bufio.NewWriterSize(count, 64<<10)
	if err := errors.Join(write(w), w.Flush()); err != nil {
		return kept, err
	}
	return FileKept{Member: name, Bytes: count.n, SHA256: hex.EncodeToString(sum.Sum(nil))}, nil
}

// counter counts what goes through it.
type counter struct {
	to io.Writer
	n  int64
}

// Write counts and hands on.
func (c *counter) Write(p []byte) (int, error) {
	n, err := c.to.Write(p)
	c.n += int64(n)
	return n, err
}

func (p packer) table(ctx context.Context, tx *sql.Tx, t layout, keys bool) (kept TableKept, err error) {
	leaveOut := secretRows[t.name]
	if keys {
		leaveOut = ""
	}
	kept = TableKept{Name: t.name, Columns: t.columns}
	kept.FileKept, err = p.member("tables/"+t.name+".jsonl", func(w *bufio.Writer) error {
		kept.Rows, err = eachRow(ctx, tx, t, leaveOut, w)
		return err
	})
	return kept, err
}

func eachRow(ctx context.Context, tx *sql.Tx, t layout, leaveOut string, w io.Writer) (n int64, err error) {
	rows, err := tx.QueryContext(ctx, t.selection(leaveOut))
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	values, dest := make([]any, len(t.columns)), make([]any, len(t.columns))
	for i := range values {
		dest[i] = &values[i]
	}
	out := newRowWriter(t.columns)
	for ; rows.Next(); n++ {
		if err := rows.Scan(dest...); err != nil {
			return n, err
		}
		line, err := out.write(values)
		if err != nil {
			return n, fmt.Errorf("row %d: %w", n+1, err)
		}
		if _, err := w.Write(line); err != nil {
			return n, err
		}
	}
	return n, rows.Err()
}

// files copies the school's own files.
func (p packer) files(from fs.FS, under []string) (all []FileKept, err error) {
	all = []FileKept{}
	if from == nil {
		return all, nil
	}
	for _, top := range under {
		if _, err := fs.Stat(from, top); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		err := fs.WalkDir(from, top, func(name string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			kept, err := p.file(from, name)
			all = append(all, kept)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	if len(all) > mostFiles {
		return nil, fmt.Errorf("the school has %d files of its own; at most %d can be kept", len(all), mostFiles)
	}
	return all, nil
}

// file copies one file.
func (p packer) file(from fs.FS, name string) (kept FileKept, err error) {
	info, err := fs.Stat(from, name) // of what a link leads to
	if err != nil {
		return kept, err
	}
	if !info.Mode().IsRegular() {
		return kept, fmt.Errorf("%s is no file that can be kept, or a link to a folder; put the files themselves in its place", name)
	}
	f, err := from.Open(name)
	if err != nil {
		return kept, err
	}
	defer f.Close()
	return p.member("files/"+name, func(w *bufio.Writer) error {
		_, err := io.Copy(w, f)
		return err
	})
}

// finish writes the manifest, which is last, as it says what came before.
func (p packer) finish(m Manifest) error {
	text, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	_, err = p.member(manifestName, func(w *bufio.Writer) error {
		_, err := w.Write(append(text, '\n'))
		return err
	})
	return errors.Join(err, p.zip.Close())
}
