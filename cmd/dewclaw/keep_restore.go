package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dewclaw/server"
	"dewclaw/server/store"
)

func newRestoreCommand() *cobra.Command {
	var f placeFlags
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Make a database out of a backup, in a new place",
		Long: "Make a database out of a backup, and put the school's own library, rubrics, ranges\n" +
			"and reviews into the data folder. Nothing is ever overwritten: name a new folder\n" +
			"or an empty database. A backup of an older version is brought up to date. Whether\n" +
			"it was kept in SQLite or PostgreSQL makes no difference.",
		Args: oneWord("the backup"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return restore(cmd.Context(), f, args[0], cmd.OutOrStdout())
		},
	}
	f.add(cmd)
	return withEnvironment(cmd)
}

func restore(ctx context.Context, f placeFlags, name string, out io.Writer) (err error) {
	b, err := openBackup(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.file.Close()) }()
	if err := freeForFiles(f.data, b.Manifest); err != nil {
		return err
	}
	began := time.Now()
	if err := store.Restore(ctx, f.config(), b.Backup); err != nil {
		return fmt.Errorf("nothing was restored: %w", err)
	}
	files, err := b.RestoreFiles(f.data, ownFiles)
	if err != nil {
		return fmt.Errorf("the database is restored, the school's own files only in part (%d of %d): unpack those under files/ by hand: %w", files, len(b.Manifest.Files), err)
	}
	st, err := store.Open(ctx, f.config())
	if err != nil {
		return err
	}
	m := b.Manifest
	note := store.Note{Deed: server.DeedRestore, About: "log:all", Detail: "as of " + m.Taken.Format(time.RFC3339)}
	if err := errors.Join(st.Record(ctx, note), st.Close()); err != nil {
		return err
	}
	fmt.Fprintf(out, "Restored %d rows of %d tables and %d files as of %s into %s in %s.\n",
		m.Rows(), len(m.Tables), files, m.Taken.Format(time.RFC3339), st.Name(), time.Since(began).Round(10*time.Millisecond))
	if !m.Keys {
		fmt.Fprintln(out, "The backup holds no keys: everybody signs in anew.")
	}
	fmt.Fprintln(out, "'dewclaw verify' holds all of it against its promises.")
	return nil
}

// freeForFiles looks beforehand whether a file of the school's own is in the way.
func freeForFiles(data string, m store.Manifest) error {
	for _, kept := range m.Files {
		path := filepath.Join(data, filepath.FromSlash(strings.TrimPrefix(kept.Member, "files/")))
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("nothing was restored: %s is there already and is never overwritten; name a new folder with --data", path)
		}
	}
	return nil
}
