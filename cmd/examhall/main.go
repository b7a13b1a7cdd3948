// Command examhall fills an exam hall with robot students and measures what a
// server of ours does then. It makes a school of its own with made-up people,
// starts the program 'dewclaw serve' on this machine, lets every student examine a
// patient over HTTP with time to think, and at the end kills the server, starts it
// again and reads every act back.
//
// It measures from the moment at which an act was due, so that a server that
// stalls is charged with all that waited meanwhile.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// run executes the command line and returns the exit status: 0 measured and
// nothing lost, 1 otherwise, 2 the words were wrong.
func run(ctx context.Context, args []string, out, errw io.Writer) int {
	cmd := newCommand()
	cmd.SetArgs(args)
	cmd.SetOut(out)
	cmd.SetErr(errw)
	err := cmd.ExecuteContext(ctx)
	var usage *usageError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage):
		fmt.Fprintf(errw, "examhall: %v\n", err)
		return 2
	}
	fmt.Fprintf(errw, "examhall: %v\n", err)
	return 1
}

// usageError is a mistake in the words of the call.
type usageError struct{ error }

func newCommand() *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "examhall",
		Short: "Fill an exam hall with robot students and measure the server",
		Long: "Fill an exam hall with robot students on this machine and measure the server.\n" +
			"The school is made up and fresh; the server is 'dewclaw serve', built beside this\n" +
			"program: go build -o bin/ ./cmd/dewclaw ./cmd/examhall",
		Args:          cobra.NoArgs,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(); err != nil {
				return &usageError{err}
			}
			return hall(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		return &usageError{fmt.Errorf("%w; see 'examhall --help'", err)}
	})
	o.add(cmd.Flags())
	return cmd
}

// hall makes the school, lets the students act, and reports.
func hall(ctx context.Context, o options, out, errw io.Writer) (err error) {
	s, err := newSchool(o)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.close()) }()
	b := newBar(errw)
	r := report{Machine: thisMachine(), Options: o, Command: o.command()}
	if r.Fsync, err = fsyncs(s.data); err != nil {
		return err
	}
	if err := s.fill(ctx, b); err != nil {
		return fmt.Errorf("the school: %w", err)
	}
	if r.Start, err = s.start(ctx, o); err != nil {
		return err
	}
	if err := s.signIn(ctx, b); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	m := s.measure(ctx, b)
	m.into(&r)
	if r.Server, err = s.server.figures(); err != nil {
		return err
	}
	if r.Restart, err = s.killAndStart(ctx, o); err != nil {
		return err
	}
	if r.Checked, err = s.check(ctx, b); err != nil {
		return fmt.Errorf("read back: %w", err)
	}
	b.end()
	if err := r.write(o.json, out); err != nil {
		return err
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return r.verdict()
}
