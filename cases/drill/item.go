package drill

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"strings"
	"sync"

	"dewclaw/cases"
	"dewclaw/cases/senses"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// Item is one question with the patients that it is asked of. It is hidden,
// never changes and is safe for use by many at once. The zero Item is none.
type Item struct {
	r        record
	ask      *ask
	form     form
	field    rubric.Field // that is asked, as the engine reads it
	kind     Kind
	patients []*cases.Patient
	cases    []*cases.Case
	keys     []func() (rubric.Key, error) // by patient, of the whole patient; compiled when first marked
	clips    []clip
}

// record is an item as it is kept: all that was drawn.
type record struct {
	Version int      `json:"v"`
	Kind    string   `json:"kind"`
	Ask     string   `json:"ask"`
	Species string   `json:"species"`
	Seed    []byte   `json:"seed"`
	Name    string   `json:"name"`
	Animal  animal   `json:"animal"`
	Sites   []string `json:"sites"`           // that are offered, or the one where it is asked
	Site    string   `json:"site"`            // of a place: where it is; empty: nowhere
	Values  []string `json:"values"`          // what is there, by patient
	With    []placed `json:"with"`            // what else is there
	Class   string   `json:"class,omitempty"` // that the value is of
}

// placed is a value at a place.
type placed struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
	Value string `json:"value"`
}

// clip is one sound or picture of an item.
type clip struct {
	label   string
	patient int
	entries rubric.Transcript // played; the last is what is sensed
}

const hidden = "[hidden]"

// MarshalJSON refuses: an item holds its answer.
func (Item) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Item) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Item) LogValue() slog.Value { return slog.StringValue(hidden) }

// Kind is the drill that the item belongs to.
func (it Item) Kind() Kind { return it.kind }

// Species is that of its patients.
func (it Item) Species() string { return it.r.Species }

// Skill is the catalogue's skill that the question is of.
func (it Item) Skill() string {
	if it.ask.Form == "range" {
		return "ranges"
	}
	return it.patients[0].Catalogue().SkillOf(it.ask.Field)
}

// Place is what the question is about: field, or field@site where one site is
// asked.
func (it Item) Place() string {
	if len(it.r.Sites) == 1 && it.r.Sites[0] != "" {
		return it.ask.Field + "@" + it.r.Sites[0]
	}
	return it.ask.Field
}

// Past is what Draw needs to know of an item that was asked, so that the next
// is not like it. It holds the answer: it stays on the server.
func (it Item) Past() string {
	return strings.Join([]string{it.ask.ID, it.truth(), it.r.Name, it.r.Animal.kind()}, "/")
}

// truth is the answer in one word.
func (it Item) truth() string {
	switch it.ask.Form {
	case "place":
		return orNone(it.r.Site)
	case "class":
		return it.r.Class
	}
	return strings.Join(it.r.Values, pairMark)
}

// Encode opens an item for storage.
func (it Item) Encode() []byte {
	data, err := json.Marshal(it.r)
	if err != nil {
		return nil // a record of text and numbers always can be written
	}
	return data
}

// ErrItem is wrapped by the errors of Decode.
var ErrItem = errors.New("drill: this is no item of a drill")

// Decode reads what Encode wrote. The library has to hold the catalogue of its
// species.
func Decode(l *cases.Library, data []byte) (Item, error) {
	var r record
	if err := json.Unmarshal(data, &r); err != nil {
		return Item{}, fmt.Errorf("%w: %w", ErrItem, err)
	}
	kind, _ := KindOf(r.Kind)
	i := slices.IndexFunc(kind.asks, func(a *ask) bool { return a.ID == r.Ask })
	if i < 0 {
		return Item{}, fmt.Errorf("%w: the drill %q has no question %q", ErrItem, r.Kind, r.Ask)
	}
	return build(l, kind, kind.asks[i], r)
}

// build composes the patients of a record and plays what is sensed.
func build(l *cases.Library, kind Kind, a *ask, r record) (Item, error) {
	it := Item{r: r, ask: a, form: forms[a.Form], kind: kind}
	cat := l.Catalogue(r.Species)
	if !a.suits(cat) || len(r.Values) != it.form.patients || len(r.Sites) == 0 {
		return Item{}, fmt.Errorf("%w: the question %q cannot be asked of %q", ErrItem, a.ID, r.Species)
	}
	seed, err := cases.DecodeSeed(r.Seed)
	if err != nil {
		return Item{}, fmt.Errorf("%w: %w", ErrItem, err)
	}
	for _, f := range cat.RubricFields() {
		if f.ID == a.Field {
			it.field = f
		}
	}
	for i := range r.Values {
		k, err := compose(cat, a, r, i)
		if err != nil {
			return Item{}, fmt.Errorf("%w: %w", ErrItem, err)
		}
		p, err := cases.NewPatient(l, k, dice{seed, 0}.seed(fmt.Sprint("patient ", i)))
		if err != nil {
			return Item{}, fmt.Errorf("%w: %w", ErrItem, err)
		}
		it.cases, it.patients = append(it.cases, k), append(it.patients, p)
		it.keys = append(it.keys, sync.OnceValues(func() (rubric.Key, error) {
			scheme, err := a.cut()
			if err != nil {
				return rubric.Key{}, err
			}
			return p.Key(scheme)
		}))
	}
	it.clips, err = it.listen()
	return it, err
}

// compose is a patient with the species' normal and what was drawn for it.
func compose(cat *cases.Catalogue, a *ask, r record, i int) (*cases.Case, error) {
	days, err := normal.ParseAge(r.Animal.Age)
	if err != nil {
		return nil, err
	}
	grams, err := normal.ParseWeight(r.Animal.Weight)
	if err != nil {
		return nil, err
	}
	k := &cases.Case{
		ID: "drill", Species: r.Species, Situation: "routine", Demeanour: "calm",
		Signalment: cases.Signalment{Name: r.Name, Breed: r.Animal.Breed, Sex: r.Animal.Sex, AgeDays: days, Grams: grams, Age: r.Animal.Age, Weight: r.Animal.Weight},
	}
	all := r.With
	if a.Form != "place" || r.Site != "" {
		asked := placed{a.Field, "", r.Values[i]}
		if cat.Field(a.Field).PerSite {
			asked.Site = cmp.Or(r.Site, r.Sites[0])
		}
		all = append(slices.Clone(all), asked)
	}
	for _, w := range all {
		if f := cat.Field(w.Field); f == nil || f.Chosen() && f.Choice(w.Value) == nil {
			return nil, fmt.Errorf("%s has no %q", w.Field, w.Value)
		}
		k.Truth = append(k.Truth, cases.Truth{Field: w.Field, Site: w.Site, Values: []string{w.Value}})
	}
	return k, nil
}

// listen plays the examinations that are sensed.
func (it Item) listen() ([]clip, error) {
	var out []clip
	add := func(label string, patient int, sites ...string) error {
		var acts []rubric.Act
		for _, s := range sites {
			acts = append(acts, it.examine(s))
		}
		t, err := it.patients[patient].Play(acts)
		out = append(out, clip{label, patient, t})
		return err
	}
	var errs []error
	switch {
	case it.ask.Walks:
		errs = append(errs, add("From the left", 0, it.r.Sites...), add("From the right", 0, it.r.Sites...))
	case it.ask.Form == "pair":
		errs = append(errs, add("A", 0, it.r.Sites[0]), add("B", 1, it.r.Sites[0]))
	default:
		for _, s := range it.r.Sites {
			errs = append(errs, add(s, 0, s))
		}
	}
	if err := errors.Join(errs...); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrItem, err)
	}
	return out, nil
}

// examine is the act that is asked about.
func (it Item) examine(site string) rubric.Act {
	return rubric.Act{Kind: rubric.Examine, Step: it.ask.Step, Site: site, Seconds: max(it.ask.Seconds, it.ask.Over)}
}

func (it Item) clip(which int) (clip, rubric.Entry, error) {
	if which < 0 || which >= len(it.clips) {
		return clip{}, rubric.Entry{}, cases.ErrNothingThere
	}
	c := it.clips[which]
	return c, c.entries[len(c.entries)-1], nil
}

// Sound is what is heard at one of the clips: a WAV of 60 s that begins at the
// given phase. cases.ErrNothingThere: nothing is heard there.
func (it Item) Sound(which int, phase uint64) ([]byte, error) {
	c, e, err := it.clip(which)
	if err != nil {
		return nil, err
	}
	return it.patients[c.patient].Sound(e, phase)
}

// Picture is what is seen at one of the clips. cases.ErrNothingThere: nothing is.
func (it Item) Picture(which int, phase uint64) (senses.Picture, error) {
	c, e, err := it.clip(which)
	if err != nil {
		return senses.Picture{}, err
	}
	if it.ask.Walks {
		return it.walk(c, which == 1), nil
	}
	return it.patients[c.patient].Picture(e, phase)
}

// walk is the animal on the move from one side, with all four limbs as they are.
func (it Item) walk(c clip, right bool) senses.Picture {
	near, far := "left", "right"
	if right {
		near, far = far, near
	}
	g := senses.Gait{Species: it.r.Species, Right: right}
	g.Dry = !cases.Applies{Sex: "female", Age: "adult"}.Match(it.cases[0].Signalment)
	for i, site := range []string{near + " fore", far + " fore", near + " hind", far + " hind"} {
		for _, e := range c.entries {
			for _, s := range e.Outcome.Shown {
				if s.Field == it.ask.Field && s.Site == site {
					g.Lame[i] = grade(s.Value)
				}
			}
		}
	}
	return g.Picture()
}

// grade is a grade that is written as one digit.
func grade(s string) int {
	if len(s) == 1 && s[0] >= '0' && s[0] <= '9' {
		return int(s[0] - '0')
	}
	return 0
}

// Words say in words what one of the clips holds, for whoever is given words in
// the place of sounds or pictures; of a thermometer, what it shows. What is
// counted or timed has none.
func (it Item) Words(which int) string {
	c, e, err := it.clip(which)
	if err != nil {
		return ""
	}
	f := it.patients[c.patient].Catalogue().Field(it.ask.Field)
	if timed(f) {
		return ""
	}
	if !it.ask.Walks {
		return it.told(f, e)
	}
	var words []string
	for _, e := range c.entries { // a whole animal is watched
		words = append(words, upper(e.Act.Site)+": "+it.told(f, e))
	}
	return strings.Join(words, " ")
}

// told is what an act says of the asked field.
func (it Item) told(f *cases.Field, e rubric.Entry) string {
	for i, p := range e.Outcome.Percepts {
		if p.Field != f.ID {
			continue
		}
		if m, err := rubric.ParseMilli(e.Outcome.Shown[i].Value); p.Sense == "reading" && err == nil {
			return it.quantity(m)
		}
		return p.Words
	}
	return ""
}

// timed says that a field is told by a count or a time and by nothing else.
func timed(f *cases.Field) bool { return f.Kind == "count" || f.Kind == "time" }

func upper(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
