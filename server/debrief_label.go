package server

import (
	"strings"

	"dewclaw/rubric/say"
)

// labelRow says what the lines are called whose id begins with a word of the
// engine. The rest of the id is looked up; where there is nothing to look it up
// in, the word stands before it.
type labelRow struct {
	begin, words string
	look         func(say.Words, string) string
}

// labelRows is read from the top; the first that fits is used.
var labelRows = []labelRow{
	{"ask:", "Ask: ", say.Words.Topic},
	{"handle:", "", say.Words.Handling},
	{"problem/", "Problem: ", say.Words.Problem},
	{"report/", "Reported: ", say.Words.Field},
	{"negative/", "Pertinent negative: ", say.Words.Field},
	{"alarm/", "False alarm: ", say.Words.Field},
	{"contradiction/", "Contradiction on the sheet: ", say.Words.Field},
	{"unexamined/", "Charted, not examined: ", say.Words.Field},
	{"unreadable/", "Not readable: ", say.Words.Field},
	{"unknown/", "Not with this patient: ", say.Words.Step},
	{"hazard/withhold:", "Should have waited: ", say.Words.Step},
	{"hazard/", "Hazard: ", nil},
	{"precaution/", "Precaution: ", nil},
	{"rule/", "Rule: ", nil},
}

// lineLabels are the lines of which a domain has one at most.
var lineLabels = map[string]string{
	"route": "Route over the animal", "returns": "Going back", "late": "Done late", "steps": "Too few steps",
	"guard": "Share of the examination that was done", "seen": "Share of the findings that could be seen",
	"measured": "Share of the vital signs that was measured", "abnormal": "Abnormal findings", "floor": "Not below nothing",
	"conclude": "Assessment", "problems": "Problems", "urgency": "Urgency", "diagnosis": "Diagnosis named", "frame": "Frame of the report",
}

// vitalParts are the parts of a vital sign's mark, by the end of their id.
var vitalParts = map[string]string{"call": "low, normal or high", "arithmetic": "the sum", "first": "where the count began"}

// lineLabel puts a line's id, domain/what or domain/what@site, into words.
func lineLabel(id string, w say.Words) string {
	_, what, _ := strings.Cut(id, "/")
	if label, ok := lineLabels[what]; ok {
		return label
	}
	what, site, sited := strings.Cut(what, "@")
	label := placeLabel(what, w)
	if sited {
		label += ", " + w.Site(site)
	}
	return label
}

// plain makes words of an id.
var plain = strings.NewReplacer("_", " ", "-", " ", "/", ", ")

func placeLabel(what string, w say.Words) string {
	if vital, part, _ := strings.Cut(what, "/"); vitalParts[part] != "" {
		return w.Field(vital) + ": " + vitalParts[part]
	}
	for _, row := range labelRows {
		rest, ok := strings.CutPrefix(what, row.begin)
		switch {
		case !ok:
			continue
		case row.look != nil:
			return row.words + row.look(w, rest)
		}
		return row.words + plain.Replace(rest)
	}
	for _, look := range []func(string) string{w.Step, w.Field} {
		if label := look(what); label != what {
			return label
		}
	}
	return plain.Replace(what)
}
