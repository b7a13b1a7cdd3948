package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/rubric/say"
)

// gradeFlags are the words of the grade command; each works at its zero value
// except the two files.
type gradeFlags struct {
	Case, Transcript, Rubric, Track, Format string
	Seed                                    uint64
}

func newGradeCommand() *cobra.Command {
	var f gradeFlags
	cmd := &cobra.Command{
		Use:   "grade --case FILE --transcript FILE",
		Short: "Grade a transcript (JSON Lines, one act a line) against a case",
		Long: "Grade plays the acts of a transcript on the patient of a case and prints the report.\n" +
			"Acts that carry their outcome are not played again. '-' reads the transcript from standard input.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return grade(f, cmd.InOrStdin(), cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&f.Case, "case", "", "case file, or the id of a case of the library")
	cmd.Flags().StringVar(&f.Transcript, "transcript", "", "transcript file, or -")
	cmd.Flags().StringVar(&f.Rubric, "rubric", "", "rubric file (default: the one of the track)")
	cmd.Flags().Uint64Var(&f.Seed, "seed", 0, "seed that draws the patient")
	cmd.Flags().StringVar(&f.Track, "track", "", "veterinary or technician (default veterinary)")
	cmd.Flags().StringVar(&f.Format, "format", "text", "text or json")
	return cmd
}

func grade(f gradeFlags, in io.Reader, out io.Writer) error {
	if f.Case == "" || f.Transcript == "" {
		return &usageError{errors.New("grade needs --case and --transcript; see 'dewclaw grade --help'")}
	}
	if f.Format != "text" && f.Format != "json" {
		return &usageError{fmt.Errorf("--format is %q; right would be text or json", f.Format)}
	}
	library := cases.Builtin()
	c, err := caseOf(library, f.Case)
	if err != nil {
		return err
	}
	scheme, err := rubricOf(f.Rubric, f.Track)
	if err != nil {
		return err
	}
	transcript, err := readTranscript(f.Transcript, in)
	if err != nil {
		return err
	}
	patient, err := cases.NewPatient(library, c, cases.SeedOf(f.Seed))
	if err != nil {
		return err
	}
	if transcript, err = played(patient, transcript); err != nil {
		return fmt.Errorf("%s: %w", f.Transcript, err)
	}
	key, err := patient.Key(scheme)
	if err != nil {
		return err
	}
	report := rubric.Grade(scheme, key, transcript)
	words := library.Catalogue(c.Species).Words()
	say.Fill(&report, words)
	if f.Format == "json" {
		enc := json.NewEncoder(out)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		return enc.Encode(report)
	}
	return writeReport(out, report)
}

// caseOf reads a case file; a name that is no file may be a case of the library.
func caseOf(l *cases.Library, name string) (*cases.Case, error) {
	data, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		if c := l.Case(name); c != nil {
			return c, nil
		}
		return nil, fmt.Errorf("no case file %s, and the library has no case of that id", name)
	}
	if err != nil {
		return nil, err
	}
	c, problems := mediaBeside(l, name).ParseCase(name, data)
	if len(problems) > 0 {
		return nil, problemsError(problems)
	}
	return c, nil
}

func problemsError(problems []cases.Problem) error {
	lines := make([]string, len(problems))
	for i, p := range problems {
		lines[i] = p.String()
	}
	return errors.New(strings.Join(lines, "\n"))
}

func rubricOf(name, track string) (rubric.Rubric, error) {
	if name == "" {
		return file.Builtin(cmp.Or(track, "veterinary"))
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return rubric.Rubric{}, err
	}
	r, err := file.Parse(name, data)
	if err == nil && track != "" && r.Track != track {
		err = fmt.Errorf("%s is a rubric of the %s track, --track says %s", name, r.Track, track)
	}
	return r, err
}

func readTranscript(name string, in io.Reader) (rubric.Transcript, error) {
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	t, err := rubric.ReadTranscript(in)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return t, nil
}

// played gives the outcome to every act that came without one. Outcomes come
// for all acts or for none: half a transcript cannot be joined to a patient.
func played(p *cases.Patient, t rubric.Transcript) (rubric.Transcript, error) {
	with := 0
	acts := make([]rubric.Act, len(t))
	for i, e := range t {
		acts[i] = e.Act
		if e.Played() {
			with++
		}
	}
	switch with {
	case 0:
		return p.Play(acts)
	case len(t):
		return t, nil
	}
	return nil, fmt.Errorf("%d of %d acts carry an outcome; right would be all or none", with, len(t))
}

func writeReport(out io.Writer, r rubric.Report) error {
	var b strings.Builder
	verdict := "not passed"
	if r.Pass {
		verdict = "passed"
	}
	fmt.Fprintf(&b, "Total %s of 100, %s (engine %s)\n", r.Total, verdict, r.Engine)
	for _, e := range r.Critical {
		fmt.Fprintf(&b, "  Critical, for a person to confirm: %s\n", e.Why)
	}
	for _, h := range r.Held {
		fmt.Fprintf(&b, "  Held: %s\n", say.Held(h))
	}
	for _, d := range r.Domains {
		fmt.Fprintf(&b, "\n%s %s of %s\n", titled(d.ID), d.Points, d.Max)
		for _, l := range d.Lines {
			fmt.Fprintf(&b, "  %7s / %-7s %s%s\n", l.Points, l.Max, l.Reason, actsText(l.Acts))
		}
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func titled(id string) string {
	if id == "" {
		return id
	}
	return strings.ToUpper(id[:1]) + id[1:]
}

func actsText(acts []int) string {
	if len(acts) == 0 {
		return ""
	}
	return " " + strings.ReplaceAll(fmt.Sprint(acts), " ", ", ")
}
