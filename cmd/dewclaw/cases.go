package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/rubric/normal"
)

// casesFlags are the words of cases.
type casesFlags struct {
	Format, Track string
	Robots        bool
	Data          string
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
			"step and charts all as normal; and the best of four that touch nothing.\n" +
			"With --data it lists a school's own patients as well, and where recordings or pictures\n" +
			"of its own stand in the place of ours: the act, the file, consent and licence.",
		Args: noWords,
		RunE: func(cmd *cobra.Command, _ []string) error {
			l, err := schoolLibrary(f.Data)
			if err != nil {
				return err
			}
			return listCases(l, f, cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&f.Format, "format", "text", "text, json or csv")
	cmd.Flags().StringVar(&f.Data, "data", "", "folder of the school's own library; empty: only what is built in")
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
	Media      []string      `json:"media,omitempty"`
	Robots     []trial.Score `json:"robots,omitempty"`
}

// schoolLibrary is the library of a school's folder as its server has it, under
// its own ranges where it has some.
func schoolLibrary(data string) (*cases.Library, error) {
	if data == "" {
		return cases.Builtin(), nil
	}
	if !exists(data) {
		return nil, fmt.Errorf("--data: there is no folder %s", data)
	}
	var ranges normal.Table
	if name := filepath.Join(data, rangesFile); exists(name) {
		own, _, err := ownRanges(name, io.Discard)
		if err != nil {
			return nil, err
		}
		ranges = own.Table
	}
	return cases.LoadBy(ranges, cases.Layers(data)...)
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
			Media: mediaOf(c),
		})
	}
	slices.SortFunc(rows, func(a, b caseRow) int {
		return cmp.Or(cmp.Compare(a.Species, b.Species), slices.Compare(a.System, b.System),
			cmp.Compare(a.Situation, b.Situation), cmp.Compare(a.Case, b.Case))
	})
	return rows
}

func mediaOf(c *cases.Case) []string {
	var out []string
	for i := range c.Media {
		out = append(out, mediumLine(&c.Media[i]))
	}
	return out
}

// caseHeads name the columns of a row without robots.
var caseHeads = []string{"species", "system", "situation", "difficulty", "urgency", "use", "confidence", "case", "title"}

func (r caseRow) cells() []string {
	return []string{r.Species, strings.Join(r.System, ", "), r.Situation, strconv.Itoa(r.Difficulty), r.Urgency, r.Use, r.Confidence, r.Case, r.Title}
}

// heads are the columns of the whole table; media is one where a case has some.
func heads(rows []caseRow) []string {
	out := slices.Clone(caseHeads)
	if len(rows) > 0 && len(rows[0].Robots) > 0 {
		out = append(out, trial.ScoreNames()...)
	}
	if slices.ContainsFunc(rows, func(r caseRow) bool { return len(r.Media) > 0 }) {
		out = append(out, "media")
	}
	return out
}

// row is a whole row of the table.
func (r caseRow) row() []string {
	cells := r.cells()
	for _, s := range r.Robots {
		cells = append(cells, strconv.FormatFloat(s.Total, 'f', 1, 64))
	}
	if len(r.Media) > 0 {
		cells = append(cells, strings.Join(r.Media, " | "))
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
	columns := heads(rows)
	_ = w.Write(columns) // Error below says it
	for _, r := range rows {
		cells := r.row()
		cells = append(cells, make([]string, len(columns)-len(cells))...) // a row without media
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
