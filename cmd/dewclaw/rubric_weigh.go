package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/cases/trial"
	"dewclaw/rubric/cohort"
)

// weighFlags are the words of the weigh command.
type weighFlags struct {
	Rubric, Track, Format string
	Cases                 []string
	Robots                int
	Seed                  uint64
}

func newRubricWeighCommand() *cobra.Command {
	var f weighFlags
	cmd := &cobra.Command{
		Use:   "weigh",
		Short: "Weigh a rubric: what each domain really counts, and what luck can earn",
		Long: "Weigh sends robots of six independent skills, one a domain, to the patients and marks\n" +
			"them. It prints what each domain really counts towards the spread of the totals, how\n" +
			"the domains correlate, and whether robots that touch nothing, do not look or have no\n" +
			"order earn anything. What does not hold is printed as 'misses: ...'; that is a result\n" +
			"and no failure, so the exit status stays 0.",
		Args: noArguments("rubric weigh"),
		RunE: func(cmd *cobra.Command, _ []string) error { return weigh(f, cmd.OutOrStdout()) },
	}
	cmd.Flags().StringVar(&f.Rubric, "rubric", "", "rubric file, or the id of a built-in one (default: the one of the track)")
	cmd.Flags().StringVar(&f.Track, "track", "", "veterinary or technician (default veterinary)")
	cmd.Flags().StringArrayVar(&f.Cases, "case", nil, "case file, or the id of a case of the library; may be given several times (default: the whole library)")
	cmd.Flags().IntVar(&f.Robots, "robots", 2500, "how many robots")
	cmd.Flags().Uint64Var(&f.Seed, "seed", 1, "seed that draws robots and patients")
	cmd.Flags().StringVar(&f.Format, "format", "text", "text or json")
	return cmd
}

func weigh(f weighFlags, out io.Writer) error {
	if f.Format != "text" && f.Format != "json" {
		return &usageError{fmt.Errorf("--format is %q; right would be text or json", f.Format)}
	}
	if f.Robots < 2 {
		return &usageError{fmt.Errorf("--robots is %d; right would be at least 2, and 2500 for figures to rely on", f.Robots)}
	}
	r, err := rubricNamed(cmp.Or(f.Rubric, f.Track, "veterinary"))
	if err != nil {
		return err
	}
	if f.Track != "" && r.Track != f.Track {
		return fmt.Errorf("%s is a rubric of the %s track, --track says %s", f.Rubric, r.Track, f.Track)
	}
	l := cases.Builtin()
	over := l.Cases()
	if len(f.Cases) > 0 {
		over = nil
	}
	for _, name := range f.Cases {
		c, err := caseOf(l, name)
		if err != nil {
			return err
		}
		over = append(over, c)
	}
	w, err := trial.Weigh(l, r, over, f.Robots, f.Seed)
	if err != nil {
		return err
	}
	if f.Format == "json" {
		return writeJSON(out, w)
	}
	return writeWeighing(out, w)
}

func writeWeighing(out io.Writer, w trial.Weighing) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\nRubric %s, version %d, engine %s\n", w.Title, w.Rubric, w.Version, w.Engine)
	fmt.Fprintf(&b, "%d robots of six independent skills on %s, seed %d\n", w.Robots, strings.Join(w.Cases, ", "), w.Seed)
	fmt.Fprintf(&b, "Total: mean %s, SD %s\n\n", figured(w.Weights.Mean, 2), figured(w.Weights.SD, 2))
	writeWeights(&b, w.Weights)
	writeCorrelations(&b, w.Weights)
	fmt.Fprintf(&b, "What each skill (row) moves (column), as a correlation\n")
	writeMatrix(&b, robot.SkillNames(), columnNames(w.Weights), w.Moves, cohort.Pair{})
	writeBounds(&b, w.Bounds)
	for _, n := range w.Notes {
		fmt.Fprintln(&b, n)
	}
	for _, m := range w.Misses {
		fmt.Fprintf(&b, "misses: %s\n", m)
	}
	if len(w.Misses) == 0 {
		fmt.Fprintln(&b, "misses: nothing.")
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func writeWeights(out io.Writer, w cohort.Weights) {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "Domain\tnominal\tmean\tSD\teffective\t")
	sum := 0.0
	for _, d := range w.Domains {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t\n", d.ID, figured(d.Nominal, 2), figured(d.Mean, 2), figured(d.SD, 2), figured(d.Effective, 3))
		sum += d.Effective.Value
	}
	fmt.Fprintf(t, "sum\t\t\t\t%.3f\t\n", sum)
	_ = t.Flush() // into memory
	fmt.Fprintln(out, "Effective: the share of the spread of the totals that comes from the domain, cov(domain, total) / var(total).")
}

func writeCorrelations(out io.Writer, w cohort.Weights) {
	fmt.Fprintf(out, "\nCorrelation of the domains; the largest is marked with *\n")
	writeMatrix(out, columnNames(w), columnNames(w), w.Correlation, w.Largest)
	if !w.Largest.R.Known {
		fmt.Fprintf(out, "Largest: cannot be told, because no two domains vary.\n\n")
		return
	}
	verdict := "holds"
	if w.Largest.R.Value > trial.MostCorrelation {
		verdict = "misses"
	}
	fmt.Fprintf(out, "Largest: %s and %s %s, should be at most %.2f: %s\n\n", w.Largest.A, w.Largest.B, figured(w.Largest.R, 3), trial.MostCorrelation, verdict)
}

func columnNames(w cohort.Weights) []string {
	var out []string
	for _, d := range w.Domains {
		out = append(out, d.ID)
	}
	return out
}

func writeMatrix(out io.Writer, rows, columns []string, m [][]cohort.Figure, mark cohort.Pair) {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "\t%s\t\n", strings.Join(columns, "\t"))
	for i := range m {
		fmt.Fprintf(t, "%s", rows[i])
		for j, x := range m[i] {
			star := ""
			if mark.R.Known && (rows[i] == mark.A && columns[j] == mark.B || rows[i] == mark.B && columns[j] == mark.A) {
				star = "*"
			}
			fmt.Fprintf(t, "\t%s%s", star, figured(x, 2))
		}
		fmt.Fprint(t, "\t\n")
	}
	_ = t.Flush() // into memory
}

// figured prints a figure; a dash is one that cannot be told.
func figured(f cohort.Figure, decimals int) string {
	if !f.Known {
		return "-"
	}
	return fmt.Sprintf("%.*f", decimals, f.Value)
}

func writeBounds(out io.Writer, bounds []trial.Bound) {
	fmt.Fprintf(out, "\nRobots without skill, the worst of %d patients a case\n", trial.PatientsACase)
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, b := range bounds {
		side := "at most"
		if b.Least {
			side = "at least"
		}
		switch {
		case !b.Judged:
			fmt.Fprintf(t, "%s\t%s\t%s\t-\t%s %.2f\tnot judged: %s\n", b.Case, b.Robot, b.What, side, b.Limit, b.Why)
		case b.Holds:
			fmt.Fprintf(t, "%s\t%s\t%s\t%.2f\t%s %.2f\tholds\n", b.Case, b.Robot, b.What, b.Figure, side, b.Limit)
		default:
			fmt.Fprintf(t, "%s\t%s\t%s\t%.2f\t%s %.2f\tmisses\n", b.Case, b.Robot, b.What, b.Figure, side, b.Limit)
		}
	}
	_ = t.Flush() // into memory
	fmt.Fprintln(out)
}
