package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/cases/review"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/rubric/normal"
)

// reviewFlags are what review takes.
type reviewFlags struct {
	data, format       string
	all                bool
	mark, by, on, note string
}

func newReviewCommand() *cobra.Command {
	var f reviewFlags
	cmd := &cobra.Command{
		Use:   "review",
		Short: "List the medicine that no clinician has confirmed yet, and mark what one has",
		Long: "Review prints every range, rule, linked sign, region of a catalogue and patient whose medicine\n" +
			"was not read in a source and that nobody has looked at as it stands. With --mark it writes down\n" +
			"who confirmed an item, in reviews.csv of the school's data folder; pages show it.",
		Args: noArguments("review"),
		RunE: func(cmd *cobra.Command, _ []string) error { return runReview(cmd.OutOrStdout(), f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.data, "data", "", "folder of the school's own library, ranges and reviews; empty: only what is built in")
	flags.StringVar(&f.format, "format", "text", "text, json or csv")
	flags.BoolVar(&f.all, "all", false, "also what was read in its source or is reviewed")
	flags.StringVar(&f.mark, "mark", "", "an item that was confirmed, such as case/tansy")
	flags.StringVar(&f.by, "by", "", "with --mark: who confirmed it")
	flags.StringVar(&f.on, "on", "", "with --mark: the day, such as 2026-11-25; empty: today")
	flags.StringVar(&f.note, "note", "", "with --mark: a remark")
	return cmd
}

func runReview(out io.Writer, f reviewFlags) error {
	if !slices.Contains([]string{"text", "json", "csv"}, f.format) {
		return &usageError{fmt.Errorf("--format is %q; right would be text, json or csv", f.format)}
	}
	if f.mark != "" && (f.data == "" || strings.TrimSpace(f.by) == "") {
		return &usageError{errors.New("--mark needs --data with the school's folder and --by with the name of who confirmed it")}
	}
	items, err := reviewItems(out, f.data)
	if err != nil {
		return err
	}
	marks, err := marksIn(out, f.data)
	if err != nil {
		return err
	}
	if f.mark != "" {
		return writeMark(out, items, f)
	}
	book, unknown := review.NewBook(items, marks)
	for _, u := range unknown {
		fmt.Fprintln(out, u)
	}
	rows := book.Open()
	if f.all {
		rows = book.All()
	}
	return printReview(out, rows, len(items), f.format)
}

// reviewItems are those of the built-in library with the school's laid over it,
// as a server of that folder has them.
func reviewItems(out io.Writer, data string) ([]review.Item, error) {
	l := review.Library{Cases: cases.Builtin(), Ranges: normal.Rows()}
	for _, id := range file.IDs() {
		r, err := file.Builtin(id)
		if err != nil {
			return nil, err
		}
		l.Rubrics = append(l.Rubrics, r)
	}
	if data == "" {
		return review.Items(l), nil
	}
	if name := filepath.Join(data, rangesFile); exists(name) {
		table, _, err := ownRanges(name, out)
		if err != nil {
			return nil, err
		}
		l.Ranges = table.Table
	}
	var err error
	if l.Cases, err = cases.LoadBy(l.Ranges, cases.Layers(data)...); err != nil {
		return nil, err
	}
	l.Rubrics = append(l.Rubrics, ownRubrics(filepath.Join(data, "rubrics"))...)
	return review.Items(l), nil
}

func exists(path string) bool { _, err := os.Stat(path); return err == nil }

// ownRubrics are the school's that can be read; dewclaw check tells of the others.
func ownRubrics(dir string) []rubric.Rubric {
	var out []rubric.Rubric
	names, _ := filepath.Glob(filepath.Join(dir, "*.yaml")) // the pattern is sound
	for _, name := range names {
		if text, err := os.ReadFile(name); err == nil {
			if r, err := file.Parse(filepath.Base(name), text); err == nil {
				out = append(out, r)
			}
		}
	}
	return out
}

// marksIn reads the school's file and prints what is wrong in it.
func marksIn(out io.Writer, data string) ([]review.Mark, error) {
	if data == "" {
		return nil, nil
	}
	text, err := os.ReadFile(filepath.Join(data, review.File))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	marks, problems := review.ReadMarks(review.File, text)
	for _, p := range problems {
		fmt.Fprintln(out, p)
	}
	if len(problems) > 0 {
		return nil, errSilent
	}
	return marks, nil
}

// writeMark adds a row to the school's file.
func writeMark(out io.Writer, items []review.Item, f reviewFlags) error {
	i := slices.IndexFunc(items, func(it review.Item) bool { return it.ID == f.mark })
	if i < 0 {
		return fmt.Errorf("there is no item %q to review; dewclaw review --all lists them", f.mark)
	}
	if f.on == "" {
		f.on = time.Now().Format(time.DateOnly)
	}
	var row bytes.Buffer
	w := csv.NewWriter(&row)
	path := filepath.Join(f.data, review.File)
	fresh := !exists(path)
	if fresh {
		_ = w.Write(review.Head) // a buffer takes all
	}
	_ = w.Write([]string{f.mark, items[i].Digest, plainCell(strings.TrimSpace(f.by)), f.on, plainCell(strings.TrimSpace(f.note))})
	w.Flush()
	head := strings.Join(review.Head, ",") + "\n"
	if _, problems := review.ReadMarks(review.File, []byte(head+strings.TrimPrefix(row.String(), head))); len(problems) > 0 {
		return fmt.Errorf("nothing was written: %s", problems[0].Message)
	}
	to, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	_, err = to.Write(row.Bytes())
	if err = errors.Join(err, to.Sync(), to.Close()); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s: reviewed by %s, %s. A running server shows it after its next start, or when the rubric files are read again.\n", f.mark, strings.TrimSpace(f.by), f.on)
	return nil
}

func printReview(out io.Writer, rows []review.Row, all int, format string) error {
	switch format {
	case "json":
		return writeJSON(out, jsonReviews(rows))
	case "csv":
		w := csv.NewWriter(out)
		_ = w.Write(append([]string{"state", "confidence", "says", "source"}, review.Head[:2]...))
		for _, r := range rows {
			_ = w.Write([]string{plainCell(r.State.Words()), r.Confidence, plainCell(r.Says), plainCell(r.Source), r.ID, r.Digest})
		}
		w.Flush()
		return w.Error()
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "item\tdigest\tconfidence\tstate\tsays\tsource")
	for _, r := range rows {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", r.ID, r.Digest, r.Confidence, r.State.Words(), cut(r.Says, 90), cut(r.Source, 70))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(out, "%d of %d items. What is marked as read was read in its source; the rest waits for a clinician's eye.\n", len(rows), all)
	return nil
}

// reviewRow is an item as JSON has it.
type reviewRow struct {
	Item       string `json:"item"`
	Digest     string `json:"digest"`
	Confidence string `json:"confidence"`
	State      string `json:"state"`
	Says       string `json:"says"`
	Source     string `json:"source"`
}

func jsonReviews(rows []review.Row) []reviewRow {
	out := []reviewRow{}
	for _, r := range rows {
		out = append(out, reviewRow{r.ID, r.Digest, r.Confidence, r.State.Words(), r.Says, r.Source})
	}
	return out
}

// cut shortens a text for a table.
func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
