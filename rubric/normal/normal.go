// Package normal holds the reference ranges of resting vital signs by species,
// age and size, each with its source. The data are ranges.csv: to correct or
// add a range is to edit that file.
//
// Inside Low..High a vital is normal. Between Low..High and GreyLow..GreyHigh
// either call is right. The bands are teaching defaults, wide on purpose:
// ranges vary with laboratory, breed and circumstance.
//
// In dogs and cats ages from 8 to 16 weeks have rows of their own, and older
// animals are read by the adult rows; rabbits, ferrets and guinea pigs are read
// by theirs from 16 weeks on. Foals have rows for days 1 to 7 and calves for
// days 14 to 84. Horses are adult from three years (to then the rate is still
// falling), donkeys from two, cattle, sheep, goats, pigs and alpacas from one.
// Between and before these ages there is no row, and a reading is not judged.
// The bounds are common practice, no source: published ranges for the months
// between are few and weak.
//
// Pigs have no refill time (hard to assess); ferrets and guinea pigs have no
// body condition (no scale that is agreed on), nor do foals and calves.
package normal

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"dewclaw/rubric"
)

// Row is the reference range of one vital for one class of animal. Quantities
// are thousandths of Unit.
type Row struct {
	ID, Species, Class, Vital, Unit string
	Low, High, GreyLow, GreyHigh    rubric.Milli
	Source, Confidence              string

	days, grams span
}

// span is from..to, both included.
type span struct{ from, to int }

func (s span) holds(n int) bool { return n >= s.from && n <= s.to }

//go:embed ranges.csv
var data []byte

var rows = mustParse(data)

// Table is a whole file of ranges: today's, or those that an attempt began with.
type Table []Row

// Lookup finds the row of today's table for an animal of this age in days and
// weight in grams. It is false where no range is known, such as for a newborn.
func Lookup(species string, ageDays, grams int, vital string) (Row, bool) {
	return Table(rows).Lookup(species, ageDays, grams, vital)
}

// Lookup finds the row for an animal of this age in days and weight in grams.
func (t Table) Lookup(species string, ageDays, grams int, vital string) (Row, bool) {
	for i := range t {
		r := &t[i]
		if r.Species == species && r.Vital == vital && r.days.holds(ageDays) && r.grams.holds(grams) {
			return *r, true
		}
	}
	return Row{}, false
}

// Rows are all rows in file order.
func Rows() []Row { return slices.Clone(rows) }

// Data is the file itself, for an attempt to keep.
func Data() []byte { return bytes.Clone(data) }

// Parse reads what Data gave, perhaps in an earlier version.
func Parse(data []byte) (Table, error) { return parse(data) }

const columns = 15

func mustParse(data []byte) []Row {
	rows, err := parse(data)
	if err != nil {
		panic("normal: the embedded ranges are broken: " + err.Error())
	}
	return rows
}

func parse(data []byte) ([]Row, error) {
	in := csv.NewReader(bytes.NewReader(data))
	in.FieldsPerRecord = columns
	records, err := in.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("ranges: %w", err)
	}
	if len(records) == 0 {
		return nil, errors.New("ranges: no rows")
	}
	rows := make([]Row, 0, len(records))
	for i, rec := range records[1:] {
		row, err := parseRow(rec)
		if err != nil {
			return nil, fmt.Errorf("ranges: row %d: %w", i+2, err)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func parseRow(rec []string) (Row, error) {
	row := Row{ID: rec[0], Species: rec[1], Class: rec[2], Vital: rec[7], Unit: rec[8], Source: rec[13], Confidence: rec[14]}
	for i, to := range []*int{&row.days.from, &row.days.to, &row.grams.from, &row.grams.to} {
		text := rec[3+i]
		if text == "" {
			*to = math.MaxInt
			continue
		}
		n, err := strconv.Atoi(text)
		if err != nil {
			return Row{}, err
		}
		*to = n
	}
	for i, to := range []*rubric.Milli{&row.Low, &row.High, &row.GreyLow, &row.GreyHigh} {
		m, err := rubric.ParseMilli(rec[9+i])
		if err != nil {
			return Row{}, err
		}
		*to = m
	}
	return row, nil
}
