package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/cases/trial"
)

// casesFlags are the words of cases.
type casesFlags struct {
	Format, Track string
	Robots        bool
	Seeds         int
}

// mostScored bounds how many patients are drawn for a table.
const mostScored = 1000

func newCasesCommand() *cobra.Command {
	var f casesFlags
	cmd := &cobra.Command{
		Use:   "cases",
		Short: "List the cases of the library: species, system, situation, difficulty, urgency, use",
		Long: "Cases lists the cases of the library, sorted by species, system and situation. It tells\n" +
			"titles and conclusions' urgency, so it is for staff and not for students.\n" +
			"With --robots it sends simulated students to every case and adds the mean of what they\n" +
			"earn: the ideal one; typical ones of levels 5 to 1; the reckless one; one that does every\n" +
			"step and charts all as normal; and the best of four that touch nothing.",
		Args: noWords,
		RunE: func(cmd *cobra.Command, _ []string) error { return listCases(cases.Builtin(), f, cmd.OutOrStdout()) },
	}
	cmd.Flags().StringVar(&f.Format, "format", "text", "text, json or csv")
	cmd.Flags().StringVar(&f.Track, "track", "veterinary", "by which rubric robots are marked: veterinary or technician")
	cmd.Flags().BoolVar(&f.Robots, "robots", false, "add what simulated students earn")
	cmd.Flags().IntVar(&f.Seeds, "seeds", 5, "with --robots: how many patients of every case are visited")
	return cmd
}

// caseRow is one case of the table.
type caseRow struct {
	Species    string        `json:"species"`
	System     []string      `json:"system"`
	Situation  string        `json:"situation"`
	Difficulty int           `json:"difficulty"`
	Urgency    string        `json:"urgency"`
	Use        string        `json:"use"`
	Confidence string        `json:"confidence"`
	Case       string        `json:"case"`
	Title      string        `json:"title"`
	Robots     []trial.Score `json:"robots,omitempty"`
}

func listCases(l *cases.Library, f casesFlags, out io.Writer) error {
	writers := map[string]func(io.Writer, []caseRow) error{"text": caseText, "json": caseJSON, "csv": caseCSV}
	write, ok := writers[f.Format]
	switch {
	case !ok:
		return &usageError{fmt.Errorf("--format is %q; right would be text, json or csv", f.Format)}
	case f.Robots && (f.Seeds < 1 || f.Seeds > mostScored):
		return &usageError{fmt.Errorf("--seeds is %d; right would be 1 to %d", f.Seeds, mostScored)}
	}
	rows := caseRows(l)
	if f.Robots {
		r, err := rubricNamed(f.Track)
		if err != nil {
			return err
		}
		for i := range rows {
			if rows[i].Robots, err = trial.Scores(l, r, l.Case(rows[i].Case), f.Seeds); err != nil {
				return err
			}
		}
	}
	return write(out, rows)
}

// caseRows lists the cases, sorted by species, system, situation and id.
func caseRows(l *cases.Library) []caseRow {
	rows := []caseRow{}
	for _, c := range l.Cases() {
		rows = append(rows, caseRow{
			Species: c.Species, System: c.Tags["system"], Situation: c.Situation, Difficulty: c.Difficulty,
			Urgency: c.Conclusions.Urgency, Use: c.Use, Confidence: c.Confidence, Case: c.ID, Title: strings.Join(strings.Fields(c.Title), " "), // in one line
		})
	}
	slices.SortFunc(rows, func(a, b caseRow) int {
		return cmp.Or(cmp.Compare(a.Species, b.Species), slices.Compare(a.System, b.System),
			cmp.Compare(a.Situation, b.Situation), cmp.Compare(a.Case, b.Case))
	})
	return rows
}

// caseHeads name the columns of a row without robots.
var caseHeads = []string{"species", "system", "situation", "difficulty", "urgency", "use", "confidence", "case", "title"}

func (r caseRow) cells() []string {
	return []string{r.Species, strings.Join(r.System, ", "), r.Situation, strconv.Itoa(r.Difficulty), r.Urgency, r.Use, r.Confidence, r.Case, r.Title}
}

// heads are the columns of the whole table.
func heads(rows []caseRow) []string {
	if len(rows) == 0 || len(rows[0].Robots) == 0 {
		return caseHeads
	}
	return append(slices.Clone(caseHeads), trial.ScoreNames()...)
}

// row is a whole row of the table.
func (r caseRow) row() []string {
	cells := r.cells()
	for _, s := range r.Robots {
		cells = append(cells, strconv.FormatFloat(s.Total, 'f', 1, 64))
	}
	return cells
}

func caseText(out io.Writer, rows []caseRow) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, strings.Join(heads(rows), "\t"))
	for _, r := range rows {
		fmt.Fprintln(t, strings.Join(r.row(), "\t"))
	}
	fmt.Fprintf(t, "%d cases\n", len(rows))
	return t.Flush()
}

func caseJSON(out io.Writer, rows []caseRow) error { return writeJSON(out, rows) }

func caseCSV(out io.Writer, rows []caseRow) error {
	w := csv.NewWriter(out)
	_ = w.Write(heads(rows)) // Error below says it
	for _, r := range rows {
		cells := r.row()
		for i, c := range cells {
			cells[i] = plainCell(c)
		}
		_ = w.Write(cells)
	}
	w.Flush()
	return w.Error()
}

// plainCell keeps a spreadsheet from taking text for a formula: a cell that
// begins with one of the signs of a formula gets an apostrophe before it
// (OWASP, CSV injection).
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
