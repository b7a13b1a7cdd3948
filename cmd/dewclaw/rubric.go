package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

func newRubricCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rubric",
		Short: "List and read the marking schemes, and weigh what they really reward",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return &usageError{fmt.Errorf("no command %q of rubric; right would be list, show or weigh", args[0])}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newRubricListCommand(), newRubricShowCommand(), newRubricWeighCommand())
	return cmd
}

func newRubricListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List the rubrics that are built in",
		Args:  noArguments("rubric list"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			w := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "id\ttrack\tversion\tpass mark\ttitle")
			for _, id := range file.IDs() {
				r, err := file.Builtin(id)
				if err != nil {
					return err
				}
				fmt.Fprintf(w, "%s\t%s\t%d\t%s\t%s\n", r.ID, r.Track, r.Version, r.Pass, r.Title)
			}
			return w.Flush()
		},
	}
}

func newRubricShowCommand() *cobra.Command {
	var species string
	cmd := &cobra.Command{
		Use:   "show ID|FILE",
		Short: "Show a rubric as an instructor reads it",
		Args:  oneArgument("rubric show", "a rubric: an id that 'dewclaw rubric list' names, or a file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			r, err := rubricNamed(args[0])
			if err != nil {
				return err
			}
			l := cases.Builtin()
			catalogue := l.Catalogue(species)
			if catalogue == nil {
				return &usageError{fmt.Errorf("--species is %q; right would be one of %s", species, strings.Join(l.Species(), ", "))}
			}
			return writeRubric(cmd.OutOrStdout(), r, catalogue)
		},
	}
	cmd.Flags().StringVar(&species, "species", "dog", "the species whose catalogue names steps and stages")
	return cmd
}

// noArguments refuses words after a command.
func noArguments(command string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 0 {
			return &usageError{fmt.Errorf("%s takes no words after it, here are %q", command, args)}
		}
		return nil
	}
}

// oneArgument asks for one word after a command.
func oneArgument(command, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 1 {
			return &usageError{fmt.Errorf("%s takes one word, %s; here are %d", command, what, len(args))}
		}
		return nil
	}
}

// rubricNamed reads a rubric file; a name that is no file may be a built-in rubric.
func rubricNamed(name string) (rubric.Rubric, error) {
	data, err := os.ReadFile(name)
	if err == nil {
		return file.Parse(name, data)
	}
	if !errors.Is(err, os.ErrNotExist) {
		return rubric.Rubric{}, err
	}
	if slices.Contains(file.IDs(), name) {
		return file.Builtin(name)
	}
	return rubric.Rubric{}, fmt.Errorf("no rubric file %s, and no built-in rubric of that id; built in are %s", name, strings.Join(file.IDs(), ", "))
}

// writeJSON prints v for a program.
func writeJSON(out io.Writer, v any) error {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
