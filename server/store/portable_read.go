package store

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
)

// Backup is a backup that can be read. Nothing in it is believed before it was
// held against the manifest.
type Backup struct {
	Manifest Manifest
	members  map[string]*zip.File
}

// OpenBackup opens a backup and looks whether it has what its manifest says, no
// more and no less. It reads no table yet. ErrBackup: it is none, or may do harm.
// ErrNewer: a newer program made it.
func OpenBackup(from io.ReaderAt, size int64) (*Backup, error) {
	z, err := zip.NewReader(from, size)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBackup, err)
	}
	if len(z.File) > mostFiles+mostTables {
		return nil, fmt.Errorf("%w: it holds %d files", ErrBackup, len(z.File))
	}
	b := &Backup{members: map[string]*zip.File{}}
	for _, f := range z.File {
		if err := b.take(f); err != nil {
			return nil, err
		}
	}
	if err := b.readManifest(); err != nil {
		return nil, err
	}
	return b, b.complete()
}

// take looks at a member from outside: name and sizes.
func (b *Backup) take(f *zip.File) error {
	switch {
	case !fs.ValidPath(f.Name) || !filepath.IsLocal(filepath.FromSlash(f.Name)) || strings.Contains(f.Name, `\`):
		return fmt.Errorf("%w: it holds a file called %q, which could lead out of the folder", ErrBackup, f.Name)
	case b.members[f.Name] != nil:
		return fmt.Errorf("%w: it holds two files called %q", ErrBackup, f.Name)
	case f.UncompressedSize64 > freeRatio && f.UncompressedSize64/mostRatio > f.CompressedSize64:
		return fmt.Errorf("%w: %s would unpack from %d to %d bytes, which no file of ours does", ErrBackup, f.Name, f.CompressedSize64, f.UncompressedSize64)
	}
	b.members[f.Name] = f
	return nil
}

func (b *Backup) readManifest() error {
	f := b.members[manifestName]
	if f == nil {
		return fmt.Errorf("%w: it has no %s", ErrBackup, manifestName)
	}
	if f.UncompressedSize64 > mostManifest {
		return fmt.Errorf("%w: its %s has %d bytes", ErrBackup, manifestName, f.UncompressedSize64)
	}
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("%w: %s: %w", ErrBackup, manifestName, err)
	}
	text, err := io.ReadAll(io.LimitReader(r, mostManifest))
	if err := errors.Join(err, r.Close()); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrBackup, manifestName, err)
	}
	b.Manifest, err = readManifest(text)
	return err
}

// complete holds the members against the manifest.
func (b *Backup) complete() error {
	wanted := map[string]int64{manifestName: int64(b.members[manifestName].UncompressedSize64)}
	for _, t := range b.Manifest.Tables {
		wanted[t.Member] = t.Bytes
		if t.Member != "tables/"+t.Name+".jsonl" {
			return fmt.Errorf("%w: table %q is said to be in %q", ErrBackup, t.Name, t.Member)
		}
	}
	for _, f := range b.Manifest.Files {
		wanted[f.Member] = f.Bytes
		if !strings.HasPrefix(f.Member, "files/") {
			return fmt.Errorf("%w: %q is no place for a file", ErrBackup, f.Member)
		}
	}
	for name, bytes := range wanted {
		f := b.members[name]
		if f == nil {
			return fmt.Errorf("%w: %s is missing", ErrBackup, name)
		}
		if int64(f.UncompressedSize64) != bytes {
			return fmt.Errorf("%w: %s has %d bytes, right would be %d", ErrBackup, name, f.UncompressedSize64, bytes)
		}
	}
	if len(wanted) != len(b.members) {
		names := []string{}
		for name := range b.members {
			if _, ok := wanted[name]; !ok {
				names = append(names, name)
			}
		}
		return fmt.Errorf("%w: it holds %q, of which its manifest knows nothing", ErrBackup, slices.Min(names))
	}
	return nil
}

// Check reads all of a backup and holds it against the manifest, byte by byte.
// Whether rows fit into a database is seen when it is restored.
func (b *Backup) Check(ctx context.Context) error {
	all := slices.Clone(b.Manifest.Files)
	for _, t := range b.Manifest.Tables {
		all = append(all, t.FileKept)
	}
	for _, f := range all {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := b.file(f, io.Discard); err != nil {
			return err
		}
	}
	return nil
}

// checked reads a member and knows at its end whether it was the right one.
type checked struct {
	kept FileKept
	from io.ReadCloser
	sum  hash.Hash
	n    int64
}

func (b *Backup) open(kept FileKept) (*checked, error) {
	r, err := b.members[kept.Member].Open()
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrBackup, kept.Member, err)
	}
	return &checked{kept: kept, from: r, sum: sha256.New()}, nil
}

// Read reads on; no more than the manifest says and one byte.
func (c *checked) Read(p []byte) (int, error) {
	if c.n > c.kept.Bytes {
		return 0, fmt.Errorf("%w: %s is longer than %d bytes", ErrBackup, c.kept.Member, c.kept.Bytes)
	}
	n, err := c.from.Read(p[:min(int64(len(p)), c.kept.Bytes-c.n+1)])
	c.n += int64(n)
	c.sum.Write(p[:n])
	if err != nil && err != io.EOF {
		return n, fmt.Errorf("%w: %s: %w", ErrBackup, c.kept.Member, err)
	}
	return n, err
}

// close says whether what was read is what was written.
func (c *checked) close() error {
	if err := c.from.Close(); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrBackup, c.kept.Member, err)
	}
	if c.n != c.kept.Bytes || hex.EncodeToString(c.sum.Sum(nil)) != c.kept.SHA256 {
		return fmt.Errorf("%w: %s is damaged: it is not the file whose SHA-256 is %s", ErrBackup, c.kept.Member, c.kept.SHA256)
	}
	return nil
}

// rows gives every row of a table. The values are good until the next one.
func (b *Backup) rows(ctx context.Context, t TableKept, do func(values []any) error) error {
	c, err := b.open(t.FileKept)
	if err != nil {
		return err
	}
	values := make([]any, len(t.Columns))
	lines := bufio.NewScanner(c)
	lines.Buffer(make([]byte, 0, 64<<10), mostRow+1)
	lines.Split(wholeLines)
	n := int64(0)
	for lines.Scan() {
		n++
		if err := ctx.Err(); err != nil {
			return errors.Join(err, c.from.Close())
		}
		if err := readRow(lines.Bytes(), t.Columns, values); err != nil {
			return errors.Join(fmt.Errorf("%w: %s, line %d: %w", ErrBackup, t.Member, n, err), c.from.Close())
		}
		if err := do(values); err != nil {
			return errors.Join(err, c.from.Close())
		}
	}
	if err := lines.Err(); err != nil {
		return errors.Join(fmt.Errorf("%s, after line %d: %w", t.Member, n, err), c.from.Close())
	}
	if err := c.close(); err != nil {
		return err
	}
	if n != t.Rows {
		return fmt.Errorf("%w: %s has %d rows, right would be %d", ErrBackup, t.Member, n, t.Rows)
	}
	return nil
}

// wholeLines splits at line ends; a last line without one is cut off, not a row.
func wholeLines(data []byte, atEnd bool) (int, []byte, error) {
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		return i + 1, data[:i], nil
	}
	if atEnd && len(data) > 0 {
		return 0, nil, fmt.Errorf("%w: the last line is cut off", ErrBackup)
	}
	return 0, nil, nil
}

func (b *Backup) file(kept FileKept, to io.Writer) error {
	c, err := b.open(kept)
	if err != nil {
		return err
	}
	if _, err := io.Copy(to, c); err != nil {
		return errors.Join(err, c.from.Close())
	}
	return c.close()
}
