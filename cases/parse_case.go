package cases

import (
	"regexp"
	"strconv"
	"strings"

	"dewclaw/rubric"
	"go.yaml.in/yaml/v3"
)

var (
	situations = []string{"routine", "focused", "triage"}
	demeanours = []string{"calm", "friendly", "wary", "fearful", "defensive"}
	sexes      = []string{"male entire", "male neutered", "female entire", "female neutered"}
	urgencies  = []string{"routine", "same day", "emergency"}

	// Confidences are what a file may say of its medicine: read in the source
	// that it names, remembered from textbooks, or derived from either.
	Confidences = []string{"read", "memory", "derived"}
)

// caseFile reads a case file into k.
func (r *reader) caseFile(n *yaml.Node, k *Case) {
	r.table(nil, n, "a case", []member{
		{"case", r.text(&k.ID)},
		{"title", r.text(&k.Title)},
		{"species", r.text(&k.Species)},
		{"situation", r.oneOf(&k.Situation, situations...)},
		{"signalment", r.signalment(&k.Signalment)},
		{"presenting", r.text(&k.Presenting)},
		{"demeanour", r.oneOf(&k.Demeanour, demeanours...)},
		{"history", r.history(&k.History)},
		{"truth", r.truths(&k.Truth)},
		{"pain", r.pains(&k.Pain)},
		{"fragile", r.oneOf(&k.Fragile, "moderate", "severe")},
		{"withhold", r.texts(&k.Withhold)},
		{"hazards", r.caseHazards(&k.Hazards)},
		{"precautions", r.texts(&k.Precautions)},
		{"negatives", r.texts(&k.Negatives)},
		{"conclusions", r.conclusions(&k.Conclusions)},
		{"media", r.media(&k.Media)},
		{"tags", r.tags(&k.Tags)},
		{"difficulty", r.whole(&k.Difficulty, 1, 5)},
		{"use", r.oneOf(&k.Use, "practice", "exam")},
		{"mirror", r.yes(&k.Mirror)},
		{"teaching", r.text(&k.Teaching)},
		{"sources", r.texts(&k.Sources)},
		{"confidence", r.oneOf(&k.Confidence, Confidences...)},
	})
}

func (r *reader) signalment(s *Signalment) reads {
	return func(p trail, n *yaml.Node) {
		r.table(p, n, "signalment", []member{
			{"name", r.text(&s.Name)},
			{"breed", r.text(&s.Breed)},
			{"sex", r.oneOf(&s.Sex, sexes...)},
			{"age", r.measured(&s.Age, &s.AgeDays, "an age such as 8 y, 5 mo, 10 wk or 3 d", ageUnits)},
			{"weight", r.measured(&s.Weight, &s.Grams, "a weight such as 24.5 kg, 850 g or 12 lb", weightUnits)},
		})
	}
}

// What a unit is worth, in thousandths of a day and of a gram. A year is
// 365.25 days, a month a twelfth of it; a pound is 453.59237 g by definition.
var (
	ageUnits    = map[string]int64{"d": 1000, "wk": 7000, "mo": 30437, "y": 365250}
	weightUnits = map[string]int64{"g": 1000, "kg": 1000000, "lb": 453592}
)

var measurePattern = regexp.MustCompile(`^([0-9]{1,5}(?:\.[0-9]{1,3})?) ?([a-z]+)$`)

// measured reads a quantity with its unit, rounded to whole days or grams.
func (r *reader) measured(text *string, into *int, want string, units map[string]int64) reads {
	return func(p trail, n *yaml.Node) {
		s, ok := r.scalar(n, want)
		if !ok {
			return
		}
		m := measurePattern.FindStringSubmatch(s)
		if m == nil || units[m[2]] == 0 {
			r.complain(n, "%q should be %s", clip(s, 40), want)
			return
		}
		x, err := rubric.ParseMilli(m[1])
		if err != nil || x <= 0 {
			r.complain(n, "%q should be %s, above nought", clip(s, 40), want)
			return
		}
		*text, *into = s, int((int64(x)*units[m[2]]+500000)/1000000)
	}
}

func (r *reader) history(h *History) reads {
	return func(p trail, n *yaml.Node) {
		r.table(p, n, "history", []member{
			{"answers", func(p trail, n *yaml.Node) {
				h.Answers = map[string]string{}
				r.entries(p, n, "answers", func(key string, p trail, k, v *yaml.Node) {
					var s string
					r.text(&s)(p, v)
					h.Answers[key] = s
				})
			}},
			{"otherwise", r.text(&h.Otherwise)},
			{"required", r.texts(&h.Required)},
		})
	}
}

// truths reads field: value, or field: {site: value}.
func (r *reader) truths(into *[]Truth) reads {
	return func(p trail, n *yaml.Node) {
		r.entries(p, n, "truth", func(field string, p trail, k, v *yaml.Node) {
			if v.Kind != yaml.MappingNode {
				*into = append(*into, r.truth(Truth{Field: field}, p, v))
				return
			}
			r.entries(p, v, "truth of "+field, func(site string, p trail, k, v *yaml.Node) {
				*into = append(*into, r.truth(Truth{Field: field, Site: site}, p, v))
			})
		})
	}
}

// truth reads a value, a range low..high, or a list to draw from.
func (r *reader) truth(t Truth, p trail, n *yaml.Node) Truth {
	if n.Kind == yaml.SequenceNode {
		r.texts(&t.Values)(p, n)
		if len(n.Content) == 0 {
			r.complain(n, "the list of values to draw from is empty")
		}
		return t
	}
	var s string
	r.text(&s)(p, n)
	if low, high, ok := strings.Cut(s, ".."); ok {
		t.Low, t.High = strings.TrimSpace(low), strings.TrimSpace(high)
	} else {
		t.Values = []string{s}
	}
	return t
}

func (r *reader) pains(into *[]Pain) reads {
	return func(p trail, n *yaml.Node) {
		r.list(p, n, "pain", func(p trail, n *yaml.Node) {
			var a Pain
			r.table(p, n, "a pain", []member{
				{"region", r.text(&a.Region)},
				{"site", r.text(&a.Site)},
				{"level", r.whole(&a.Level, 1, 4)},
			})
			*into = append(*into, a)
		})
	}
}

// caseHazards reads the list of hazards. One without id is called after its
// place in the list.
func (r *reader) caseHazards(into *[]Hazard) reads {
	return func(p trail, n *yaml.Node) {
		r.list(p, n, "hazards", func(p trail, n *yaml.Node) {
			var h Hazard
			r.table(p, n, "a hazard", append(r.hazard(&h), member{"id", r.text(&h.ID)}))
			if h.ID == "" {
				h.ID = "hazard " + strconv.Itoa(len(*into)+1)
			}
			*into = append(*into, h)
		})
	}
}

func (r *reader) conclusions(c *Conclusions) reads {
	return func(p trail, n *yaml.Node) {
		r.table(p, n, "conclusions", []member{
			{"problems", func(p trail, n *yaml.Node) {
				r.list(p, n, "problems", func(p trail, n *yaml.Node) {
					var e ExpectedProblem
					r.table(p, n, "an expected problem", []member{
						{"id", r.text(&e.ID)},
						{"signs", r.texts(&e.Signs)},
					})
					c.Problems = append(c.Problems, e)
				})
			}},
			{"accept", r.texts(&c.Accept)},
			{"urgency", r.oneOf(&c.Urgency, urgencies...)},
			{"report", r.texts(&c.Report)},
		})
	}
}

// tags reads lists of words under names of the author's choice.
func (r *reader) tags(into *map[string][]string) reads {
	return func(p trail, n *yaml.Node) {
		*into = map[string][]string{}
		r.entries(p, n, "tags", func(key string, p trail, k, v *yaml.Node) {
			var words []string
			r.texts(&words)(p, v)
			(*into)[key] = words
		})
	}
}
