package cases

import (
	"regexp"
	"slices"

	"go.yaml.in/yaml/v3"
)

// idPattern is what an id may look like: lower case words, digits, dots.
var idPattern = regexp.MustCompile(`^[a-z0-9<>][a-z0-9<>._ -]{0,47}$`)

// header is how a catalogue file begins. A base is there to be extended and is
// no species of its own.
type header struct {
	name, extends string
	base          bool
}

// section reads a mapping of id to row. A row that stands already, from the
// file that this one extends, is changed member by member; ~ drops it.
func section[T any](r *reader, what string, rows *[]T, id func(*T) *string, members func(*T) []member) reads {
	return func(p trail, n *yaml.Node) {
		r.entries(p, n, what+"s", func(key string, p trail, k, v *yaml.Node) {
			r.row(key, k, what)
			i := slices.IndexFunc(*rows, func(t T) bool { return *id(&t) == key })
			if v.Tag == "!!null" {
				if i < 0 {
					r.complain(v, "%s %q is empty and there is none to drop", what, key)
					return
				}
				*rows = slices.Delete(*rows, i, i+1)
				return
			}
			if i < 0 {
				var t T
				*id(&t) = key
				*rows, i = append(*rows, t), len(*rows)
			}
			r.table(p, v, what+" "+key, members(&(*rows)[i]))
		})
	}
}

// row complains of an id that is none.
func (r *reader) row(id string, k *yaml.Node, what string) {
	if !idPattern.MatchString(id) {
		r.complain(k, "the id %q of this %s should be lower case letters, digits, dots and single spaces, at most 48", clip(id, 60), what)
	}
}

// catalogue reads a catalogue file over c.
func (r *reader) catalogue(n *yaml.Node, h *header, c *Catalogue) {
	r.table(nil, n, "a catalogue", []member{
		{"catalogue", r.text(&h.name)},
		{"extends", r.text(&h.extends)},
		{"base", r.yes(&h.base)},
		{"label", r.text(&c.Label)},
		{"caution", r.text(&c.Caution)},
		{"sources", r.texts(&c.Sources)},
		{"confidence", r.oneOf(&c.Confidence, Confidences...)},
		{"stages", section(r, "stage", &c.Stages, stageID, r.stage)},
		{"skills", section(r, "skill", &c.Skills, skillID, r.skill)},
		{"verbs", section(r, "verb", &c.Verbs, verbID, r.verb)},
		{"regions", section(r, "region", &c.Regions, regionID, r.region)},
		{"steps", section(r, "step", &c.Steps, stepID, r.step)},
		{"fields", section(r, "field", &c.Fields, fieldID, r.field)},
		{"topics", section(r, "topic", &c.Topics, topicID, r.topic)},
		{"handling", section(r, "handling", &c.Handling, handlingID, r.handling)},
		{"precautions", section(r, "precaution", &c.Precautions, precautionID, r.precaution)},
		{"problems", section(r, "problem", &c.Problems, problemID, r.problem)},
		{"hazards", section(r, "hazard", &c.Hazards, hazardID, r.hazard)},
	})
}

func (r *reader) stage(s *Stage) []member {
	return []member{{"label", r.text(&s.Label)}}
}

func (r *reader) skill(s *Skill) []member {
	return []member{{"label", r.text(&s.Label)}, {"one", r.text(&s.One)}, {"many", r.text(&s.Many)}}
}

func (r *reader) verb(v *Verb) []member {
	return []member{{"label", r.text(&v.Label)}, {"synonyms", r.texts(&v.Synonyms)}}
}

func (r *reader) region(g *Region) []member {
	return []member{
		{"stage", r.text(&g.Stage)},
		{"skill", r.text(&g.Skill)},
		{"label", r.text(&g.Label)},
		{"point", r.point(&g.Point)},
		{"paired", r.yes(&g.Paired)},
		{"synonyms", r.texts(&g.Synonyms)},
	}
}

// point reads [x, y] in thousandths.
func (r *reader) point(into *[2]int) reads {
	return func(p trail, n *yaml.Node) {
		if n.Kind != yaml.SequenceNode {
			r.complain(n, "a point should be [x, y] in thousandths of the drawing, not %s", kindName(n))
			return
		}
		if len(n.Content) != 2 {
			r.complain(n, "a point should be [x, y] in thousandths of the drawing, which are two numbers, not %d", len(n.Content))
			return
		}
		for i := range into {
			r.whole(&into[i], 0, 1000)(p, n.Content[i])
		}
	}
}

// spots reads a mapping of site to its point; it takes the place of the one before.
func (r *reader) spots(into *[]Spot) reads {
	return func(p trail, n *yaml.Node) {
		*into = nil
		r.entries(p, n, "at", func(site string, p trail, _, v *yaml.Node) {
			s := Spot{Site: site}
			r.point(&s.Point)(p, v)
			*into = append(*into, s)
		})
	}
}

func (r *reader) step(s *Step) []member {
	return []member{
		{"region", r.text(&s.Region)},
		{"skill", r.text(&s.Skill)},
		{"verb", r.text(&s.Verb)},
		{"label", r.text(&s.Label)},
		{"instrument", r.text(&s.Instrument)},
		{"sites", r.texts(&s.Sites)},
		{"at", r.spots(&s.At)},
		{"least", r.whole(&s.Least, 0, 600)},
		{"takes", r.whole(&s.Takes, 0, 600)},
		{"seconds", r.whole(&s.Seconds, 1, 600)},
		{"stress", r.whole(&s.Stress, 0, 1000)},
		{"sense", r.oneOf(&s.Sense, "words", "sound", "picture", "reading")},
		{"reveals", r.texts(&s.Reveals)},
		{"also_in", r.texts(&s.AlsoIn)},
		{"applies", r.applies(&s.Applies)},
		{"touch", r.yes(&s.Touch)},
		{"measure", r.yes(&s.Measure)},
		{"synonyms", r.texts(&s.Synonyms)},
		{"caution", r.text(&s.Caution)},
	}
}

// applies reads for which patients a row is.
func (r *reader) applies(a *Applies) reads {
	return func(p trail, n *yaml.Node) {
		r.table(p, n, "applies", []member{
			{"sex", r.oneOf(&a.Sex, "any", "male", "female", "male entire", "female entire", "male neutered", "female neutered")},
			{"age", r.oneOf(&a.Age, "any", "young", "adult", "old")},
		})
	}
}

// The kinds of field, the vitals, and the weights of a finding.
var (
	fieldKinds = []string{"count", "number", "score", "time", "choice", "grade"}
	vitalNames = []string{"heart_rate", "resp_rate", "temperature", "crt", "body_condition", "weight"}
)

func (r *reader) field(f *Field) []member {
	return []member{
		{"region", r.text(&f.Region)},
		{"skill", r.text(&f.Skill)},
		{"label", r.text(&f.Label)},
		{"abbr", r.texts(&f.Abbr)},
		{"kind", r.oneOf(&f.Kind, fieldKinds...)},
		{"unit", r.text(&f.Unit)},
		{"vital", r.oneOf(&f.Vital, vitalNames...)},
		{"per_site", r.yes(&f.PerSite)},
		{"strongest", r.yes(&f.Strongest)},
		{"sites", r.texts(&f.Sites)},
		{"of", r.choices(&f.Of)},
		{"normal", r.texts(&f.Normal)},
		{"variants", r.texts(&f.Variants)},
		{"normal_at", r.text(&f.NormalAt)},
		{"weight", r.oneOf(&f.Weight, "major", "minor")},
		{"tolerance", r.whole(&f.Tolerance, 0, 10)},
		{"accept_as", r.texts(&f.AcceptAs)},
		{"each", r.yes(&f.Each)},
		{"meaning", r.text(&f.Meaning)},
		{"synonyms", r.texts(&f.Synonyms)},
	}
}

// choices reads a mapping of choice id to its cue, its cues, or its row.
func (r *reader) choices(into *[]Choice) reads {
	return func(p trail, n *yaml.Node) {
		r.entries(p, n, "of", func(key string, p trail, k, v *yaml.Node) {
			r.row(key, k, "choice")
			i := slices.IndexFunc(*into, func(c Choice) bool { return c.ID == key })
			if v.Tag == "!!null" && i >= 0 {
				*into = slices.Delete(*into, i, i+1)
				return
			}
			if i < 0 {
				*into, i = append(*into, Choice{ID: key}), len(*into)
			}
			ch := &(*into)[i]
			if v.Kind != yaml.MappingNode {
				r.cues(&ch.Cue)(p, v)
				return
			}
			r.table(p, v, "choice "+key, []member{
				{"label", r.text(&ch.Label)},
				{"cue", r.cues(&ch.Cue)},
				{"synonyms", r.texts(&ch.Synonyms)},
				{"up_to", r.text(&ch.UpTo)},
				{"applies", r.applies(&ch.Applies)},
			})
		})
	}
}

// cues reads one cue or a list of wordings.
func (r *reader) cues(into *[]string) reads {
	return func(p trail, n *yaml.Node) {
		if n.Kind == yaml.SequenceNode {
			r.texts(into)(p, n)
			return
		}
		var s string
		r.text(&s)(p, n)
		*into = []string{s}
	}
}

func (r *reader) topic(t *Topic) []member {
	return []member{
		{"label", r.text(&t.Label)},
		{"ask", r.text(&t.Ask)},
		{"synonyms", r.texts(&t.Synonyms)},
	}
}

func (r *reader) handling(h *Handling) []member {
	return []member{
		{"label", r.text(&h.Label)},
		{"hold", r.yes(&h.Hold)},
		{"stress", r.whole(&h.Stress, -1000, 1000)},
		{"seconds", r.whole(&h.Seconds, 0, 600)},
		{"caution", r.text(&h.Caution)},
		{"synonyms", r.texts(&h.Synonyms)},
		{"effect", r.oneOf(&h.Effect, "oxygen", "stop", "call", "muzzle")},
	}
}

func (r *reader) precaution(q *Precaution) []member {
	return []member{
		{"label", r.text(&q.Label)},
		{"kind", r.oneOf(&q.Kind, "before", "last", "gentle", "done")},
		{"done", r.texts(&q.Done)},
		{"steps", r.texts(&q.Steps)},
		{"among", r.texts(&q.Among)},
	}
}

func (r *reader) problem(t *ProblemTerm) []member {
	return []member{
		{"label", r.text(&t.Label)},
		{"synonyms", r.texts(&t.Synonyms)},
		{"meaning", r.text(&t.Meaning)},
	}
}

func (r *reader) hazard(h *Hazard) []member {
	return []member{
		{"step", r.text(&h.Step)},
		{"site", r.text(&h.Site)},
		{"hold", r.text(&h.Hold)},
		{"unless", r.text(&h.Unless)},
		{"severity", r.oneOf(&h.Severity, "minor", "major", "critical")},
		{"why", r.text(&h.Why)},
		{"sign", r.text(&h.Sign)},
	}
}
