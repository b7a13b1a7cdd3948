package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/rubric/normal"
)

// rangesFile is a school's own table in its data folder.
const rangesFile = "ranges.csv"

// rangesFlags are the words of the ranges command.
type rangesFlags struct{ Species, Age, Weight, Data, Format string }

func newRangesCommand() *cobra.Command {
	var f rangesFlags
	cmd := &cobra.Command{
		Use:   "ranges --species NAME",
		Short: "Print the reference ranges of an animal with the published figures behind them",
		Long: "Ranges prints by what heart rate, respiratory rate, temperature, capillary refill and\n" +
			"body condition are called low, normal or high, and the published figures behind it.\n" +
			"Without --age or --weight it prints those of all ages or weights.\n\n" +
			"With --data the school's own " + rangesFile + " in that folder lies over the built-in table;\n" +
			"its problems are printed as file:line:col: message. With --data alone the file is only\n" +
			"checked.",
		Args: noArguments("ranges"),
		RunE: func(cmd *cobra.Command, _ []string) error { return ranges(f, cmd.OutOrStdout()) },
	}
	cmd.Flags().StringVar(&f.Species, "species", "", "dog, cat, horse, cattle, rabbit or another")
	cmd.Flags().StringVar(&f.Age, "age", "", "such as 10w, 10 wk, 8 y, 3 mo or 5 d")
	cmd.Flags().StringVar(&f.Weight, "weight", "", "such as 5.2 (kg), 850 g or 11 lb")
	cmd.Flags().StringVar(&f.Data, "data", "", "data folder with the school's own "+rangesFile)
	cmd.Flags().StringVar(&f.Format, "format", "text", "text or json")
	return cmd
}

func ranges(f rangesFlags, out io.Writer) error {
	if f.Format != "text" && f.Format != "json" {
		return &usageError{fmt.Errorf("--format is %q; right would be text or json", f.Format)}
	}
	table := normal.Ours()
	var odds []cases.Problem
	if f.Data != "" {
		var err error
		if table, odds, err = ownRanges(filepath.Join(f.Data, rangesFile), out); err != nil {
			return err
		}
	}
	if f.Species == "" && f.Data != "" {
		return writeChecked(out, f, table, odds)
	}
	sheet, err := sheetOf(f, table)
	if err != nil {
		return err
	}
	if f.Format == "json" {
		return writeJSON(out, sheet)
	}
	return sheet.write(out)
}

// ownRanges lays a school's file over ours; its problems are printed.
func ownRanges(name string, out io.Writer) (normal.Overlaid, []cases.Problem, error) {
	text, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		return normal.Overlaid{}, nil, fmt.Errorf("no file %s; right would be the data folder of a school that has one", name)
	}
	if err != nil {
		return normal.Overlaid{}, nil, err
	}
	library := cases.Builtin()
	if problems := cases.CheckRanges(library, name, text); len(problems) > 0 {
		for _, p := range problems {
			fmt.Fprintln(out, p)
		}
		return normal.Overlaid{}, nil, errSilent
	}
	table, _ := normal.Overlay(name, text) // without a problem, as was just seen
	return table, cases.AtOdds(library, table.Table), nil
}

// writeChecked says what a school's file does.
func writeChecked(out io.Writer, f rangesFlags, table normal.Overlaid, odds []cases.Problem) error {
	fmt.Fprintf(out, "%s: no problem. Rows of ours replaced: %d; rows added: %d.\n", filepath.Join(f.Data, rangesFile), len(table.Replaced), len(table.Added))
	if len(odds) > 0 {
		fmt.Fprintf(out, "By these ranges built-in patients have a vital sign that is neither plainly normal nor plainly abnormal:\n")
		for _, p := range odds {
			fmt.Fprintf(out, "  %s\n", p)
		}
	}
	return nil
}

// rangeSheet is what the command prints, and its JSON.
type rangeSheet struct {
	Species   string       `json:"species"`
	AgeDays   *int         `json:"age_days,omitempty"`
	Grams     *int         `json:"grams,omitempty"`
	Ranges    []rangeRow   `json:"ranges"`
	Published []figureLine `json:"published"`
	Caution   string       `json:"caution"`

	age, weight string
}

// rangeRow is a grading row. Numbers are decimal text in the unit.
type rangeRow struct {
	ID         string `json:"id"`
	Vital      string `json:"vital"`
	Animal     string `json:"animal"`
	Reach      string `json:"reach,omitempty"` // ages and weights; empty: all
	Unit       string `json:"unit"`
	Low        string `json:"low"`
	High       string `json:"high"`
	GreyLow    string `json:"grey_low"`
	GreyHigh   string `json:"grey_high"`
	Source     string `json:"source"`
	Confidence string `json:"confidence"`
	Own        bool   `json:"own"` // from the school's file

	normal, grey, fahrenheit string
}

// figureLine is a published figure.
type figureLine struct {
	Vital      string `json:"vital"`
	Animal     string `json:"animal"`
	Reach      string `json:"reach,omitempty"`
	Unit       string `json:"unit"`
	Low        string `json:"low,omitempty"`
	High       string `json:"high,omitempty"`
	Says       string `json:"says,omitempty"`
	Source     string `json:"source"`
	Key        string `json:"key,omitempty"`
	Confidence string `json:"confidence"`

	text string
}

const rangesCaution = "Ranges vary with laboratory, breed and circumstance. These are for teaching on simulated patients; " +
	"a live animal is examined under a licensed veterinarian's direction and local rules."

func sheetOf(f rangesFlags, table normal.Overlaid) (rangeSheet, error) {
	s := rangeSheet{Species: f.Species, Caution: rangesCaution, age: f.Age, weight: f.Weight}
	species := table.Table.Species()
	if !slices.Contains(species, f.Species) {
		return s, &usageError{fmt.Errorf("--species is %q; right would be one of %s", f.Species, strings.Join(species, ", "))}
	}
	days, grams := normal.Any, normal.Any
	for _, m := range []struct {
		text, flag string
		read       func(string) (int, error)
		into       *int
		shown      **int
	}{{f.Age, "--age", normal.ParseAge, &days, &s.AgeDays}, {f.Weight, "--weight", normal.ParseWeight, &grams, &s.Grams}} {
		if m.text == "" {
			continue
		}
		n, err := m.read(m.text)
		if err != nil {
			return s, &usageError{fmt.Errorf("%s: %w", m.flag, err)}
		}
		*m.into, *m.shown = n, &n
	}
	s.Ranges, s.Published = []rangeRow{}, []figureLine{}
	for _, r := range table.Table.For(f.Species, days, grams) {
		s.Ranges = append(s.Ranges, rangeRowOf(r, table.Own(r.ID)))
	}
	for _, p := range normal.Published(f.Species, days, grams) {
		s.Published = append(s.Published, figureLineOf(p))
	}
	return s, nil
}

func rangeRowOf(r normal.Row, own bool) rangeRow {
	out := rangeRow{ID: r.ID, Vital: r.Vital, Animal: r.Animal(), Reach: normal.Reach(r.Days, r.Grams), Unit: r.Unit,
		Low: r.Low.String(), High: r.High.String(), GreyLow: r.GreyLow.String(), GreyHigh: r.GreyHigh.String(), Source: r.Source,
		Confidence: r.Confidence, Own: own, normal: normal.Between(r.Low, r.High, r.Unit), grey: normal.Between(r.GreyLow, r.GreyHigh, r.Unit)}
	if r.Unit == "degC" {
		out.fahrenheit = normal.Fahrenheit(r.Low, r.High) + ", grey zone " + normal.Fahrenheit(r.GreyLow, r.GreyHigh)
	}
	return out
}

func figureLineOf(p normal.Figure) figureLine {
	line := figureLine{Vital: p.Vital, Animal: p.Animal(), Reach: normal.Reach(p.Days, p.Grams), Unit: p.Unit, Says: p.Says, Source: p.Source,
		Key: p.Key, Confidence: p.Confidence, text: p.Text()}
	if p.HasLow {
		line.Low = p.Low.String()
	}
	if p.HasHigh {
		line.High = p.High.String()
	}
	return line
}
