package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// sweep draws and visits the patients of the files' cases, or of the library's,
// and prints what does not hold. It says whether everything held.
func sweep(out io.Writer, files []string, seeds int) (bool, error) {
	l := cases.Builtin()
	over, passed, err := sweptCases(l, files)
	if err != nil {
		return false, err
	}
	for _, name := range passed {
		fmt.Fprintf(out, "%s: no patient is drawn: it is no case, or has problems\n", name)
	}
	if len(over) == 0 {
		return true, nil
	}
	var rubrics []rubric.Rubric
	for _, id := range file.IDs() {
		r, err := file.Builtin(id)
		if err != nil {
			return false, err
		}
		rubrics = append(rubrics, r)
	}
	s, err := trial.Check(l, over, rubrics, seeds)
	if err != nil {
		return false, err
	}
	for _, m := range s.Misses {
		fmt.Fprintln(out, m)
	}
	writeGiveaways(out, s.Gives)
	writeRandom(out, s.Random)
	fmt.Fprintf(out, "%d cases, %d seeds each, %d rubrics: %d patients, %d visits, of them %d along accepted orders; %d lines of what does not hold\n",
		s.Cases, s.Seeds, len(rubrics), s.Patients, s.Visits, s.Orders, len(s.Misses))
	return s.Holds(), nil
}

// sweptCases are the cases of the files that stand the check of files, and the
// names of the other files.
func sweptCases(l *cases.Library, files []string) (over []*cases.Case, passed []string, err error) {
	if len(files) == 0 {
		for _, b := range l.Broken() {
			passed = append(passed, b.Name)
		}
		return l.Cases(), passed, nil
	}
	for _, name := range files {
		if info, err := os.Stat(name); err == nil && info.IsDir() {
			passed = append(passed, name)
			continue
		}
		data, err := os.ReadFile(name)
		if err != nil {
			return nil, nil, err
		}
		l := mediaBeside(l, name)
		if len(cases.CheckFile(l, name, data)) == 0 {
			if c, problems := l.ParseCase(name, data); c != nil && len(problems) == 0 {
				over = append(over, c)
				continue
			}
		}
		passed = append(passed, name)
	}
	return over, passed, nil
}

// writeGiveaways prints how well numbers tell abnormal from normal.
func writeGiveaways(out io.Writer, gives []trial.Giveaway) {
	fmt.Fprintf(out, "\nDoes a number give away what is abnormal? Area under the ROC curve: .5 tells nothing, at most %.2f either way.\n", trial.MostArea)
	fmt.Fprintln(out, "Overall: any two places compared. Within: only places of the same field or step. Bytes and seconds are known by the step")
	fmt.Fprintln(out, "beforehand, so by species they are held within; over all species everything is held.")
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "species\tnumber\tnormal\tabnormal\toverall\twithin\t")
	for _, g := range gives {
		overall, within := "-", "-"
		if g.Normal > 0 && g.Abnormal > 0 {
			overall = fmt.Sprintf("%.3f", g.Area)
		}
		if g.HasWithin {
			within = fmt.Sprintf("%.3f", g.Within)
		}
		verdict := "holds"
		switch {
		case !g.Judged:
			verdict = g.Why
		case !g.Holds:
			verdict = "GIVES IT AWAY"
		}
		fmt.Fprintf(t, "%s\t%s\t%d\t%d\t%s\t%s\t%s\n", g.Species, g.What, g.Normal, g.Abnormal, overall, within, verdict)
	}
	_ = t.Flush() // the writer below says no
	fmt.Fprintln(out)
}

// writeRandom prints what random order earns.
func writeRandom(out io.Writer, rows []trial.RandomOrder) {
	fmt.Fprintf(out, "Random order: mean share of Order. At most %.2f is held over all routine cases; of a handful of steps chance puts many in order.\n", trial.MostRandom)
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "rubric\tspecies\tsituation\tvisits\tmean\t")
	for _, r := range rows {
		fmt.Fprintf(t, "%s\t%s\t%s\t%d\t%.3f\t\n", r.Rubric, r.Species, r.Situation, r.Visits, r.Mean)
	}
	_ = t.Flush() // the writer below says no
	fmt.Fprintln(out)
}

// writeRules prints the table of signs that must agree.
func writeRules(out io.Writer) error {
	var b strings.Builder
	for i, l := range cases.Links() {
		if i > 0 {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "%s\n  %s\n  Why: %s\n  Source: %s\n", l.ID, l.Words(), l.Why, l.Source)
	}
	_, err := io.WriteString(out, b.String())
	return err
}
