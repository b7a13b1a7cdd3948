package drill

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"slices"

	"go.yaml.in/yaml/v3"

	"dewclaw/cases"
)

//go:embed kinds.yaml
var kindsYAML []byte

// Kind is a drill as a student chooses it.
type Kind struct {
	ID      string
	Label   string
	Hint    string   // one sentence: what it is
	Ask     string   // the question of its items; empty where they differ
	Skill   string   // of the catalogues; empty: of several
	Items   int      // how many questions
	Seconds int      // about how long one listens and looks in all
	Species []string // for which it makes sense, sorted

	asks []*ask
}

// ask is one question. See kinds.yaml.
type ask struct {
	ID      string            `yaml:"id"`
	Form    string            `yaml:"form"`
	Words   string            `yaml:"words"`
	Step    string            `yaml:"step"`
	Field   string            `yaml:"field"`
	Sites   []string          `yaml:"sites"`
	Side    bool              `yaml:"side"`
	Values  []string          `yaml:"values"`
	Classes []class           `yaml:"classes"`
	Labels  map[string]string `yaml:"labels"`
	Spread  map[string]string `yaml:"spread"`
	Seconds int               `yaml:"seconds"`
	Over    int               `yaml:"over"`
	Walks   bool              `yaml:"walks"`
	None    string            `yaml:"none"`
	With    []with            `yaml:"with"`
	Species []string          `yaml:"species"`
}

// class is a value that stands for a span of a number.
type class struct {
	ID    string `yaml:"id"` // as it is charted
	Label string `yaml:"label"`
	Span  string `yaml:"span"` // empty: the id itself
}

// with is something else that is there.
type with struct {
	Field string   `yaml:"field"`
	At    string   `yaml:"at"` // here, or empty: throughout
	Of    []string `yaml:"of"`
	If    string   `yaml:"if"` // there, sound, or empty: always
}

// animal is a row of who may be met.
type animal struct {
	Breed  string `yaml:"breed" json:"breed"`
	Sex    string `yaml:"sex" json:"sex"`
	Age    string `yaml:"age" json:"age"`
	Weight string `yaml:"weight" json:"weight"`
}

// kind tells an animal from the others of its species.
func (a animal) kind() string { return a.Breed + " " + a.Age }

type kindRow struct {
	ID    string   `yaml:"id"`
	Label string   `yaml:"label"`
	Hint  string   `yaml:"hint"`
	Skill string   `yaml:"skill"`
	Items int      `yaml:"items"`
	Asks  []string `yaml:"asks"`
}

// table is the file.
type table struct {
	Names    []string            `yaml:"names"`
	Patients map[string][]animal `yaml:"patients"`
	Asks     []ask               `yaml:"asks"`
	Rows     []kindRow           `yaml:"kinds"`

	kinds []Kind
}

// shipped is the file that is compiled in; a test rules out that it is broken.
var shipped *table

func init() {
	t, err := parse(kindsYAML)
	if err != nil {
		panic("drill: the drills compiled in are broken: " + err.Error())
	}
	shipped = t
}

// parse reads a file of drills.
func parse(data []byte) (*table, error) {
	t := &table{}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	dec.KnownFields(true)
	if err := dec.Decode(t); err != nil {
		return nil, err
	}
	if err := dec.Decode(&table{}); !errors.Is(err, io.EOF) {
		return nil, errors.New("more than one document")
	}
	for i := range t.Rows {
		k, err := t.kind(&t.Rows[i])
		if err != nil {
			return nil, err
		}
		t.kinds = append(t.kinds, k)
	}
	return t, nil
}

// kind puts a drill together from its asks.
func (t *table) kind(row *kindRow) (Kind, error) {
	k := Kind{ID: row.ID, Label: row.Label, Hint: row.Hint, Skill: row.Skill, Items: row.Items}
	for _, id := range row.Asks {
		a := t.ask(id)
		if a == nil {
			return k, fmt.Errorf("kind %s: there is no ask %q", row.ID, id)
		}
		if _, ok := forms[a.Form]; !ok {
			return k, fmt.Errorf("ask %s: %q is no form", id, a.Form)
		}
		k.asks = append(k.asks, a)
	}
	if len(k.asks) == 0 || k.Items < 1 {
		return k, fmt.Errorf("kind %s: it needs asks and items", row.ID)
	}
	for species := range t.Patients {
		if len(k.of(cases.Builtin().Catalogue(species))) > 0 {
			k.Species = append(k.Species, species)
		}
	}
	slices.Sort(k.Species)
	if len(k.asks) == 1 {
		k.Ask = k.asks[0].Words
	}
	k.Seconds = k.seconds()
	return k, nil
}

func (t *table) ask(id string) *ask {
	for i := range t.Asks {
		if t.Asks[i].ID == id {
			return &t.Asks[i]
		}
	}
	return nil
}

// suits says whether a question can be asked by a catalogue: it has the step, the
// field and every value.
func (a *ask) suits(c *cases.Catalogue) bool {
	if c == nil || len(a.Species) > 0 && !slices.Contains(a.Species, c.Species) {
		return false
	}
	step, f := c.Step(a.Step), c.Field(a.Field)
	if step == nil || f == nil || !slices.Contains(step.Reveals, f.ID) {
		return false
	}
	for _, v := range a.Values {
		if f.Choice(v) == nil {
			return false
		}
	}
	return len(a.Spread) == 0 || a.Spread[c.Species] != ""
}

// of are the questions for a species.
func (k *Kind) of(c *cases.Catalogue) []*ask {
	return slices.DeleteFunc(slices.Clone(k.asks), func(a *ask) bool { return !a.suits(c) })
}

// seconds is the most that any species needs for the drill, its questions in turn.
func (k *Kind) seconds() int {
	most := 0
	for _, species := range k.Species {
		c, all := cases.Builtin().Catalogue(species), 0
		asks := k.of(c)
		for i := range k.Items {
			all += asks[i%len(asks)].listening(c)
		}
		most = max(most, all)
	}
	return most
}

// listening is how long one listens and looks for a question, in seconds.
func (a *ask) listening(c *cases.Catalogue) int {
	switch {
	case a.Form == "pair" || a.Walks:
		return 2 * a.Seconds
	case a.Form != "place":
		return a.Seconds
	}
	n := len(c.Step(a.Step).Sites)
	if a.Side {
		n /= 2
	}
	return n * a.Seconds
}

// Kinds are the drills, in the order in which they are offered.
func Kinds() []Kind { return slices.Clone(shipped.kinds) }

// KindOf is the drill with this id.
func KindOf(id string) (Kind, bool) {
	i := slices.IndexFunc(shipped.kinds, func(k Kind) bool { return k.ID == id })
	if i < 0 {
		return Kind{}, false
	}
	return shipped.kinds[i], true
}
