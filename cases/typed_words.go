package cases

import (
	"slices"
	"strings"
	"unicode"
)

// vocabulary is what the typed line knows: phrases, and the rows that each
// stands for. It is made from ids, labels, abbreviations and synonyms of the
// catalogue, so that a new row is typed as soon as it is written.
type vocabulary struct {
	phrases map[string][]sense
	longest int // words of the longest phrase
}

// sense is one row that a phrase may stand for.
type sense struct{ section, id string }

// clash is a phrase with two meanings in the same place of a line.
type clash struct{ word, section, id, otherSection, other string }

// Sections whose phrases stand in the same place of a typed line; in one group
// a phrase must have one meaning.
var lineGroups = [][]string{{"fields"}, {"steps", "handling"}, {"topics"}, {"regions"}, {"problems"}, {"verbs"}}

// vocabulary returns the catalogue's phrases.
func (c *Catalogue) vocabulary() *vocabulary {
	v := &vocabulary{phrases: map[string][]sense{}}
	for _, f := range c.Fields {
		v.add("fields", f.ID, append([]string{f.Label}, append(f.Abbr, f.Synonyms...)...))
	}
	for _, s := range c.Steps {
		v.add("steps", s.ID, append([]string{s.Label}, s.Synonyms...))
	}
	for _, h := range c.Handling {
		v.add("handling", h.ID, append([]string{h.Label}, h.Synonyms...))
	}
	for _, t := range c.Topics {
		v.add("topics", t.ID, append([]string{t.Label}, t.Synonyms...))
	}
	for _, w := range c.Verbs {
		v.add("verbs", w.ID, append([]string{w.Label}, w.Synonyms...))
	}
	for _, g := range c.Regions {
		v.add("regions", g.ID, append([]string{g.Label}, g.Synonyms...))
	}
	for _, p := range c.Problems {
		v.add("problems", p.ID, append([]string{p.Label}, p.Synonyms...))
	}
	return v
}

func (v *vocabulary) add(section, id string, names []string) {
	for _, name := range append(names, id, strings.NewReplacer(".", " ", "_", " ").Replace(id)) {
		phrase := strings.Join(wordsOf(name), " ")
		s := sense{section, id}
		if phrase == "" || slices.Contains(v.phrases[phrase], s) {
			continue
		}
		v.phrases[phrase] = append(v.phrases[phrase], s)
		v.longest = max(v.longest, strings.Count(phrase, " ")+1)
	}
}

// find returns the rows of one section that a phrase stands for.
func (v *vocabulary) find(section, phrase string) []string {
	var out []string
	for _, s := range v.phrases[phrase] {
		if s.section == section {
			out = append(out, s.id)
		}
	}
	return out
}

// known lists the phrases of one section, sorted.
func (v *vocabulary) known(section string) []string {
	var out []string
	for phrase, senses := range v.phrases {
		if slices.ContainsFunc(senses, func(s sense) bool { return s.section == section }) {
			out = append(out, phrase)
		}
	}
	slices.Sort(out)
	return out
}

// clashes lists phrases with two meanings, sorted.
func (v *vocabulary) clashes() []clash {
	var out []clash
	for phrase, senses := range v.phrases {
		for _, group := range lineGroups {
			var first *sense
			for i := range senses {
				s := &senses[i]
				if !slices.Contains(group, s.section) {
					continue
				}
				if first != nil {
					out = append(out, clash{phrase, s.section, s.id, first.section, first.id})
				} else {
					first = s
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b clash) int { return strings.Compare(a.word+a.id, b.word+b.id) })
	return out
}

// wordsOf splits a text into the words that the typed line compares: lower
// case, without punctuation except what belongs to numbers, ids and units.
func wordsOf(text string) []string {
	fields := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune(`.,<>/%°:×*-`, r)
	})
	out := fields[:0]
	for _, w := range fields {
		if w = strings.Trim(w, `.,:-`); w != "" {
			out = append(out, w)
		}
	}
	return out
}
