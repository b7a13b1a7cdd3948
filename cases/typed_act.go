package cases

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
)

// siteSpan is a stretch of words that names a site. An empty site is none; all
// stands for every site that there is.
type siteSpan struct {
	site     string
	from, to int // words w[from:to]; equal: no site was typed
}

// everySite is what both and all stand for.
const everySite = "*"

var sideWords = map[string]string{"l": "left", "lt": "left", "r": "right", "rt": "right"}

// sites finds every stretch of words that names a site, and none.
func (l *line) sites(w []string) []siteSpan {
	spans := []siteSpan{{}}
	known := l.c.allSites()
	for from := range w {
		if w[from] == "both" || w[from] == "all" {
			spans = append(spans, siteSpan{everySite, from, from + 1})
		}
		var phrase []string
		for to := from; to < min(from+3, len(w)); to++ {
			word := w[to]
			if side, ok := sideWords[word]; ok {
				word = side
			}
			phrase = append(phrase, word)
			if site := strings.Join(phrase, " "); slices.Contains(known, site) {
				spans = append(spans, siteSpan{site, from, to + 1})
			}
		}
	}
	return spans
}

// allSites lists the sites of all steps.
func (c *Catalogue) allSites() []string {
	var out []string
	for _, s := range c.Steps {
		for _, site := range s.Sites {
			if !slices.Contains(out, site) {
				out = append(out, site)
			}
		}
	}
	return out
}

// without returns the words beside a span.
func (s siteSpan) without(w []string) []string {
	return slices.Concat(w[:s.from], w[s.to:])
}

var mannerWords = map[string]string{"gently": "gentle", "softly": "gentle", "firmly": "firm"}

// manoeuvres reads the line as an examination.
func (l *line) manoeuvres() {
	w, manner, held := l.w, "", 0
	for i, word := range w {
		if m, ok := mannerWords[word]; ok {
			manner, w = m, slices.Concat(w[:i], w[i+1:])
			break
		}
	}
	for i := 1; i < len(w); i++ {
		if n, rest, ok := seconds(w[i:]); ok && n > 0 && n <= contactMost {
			held, w = n, slices.Concat(w[:i], rest)
			break
		}
	}
	for _, span := range l.sites(w) {
		rest := span.without(w)
		for _, s := range l.stepsOf(rest, span.site) {
			l.examine(s, span.site, manner, held, len(rest))
		}
	}
}

// stepsOf finds the steps that the words name: by a phrase of their own, or by
// verb and region.
func (l *line) stepsOf(w []string, site string) []*Step {
	var out []*Step
	plain := dropWords(w, "the", "at", "over", "on", "for", "side")
	for _, phrase := range [][]string{w, plain} {
		for _, id := range l.v.find("steps", strings.Join(phrase, " ")) {
			out = append(out, l.c.Step(id))
		}
		if len(out) > 0 {
			return out
		}
	}
	w = plain
	for n := min(len(w), l.v.longest); n > 0; n-- {
		for _, verb := range l.v.find("verbs", strings.Join(w[:n], " ")) {
			out = append(out, l.stepsBy(verb, dropWords(w[n:], "of", "in", "to"), site)...)
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}

// stepsBy finds the steps of a verb on a region; with no region, those that
// have the site. A verb on a region where it makes no sense is allowed: it
// costs time and yields nothing.
func (l *line) stepsBy(verb string, w []string, site string) []*Step {
	name := strings.Join(w, " ")
	regions := l.v.find("regions", name)
	var out []*Step
	for i := range l.c.Steps {
		s := &l.c.Steps[i]
		if s.Verb != verb {
			continue
		}
		if slices.Contains(regions, s.Region) || len(w) == 0 && (site == "" || slices.Contains(s.Sites, site)) {
			out = append(out, s)
		}
	}
	if len(out) > 0 || len(w) == 0 {
		return out
	}
	if len(regions) == 0 {
		l.fail(1, &LineError{Understood: verb, Problem: fmt.Sprintf("%q is no region", clip(name, 40)), Nearest: nearest(w, l.v.known("regions"))})
		return nil
	}
	if !slices.ContainsFunc(l.c.Steps, func(s Step) bool { return strings.HasSuffix(s.ID, "."+verb) }) {
		return nil
	}
	for _, g := range regions {
		out = append(out, &Step{ID: g + "." + verb, Region: g, Verb: verb})
	}
	return out
}

// examine accepts the step at the site, or says which sites it has.
func (l *line) examine(s *Step, site, manner string, held, got int) {
	if l.unplaced && len(s.At) > 0 {
		l.unnamed(s, site, manner, held)
		return
	}
	sites, ok := pick(s.Sites, site)
	if !ok {
		e := &LineError{Understood: l.c.stepName(s.ID), Problem: "say where", Nearest: slices.Clone(s.Sites)}
		if site != "" {
			e.Problem = fmt.Sprintf("it has no site %q", site)
		}
		if len(s.Sites) == 0 {
			e.Problem = "it has no sites; leave the side out"
		}
		l.fail(got, e)
		return
	}
	var acts []rubric.Act
	for _, where := range sites {
		acts = append(acts, rubric.Act{Kind: rubric.Examine, Step: s.ID, Site: where, Manner: manner, Seconds: held})
	}
	l.accept(acts...)
}

// unnamed accepts the step without a place, which is still to be shown.
func (l *line) unnamed(s *Step, site, manner string, held int) {
	if site == "" {
		l.accept(rubric.Act{Kind: rubric.Examine, Step: s.ID, Manner: manner, Seconds: held})
		return
	}
	l.fail(len(l.w), &LineError{Understood: s.Label,
		Problem: "its places have no names here; type it without one, then show the place on the drawing by pointer or by arrow keys"})
}

// pick chooses the sites that a word means among those there are: the one, all
// of them, or none where there are none.
func pick(sites []string, site string) ([]string, bool) {
	switch {
	case len(sites) == 0:
		return []string{""}, site == ""
	case site == everySite:
		return sites, true
	case site == "" && len(sites) == 1:
		return sites, true
	case slices.Contains(sites, site):
		return []string{site}, true
	}
	return nil, false
}
