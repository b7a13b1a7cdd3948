package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"dewclaw/rubric"
	"dewclaw/server/store"
)

func newVersionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the versions of program, engine and database schema",
		Args:  noWords,
		RunE: func(cmd *cobra.Command, _ []string) error {
			fmt.Fprintf(cmd.OutOrStdout(), "%s, engine %s, schema %d, %s %s/%s\n",
				builtFrom(), rubric.Engine, store.NewestSchema(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return nil
		},
	}
}

// builtFrom names the program and what it was built from.
func builtFrom() string {
	revision, changed := "of an unknown revision", ""
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "dewclaw " + revision
	}
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = " with changes"
		}
	}
	return "dewclaw " + revision + changed
}
