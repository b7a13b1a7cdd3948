package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"dewclaw/rubric"
)

func newVersionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version of program and engine",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			revision := "unknown revision"
			if info, ok := debug.ReadBuildInfo(); ok {
				for _, s := range info.Settings {
					if s.Key == "vcs.revision" {
						revision = s.Value
					}
				}
			}
			fmt.Fprintf(cmd.OutOrStdout(), "dewclaw %s, engine %s, %s %s/%s\n",
				revision, rubric.Engine, runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return nil
		},
	}
}
