package rubric

// ChartLine is one line of the examination sheet as it stands.
type ChartLine struct {
	Place
	Value          string `json:"value"`
	Over           int    `json:"over,omitempty"`
	Interpretation string `json:"interpretation,omitempty"`
	Reason         string `json:"reason,omitempty"`
	Act            int    `json:"act"`   // the act that wrote the line
	Swept          bool   `json:"swept"` // written by 'rest of this region normal'
}

// Chart is the sheet as it stands after t, sorted by the order of fields, then
// by site.
func Chart(fields []Field, t Transcript) []ChartLine { return nil }

// Sweep says what 'rest of this region normal' would state now, which places
// of the region it would leave out because they were not examined, and which
// must be described line by line.
func Sweep(fields []Field, t Transcript, region string) (states, unexamined, each []Place) {
	return nil, nil, nil
}
