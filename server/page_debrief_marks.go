package server

import (
	"fmt"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/face"
)

// saidOf is what a person said of a critical event; nil: nobody has.
func saidOf(r face.Report, what string) *face.Decided {
	for i := range r.Decided {
		if r.Decided[i].What == what {
			return &r.Decided[i]
		}
	}
	return nil
}

// waitsForPerson reports whether a critical event waits for a person.
func waitsForPerson(r face.Report) bool {
	for _, e := range r.Critical {
		if saidOf(r, e.ID) == nil {
			return true
		}
	}
	return false
}

// criticalStands reports whether a critical event was looked at and stands.
func criticalStands(r face.Report) bool {
	for _, e := range r.Critical {
		if d := saidOf(r, e.ID); d != nil && d.Stands {
			return true
		}
	}
	return false
}

// criticalText says what critical events come to.
func criticalText(r face.Report) string {
	switch {
	case waitsForPerson(r):
		return "This alone decides the case once a person has confirmed it, whatever else was done well."
	case criticalStands(r):
		return "A person has looked at it: it stands, and alone decides the case, whatever else was done well."
	}
	return "A person has looked at it: it does not decide the case."
}

// decidedTexts say what people decided on critical events and flags, and why.
func decidedTexts(r face.Report, z *time.Location) (out []string) {
	for _, d := range r.Decided {
		word := "it does not stand"
		if d.Stands {
			word = "it stands"
		}
		out = append(out, fmt.Sprintf("%s An instructor decided on %s that %s. %s", d.Text, day(d.At, z), word, sentence(d.Because)))
	}
	return out
}

// struckTexts say what is marked otherwise for everybody, and why.
func struckTexts(r face.Report, z *time.Location) (out []string) {
	for _, x := range r.Struck {
		out = append(out, fmt.Sprintf("For everybody, since %s: %s %s", day(x.At, z), x.What, sentence(x.Because)))
	}
	return out
}

// undecided are the reasons to look that nobody has looked at.
func undecided(r face.Report) (out []face.Reason) {
	for _, h := range r.Held {
		if h.Code == rubric.HeldCritical && waitsForPerson(r) || h.Code != rubric.HeldCritical && saidOf(r, h.Code) == nil {
			out = append(out, h)
		}
	}
	return out
}

// wrongReview puts a review that was not taken back onto the page.
func (p *debriefPage) wrongReview(line, words, wrong string) {
	p.Wrong = wrong
	for i := range p.Domains {
		for k := range p.Domains[i].Lines {
			if l := &p.Domains[i].Lines[k]; l.ID == line {
				l.Words, p.Domains[i].Open = words, true
			}
		}
	}
}
