package say

import (
	"strings"

	"dewclaw/rubric"
)

var handling = map[string]row{
	"care.plain": func(*said) string {
		return "this patient needed no precaution beyond ordinary care; the points stand unless something went wrong."
	},
	"precaution.taken": func(s *said) string {
		return "well handled, and you kept the rule of this patient: " + s.precaution() + "."
	},
	"precaution.missed": func(s *said) string {
		if s.arg("kind") == "done" {
			return "the rule with this patient is: " + s.precaution() + ". It was not done."
		}
		return "the rule with this patient is: " + s.precaution() + ". You did not keep to it, and the animal bears the cost."
	},
	"precaution.idle": func(s *said) string {
		return "the rule with this patient is: " + s.precaution() + ". You did not get that far, so it was not earned."
	},
	"hazard.minor": func(s *said) string { return s.hazard("It counts as a minor harm.") },
	"hazard.major": func(s *said) string { return s.hazard("It counts as a major harm.") },
	"hazard.critical": func(s *said) string {
		return s.hazard("It is a matter of safety: once an examiner has confirmed it, the case is failed whatever the total. It costs no points as well.")
	},
}

// precaution says what a precaution asks, from its kind and what it names.
func (s *said) precaution() string {
	switch s.arg("kind") {
	case "before":
		return s.list("done", "or") + " before " + s.list("steps", "or")
	case "last":
		return s.list("steps", "and") + " only after " + s.list("among", "and")
	case "gentle":
		return s.list("steps", "and") + " gently, every time"
	}
	return s.list("done", "or") + " at some point of the visit"
}

// Precaution says what a precaution asks, as the end of a sentence such as "the
// rule with this patient is: ...".
func Precaution(p *rubric.Precaution, w Words) string {
	join := func(ids []string) string { return strings.Join(ids, "|") }
	line := rubric.Line{Args: []rubric.Arg{{Name: "kind", Value: p.Kind}, {Name: "done", Value: join(p.Done)},
		{Name: "steps", Value: join(p.Steps)}, {Name: "among", Value: join(p.Among)}}}
	return (&said{&line, w}).precaution()
}

// hazard says what happened, that it could be foreseen, and what it counts.
func (s *said) hazard(counts string) string {
	text := strings.TrimSpace(s.arg("why"))
	if step, ok := strings.CutPrefix(s.arg("hazard"), "withhold:"); ok {
		text = upper(s.item(step)) + " should have waited until the patient was stable."
	}
	if text == "" {
		text = "The animal, or you, came to harm."
	}
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	if sign := s.arg("sign"); sign != "" && sign != "0" {
		text += " It could be seen coming at act " + sign + "."
	}
	if n := s.int("times"); n > 1 {
		text += " It happened " + times(n) + " and is counted once."
	}
	return text + " " + counts
}

var conclusions = map[string]row{
	"conclude.missing": func(*said) string {
		return "the visit ended without a conclusion. Say what you think is wrong and how soon the patient must be seen to, even when you are not sure."
	},
	"problems.named": func(s *said) string {
		text := "this patient has " + some(s.int("expected"), "problem", "problems") + "; you named " + s.arg("right") + " with signs on your sheet to show for it."
		if s.int("extra") > 0 {
			text += " You also named " + some(s.int("extra"), "that does", "that do") + " not fit this patient."
		}
		return text
	},
	"problems.none": func(s *said) string {
		if s.int("extra") > 0 {
			return "nothing is wrong with this patient; you named " + some(s.int("extra"), "problem", "problems") + ". Saying that an animal is sound takes as much courage as naming a disease."
		}
		return "nothing is wrong with this patient, and you said so."
	},
	"problem.right": func(s *said) string {
		return "you named " + s.problem() + ", and its signs stand on your sheet."
	},
	"problem.unsupported": func(s *said) string {
		return "you named " + s.problem() + ", which is there, but none of its signs stands on your sheet, so it cannot count. It shows in " + s.signs() + "."
	},
	"problem.missed": func(s *said) string {
		return "you did not name " + s.problem() + ". It shows in " + s.signs() + "."
	},
	"problem.extra": func(s *said) string {
		return "you named " + s.problem() + "; nothing that was there points to it."
	},
	"problem.accepted": func(s *said) string {
		return "you named " + s.problem() + "; it may be thought of here, and neither helps nor hurts."
	},
	"urgency.right": func(s *said) string {
		return "you judged rightly how soon this patient must be seen to: " + s.arg("right") + "."
	},
	"urgency.over": func(s *said) string {
		return "you called this " + s.urgency() + "; " + s.arg("right") + " would do. Erring on the side of haste earns half."
	},
	"urgency.wrong": func(s *said) string {
		return "you called this " + s.urgency() + "; with these findings it is " + s.arg("right") + "."
	},
	"urgency.missing": func(s *said) string {
		return "you did not say how soon this patient must be seen to. It is " + s.arg("right") + "."
	},
	"urgency.unsupported": func(s *said) string {
		return "you called this " + s.urgency() + ", but nothing you named or reported supports it, so it earns nothing."
	},
	"urgency.critical": func(*said) string {
		return "this is an emergency, and you called it routine. A patient sent home in this state may not come back; this waits for an examiner to confirm it."
	},
	"report.given": func(s *said) string {
		return "you reported " + s.field() + s.at("site") + ": " + s.value("given") + "."
	},
	"report.side": func(s *said) string {
		return "you reported " + s.field() + " for " + s.place("at") + "; it is at " + s.place("site") + ". The veterinarian will look where you point."
	},
	"report.wrong": func(s *said) string {
		return "you reported " + s.value("given") + " for " + s.field() + s.at("site") + "; that agrees neither with your sheet nor with the patient."
	},
	"report.missing": func(s *said) string {
		return "your report does not give " + s.field() + s.at("site") + " with its value. The veterinarian needs it to decide."
	},
	"report.unexamined": func(s *said) string {
		return "you reported " + s.field() + s.at("site") + " without having examined it."
	},
	"report.framed": func(*said) string {
		return "your report has situation, background, assessment and request, so the listener can act on it."
	},
	"report.unframed": func(s *said) string {
		return "your report lacks " + enumerate(strings.Split(s.arg("gaps"), ", "), "and") + ". With situation, background, assessment and request the listener can act at once."
	},
	"report.diagnosis": func(s *said) string {
		return "you named " + s.named() + ". A diagnosis is the veterinarian's to make; report what you saw and measured. It costs no marks here."
	},
}

func (s *said) problem() string { return lower(s.w.Problem(s.arg("problem"))) }

// named are the problems that a technician named; older lines hold the first only.
func (s *said) named() string {
	if s.arg("problems") == "" {
		return s.problem()
	}
	var words []string
	for _, id := range strings.Split(s.arg("problems"), "|") {
		words = append(words, lower(s.w.Problem(id)))
	}
	return enumerate(words, "and")
}

func (s *said) urgency() string {
	if u := s.arg("urgency"); u != "" {
		return quote(u)
	}
	return "nothing"
}

func (s *said) place(name string) string {
	if site := s.arg(name); site != "" {
		return quote(s.w.Site(site))
	}
	return "no side"
}

// signs lists the fields, with their sites, in which a problem shows.
func (s *said) signs() string {
	var words []string
	for _, p := range strings.Split(s.arg("signs"), "|") {
		if p == "" {
			continue
		}
		field, site, sited := strings.Cut(p, "@")
		word := lower(s.w.Field(field))
		if sited {
			word += " (" + s.w.Site(site) + ")"
		}
		words = append(words, word)
	}
	if len(words) == 0 {
		return "the whole of the examination"
	}
	return enumerate(words, "and")
}

// held is why a person must look before a report is released.
var held = map[string]string{
	"charted-not-examined": "Vitals, or three or more fields, were charted without having been examined. Look whether this was a slip before the report goes out.",
	"critical-event":       "A critical event is in this report. It fails the case once a person has confirmed it.",
}

// Held says why a person must look before release.
func Held(code string) string {
	if text, ok := held[code]; ok {
		return text
	}
	return "A newer version of the engine holds this report for a reason that is not known here (" + code + ")."
}

// critical says what an event is that the engine itself found.
func critical(id string, w Words) string {
	if how, ok := strings.CutPrefix(id, "omission/handle:"); ok {
		return upper(quote(lower(w.Handling(how)))) + " was left out in a patient that can die without it."
	}
	if id == "urgency" {
		return "An emergency was called routine."
	}
	return "Something happened that can cost a life."
}
