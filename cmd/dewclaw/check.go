package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/rubric/file"
)

func newCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check [FILE...]",
		Short: "Check case, catalogue and rubric files; without a file, the library that is built in",
		Long: "Check reads each file and prints every problem as file:line:col: message.\n" +
			"It exits with 1 when there is a problem, else with 0.",
		RunE: func(cmd *cobra.Command, args []string) error {
			problems, checked, err := check(args)
			if err != nil {
				return err
			}
			for _, p := range problems {
				fmt.Fprintln(cmd.OutOrStdout(), p)
			}
			if len(problems) > 0 {
				return errSilent
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%d checked, no problem\n", checked)
			return nil
		},
	}
}

// check returns the problems of the files, or of the built-in library when
// there is none, and how many files were looked at.
func check(files []string) ([]cases.Problem, int, error) {
	library := cases.Builtin()
	if len(files) == 0 {
		return checkLibrary(library)
	}
	var problems []cases.Problem
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			return nil, 0, err
		}
		problems = append(problems, cases.CheckFile(library, name, data)...)
	}
	return problems, len(files), nil
}

func checkLibrary(l *cases.Library) ([]cases.Problem, int, error) {
	var problems []cases.Problem
	for _, b := range l.Broken() {
		problems = append(problems, b.Problems...)
	}
	checked := len(l.Broken())
	for _, c := range l.Cases() {
		problems = append(problems, cases.CheckCase(l, c)...)
		checked++
	}
	for _, id := range file.IDs() {
		data, err := file.Source(id)
		if err != nil {
			return nil, 0, err
		}
		problems = append(problems, cases.CheckRubric(l, id+".yaml", data)...)
		checked++
	}
	return problems, checked, nil
}
