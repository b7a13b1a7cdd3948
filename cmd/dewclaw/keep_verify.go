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

	"github.com/spf13/cobra"

	"dewclaw/rubric"
	"dewclaw/server"
	"dewclaw/server/store"
)

func newVerifyCommand() *cobra.Command {
	var f placeFlags
	cmd := &cobra.Command{
		Use:   "verify [BACKUP]",
		Short: "Hold a database, or a backup of one, against all that it promises",
		Long: "Read the whole database and look whether it is sound: no page damaged, every\n" +
			"transcript complete from its first act to its last, every text the one of its\n" +
			"hash, no entry of the log taken out, and every report the one that this version\n" +
			"of the engine derives again from acts, key and rubric. Reports by other versions\n" +
			"of the engine are read, and counted apart. A server may be at work meanwhile.\n\n" +
			"With a backup, that is restored into a temporary folder and verified there.",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return &usageError{errors.New("verify takes at most one word, a backup; see 'dewclaw verify --help'")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				return verifyBackup(cmd.Context(), args[0], cmd.OutOrStdout(), cmd.ErrOrStderr())
			}
			return verify(cmd.Context(), f.config(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f.add(cmd)
	return withEnvironment(cmd)
}

func verifyBackup(ctx context.Context, name string, out, errw io.Writer) (err error) {
	b, err := openBackup(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.file.Close()) }()
	if err := b.Check(ctx); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	fmt.Fprintf(out, "%s: taken %s by %s; all %d files in it are the ones that its manifest names.\n",
		name, b.Manifest.Taken.Format("2006-01-02 15:04:05 MST"), b.Manifest.Program, len(b.Manifest.Tables)+len(b.Manifest.Files))
	dir, err := os.MkdirTemp("", "dewclaw-verify-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	c := store.Config{Path: filepath.Join(dir, server.DatabaseName)}
	if err := store.Restore(ctx, c, b.Backup); err != nil {
		return fmt.Errorf("%s cannot be restored: %w", name, err)
	}
	return verify(ctx, c, out, errw)
}

func verify(ctx context.Context, c store.Config, out, errw io.Writer) (err error) {
	st, err := store.Peek(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	v, err := server.Verify(ctx, st, func(done int) {
		if done%4096 == 0 {
			fmt.Fprintf(errw, "%d reports\n", done)
		}
	})
	if err != nil {
		return err
	}
	tellVerified(out, st.Name(), v)
	if v.Count > 0 {
		return errSilent
	}
	return nil
}

func tellVerified(out io.Writer, name string, v server.Verified) {
	fmt.Fprintf(out, "%s, schema %d: %d rows of %d tables were read.\n", name, v.Schema, v.Rows, v.Tables)
	fmt.Fprintf(out, "Transcripts: %d, with %d acts. Texts: %d. Entries of the log: %d.\n", v.Attempts, v.Acts, v.Texts, v.Notes)
	fmt.Fprintf(out, "Reports derived again and equal to the byte: %d, by engine %s.\n", v.Equal, rubric.Engine)
	var engines []string
	for engine, n := range v.Others {
		engines = append(engines, fmt.Sprintf("%d by %s", n, engine))
	}
	if slices.Sort(engines); len(engines) > 0 {
		fmt.Fprintf(out, "Reports by other versions of the engine, read and not derived again: %s.\n", strings.Join(engines, ", "))
	}
	if v.Count == 0 {
		fmt.Fprintln(out, "No problem was found.")
		return
	}
	fmt.Fprintf(out, "Problems: %d.\n", v.Count)
	for _, text := range v.First {
		fmt.Fprintf(out, "  %s\n", text)
	}
	if more := v.Count - len(v.First); more > 0 {
		fmt.Fprintf(out, "  and %d more\n", more)
	}
}
