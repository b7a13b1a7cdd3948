package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// drawsFlags are the words of the draws command.
type drawsFlags struct {
	Cases         []string
	Track, Format string
	Seeds         int
}

// mostDrawn bounds how many patients of a case are drawn.
const mostDrawn = 2000

func newDrawsCommand() *cobra.Command {
	var f drawsFlags
	cmd := &cobra.Command{
		Use:   "draws",
		Short: "Measure whether the patients that a case draws are equally hard",
		Long: "Draws draws many patients of every case and sends students of five levels to them. D of\n" +
			"a patient is the mean total of the borderline student, who earns the pass mark on average.\n" +
			"A case is accepted where the standard deviation of D is at most 1 point and 90 of 100\n" +
			"patients lie within 3; seeds farther than 1.5 from the mean are not given in a sitting;\n" +
			"where that are over 20 % the spread is at fault, and the field is named that explains most.\n" +
			"All students make their mistakes out of the same streams of chance at every patient; what\n" +
			"is left of that chance is printed as noise, taken out of SD and width, and paid for with more\n" +
			"visits where it could change the verdict.\n\n" +
			"It tells hidden fields, so it is for staff and not for students. A case takes some 20 s.\n" +
			"A spread at fault is a result and no failure, so the exit status stays 0.",
		Args: noWords,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return draws(cmd.Context(), f, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().StringArrayVar(&f.Cases, "case", nil, "case file, or the id of a case of the library; may be given several times (default: the whole library)")
	cmd.Flags().StringVar(&f.Track, "track", "", "rubric file, veterinary or technician (default: both)")
	cmd.Flags().IntVar(&f.Seeds, "seeds", 500, "how many patients of every case are drawn")
	cmd.Flags().StringVar(&f.Format, "format", "text", "text or json")
	return cmd
}

func (f *drawsFlags) check() error {
	switch {
	case f.Format != "text" && f.Format != "json":
		return &usageError{fmt.Errorf("--format is %q; right would be text or json", f.Format)}
	case f.Seeds < 2 || f.Seeds > mostDrawn:
		return &usageError{fmt.Errorf("--seeds is %d; right would be 2 to %d, and 500 for figures to rely on", f.Seeds, mostDrawn)}
	}
	return nil
}

func draws(ctx context.Context, f drawsFlags, out, errw io.Writer) error {
	if err := f.check(); err != nil {
		return err
	}
	l := cases.Builtin()
	over, rubrics, err := f.measured(l)
	if err != nil {
		return err
	}
	seeds := make([]cases.Seed, f.Seeds)
	for i := range seeds {
		seeds[i] = cases.SeedOf(uint64(i))
	}
	var rows []trial.Draws
	for _, c := range over {
		for i := range rubrics {
			d, err := trial.Measure(ctx, l, c, rubrics[i], nil, seeds, trial.DrawOptions{})
			if err != nil {
				return err
			}
			rows = append(rows, d)
			fmt.Fprintf(errw, "%d of %d: %s, %s: %s\n", len(rows), len(over)*len(rubrics), d.Case, d.Track, d.Verdict)
		}
	}
	if f.Format == "json" {
		return writeJSON(out, rows)
	}
	return writeDraws(out, rows, len(f.Cases) > 0)
}

// measured are the cases and the rubrics that the words name.
func (f *drawsFlags) measured(l *cases.Library) (over []*cases.Case, rubrics []rubric.Rubric, err error) {
	over = l.Cases()
	if len(f.Cases) > 0 {
		over = nil
	}
	for _, name := range f.Cases {
		c, err := caseOf(l, name)
		if err != nil {
			return nil, nil, err
		}
		over = append(over, c)
	}
	tracks := []string{f.Track}
	if f.Track == "" {
		tracks = file.IDs()
	}
	for _, name := range tracks {
		r, err := rubricNamed(name)
		if err != nil {
			return nil, nil, err
		}
		rubrics = append(rubrics, r)
	}
	return over, rubrics, nil
}

// writeDraws prints the table, then the reasons of what is not simply accepted
// or, with all, of everything.
func writeDraws(out io.Writer, rows []trial.Draws, all bool) error {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "case\trubric\tmean\tSD\twidth\tnoise\texcluded\tverdict\texplained most by")
	for _, d := range rows {
		field := "-"
		if len(d.Fields) > 0 {
			field = fmt.Sprintf("%s (%d %%)", d.Fields[0].Place, (d.Fields[0].Share+5)/10)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", d.Case, d.Rubric, decimals(d.Mean, 1), decimals(d.SD, 2), decimals(d.Width, 2), decimals(d.Noise, 2),
			fmt.Sprintf("%.1f %%", 100*float64(d.Excluded)/float64(d.Seeds)), d.Verdict, field)
	}
	_ = t.Flush() // into memory
	for _, d := range rows {
		if all || d.Verdict != trial.DrawsAccepted {
			writeReasons(&b, d)
		}
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func writeReasons(out io.Writer, d trial.Draws) {
	fmt.Fprintf(out, "\n%s, %s: %s\n", d.Case, d.Rubric, d.Verdict)
	for _, r := range d.Reasons {
		fmt.Fprintf(out, "  %s\n", r)
	}
	var levels []string
	for _, v := range d.Levels {
		levels = append(levels, fmt.Sprintf("%s at %d", decimals(v.Mean, 1), v.Skill))
	}
	fmt.Fprintf(out, "  Mean totals by level of skill, in thousandths: %s. Borderline at %d, for a pass mark of %s.\n",
		strings.Join(levels, ", "), d.Skill, d.Pass)
	fmt.Fprintf(out, "  %d patients, %d visits each of the borderline student; by the robots' own chance SD lies between %s and %s.\n",
		d.Seeds, d.Visits, decimals(d.SDLow, 2), decimals(d.SDHigh, 2))
	for _, field := range d.Fields {
		var values []string
		for _, v := range field.Values {
			values = append(values, fmt.Sprintf("%s: %s (%d)", v.Words(), decimals(v.Off, 2), v.Patients))
		}
		fmt.Fprintf(out, "  %s explains %.1f %%; points from the mean (patients) at %s\n", field.Place, float64(field.Share)/10, strings.Join(values, ", "))
	}
}

func decimals(p rubric.Points, n int) string { return fmt.Sprintf("%.*f", n, float64(p)/1000) }
