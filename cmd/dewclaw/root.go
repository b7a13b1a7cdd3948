package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// errSilent ends a command with exit status 1 after it has said everything itself.
var errSilent = errors.New("already said")

// run executes the command line and returns the exit status: 0 done, 1 the
// work failed or found problems, 2 the words were wrong.
func run(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) int {
	root := newRootCommand()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errw)
	err := root.ExecuteContext(ctx)
	var usage *usageError
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errSilent):
		return 1
	case errors.As(err, &usage):
		fmt.Fprintf(errw, "dewclaw: %s\n", oneLine(err))
		return 2
	}
	fmt.Fprintf(errw, "dewclaw: %s\n", oneLine(err))
	return 1
}

// oneLine is an error on one line: those that were joined stand one after the other.
func oneLine(err error) string { return strings.ReplaceAll(err.Error(), "\n", "; ") }

// usageError is a mistake in the words of the call.
type usageError struct{ error }

func newRootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "dewclaw",
		Short: "Teach and assess the physical examination on simulated patients",
		Long: "Dewclaw teaches veterinary and technician students the whole physical examination\n" +
			"on simulated patients, and marks what they did with a reason for every mark.\n" +
			"It teaches; it never advises on a real patient.",
		SilenceUsage:  true,
		SilenceErrors: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return &usageError{fmt.Errorf("no command %q; 'dewclaw --help' lists them", args[0])}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return &usageError{fmt.Errorf("%w; see 'dewclaw %s --help'", err, cmd.Name())}
	})
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(newDemoCommand(), newServeCommand(), newMailTestCommand(), newCheckCommand(), newCasesCommand(), newDrawsCommand(), newGradeCommand(), newRubricCommand(), newRangesCommand(), newReviewCommand(), newBackupCommand(), newRestoreCommand(), newVerifyCommand(), newCopyCommand(), newPersonCommand(), newVersionCommand())
	return root
}
