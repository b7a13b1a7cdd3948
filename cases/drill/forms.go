package drill

import (
	"cmp"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// form is a way to ask: how its item is drawn and of how many patients, what is
// offered, and how an answer is marked.
type form struct {
	draw     func(*drawing)
	patients int
	choices  func(Item) []Choice // nil: a number is typed
	mark     func(Item, Answer) (Result, error)
}

// forms are the ways to ask, by the name in kinds.yaml.
var forms = map[string]form{
	"value":  {(*drawing).value, 1, Item.valueChoices, Item.markValue},
	"place":  {(*drawing).place, 1, Item.placeChoices, Item.markPlace},
	"pair":   {(*drawing).pair, 2, Item.pairChoices, Item.markPair},
	"figure": {(*drawing).figure, 1, nil, Item.markFigure},
	"class":  {(*drawing).class, 1, Item.classChoices, Item.markFigure},
	"range":  {(*drawing).figure, 1, nil, Item.markRange},
}

// Choice is one of the answers that are offered.
type Choice struct{ ID, Label string }

// Clip names one of the sounds or pictures.
type Clip struct{ Label string }

// Ask is what a student may see of an item. It is the same for every truth.
type Ask struct {
	Words      string // the question
	Signalment string // who it is
	Step       string // what is done, by its label
	Site       string // where; empty: see Clips, or no site
	Senses     string // sound, picture or words: what every clip is
	Clips      []Clip // the sounds or pictures, which = 0..; there is at least one
	Choices    []Choice
	Unit       string // of a number that is typed
	Range      bool   // the reference range is typed first: Low and High
	Two        bool   // a contrast pair: two clips A and B
	Count      bool   // a rate that is counted
	Seconds    int    // how long one listens or looks, of every clip; of a count: over how many seconds
}

// Face is the question as a student sees it.
func (it Item) Face() Ask {
	cat := it.patients[0].Catalogue()
	step, field := cat.Step(it.ask.Step), cat.Field(it.ask.Field)
	out := Ask{
		Words: it.ask.Words, Signalment: signalment(it.r), Step: step.Label, Senses: it.sense(),
		Range: it.ask.Form == "range", Two: it.ask.Form == "pair", Count: field.Kind == "count", Seconds: it.ask.Seconds,
	}
	if len(it.r.Sites) == 1 {
		out.Site = it.r.Sites[0]
	}
	for _, c := range it.clips {
		out.Clips = append(out.Clips, Clip{c.label})
	}
	if it.form.choices != nil {
		out.Choices = it.form.choices(it)
	} else {
		out.Unit = field.Unit
	}
	return out
}

// sense is by what the question is answered.
func (it Item) sense() string {
	switch cat := it.patients[0].Catalogue(); {
	case cases.Heard(it.ask.Step):
		return "sound"
	case cat.Seen(it.ask.Step):
		return "picture"
	}
	return "words"
}

func signalment(r record) string {
	return strings.Join([]string{r.Name, r.Animal.Breed, r.Animal.Sex, r.Animal.Age, r.Animal.Weight}, ", ")
}

func (d *drawing) value() {
	f := d.cat.Field(d.ask.Field)
	d.r.Values = []string{d.other(d.ask.Values)}
	d.r.Sites = []string{pick(d.dice, "site", d.askSites(f))}
}

// askSites are the sites of the step, or one empty where it has none.
func (d *drawing) askSites(f *cases.Field) []string {
	if len(d.cat.Step(d.ask.Step).Sites) == 0 {
		return []string{""}
	}
	if f.PerSite && len(f.Sites) > 0 {
		return slices.DeleteFunc(slices.Clone(d.sites()), func(s string) bool { return !slices.Contains(f.Sites, s) })
	}
	return d.sites()
}

func (d *drawing) place() {
	d.r.Sites = d.sites()
	d.r.Site = d.other(append(slices.Clone(d.r.Sites), noneID))
	if d.r.Site == noneID {
		d.r.Site = ""
	}
	d.r.Values = []string{pick(d.dice, "grade", d.ask.Values)}
}

func (d *drawing) pair() {
	d.r.Sites = []string{pick(d.dice, "site", d.sites())}
	d.r.Values = strings.Split(d.other(pairs(d.ask.Values)), pairMark)
}

// pairs are all that A and B can be.
func pairs(values []string) []string {
	var out []string
	for _, a := range values {
		for _, b := range values {
			out = append(out, a+pairMark+b)
		}
	}
	return out
}

func (d *drawing) figure() {
	d.r.Sites = []string{pick(d.dice, "site", d.sites())}
	apart := rubric.Milli(400) // twice the tolerance of a temperature
	if d.cat.Field(d.ask.Field).Kind == "count" {
		apart = 2 * rubric.Milli(60_000/d.ask.Over)
	}
	d.r.Values = []string{d.number(d.ask.Spread[d.r.Species], apart)}
}

func (d *drawing) class() {
	d.r.Sites = []string{""}
	d.r.Class = d.other(d.ask.ids())
	for _, c := range d.ask.Classes {
		if c.ID == d.r.Class {
			d.r.Values = []string{d.number(cmp.Or(c.Span, c.ID), 0)}
		}
	}
}

func (a *ask) ids() []string {
	var out []string
	for _, c := range a.Classes {
		out = append(out, c.ID)
	}
	return out
}

func (it Item) label(field, value string) string {
	if own := it.ask.Labels[value]; own != "" {
		return own
	}
	return it.patients[0].Catalogue().Words().Value(field, value)
}

func (it Item) valueChoices() []Choice {
	var out []Choice
	for _, v := range it.ask.Values {
		out = append(out, Choice{v, it.label(it.ask.Field, v)})
	}
	return out
}

func (it Item) placeChoices() []Choice {
	var out []Choice
	for _, s := range it.r.Sites {
		out = append(out, Choice{s, upper(s)})
	}
	return append(out, Choice{noneID, it.ask.None})
}

func (it Item) pairChoices() []Choice {
	var out []Choice
	for _, p := range pairs(it.ask.Values) {
		a, b, _ := strings.Cut(p, pairMark)
		label := "A: " + it.label(it.ask.Field, a) + ". B: " + it.label(it.ask.Field, b)
		if a == b {
			label = "Both: " + it.label(it.ask.Field, a)
		}
		out = append(out, Choice{p, label})
	}
	return out
}

func (it Item) classChoices() []Choice {
	var out []Choice
	for _, c := range it.ask.Classes {
		out = append(out, Choice{c.ID, cmp.Or(c.Label, it.label(it.ask.Field, c.ID))})
	}
	return out
}
