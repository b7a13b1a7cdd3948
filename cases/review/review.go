// Package review says which of the medicine in the library a clinician still
// has to confirm, and keeps what was confirmed by whom and when.
//
// Everything that decides a mark or teaches a fact is an item: a reference
// range, a rule of order, a sign that must agree with another, a patient, and
// what a catalogue says of one region. An item has a confidence; what was read
// in its source needs no review to be shown, the rest is marked on pages as not
// yet reviewed by a clinician until a school's file says so.
//
// That file is reviews.csv in the school's folder:
//
//	item,digest,by,date,note
//	case/tansy,3f1c9a0b2d4e,A. Reviewer,2026-11-25,
//
// The digest is that of the item's content when it was looked at. Once the item
// changes the row no longer holds, and the item is to be looked at again.
package review

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// The confidences, from the surest.
const (
	Read    = "read"            // read in the source that is named
	Memory  = "memory"          // remembered from textbooks and teaching
	Derived = "derived"         // worked out from sources, or a limit of this project
	Common  = "common practice" // a fact of the trade without a source
)

// Item is one thing for a clinician to confirm.
type Item struct {
	ID         string // kind/name, such as case/tansy or range/cat.adult.heart_rate
	Says       string // what is claimed, in a line
	Source     string
	Confidence string
	Digest     string // of its content: 12 hexadecimal digits of SHA-256
}

// Library is what items are taken from. Of several versions of a rubric the
// highest counts, which is the one that marks new visits.
type Library struct {
	Cases   *cases.Library
	Ranges  normal.Table
	Rubrics []rubric.Rubric
}

// Items are all there are, kind by kind and then by id.
func Items(l Library) []Item {
	var out []Item
	for _, kind := range []func(Library) []Item{ranges, rules, links, regions, patients} {
		out = append(out, kind(l)...)
	}
	return out
}

// digest is of everything that an item claims. It is over the rows as this
// program holds them: a version of it whose rows have a further member asks for
// the review of these rows anew.
func digest(content ...any) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%+v", content))
	return hex.EncodeToString(sum[:6])
}

// confidence is the class of what a file says of its own sureness or of its source.
func confidence(text string) string {
	switch t := strings.ToLower(text); {
	case strings.HasPrefix(t, Derived):
		return Derived
	case strings.Contains(t, "no source") || strings.HasPrefix(t, Common):
		return Common
	case t == "" || strings.Contains(t, "memory"):
		return Memory
	}
	return Read
}

func ranges(l Library) []Item {
	var out []Item
	for _, r := range l.Ranges {
		out = append(out, Item{
			ID: "range/" + r.ID, Says: r.Words(), Source: r.Source, Confidence: confidence(r.Confidence),
			Digest: digest(r.ID, r.Low, r.High, r.GreyLow, r.GreyHigh, r.Unit, r.Source),
		})
	}
	return out
}

// rules are those of order; one that two rubrics share word by word is one item.
func rules(l Library) []Item {
	var out []Item
	seen := map[string]bool{}
	for _, rub := range current(l.Rubrics) {
		for _, r := range rub.Rules {
			it := Item{ID: "rule/" + r.ID, Says: r.Why, Source: r.Source, Confidence: confidence(r.Source), Digest: digest(r)}
			if seen[it.ID] {
				it.ID = "rule/" + rub.ID + "/" + r.ID
			}
			if seen[it.Digest] {
				continue
			}
			seen[it.ID], seen[it.Digest] = true, true
			out = append(out, it)
		}
	}
	return out
}

// current are the highest versions of the rubrics, sorted by id.
func current(all []rubric.Rubric) []rubric.Rubric {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b rubric.Rubric) int {
		return cmp.Or(cmp.Compare(a.ID, b.ID), cmp.Compare(b.Version, a.Version))
	})
	return slices.CompactFunc(sorted, func(a, b rubric.Rubric) bool { return a.ID == b.ID })
}

func links(Library) []Item {
	var out []Item
	for _, k := range cases.Links() {
		out = append(out, Item{ID: "link/" + k.ID, Says: k.Words() + " " + k.Why, Source: k.Source, Confidence: confidence(k.Source), Digest: digest(k)})
	}
	return out
}

// regions are what a catalogue says of a region: its steps with their cautions,
// its fields with their choices, cues and what of them is normal.
func regions(l Library) []Item {
	var out []Item
	for _, species := range l.Cases.Species() {
		c := l.Cases.Catalogue(species)
		for _, g := range c.Regions {
			content := []any{}
			steps, fields := 0, 0
			for i := range c.Steps {
				if c.Steps[i].Region == g.ID {
					content, steps = append(content, c.Steps[i]), steps+1
				}
			}
			for i := range c.Fields {
				if c.Fields[i].Region == g.ID {
					content, fields = append(content, c.Fields[i]), fields+1
				}
			}
			out = append(out, Item{
				ID:     "catalogue/" + species + "/" + g.ID,
				Says:   fmt.Sprintf("%s, %s: what %s and %s say", c.Label, strings.ToLower(g.Label), some(steps, "step"), some(fields, "line")),
				Source: strings.Join(c.Sources, "; "), Confidence: confidence(c.Confidence), Digest: digest(content...),
			})
		}
	}
	return out
}

func patients(l Library) []Item {
	var out []Item
	for _, k := range l.Cases.Cases() {
		out = append(out, Item{
			ID: "case/" + k.ID, Says: k.Title + ": findings, conclusions, urgency and teaching note", Source: strings.Join(k.Sources, "; "),
			Confidence: confidence(k.Confidence), Digest: k.Hash[:12],
		})
	}
	return out
}

func some(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
