package cases

import (
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"dewclaw/cases/media"
	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// Medium is a school's own recording, photograph or clip, which is heard or seen
// at one act in the place of ours.
type Medium struct {
	Step, Site       string
	File             string   // in the folder media of the library
	Rate             int      // beats or breaths a minute that are counted in it; 0: nothing is counted
	Shows            []string // fields that are heard or seen in it; empty: those that ours would give
	Consent, Licence string

	at   trail
	made *media.Medium
}

// Key is the act at which it stands, as the case file writes it: step or step@site.
func (m *Medium) Key() string {
	if m.Site == "" {
		return m.Step
	}
	return m.Step + "@" + m.Site
}

// Sense is sound or picture, by the name of the file.
func (m *Medium) Sense() string {
	if m.kind() == ".wav" {
		return media.Sound
	}
	return media.Picture
}

func (m *Medium) kind() string { return strings.ToLower(path.Ext(m.File)) }

// Words say where it stands and by what licence, for staff.
func (m *Medium) Words() string {
	return fmt.Sprintf("own %s at %s (%s)", map[string]string{media.Sound: "recording", media.Picture: "picture"}[m.Sense()], m.Key(), m.Licence)
}

// Bytes are what is served, as it begins at phase 0, to be kept with an attempt;
// nil before it was made. They must not be changed.
func (m *Medium) Bytes() []byte {
	if m.made == nil {
		return nil
	}
	return m.made.Bytes()
}

// media reads step@site: a medium, or a list of a sound and a picture.
func (r *reader) media(into *[]Medium) reads {
	return func(p trail, n *yaml.Node) {
		r.entries(p, n, "media", func(key string, p trail, k, v *yaml.Node) {
			if v.Kind == yaml.SequenceNode {
				r.list(p, v, "media of "+key, func(p trail, n *yaml.Node) { r.medium(into, key, p, n) })
				return
			}
			r.medium(into, key, p, v)
		})
	}
}

func (r *reader) medium(into *[]Medium, key string, p trail, n *yaml.Node) {
	at := ParsePlace(key)
	m := Medium{Step: at.Field, Site: at.Site, at: p}
	r.table(p, n, "a medium", []member{
		{"file", r.text(&m.File)},
		{"rate", r.whole(&m.Rate, 1, mostRate)},
		{"shows", r.texts(&m.Shows)},
		{"consent", r.text(&m.Consent)},
		{"licence", r.text(&m.Licence)},
	})
	*into = append(*into, m)
}

// mostRate is the greatest rate that a recording may state, a minute.
const mostRate = 600

// fields are what is heard or seen in a medium: what it says that it shows, else
// what ours would.
func (m *Medium) fields(c *Catalogue, step *Step) []string {
	if len(m.Shows) > 0 {
		return m.Shows
	}
	return slices.DeleteFunc(slices.Clone(step.Reveals), func(id string) bool {
		f := c.Field(id)
		return f == nil || clipSense(step, f) != m.Sense()
	})
}

// own is what a case has of its own for a sense at an act, or nil.
func (p *Patient) own(step, site, sense string) *Medium {
	i := slices.IndexFunc(p.kase.Media, func(m Medium) bool {
		return m.Step == step && m.Site == site && m.made != nil && m.Sense() == sense
	})
	if i < 0 {
		return nil
	}
	return &p.kase.Media[i]
}

// ownAt is what is heard or seen at an examine act that was done on the living, or nil.
func (p *Patient) ownAt(e rubric.Entry, sense string) *Medium {
	m := p.own(e.Act.Step, e.Act.Site, sense)
	if m == nil || e.Act.Kind != rubric.Examine || e.Outcome.Refused || len(e.Outcome.State) == 0 {
		return nil
	}
	if s, err := p.opens(e.Outcome.State); err != nil || s.ended == arrested {
		return nil
	}
	return m
}

// Heard says whether an act at this step and site, when it was not refused, has
// a sound: ours or the school's own.
func (p *Patient) Heard(step, site string) bool {
	return Heard(step) || p.own(step, site, media.Sound) != nil
}

// Seen says whether an act at this step and site, when it was not refused, has a
// picture: ours or the school's own.
func (p *Patient) Seen(step, site string) bool {
	return p.cat.Seen(step) || p.own(step, site, media.Picture) != nil
}

// sensed says how a field is sensed at a step and site: sound, picture or "". A
// field that ours would give and a school's own does not is described.
func (p *Patient) sensed(step *Step, f *Field, site string) string {
	out := clipSense(step, f)
	for _, sense := range []string{media.Sound, media.Picture} {
		switch m := p.own(step.ID, site, sense); {
		case m == nil:
		case slices.Contains(m.fields(p.cat, step), f.ID):
			out = sense
		case out == sense:
			out = ""
		}
	}
	return out
}

// ownRate is the rate that is counted of a field in a school's own recording or
// clip; 0 where ours is counted.
func (p *Patient) ownRate(step *Step, f *Field, site string) int {
	for _, sense := range []string{media.Sound, media.Picture} {
		m := p.own(step.ID, site, sense)
		if m != nil && m.Rate > 0 && f.Kind == "count" && slices.Contains(m.fields(p.cat, step), f.ID) {
			return m.Rate
		}
	}
	return 0
}

// valueNow is what is sensed of a field at a moment: of a rate in a school's own
// recording, that of the recording.
func (p *Patient) valueNow(s *state, step *Step, f *Field, at rubric.Place, site string) string {
	if rate := p.ownRate(step, f, site); rate > 0 {
		return strconv.Itoa(rate)
	}
	return p.now(s, f, at, site)
}

// ownCount is what an attentive observer counts in a school's own recording or
// clip from a phase on. Where in it the first beat lies nobody has said: the
// count is one of the two that its rate allows.
func (p *Patient) ownCount(e rubric.Entry, field string, phase uint64, seconds int) (n int, ok bool) {
	step, f := p.cat.Step(e.Act.Step), p.cat.Field(field)
	if step == nil || f == nil || p.ownAt(e, media.Sound) == nil && p.ownAt(e, media.Picture) == nil {
		return 0, false
	}
	rate := int64(p.ownRate(step, f, e.Act.Site))
	const minute = senses.Seconds * senses.SampleRate
	from := int64(phase % minute)
	to := from + int64(seconds)*senses.SampleRate
	return int(to*rate/minute - from*rate/minute), rate > 0
}
