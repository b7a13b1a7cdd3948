package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"dewclaw/server"
	"dewclaw/server/store"
)

func newPersonCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "person",
		Short: "Let somebody in again who is locked out",
		Args:  noWords,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newPersonResetCommand())
	return cmd
}

func newPersonResetCommand() *cobra.Command {
	var f placeFlags
	var url string
	cmd := &cobra.Command{
		Use:   "reset NAME",
		Short: "Print a link, good once, with which a person chooses a new password",
		Long: "Print a link, good once and for a week, with which whoever signs in as NAME\n" +
			"chooses a new password. The old one works until then. For a coordinator who is\n" +
			"locked out; others get theirs from a coordinator. It is noted in the log. The\n" +
			"server may run.",
		Args: oneWord("the name that the person signs in with"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return resetPerson(cmd.Context(), f.config(), url, args[0], cmd.OutOrStdout())
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&url, "url", "http://"+defaultAddr, "public address of the server")
	return withEnvironment(cmd)
}

func resetPerson(ctx context.Context, c store.Config, url, login string, out io.Writer) (err error) {
	before, err := store.Peek(ctx, c) // makes no database where there is none, and changes no schema
	if err != nil {
		return err
	}
	if err := errors.Join(before.Current(ctx), before.Close()); err != nil {
		return err
	}
	st, err := store.Open(ctx, c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	r, err := server.ResetPerson(ctx, st, login)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s (%s, %s) chooses a new password here; the link works once, until %s:\n\n  %s%s\n",
		r.Person.Login, r.Person.Name, r.Person.Role, r.Until.Format("2006-01-02 15:04 MST"), strings.TrimSuffix(url, "/"), r.Path)
	return nil
}
