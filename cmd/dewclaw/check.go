package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/rubric/file"
)

// checkFlags are the words of check.
type checkFlags struct {
	Seeds int
	Rules bool
}

// mostSeeds bounds one run of check to some hours.
const mostSeeds = 10_000

func newCheckCommand() *cobra.Command {
	var f checkFlags
	cmd := &cobra.Command{
		Use:   "check [FILE or FOLDER...]",
		Short: "Check case, catalogue, rubric and range files; without a file, the library that is built in",
		Long: "Check reads each file and prints every problem as file:line:col: message; one that ends\n" +
			"in .csv is a school's own reference ranges. The media of a case lie in media/ beside its\n" +
			"folder cases/; what it uses, with consent and licence, is printed. A folder is checked as\n" +
			"a school's whole library: cases, catalogues, and media that no case uses.\n" +
			"With --seeds it also draws the patients of every case with that many seeds, sends robots\n" +
			"to them, and prints whatever does not hold as case: seed: what: got; should be. A table\n" +
			"at the end says whether the length of words, the size of sounds and pictures or the\n" +
			"seconds of a step give away what is abnormal.\n" +
			"It exits with 1 when there is a problem, else with 0. With --rules it prints the table\n" +
			"of signs that must agree within a patient, with the source of each, and checks nothing.",
		RunE: func(cmd *cobra.Command, args []string) error { return runCheck(f, args, cmd.OutOrStdout()) },
	}
	cmd.Flags().IntVar(&f.Seeds, "seeds", 0, "how many patients to draw of every case; 0: files only")
	cmd.Flags().BoolVar(&f.Rules, "rules", false, "print the table of signs that must agree")
	return cmd
}

func runCheck(f checkFlags, args []string, out io.Writer) error {
	if f.Seeds < 0 || f.Seeds > mostSeeds {
		return &usageError{fmt.Errorf("--seeds is %d; right would be 0 to %d", f.Seeds, mostSeeds)}
	}
	if f.Rules {
		if len(args) > 0 || f.Seeds > 0 {
			return &usageError{fmt.Errorf("--rules prints a table and goes with no file and no --seeds")}
		}
		return writeRules(out)
	}
	problems, uses, checked, err := check(args)
	if err != nil {
		return err
	}
	for _, line := range uses {
		fmt.Fprintln(out, line)
	}
	for _, p := range problems {
		fmt.Fprintln(out, p)
	}
	if len(problems) == 0 {
		fmt.Fprintf(out, "%d checked, no problem\n", checked)
	}
	held := true
	if f.Seeds > 0 {
		if held, err = sweep(out, args, f.Seeds); err != nil {
			return err
		}
	}
	if len(problems) > 0 || !held {
		return errSilent
	}
	return nil
}

// check returns the problems of the files, or of the built-in library when
// there is none, the media that the sound cases use, and how many files were
// looked at.
func check(files []string) (problems []cases.Problem, uses []string, checked int, err error) {
	library := cases.Builtin()
	if len(files) == 0 {
		problems, checked, err = checkLibrary(library)
		return problems, nil, checked, err
	}
	for _, name := range files {
		ps, lines, n, err := checkNamed(library, name)
		if err != nil {
			return nil, nil, 0, err
		}
		problems, uses, checked = append(problems, ps...), append(uses, lines...), checked+n
	}
	return problems, uses, checked, nil
}

// checkNamed checks a file or a school's folder.
func checkNamed(l *cases.Library, name string) (problems []cases.Problem, uses []string, checked int, err error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return checkFolder(name)
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, nil, 0, err
	}
	l = mediaBeside(l, name)
	problems = cases.CheckFile(l, name, data)
	if len(problems) == 0 {
		uses = mediaLines(l, name, data)
	}
	return problems, uses, 1, nil
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
