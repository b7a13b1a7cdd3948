package cases

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dewclaw/rubric"
)

// entry is one value that is to be charted.
type entry struct {
	field          *Field
	value          string
	over           int
	interpretation string
}

// entries reads the line as something charted: field, site and value, the site
// anywhere.
func (l *line) entries() {
	for _, span := range l.sites(l.w) {
		w := span.without(l.w)
		l.denials(w, span.site)
		for n := min(len(w), l.v.longest); n > 0; n-- {
			for _, id := range l.v.find("fields", strings.Join(w[:n], " ")) {
				l.value(l.c.Field(id), dropLeading(w[n:]), span.site, n)
			}
		}
	}
}

// dropLeading leaves out words between field and value that say nothing.
func dropLeading(w []string) []string {
	for len(w) > 0 && slices.Contains([]string{"is", "are", "was", "grade", "="}, w[0]) {
		w = w[1:]
	}
	return w
}

// denials reads: no FIELD, for fields that have none, absent or the like.
func (l *line) denials(w []string, site string) {
	if len(w) < 2 || w[0] != "no" {
		return
	}
	for _, id := range l.v.find("fields", strings.Join(w[1:], " ")) {
		if f := l.c.Field(id); f.Chosen() && f.Choice("none") != nil {
			l.record([]entry{{field: f, value: "none"}}, site, len(w))
		}
	}
}

// value reads the words after a field: one value, or one and another for a
// sister field (2 cm firm).
func (l *line) value(f *Field, w []string, site string, got int) {
	if len(w) == 0 {
		l.fail(got, &LineError{Understood: f.Label, Problem: "the value is missing", Nearest: f.examples()})
		return
	}
	e, err := l.c.readValue(f, w)
	if err == nil {
		l.record([]entry{e}, site, got+len(w))
		return
	}
	for n := len(w) - 1; n > 0; n-- {
		first, firstErr := l.c.readValue(f, w[:n])
		if firstErr != nil {
			continue
		}
		if second, ok := l.c.sister(f, w[n:]); ok {
			l.record([]entry{first, second}, site, got+len(w))
			return
		}
	}
	l.fail(got, err)
}

// sister reads the words as the value of another field of the same stem:
// node.popliteal.size has node.popliteal.texture.
func (c *Catalogue) sister(f *Field, w []string) (entry, bool) {
	stem, _, _ := cutLast(f.ID, ".")
	var found []entry
	for i := range c.Fields {
		other := &c.Fields[i]
		if s, _, ok := cutLast(other.ID, "."); !ok || s != stem || other == f || other.PerSite != f.PerSite {
			continue
		}
		if e, err := c.readValue(other, w); err == nil {
			found = append(found, e)
		}
	}
	if len(found) != 1 {
		return entry{}, false
	}
	return found[0], true
}

func cutLast(s, sep string) (before, after string, ok bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

// record accepts the entries at the site.
func (l *line) record(entries []entry, site string, got int) {
	var acts []rubric.Act
	for _, e := range entries {
		sites, ok := l.c.sitesFor(e.field, site)
		if !ok {
			err := &LineError{Understood: e.field.Label + " " + e.value, Problem: "say where", Nearest: slices.Clone(e.field.Sites)}
			if site != "" {
				err.Problem = fmt.Sprintf("it is not charted at %q", site)
			}
			l.fail(got, err)
			return
		}
		for _, where := range sites {
			acts = append(acts, rubric.Act{Kind: rubric.Record, Field: e.field.ID, Site: where, Value: e.value,
				Over: e.over, Interpretation: e.interpretation})
		}
	}
	l.accept(acts...)
}

// sitesFor picks the sites of a field. One that has none may be typed with the
// place at which it was examined: HR 96 left apex.
func (c *Catalogue) sitesFor(f *Field, site string) ([]string, bool) {
	if f.PerSite {
		return pick(f.Sites, site)
	}
	if site == "" {
		return []string{""}, true
	}
	for i := range c.Steps {
		if s := &c.Steps[i]; slices.Contains(s.Reveals, f.ID) && slices.Contains(s.Sites, site) {
			return []string{""}, true
		}
	}
	return nil, false
}

// readValue reads words as a value of the field.
func (c *Catalogue) readValue(f *Field, w []string) (entry, *LineError) {
	if f.Chosen() {
		return f.readChoice(w)
	}
	return f.readNumber(w)
}

func (f *Field) readChoice(w []string) (entry, *LineError) {
	phrase := strings.TrimSuffix(strings.Join(w, " "), "/vi")
	for _, ch := range f.Of {
		for _, name := range append([]string{ch.ID, ch.Label}, ch.Synonyms...) {
			if strings.Join(wordsOf(name), " ") == phrase {
				return entry{field: f, value: ch.ID}, nil
			}
		}
	}
	r := f.rubric()
	rd, err := r.Read(phrase)
	if err != nil || (rd.Class != rubric.Normal && rd.Class != rubric.Variant && rd.Class != rubric.Abnormal) {
		return entry{}, &LineError{Understood: f.Label, Problem: fmt.Sprintf("%q is none of its choices", clip(phrase, 40)), Nearest: f.examples()}
	}
	if rd.Choice >= 0 {
		return entry{field: f, value: f.Of[rd.Choice].ID}, nil
	}
	return entry{field: f, value: "normal"}, nil
}

// examples are values that the field can take, as they are typed.
func (f *Field) examples() []string {
	if f.Chosen() {
		return few(ids(f.Of, choiceID))
	}
	name := f.Label
	if len(f.Abbr) > 0 {
		name = f.Abbr[0]
	}
	switch f.Kind {
	case "count":
		return []string{name + " 96", name + " 24x4", name + " 96/15s"}
	case "time":
		return []string{name + " 1.5", name + " <2", name + " >2"}
	case "score":
		return []string{name + " 5"}
	}
	return []string{name + " 38.6"}
}

var (
	interpretations = map[string]string{
		"low": "low", "decreased": "low", "normal": "normal", "wnl": "normal", "nad": "normal",
		"high": "high", "raised": "high", "increased": "high", "elevated": "high",
	}
	product  = regexp.MustCompile(`^(\d{1,3}) ?[x×*] ?(\d{1,2})$`)
	overTime = regexp.MustCompile(`^(\d{1,3}) ?(?:/|over|in) ?(\d{1,2}) ?(?:s|sec|seconds)$`)
)

// readNumber reads a number with its unit, a count over a window, and an
// interpretation after it.
func (f *Field) readNumber(w []string) (entry, *LineError) {
	e := entry{field: f}
	if word := interpretations[w[len(w)-1]]; word != "" && f.Vital != "" && len(w) > 1 {
		e.interpretation, w = word, w[:len(w)-1]
	}
	phrase := strings.Join(w, " ")
	if m := product.FindStringSubmatch(phrase); m != nil && f.Kind == "count" {
		n, _ := strconv.Atoi(m[1])
		times, _ := strconv.Atoi(m[2])
		if times == 0 || 60%times != 0 {
			return e, &LineError{Understood: f.Label, Problem: fmt.Sprintf("x%s does not part a minute evenly", m[2]), Nearest: []string{"x1", "x2", "x3", "x4", "x6", "x10"}}
		}
		e.value, e.over = strconv.Itoa(n*times), 60/times
		return e, nil
	}
	if m := overTime.FindStringSubmatch(phrase); m != nil && f.Kind == "count" {
		phrase = m[1]
		e.over, _ = strconv.Atoi(m[2])
		if e.over == 0 {
			return e, &LineError{Understood: f.Label, Problem: "a count runs over more than 0 seconds", Nearest: f.examples()}
		}
	}
	r := f.rubric()
	rd, err := r.Read(phrase)
	if err != nil || rd.Class == rubric.Blank || rd.Class == rubric.Unexamined {
		return e, &LineError{Understood: f.Label, Problem: fmt.Sprintf("%q is no value for it", clip(phrase, 40)), Nearest: f.examples()}
	}
	e.value = plainNumber(&r, phrase, rd)
	return e, nil
}

// plainNumber leaves the unit out where it changes nothing: 38.5 C is 38.5,
// 101.5 F stays. A weight keeps its unit, for a school may read a bare one as
// pounds.
func plainNumber(r *rubric.Field, phrase string, rd rubric.Reading) string {
	if r.Vital == "weight" {
		return phrase
	}
	end := strings.IndexFunc(phrase, func(c rune) bool { return (c < '0' || c > '9') && c != '.' && c != ',' })
	if end <= 0 {
		return phrase
	}
	if bare, err := r.Read(phrase[:end]); err == nil && bare.Number == rd.Number {
		return phrase[:end]
	}
	return phrase
}

// place reads a field with its site, without a value.
func (l *line) place(text, understood string) (*Field, []string, *LineError) {
	w := wordsOf(text)
	var missing *LineError
	for _, span := range l.sites(w) {
		fields := l.v.find("fields", strings.Join(span.without(w), " "))
		if len(fields) != 1 {
			continue
		}
		f := l.c.Field(fields[0])
		if sites, ok := l.c.sitesFor(f, span.site); ok {
			return f, sites, nil
		}
		missing = &LineError{Understood: understood + " " + f.Label, Problem: "say where", Nearest: slices.Clone(f.Sites)}
	}
	if missing != nil {
		return nil, nil, missing
	}
	return nil, nil, &LineError{Understood: understood, Problem: fmt.Sprintf("%q is no line of the sheet", clip(strings.TrimSpace(text), 40)),
		Nearest: nearest(w, l.v.known("fields"))}
}

// notExamined reads: FIELD not examined because REASON.
func (l *line) notExamined(name, reason string) ([]rubric.Act, error) {
	f, sites, err := l.place(name, "not examined")
	if err != nil {
		return nil, err
	}
	reason = strings.TrimSpace(strings.TrimLeft(reason, " :,.-"))
	reason = strings.TrimSpace(strings.TrimPrefix(reason, "because"))
	if reason == "" {
		return nil, &LineError{Understood: f.Label + " not examined", Problem: "say why", Nearest: []string{f.Label + " not examined because it struggled"}}
	}
	var acts []rubric.Act
	for _, site := range sites {
		acts = append(acts, rubric.Act{Kind: rubric.Record, Field: f.ID, Site: site, Value: rubric.NotExamined, Reason: reason})
	}
	return acts, nil
}

// clear reads: clear FIELD. It withdraws an entry.
func (l *line) clear() ([]rubric.Act, error) {
	f, sites, err := l.place(strings.Join(l.w[1:], " "), "clear")
	if err != nil {
		return nil, err
	}
	var acts []rubric.Act
	for _, site := range sites {
		acts = append(acts, rubric.Act{Kind: rubric.Record, Field: f.ID, Site: site})
	}
	return acts, nil
}
