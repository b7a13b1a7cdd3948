// Package normal holds the reference ranges of resting vital signs.
package normal

import "dewclaw/rubric"

// Row is the reference range of one vital for one class of animal.
type Row struct {
	ID, Species, Class, Vital, Unit string
	Low, High, GreyLow, GreyHigh    rubric.Milli
	Source, Confidence              string
}

// Lookup finds the row for an animal.
func Lookup(species string, ageDays, grams int, vital string) (Row, bool) { return Row{}, false }

// Rows are all rows in file order.
func Rows() []Row { return nil }
