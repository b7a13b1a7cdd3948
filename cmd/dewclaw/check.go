package main

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/rubric"
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
		problems = append(problems, checkFile(library, name, data)...)
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
		problems = append(problems, checkRubric(l, id+".yaml", file.Source(id))...)
		checked++
	}
	return problems, checked, nil
}

func checkFile(l *cases.Library, name string, data []byte) []cases.Problem {
	if isRubric(data) {
		return checkRubric(l, name, data)
	}
	return cases.CheckFile(l, name, data)
}

// isRubric reports whether the first key of the file is rubric.
func isRubric(data []byte) bool {
	for line := range bytes.Lines(data) {
		text := strings.TrimSpace(string(line))
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		return strings.HasPrefix(text, "rubric:")
	}
	return false
}

// checkRubric adds to the rubric's own problems the names that no catalogue of
// its species knows.
func checkRubric(l *cases.Library, name string, data []byte) []cases.Problem {
	r, err := file.Parse(name, data)
	if err != nil {
		return splitProblems(name, err)
	}
	var problems []cases.Problem
	for _, row := range r.Steps {
		if !knownSomewhere(l, row.Where, row.Step) {
			problems = append(problems, cases.Problem{File: name, Line: 1, Col: 1,
				Message: fmt.Sprintf("steps: no catalogue that the row applies to has the step %q", row.Step)})
		}
	}
	for _, row := range r.Rules {
		for _, step := range slices.Concat(row.Before, row.After) {
			if !knownSomewhere(l, row.Where, step) {
				problems = append(problems, cases.Problem{File: name, Line: 1, Col: 1,
					Message: fmt.Sprintf("rules: %s: no catalogue that the row applies to has the step %q", row.ID, step)})
			}
		}
	}
	return problems
}

// knownSomewhere reports whether a catalogue that the row applies to knows the
// step, handling act or place. Without a catalogue for any of its species
// nothing can be said.
func knownSomewhere(l *cases.Library, where rubric.Where, name string) bool {
	species := where.Species
	if len(species) == 0 {
		species = l.Species()
	}
	asked := false
	for _, s := range species {
		c := l.Catalogue(s)
		if c == nil {
			continue
		}
		asked = true
		if knows(c, name) {
			return true
		}
	}
	return !asked
}

func knows(c *cases.Catalogue, name string) bool {
	if name == "touch" || name == "ask" || name == "wait" {
		return true
	}
	if how, ok := strings.CutPrefix(name, "handle:"); ok {
		return c.HandlingRow(how) != nil
	}
	step, site, sited := strings.Cut(name, "@")
	s := c.Step(step)
	return s != nil && (!sited || slices.Contains(s.Sites, site))
}

// splitProblems takes an error that holds a line a problem apart.
func splitProblems(name string, err error) []cases.Problem {
	var problems []cases.Problem
	for line := range strings.Lines(err.Error()) {
		line = strings.TrimSpace(line)
		p := cases.Problem{File: name, Line: 1, Col: 1, Message: line}
		rest, found := strings.CutPrefix(line, name+":")
		if found {
			var message string
			if n, _ := fmt.Sscanf(rest, "%d:%d:", &p.Line, &p.Col); n == 2 {
				_, message, _ = strings.Cut(rest, ": ")
				p.Message = message
			}
		}
		problems = append(problems, p)
	}
	return problems
}
