package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dewclaw/server"
	"dewclaw/server/store"
)

// backupFlags are the words of backup.
type backupFlags struct {
	place placeFlags
	keep  int
	keys  bool
}

func newBackupCommand() *cobra.Command {
	var f backupFlags
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Write all that a school has into one file, while its server runs",
		Long: "Write the whole database as it is at this moment, and the school's own library,\n" +
			"rubrics, ranges and reviews, into one ZIP of JSON Lines. A server may go on; what\n" +
			"is written is read back. With --keep N the time is put into the file's name and\n" +
			"only the newest N stay.\n\n" +
			"The file holds everybody's marks: keep it as you keep those. What signs tokens is\n" +
			"left out unless --with-keys asks for it; without it everybody signs in anew after\n" +
			"a restore, and nothing else is lost.",
		Args: oneWord("the file to write"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return backup(cmd.Context(), f, args[0], cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f.place.add(cmd)
	cmd.Flags().IntVar(&f.keep, "keep", 0, "put the time into the name and keep this many; 0: the name as it is")
	cmd.Flags().BoolVar(&f.keys, "with-keys", false, "with what signs tokens, so that sessions go on after a restore")
	return withEnvironment(cmd)
}

func backup(ctx context.Context, f backupFlags, name string, out, errw io.Writer) (err error) {
	if f.keep < 0 {
		return &usageError{fmt.Errorf("--keep %d is no number of backups; right would be 0 for the name as it is, or such as 14", f.keep)}
	}
	st, err := store.Peek(ctx, f.place.config())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	began := time.Now()
	series := name
	if f.keep > 0 {
		name = dated(series, st.Now())
	}
	var m store.Manifest
	o := store.BackupOptions{Keys: f.keys, Program: builtFrom(), Files: f.place.files(), Under: ownFiles}
	err = whole(name, func(w *os.File) error {
		m, err = portable(ctx, st, w, o)
		return err
	})
	if err != nil {
		return fmt.Errorf("no backup was made: %w", err)
	}
	info, err := os.Stat(name)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s: %d rows of %d tables and %d files as of %s, %s, written and read back in %s.\n",
		name, m.Rows(), len(m.Tables), len(m.Files), m.Taken.Format(time.RFC3339), megabytes(info.Size()), time.Since(began).Round(10*time.Millisecond))
	note := store.Note{Deed: server.DeedBackup, About: "log:all", Detail: fmt.Sprintf("%d rows", m.Rows())}
	if err := st.NoteBackup(ctx, m.Taken, note); err != nil {
		fmt.Fprintf(errw, "dewclaw: the backup is good; that it was taken could not be noted in the database: %v\n", err)
	}
	return dropOld(series, f.keep, out)
}

// stamp is the time in the names of a series.
const stamp = "20060102T150405Z"

// dated puts the time before the ending: school.zip becomes school-20261125T220500Z.zip.
func dated(name string, at time.Time) string {
	ext := filepath.Ext(name)
	return strings.TrimSuffix(name, ext) + "-" + at.UTC().Format(stamp) + ext
}

// dropOld removes the oldest backups of a series. Only names that dated gives are
// of the series, whatever else stands beside them.
func dropOld(series string, keep int, out io.Writer) error {
	if keep == 0 {
		return nil
	}
	entries, err := os.ReadDir(filepath.Dir(series))
	if err != nil {
		return err
	}
	ext := filepath.Ext(series)
	stem := strings.TrimSuffix(filepath.Base(series), ext) + "-"
	var names []string
	for _, e := range entries {
		middle, ok := strings.CutPrefix(strings.TrimSuffix(e.Name(), ext), stem)
		if _, err := time.Parse(stamp, middle); ok && err == nil && strings.HasSuffix(e.Name(), ext) && e.Type().IsRegular() {
			names = append(names, e.Name())
		}
	}
	slices.Sort(names) // as their times
	for _, name := range names[:max(0, len(names)-keep)] {
		path := filepath.Join(filepath.Dir(series), name)
		if err := os.Remove(path); err != nil {
			return fmt.Errorf("the backup was made; an older one cannot be removed: %w", err)
		}
		fmt.Fprintf(out, "%s was older than the %d that are kept, and is removed.\n", path, keep)
	}
	return nil
}

func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }
