package server

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// setting is one thing that the school settles for all its pages: a row of the
// settings page. The first option holds until another is chosen. One with a check
// is typed: its options are examples, and check says what is wrong with a text.
type setting struct {
	id, label, help string
	options         []option
	check           func(string) error
}

// option is one way to settle it.
type option struct{ id, label string }

// settings are the rows of the settings page.
var settings = []setting{
	{"temperature", "Temperature", "The unit that stands first; the other stands beside it, and either may be typed.",
		[]option{{"degC", "°C first"}, {say.Fahrenheit, "°F first"}}, nil},
	{"weight", "Weight", "The unit that stands first, and the one of a weight that is typed without a unit on the sheet.",
		[]option{{"kg", "kg first"}, {say.Pounds, "lb first"}}, nil},
	{"technician", "Who reports to the veterinarian", "What this profession is called where you teach.",
		[]option{{"technician", "Technician"}, {"veterinary nurse", "Veterinary nurse"}}, nil},
	{"normal", "Nothing abnormal", "The short word for it on the sheet; all three are read from the typed line.",
		[]option{{"normal", "normal"}, {"NAD", "NAD (no abnormality detected)"}, {"WNL", "WNL (within normal limits)"}}, nil},
	{zoneSetting, "Time zone", "Times of assignments and sittings are typed and shown in it. What was set keeps its moment when this is changed.",
		[]option{{"UTC", "UTC"}, {"Europe/Vienna", ""}, {"America/Halifax", ""}}, checkZone},
	{retentionSetting, "Erase students who are gone", "How long after the last of their cohorts was archived. A month's notice is given under Erasure, where each can be held or put back.",
		[]option{{"0", "Never by itself"}, {"12", "After 12 months"}, {"24", "After 24 months"}, {"36", "After 36 months"}, {"60", "After 5 years"}, {"120", "After 10 years"}}, nil},
}

// settled is how the settings stand: id of the setting to id of its option.
type settled map[string]string

// of is how one stands; what was never set, or is no option any more, stands at the first.
func (m settled) of(id string) string {
	i := slices.IndexFunc(settings, func(s setting) bool { return s.id == id })
	if i < 0 {
		return ""
	}
	if settings[i].allows(m[id]) == nil {
		return m[id]
	}
	return settings[i].options[0].id
}

// allows says what is wrong with a choice; nil: it can be chosen.
func (s setting) allows(choice string) error {
	if s.check != nil {
		return s.check(choice)
	}
	if !slices.ContainsFunc(s.options, func(o option) bool { return o.id == choice }) {
		return errNoOption
	}
	return nil
}

var errNoOption = errors.New("choose one of the list")

// units are those that the school puts first, for package say.
func (m settled) units() []string { return []string{m.of("temperature"), m.of("weight")} }

// schoolCache holds the settings for a moment; several servers may share a database.
type schoolCache struct {
	mu    sync.Mutex
	known settled
	until time.Time
}

// school reads the settings, at most every two seconds. Where they cannot be
// read those of before hold, for a page need not fail over a unit.
func (s *Server) school() settled {
	c := &s.settings
	c.mu.Lock()
	defer c.mu.Unlock()
	now := s.now()
	if c.known != nil && now.Before(c.until) && c.until.Sub(now) <= trustFor {
		return c.known
	}
	ctx, stop := context.WithTimeout(context.Background(), trustFor)
	defer stop()
	all, err := s.store.Settings(ctx)
	if err != nil {
		s.log.Warn("settings cannot be read; those of before hold", "error", err)
		all = c.known
	}
	c.known, c.until = settled(all), now.Add(trustFor)
	if c.known == nil {
		c.known = settled{}
	}
	return c.known
}

// changeSettings sets options. What is no setting or no option is refused, and then none is set.
func (s *Server) changeSettings(ctx context.Context, who face.Person, chosen map[string]string) error {
	var wrong []FieldProblem
	for _, row := range settings {
		id, given := chosen[row.id]
		if !given {
			continue
		}
		if err := row.allows(id); err != nil {
			wrong = append(wrong, FieldProblem{"/" + row.id, row.label + ": " + err.Error()})
		}
	}
	if len(wrong) > 0 {
		return &Fault{Kind: ErrInvalid, Text: "Nothing was changed.", Fields: wrong}
	}
	for _, row := range settings {
		if id, given := chosen[row.id]; given {
			if err := s.store.ChangeSetting(ctx, row.id, id, store.Note{By: who.ID, Deed: deedSetting}); err != nil {
				return err
			}
		}
	}
	s.settings.mu.Lock()
	s.settings.known = nil
	s.settings.mu.Unlock()
	return nil
}

// schoolWords are a catalogue's words with the units that the school puts first.
type schoolWords struct {
	say.Words
	first []string
}

// Units are the field's own and then the school's.
func (w schoolWords) Units(field string) []string { return append(w.Words.Units(field), w.first...) }

// words are those of a catalogue, with the school's units.
func (s *Server) words(cat *cases.Catalogue) say.Words {
	return schoolWords{cat.Words(), s.school().units()}
}

// inWords writes what an instrument shows in the school's units. What is no
// figure of a vital sign stays as it is.
func inWords(cat *cases.Catalogue, field, shown string, first []string) string {
	f := cat.Field(field)
	if f == nil || f.Vital == "" {
		return shown
	}
	number, _, _ := strings.Cut(shown, " ")
	m, err := rubric.ParseMilli(number)
	if err != nil {
		return shown
	}
	return say.Quantity(f.Vital, m, append([]string{f.Unit}, first...)...)
}

// plainWeights puts the school's unit to weights that were typed without one.
func (m settled) plainWeights(cat *cases.Catalogue, acts []rubric.Act) {
	if m.of("weight") != say.Pounds {
		return
	}
	for i := range acts {
		f := cat.Field(acts[i].Field)
		if acts[i].Kind != rubric.Record || f == nil || f.Vital != "weight" {
			continue
		}
		if _, err := rubric.ParseMilli(acts[i].Value); err == nil {
			acts[i].Value += " " + say.Pounds
		}
	}
}

// face is what scripts know of the settings.
func (m settled) face() face.School {
	return face.School{Temperature: m.of("temperature"), Weight: m.of("weight"), Normal: m.of("normal")}
}
