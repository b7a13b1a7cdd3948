package server

import (
	"dewclaw/server/face"
)

// nextRow is an offer on the start page: a patient or a drill with its reason.
type nextRow struct {
	Patient *patientRow
	Drill   *nextDrill
	Reason  string
}

type nextDrill struct{ Kind, Species, Label, Hint, Minutes string }

func nextRows(offers []face.Offer) []nextRow {
	var rows []nextRow
	for _, o := range offers {
		row := nextRow{Reason: o.Reason}
		if o.Patient != nil {
			p := patientRowOf(*o.Patient)
			row.Patient = &p
		}
		if d := o.Drill; d != nil {
			row.Drill = &nextDrill{Kind: d.Kind, Species: d.Species, Label: d.Label, Hint: d.Hint, Minutes: countIs(max(1, (d.Seconds+30)/60), "minute", "minutes")}
		}
		rows = append(rows, row)
	}
	return rows
}
