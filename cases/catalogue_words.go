package cases

import (
	"strings"

	"dewclaw/rubric/say"
)

// words gives the catalogue's labels for ids.
type words struct{ c *Catalogue }

var _ say.Words = words{}

// Words gives the catalogue's labels for ids; an unknown id stays as it is.
func (c *Catalogue) Words() say.Words { return words{c} }

func (w words) Step(id string) string {
	if s := w.c.Step(id); s != nil {
		return s.Label
	}
	if how, ok := strings.CutPrefix(id, "handle:"); ok {
		return w.Handling(how)
	}
	return id
}

func (w words) Field(id string) string {
	if f := w.c.Field(id); f != nil {
		return f.Label
	}
	return id
}

// Value gives a choice's label, or a number with its unit.
func (w words) Value(field, value string) string {
	f := w.c.Field(field)
	if f == nil {
		return value
	}
	if f.Chosen() {
		if ch := f.Choice(value); ch != nil {
			return ch.Label
		}
		return value
	}
	if f.Unit == "" || value == "" || strings.ContainsAny(value, " ") {
		return value
	}
	return value + " " + f.Unit
}

// Site gives a site's name, which is its id.
func (w words) Site(site string) string { return site }

// Units gives the unit that the field is written in, if it has one.
func (w words) Units(field string) []string {
	if f := w.c.Field(field); f != nil && f.Unit != "" {
		return []string{f.Unit}
	}
	return nil
}

func (w words) Stage(id string) string {
	if s := w.c.Stage(id); s != nil {
		return s.Label
	}
	return id
}

func (w words) Region(id string) string {
	if g := w.c.Region(id); g != nil {
		return g.Label
	}
	return id
}

func (w words) Problem(id string) string {
	if p := w.c.ProblemTerm(id); p != nil {
		return p.Label
	}
	return id
}

func (w words) Topic(id string) string {
	if t := w.c.Topic(id); t != nil {
		return t.Label
	}
	return id
}

func (w words) Handling(id string) string {
	if h := w.c.HandlingRow(id); h != nil {
		return h.Label
	}
	return id
}
