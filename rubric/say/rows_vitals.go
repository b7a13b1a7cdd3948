package say

import (
	"strconv"

	"dewclaw/rubric"
)

var vitals = map[string]row{
	"reading.right": func(s *said) string {
		return "your " + s.field() + " of " + s.quantity("charted") + " was right: it was " + s.quantity("truth") + s.margin() + "."
	},
	"reading.near": func(s *said) string {
		return "your " + s.field() + " of " + s.quantity("charted") + " was near: it was " + s.quantity("truth") + s.margin() + ". Count again, or read the instrument again, when a figure surprises you."
	},
	"reading.wrong": func(s *said) string {
		return "your " + s.field() + " of " + s.quantity("charted") + " was off: it was " + s.quantity("truth") + s.margin() + ". It is measured by " + s.list("steps", "or") + "."
	},
	"reading.short": func(s *said) string {
		return "your " + s.field() + " of " + s.quantity("charted") + " was close to " + s.quantity("truth") + ", but you listened or watched for " + s.arg("seconds") +
			" s; with this patient a count needs " + s.arg("window") + " s. A shorter count is right by luck, so it earns half at most."
	},
	"reading.blank": func(s *said) string {
		return "you did the step that measures " + s.field() + " and charted no figure. It was " + s.quantity("truth") + "."
	},
	"reading.unmeasured": func(s *said) string {
		text := s.field() + " was not measured"
		if s.arg("asked") == "no" {
			text += ", and need not be with this patient"
		}
		return text + ". It was " + s.quantity("truth") + s.atRest() + ", and is measured by " + s.list("steps", "or") + "." + s.honest()
	},
	"reading.unreadable": func(s *said) string {
		return "what you wrote for " + s.field() + ", " + quote(s.arg("charted")) + ", could not be read. Write a number with its unit; it was " + s.quantity("truth") + "."
	},
	"reading.early": func(s *said) string {
		return "you charted " + s.field() + " before you measured it, so the figure earned nothing. It was " + s.quantity("truth") + "."
	},
	"reading.unknown": func(s *said) string {
		return "nobody established the true " + s.field() + " when you measured it; the other vitals share its weight."
	},
	"reading.arithmetic": func(s *said) string {
		return s.quantity("charted") + " cannot come from a count over " + s.arg("over") + " s: each beat or breath counted there stands for " +
			perEvent(s.int("over")) + "/min. Check the multiplication."
	},
	"reading.first": func(s *said) string {
		event := countedWord[s.arg("vital")]
		return "your " + s.quantity("charted") + " lies " + s.quantity("above") + " above the " + s.quantity("truth") + " that was there: about one " + event +
			" of a count over " + s.arg("over") + " s. A sound count catches one more now and then; if yours often do, the first " + event +
			" is being counted as one. Start the watch on a " + event + " and call that one zero; the next is one. This note costs no marks."
	},
	"reading.panting": func(s *said) string {
		return "the animal was panting, and you charted " + s.quantity("charted") + ". Panting sheds heat and is no breathing rate: write " + quote("panting") +
			" for the pattern, let the animal cool and settle, and count then. The other vitals share its weight."
	},
	"reading.uncounted": func(s *said) string {
		return "the animal was panting when you watched it breathe, so there was no rate to count and none is asked of you. Wait until it stops and count then; " +
			"if it does not stop, " + quote("panting") + " is the entry. The other vitals share its weight."
	},
	"call.contrary": func(s *said) string {
		return "you called it " + s.arg("call") + "; that fits neither this patient, for whom it is " + s.arg("right") + ", nor the " + s.quantity("charted") +
			" that you wrote down yourself" + s.normalHere() + ". Read the figure against the range once more before you put a word to it."
	},
	"call.right": func(s *said) string {
		if s.arg("rest") != "" {
			return "you called it " + s.arg("call") + s.normalHere() + ". At rest it was " + s.quantity("rest") + ", which is normal: handling alone had moved it past the limit, so either call counts. Measure before you handle, or let the animal settle and measure again."
		}
		return "you called it " + s.arg("call") + ", which fits this patient" + s.normalHere() + "."
	},
	"call.carried": func(s *said) string {
		return "you called it " + s.arg("call") + ", which follows from your own figure; with the right figure it is " + s.arg("right") + s.normalHere() + ". Half is given for sound reasoning."
	},
	"call.against": func(s *said) string {
		return "you called it " + s.arg("call") + ", which is right for this patient, but not for the " + s.quantity("charted") + " that you wrote down" + s.normalHere() + ". The two must agree, or one of them is wrong."
	},
	"call.wrong": func(s *said) string {
		text := "you called it " + s.arg("call") + "; for this patient it is " + s.arg("right") + s.normalHere() + "."
		if s.arg("fits") == "own" {
			text += " It fits the " + s.quantity("charted") + " that you wrote down, but that figure was too far off to build on."
		}
		return text
	},
	"call.missing": func(s *said) string {
		if _, err := rubric.ParseMilli(s.arg("charted")); err != nil {
			return "no figure stands on your sheet, so nothing was called low, normal or high. For this patient it is " + s.arg("right") + s.normalHere() + "."
		}
		return "the figure stands there without low, normal or high. For this patient it is " + s.arg("right") + s.normalHere() + "; a number alone does not tell the next person what it means."
	},
	"guard.measured": func(s *said) string {
		return "you measured " + s.arg("measured") + " of " + s.arg("required") + " vitals. Below two thirds of them, this domain counts only in proportion."
	},
}

// atRest says that a figure is that of the animal at rest, for what handling moves.
func (s *said) atRest() string {
	switch s.arg("vital") {
	case "heart_rate", "resp_rate", "temperature":
		return " at rest"
	}
	return ""
}

// margin says how far off a reading may be.
func (s *said) margin() string {
	if s.arg("vital") == "crt" {
		return "; what counts is the class: under 1 s, 1 to 2 s, over 2 s"
	}
	m, err := rubric.ParseMilli(s.arg("tolerance"))
	if err != nil || m == 0 {
		return ""
	}
	switch s.arg("vital") {
	case "temperature", "weight":
		return ", give or take " + Difference(s.arg("vital"), m, s.units()...)
	case "heart_rate", "resp_rate":
		return ", give or take " + round(m, 1) + "/min"
	case "body_condition":
		if m < 1000 {
			return ", give or take half a point"
		}
		return ", give or take " + some(int(m/1000), "point", "points")
	}
	return ", give or take " + m.String()
}

// countedWord names what is counted for a rate.
var countedWord = map[string]string{"heart_rate": "beat", "resp_rate": "breath"}

// normalHere is the reference range for this patient, in brackets.
func (s *said) normalHere() string {
	low, errLow := rubric.ParseMilli(s.arg("low"))
	high, errHigh := rubric.ParseMilli(s.arg("high"))
	if errLow != nil || errHigh != nil {
		return ""
	}
	return " (normal here: " + Range(s.arg("vital"), low, high, s.units()...) + ")"
}

// perEvent is what one event counted over so many seconds adds to a rate.
func perEvent(over int) string {
	if over <= 0 {
		return "1"
	}
	if 60%over == 0 {
		return strconv.Itoa(60 / over)
	}
	return round(rubric.Milli(60_000/over), 1)
}
