package server

import (
	"fmt"
	"strings"

	"dewclaw/server/face"
)

// actRow is one act of the visit, as read afterwards.
type actRow struct {
	N                  int
	Clock, Text, Found string
}

// actTexts says each kind of act in words.
var actTexts = map[string]func(face.Act, *face.Catalogue) string{
	"examine":  examineText,
	"lift":     func(a face.Act, _ *face.Catalogue) string { return fmt.Sprintf("Lifted after %d s", a.Seconds) },
	"record":   recordText,
	"ask":      askText,
	"handle":   handleText,
	"wait":     func(a face.Act, _ *face.Catalogue) string { return fmt.Sprintf("Waited %d s", a.Seconds) },
	"hint":     func(face.Act, *face.Catalogue) string { return "Asked for a hint" },
	"conclude": concludeText,
}

func actRows(acts []face.Act, cat *face.Catalogue) []actRow {
	rows := make([]actRow, 0, len(acts))
	for _, a := range acts {
		row := actRow{N: a.N, Clock: clock(a.Clock), Text: a.Kind, Found: foundText(a)}
		if say := actTexts[a.Kind]; say != nil {
			row.Text = say(a, cat)
		}
		rows = append(rows, row)
	}
	return rows
}

func examineText(a face.Act, cat *face.Catalogue) string {
	label := a.Step
	if s := cat.Step(a.Step); s != nil {
		label = s.Label
	}
	return joinSet([]string{label, a.Site, a.Manner}, ", ")
}

func recordText(a face.Act, cat *face.Catalogue) string {
	if a.Region != "" {
		label := a.Region
		if r := cat.Region(a.Region); r != nil {
			label = r.Label
		}
		return "Charted the rest of " + strings.ToLower(label) + " as normal"
	}
	place := joinSet([]string{fieldLabel(cat, a.Field), a.Site}, ", ")
	if a.Value == "" {
		return "Withdrew the entry: " + place
	}
	line := face.Line{Place: face.Place{Field: a.Field, Site: a.Site}, Value: a.Value, Interpretation: a.Interpretation}
	return "Charted " + place + ": " + joinSet([]string{shownValue(cat, line), a.Reason}, "; ")
}

func askText(a face.Act, cat *face.Catalogue) string {
	if t := cat.Topic(a.Topic); t != nil {
		return "Asked: " + t.Ask
	}
	return "Asked about " + a.Topic
}

func handleText(a face.Act, cat *face.Catalogue) string {
	if h := cat.HandlingRow(a.How); h != nil {
		return h.Label
	}
	return a.How
}

func concludeText(a face.Act, cat *face.Catalogue) string {
	var names []string
	for _, id := range a.Problems {
		if p := cat.Problem(id); p != nil {
			id = p.Label
		}
		names = append(names, id)
	}
	if len(names) == 0 {
		names = []string{"no problem named"}
	}
	return joinSet([]string{"Concluded: " + strings.Join(names, ", "), a.Urgency}, "; ")
}

// foundText is what the act brought to the senses: also the words of what was
// heard, for a debrief teaches, and what an instrument showed.
func foundText(a face.Act) string {
	var parts []string
	if a.Refused {
		parts = append(parts, "The animal did not allow it.")
	}
	for _, p := range a.Percepts {
		switch {
		case p.Words == "":
		case p.Sense == senseSound:
			parts = append(parts, "Heard: "+sentence(p.Words))
		default:
			parts = append(parts, sentence(p.Words))
		}
	}
	if a.Read != nil {
		parts = append(parts, "It read "+a.Read.Words+".")
	}
	for _, sign := range a.Signs {
		parts = append(parts, sentence(sign))
	}
	if a.Answer != "" {
		parts = append(parts, "“"+a.Answer+"”")
	}
	if a.Ended == "arrest" {
		parts = append(parts, "The visit ended here.")
	}
	return strings.Join(parts, " ")
}
