package cases

import "dewclaw/rubric"

// truths are what is so at rest, of every field at every site: a value a place of
// the sheet, since a hall holds many patients and a map of places is five times as
// large.
type truths struct {
	form   *rubric.Form
	values []string
}

func newTruths(c *Catalogue) truths {
	form := c.form
	if form == nil { // the catalogue did not come out of a file
		form = rubric.NewForm(c.RubricFields())
	}
	return truths{form, make([]string, form.Places())}
}

// at is the value at a place; empty: there is none.
func (t truths) at(p rubric.Place) string {
	if n, ok := t.form.At(p); ok {
		return t.values[n]
	}
	return ""
}

// set sets the value at a place of the catalogue's.
func (t truths) set(p rubric.Place, value string) {
	if n, ok := t.form.At(p); ok {
		t.values[n] = value
	}
}
