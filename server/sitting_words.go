package server

import (
	"fmt"
	"strings"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
)

// span is from when to when, in the school's zone; the day once where it is one.
func (s *Server) span(from, to time.Time) string {
	a, b := from.In(s.zone()), to.In(s.zone())
	if a.Format(time.DateOnly) == b.Format(time.DateOnly) {
		return s.moment(from) + " to " + b.Format("15:04")
	}
	return s.moment(from) + " to " + s.moment(to)
}

// leftWords is a length of time that is left, to the minute, and to the second
// where it is short.
func leftWords(d time.Duration) string {
	switch m := int(d.Minutes()); {
	case d <= 0:
		return "no time"
	case m >= 24*60:
		return count(m/(24*60), "day")
	case m >= 100:
		return fmt.Sprintf("%d h %d min", m/60, m%60)
	case m >= 1:
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d s", inSeconds(d))
}

// phaseWords say how an assignment stands for a student.
func (s *Server) phaseWords(a face.Assignment) string {
	left := time.Duration(0)
	released, done := false, 0
	if n := len(a.Turns); n > 0 {
		t := a.Turns[n-1]
		left, released, done = time.Duration(t.Left)*time.Second, t.Released, t.Done
	}
	switch exam.Phase(a.Phase) {
	case exam.Early:
		return "not open yet; it opens on " + s.moment(a.Opens)
	case exam.Open:
		return "open, " + leftWords(a.Closes.Sub(a.Now)) + " until it closes"
	case exam.Missed:
		return "closed; you did not begin it"
	case exam.Running:
		return fmt.Sprintf("under way: %d of %s done, %s left", done, count(a.Patients, "patient"), leftWords(left))
	case exam.Paused:
		return "paused; the clock stands still, " + leftWords(left) + " left"
	}
	if a.Kind == string(exam.Practice) {
		return "done"
	}
	if released {
		return "✓ handed in; the debrief is released"
	}
	return "✓ handed in; the debrief comes when your instructor releases it"
}

// ownWords are what a student has beyond the others, for that student alone.
func ownWords(a face.Assignment) []string {
	var out []string
	if a.Extra > 0 && a.Minutes > 0 {
		out = append(out, fmt.Sprintf("Your own time is %s: %d %% more than the others have.", spell(minutes(a.Minutes)), a.Extra))
	} else if a.Extra > 0 {
		out = append(out, fmt.Sprintf("You have %d %% more time than the others.", a.Extra))
	}
	if a.Later > 0 {
		out = append(out, fmt.Sprintf("For you it closes %s later.", spell(minutes(a.Later))))
	}
	if a.Pauses > 0 {
		out = append(out, fmt.Sprintf("You may pause for %s in all; your clock stands still meanwhile.", spell(minutes(a.Pauses))))
	}
	return out
}

// expectWords say what to expect of a sitting, or of a practice.
func expectWords(a face.Assignment) []string {
	out := []string{count(a.Patients, "patient") + ", one after another."}
	if a.Patients == 1 {
		out[0] = "One patient."
	}
	if a.Kind == string(exam.Sitting) && a.Patients > 1 {
		out[0] += " You go on when you are done with one, and cannot return to an earlier one."
	}
	switch {
	case a.Minutes > 0:
		out = append(out, fmt.Sprintf("%s for all of it, by the server’s clock. It begins when you press Begin and does not stop when you leave, lose the connection or close the browser; come back and you go on where you were.", capital(spell(minutes(a.Minutes)))))
	default:
		out = append(out, "No limit besides the closing time. What you did is kept if you leave; come back and you go on where you were.")
	}
	out = append(out, "When the time ends, what you have examined and charted by then is marked. What was not charted is not.")
	out = append(out, cueSaid[a.Cue]+" "+placesSaid[a.Places])
	if a.Kind == string(exam.Sitting) {
		out = append(out, "Nothing is told while you sit. The debrief comes when your instructor releases it.")
	} else {
		out = append(out, "The debrief comes at once after each patient.")
	}
	switch a.Tries {
	case 0:
		out = append(out, "You may do it as often as you like.")
	case 1:
		out = append(out, "You have one try.")
	default:
		out = append(out, fmt.Sprintf("You have %d tries.", a.Tries))
	}
	return out
}

// What the sheet and the chest show, for who is to sit.
var (
	cueSaid = map[string]string{
		"":         "The sheet opens its lines as you examine.",
		fullCue:    "The sheet opens its lines as you examine.",
		"headings": "The sheet shows headings only: you say yourself which lines you chart, by searching for them or with the typed line.",
		"none":     "The sheet is blank: you name each line yourself, as on paper.",
	}
	placesSaid = map[string]string{
		"":           "The places for the chest piece have names.",
		"labelled":   "The places for the chest piece have names.",
		"unlabelled": "The places for the chest piece have no names: you find them on the animal.",
	}
)

// stateOfTurn says what became of a patient of a turn.
func stateOfTurn(state string) string {
	if state == "open" {
		return "under way"
	}
	return "✓ handed in"
}

// capital is a text with its first letter large.
func capital(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
