package server

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"dewclaw/server/face"
)

// safetyText is the first paragraph: whether anybody could have been hurt.
func safetyText(r face.Report, a face.Attempt) string {
	if len(r.Critical) > 0 {
		return "Safety: " + whys(r.Critical) + " " + criticalText(r)
	}
	if len(r.Hazards) > 0 {
		return "Safety: nothing irreparable happened, but look at this first. " + whys(r.Hazards)
	}
	for _, act := range a.Acts {
		if act.Kind == "examine" {
			return "Safety: nothing that you did put the patient or yourself at risk."
		}
	}
	return "Safety: you did not examine the patient, so nothing could go wrong; nothing could be found either."
}

// whys are the reasons of the events, each once.
func whys(events []face.Event) string {
	var texts []string
	seen := map[string]bool{}
	for _, e := range events {
		if !seen[e.Why] {
			seen[e.Why] = true
			texts = append(texts, sentence(e.Why))
		}
	}
	return strings.Join(texts, " ")
}

// sentence starts with a capital and ends with a stop.
func sentence(text string) string {
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	if !strings.ContainsAny(text[len(text)-1:], ".!?") {
		text += "."
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// lossText is the second paragraph: the domain that lost most, and the line in
// it that cost most.
func lossText(r face.Report) string {
	var worst *face.Domain
	for i := range r.Domains {
		d := &r.Domains[i]
		if worst == nil || d.Max-d.Points > worst.Max-worst.Points {
			worst = d
		}
	}
	if worst == nil || worst.Points >= worst.Max {
		return "The biggest loss: none. Every domain earned what it can."
	}
	text := fmt.Sprintf("The biggest loss: %s, %s of %s points.", strings.ToLower(worst.Label), brief(worst.Points), worst.Max)
	if line := costliest(worst.Lines); line != nil && line.Reason != "" {
		text += " " + sentence(line.Reason)
	}
	return text
}

// costliest is the line that lost most; a deduction counts in full.
func costliest(lines []face.Mark) *face.Mark {
	var worst *face.Mark
	for i := range lines {
		m := &lines[i]
		if m.Max-m.Points > 0 && (worst == nil || m.Max-m.Points > worst.Max-worst.Points) {
			worst = m
		}
	}
	return worst
}

// wellText is the third paragraph: the domain that earned the largest share.
func wellText(r face.Report) string {
	var best *face.Domain
	for i := range r.Domains {
		d := &r.Domains[i]
		if d.Max > 0 && d.Points > 0 && (best == nil || d.Points*best.Max > best.Points*d.Max) {
			best = d
		}
	}
	if best == nil {
		return "What went well: nothing could be credited this time. Begin with a look from across the room, and chart what you see before you touch."
	}
	text := fmt.Sprintf("What went well: %s, %s of %s points.", strings.ToLower(best.Label), brief(best.Points), best.Max)
	var top *face.Mark
	for i := range best.Lines {
		if m := &best.Lines[i]; m.Points > 0 && (top == nil || m.Points > top.Points) {
			top = m
		}
	}
	if top != nil && top.Reason != "" {
		text += " " + sentence(top.Reason)
	}
	return text
}

// detectionText says how abnormal was told from normal, over what was examined;
// nothing where nothing of the kind was charted.
func detectionText(d face.Detection) string {
	abnormal, normal := d.Hits+d.Misses, d.FalseAlarms+d.TrueNormals
	ill := fmt.Sprintf("%d of %s abnormal", d.Hits, several(abnormal, "abnormal finding"))
	well := fmt.Sprintf("%d of %s abnormal", d.FalseAlarms, several(normal, "normal place"))
	switch {
	case abnormal == 0 && normal == 0:
		return ""
	case abnormal == 0:
		return "Of what you examined and charted, you called " + well + "."
	case normal == 0:
		return "Of what you examined, you called " + ill + "."
	}
	return "Of what you examined, you called " + ill + ", and " + well + "."
}

func several(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
