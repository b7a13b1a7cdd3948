// Package normal holds the reference ranges of resting vital signs by species,
// age and size, each with its source. Two tables: ranges.csv are the rows that
// grade, published.csv the published figures behind them. To correct or add a
// range is to edit the file. A school lays its own file over ranges.csv: see
// Overlay.
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
//
// # Files
//
// Both are CSV: commas, the names of the columns in the first line, text with a
// comma in double quotes, lines that begin with # left out. A row of ranges.csv:
//
//	id               dog.small.heart_rate: unique; small letters, digits, . _ -
//	species          as in the catalogues: dog, cat, horse, cattle, rabbit ...
//	class            small, adult, puppy ...; any where all classes share it
//	age_from_days, age_to_days, grams_from, grams_to
//	                 whole numbers, both ends included; an empty end is open
//	vital, unit      heart_rate /min, resp_rate /min, temperature degC, crt s,
//	                 body_condition /9 or /5
//	low, high, grey_low, grey_high
//	                 decimals with at most three places
//	source           who, where, year: which figure
//	confidence       read in the source, from memory, derived ...
//
// One of published.csv has no id and no grey zone. In place of them says holds
// what is no range (a mean, a limit), key the source's short name, and
// confidence one of read, relay (read on a page that quotes the source), memory.
package normal

import (
	"bytes"
	_ "embed"
	"slices"

	"dewclaw/rubric"
)

// Row is the reference range of one vital for one class of animal. Quantities
// are thousandths of Unit.
type Row struct {
	ID, Species, Class, Vital, Unit string
	Low, High, GreyLow, GreyHigh    rubric.Milli
	Source, Confidence              string
	Days, Grams                     Span
}

// Span is From..To, both included. Open stands for an end that is not given.
type Span struct{ From, To int }

// Open is the upper end of a span that has none.
const Open = 1<<31 - 1

// Any stands for an age or weight that is not known, where rows for all of them
// are asked for.
const Any = -1

// Holds says whether n lies in the span.
func (s Span) Holds(n int) bool { return n >= s.From && n <= s.To }

// meets says whether the spans share anything.
func (s Span) meets(o Span) bool { return s.From <= o.To && o.From <= s.To }

// allows is Holds, and true for Any.
func (s Span) allows(n int) bool { return n == Any || s.Holds(n) }

//go:embed ranges.csv
var data []byte

var rows = mustParse(data)

// Table is a whole file of ranges: today's, or those that an attempt began with.
type Table []Row

// Lookup finds the row of the table that comes with the program for an animal
// of this age in days and weight in grams. It is false where no range is known,
// such as for a newborn.
func Lookup(species string, ageDays, grams int, vital string) (Row, bool) {
	return rows.Lookup(species, ageDays, grams, vital)
}

// Lookup finds the row for an animal of this age in days and weight in grams:
// the first that holds it.
func (t Table) Lookup(species string, ageDays, grams int, vital string) (Row, bool) {
	for i := range t {
		r := &t[i]
		if r.Species == species && r.Vital == vital && r.Days.Holds(ageDays) && r.Grams.Holds(grams) {
			return *r, true
		}
	}
	return Row{}, false
}

// Find is the row with this id.
func (t Table) Find(id string) (Row, bool) {
	i := slices.IndexFunc(t, func(r Row) bool { return r.ID == id })
	if i < 0 {
		return Row{}, false
	}
	return t[i], true
}

// For are the rows that apply to an animal, in the order of the vitals. With
// both known there is one a vital at most, that of Lookup; Any asks for all
// classes.
func (t Table) For(species string, ageDays, grams int) Table {
	var out Table
	for _, v := range vitals {
		for _, r := range t {
			if r.Species != species || r.Vital != v.id || !r.Days.allows(ageDays) || !r.Grams.allows(grams) {
				continue
			}
			out = append(out, r)
			if ageDays != Any && grams != Any {
				break
			}
		}
	}
	return out
}

// Rows are all rows of the table that comes with the program, in file order.
func Rows() Table { return slices.Clone(rows) }

// Data is the file itself, for an attempt to keep.
func Data() []byte { return bytes.Clone(data) }

// Parse reads what Data or Overlay gave, perhaps in an earlier version. It asks
// for no more than that the rows can be read.
func Parse(data []byte) (Table, error) {
	found, problems := rangeSheet.read("ranges", data)
	if len(problems) > 0 {
		return nil, problems[0]
	}
	return tableOf(found), nil
}

func tableOf(found []placed[Row]) Table {
	out := make(Table, len(found))
	for i := range found {
		out[i] = found[i].row
	}
	return out
}

func mustParse(data []byte) Table {
	t, err := Parse(data)
	if err != nil {
		panic("normal: the embedded ranges are broken: " + err.Error())
	}
	return t
}
