package say

import (
	"strconv"
	"strings"

	"dewclaw/rubric"
)

var general = map[string]row{
	"term.dropped": func(s *said) string {
		return droppedWhat[s.arg("term")] + " could not be judged, because " + droppedWhy[s.arg("why")] + "; the other parts of this domain share its weight."
	},
	"domain.dropped": func(s *said) string {
		return "this patient gave nothing to judge " + quote(s.arg("domain")) + " by; the other domains share its points."
	},
	"floor": func(*said) string { return "deductions came to more than was earned; a domain never falls below zero." },
	"guard.done": func(s *said) string {
		return "you did " + s.arg("done") + " of " + s.arg("required") + " required steps. Below " + s.arg("part") +
			" % of them, this domain counts only in proportion: too little was examined to judge it whole."
	},
}

var droppedWhat = map[string]string{
	"rules": "the rules of order", "route": "the route", "returns": "going back", "abnormal": "what was abnormal",
	"negatives": "what was pertinently normal", "urgency": "the urgency", "fields": "the findings to report",
}

var droppedWhy = map[string]string{
	"no-pair": "no two steps were done that a rule sets in order", "no-route": "the steps done lie in one stretch of the animal",
	"no-stage": "no stretch of the animal was walked", "nothing-seen": "none of the steps done could show any of it",
	"none-expected": "nothing of the kind is expected with this patient",
}

var order = map[string]row{
	"order.short": func(*said) string {
		return "with fewer than two steps there is no order to judge. Begin at a distance and work over the animal in one direction."
	},
	"rule.kept": func(s *said) string {
		return "you kept to the order: " + s.list("before", "and") + " before " + s.list("after", "and") + ". " + s.why()
	},
	"rule.broken": func(s *said) string {
		return s.list("before", "and") + " belongs before " + s.list("after", "and") + "; you did it the other way round. " + s.why()
	},
	"rule.share": func(s *said) string {
		return s.list("before", "and") + " belongs before " + s.list("after", "and") + "; " + s.arg("right") + " of " + s.arg("pairs") +
			" pairs of steps stood in that order. " + s.why()
	},
	"habit.kept": func(s *said) string {
		return "a good habit: " + s.list("before", "and") + " before " + s.list("after", "and") + ". " + s.why() + " It carries no marks."
	},
	"habit.broken": func(s *said) string {
		return "many examiners put " + s.list("before", "and") + " before " + s.list("after", "and") + ". " + s.why() + " It costs no marks."
	},
	"route.fit": func(s *said) string {
		return "of the steps in different stretches of the animal, " + s.arg("with") + " of " + s.arg("pairs") +
			" pairs follow the nearest accepted route. A fixed way over the animal is what keeps anything from being forgotten."
	},
	"route.full": func(s *said) string {
		if s.int("pairs") == 1 {
			return "the two steps in different stretches of the animal follow an accepted route. Keep to it with the next patient."
		}
		return "all " + s.arg("pairs") + " pairs of steps in different stretches of the animal follow an accepted route. Keep to it with the next patient."
	},
	"returns.some": func(s *said) string {
		return "you went back to a stretch already left " + times(s.int("returns")) + ", over " + some(s.int("stages"), "stretch", "stretches") +
			" of the animal. Each return handles the patient once more; finish a stretch before you leave it."
	},
	"returns.none": func(*said) string {
		return "you finished every stretch of the animal before you went on, so it was handled no more than needed."
	},
	"late.forgiven": func(s *said) string {
		return "you noticed what was still missing and caught up on " + s.list("steps", "and") + " at the end. That is better than leaving it out, and the order was marked without it."
	},
}

// why is the reason of a rule with its source.
func (s *said) why() string {
	why := s.arg("why")
	if src := s.arg("source"); src != "" {
		why = strings.TrimSuffix(why, ".") + " (" + src + ")."
	}
	return why
}

var completeness = map[string]row{
	"step.done": func(s *said) string { return s.item(s.arg("step")) + " was done as it should be." },
	"step.partly": func(s *said) string {
		return s.item(s.arg("step")) + " was done properly at " + s.arg("done") + " of " + s.arg("sites") + " sites; " + quote(s.w.Site(s.arg("site"))) +
			" was left out. What was not examined cannot be called normal."
	},
	"step.oneside": func(s *said) string {
		return s.item(s.arg("step")) + " was done on one side only: " + quote(s.w.Site(s.arg("site"))) + " was left out, and " + s.arg("done") + " of " + s.arg("sites") +
			" sites were done properly. The other side is this animal's own yardstick; without it a small difference goes unseen, and a large one cannot be measured."
	},
	"step.unknown": func(s *said) string {
		return "there is no step " + quote(s.arg("step")) + " with this patient, so what was done there counts for nothing. Look whether the transcript belongs to this case."
	},
	"step.site": func(s *said) string {
		if s.arg("site") == "" {
			return s.item(s.arg("step")) + " was done without saying where, so no site of it counts as examined."
		}
		return s.item(s.arg("step")) + " has no site " + quote(s.arg("site")) + " with this patient, so that examination counts for no site."
	},
	"step.brief": func(s *said) string {
		return s.item(s.arg("step")) + s.at("site") + " lasted " + s.arg("seconds") + " s; it takes at least " + s.arg("least") + " s to tell anything from it."
	},
	"step.missing": func(s *said) string {
		return s.item(s.arg("step")) + " was not done. It is part of the examination of this patient, whatever the complaint."
	},
	"step.refused": func(s *said) string {
		return "the animal did not allow " + s.item(s.arg("step")) + ", and it was not done later. Settle the animal or change the hold, then try again, or note why it was not examined."
	},
	"handle.done":    func(s *said) string { return "you did what this patient needed: " + s.how() + "." },
	"handle.missing": func(s *said) string { return s.how() + " was needed with this patient and was not done." },
	"handle.omission": func(s *said) string {
		return s.how() + " was not done. A patient in this state can die without it; this waits for an examiner to confirm it."
	},
	"topic.asked": func(s *said) string { return "you asked about " + lower(s.w.Topic(s.arg("topic"))) + "." },
	"topic.missing": func(s *said) string {
		return "you did not ask about " + lower(s.w.Topic(s.arg("topic"))) + ". With this complaint the answer changes where to look."
	},
}

func (s *said) how() string { return quote(lower(s.w.Handling(s.arg("how")))) }

var findings = map[string]row{
	"finding.caught": func(s *said) string {
		return "you found it: " + s.field() + s.at("site") + " was " + s.value("truth") + ", and you charted " + s.charted() + "."
	},
	"finding.partly": func(s *said) string {
		return "you noticed it: " + s.field() + s.at("site") + " was " + s.value("truth") + ". You charted " + s.charted() + s.at("at") +
			"; side or site, grade and kind are part of a finding." + s.found()
	},
	"finding.swapped": func(s *said) string {
		return "you found it, and wrote it on the other side: " + s.field() + s.at("site") + " was " + s.value("truth") + ", and you charted " + s.charted() + s.at("at") +
			". Whoever treats or operates next goes by the side on your sheet. Left and right are the animal's own: say the side aloud with your hand still on it, then write." + s.found()
	},
	"finding.misplaced": func(s *said) string {
		return "you found it, and wrote it at another site: " + s.field() + s.at("site") + " was " + s.value("truth") + ", and you charted " + s.charted() + s.at("at") +
			". Go back over the sites once you have something, and write down the one where it is plainest." + s.found()
	},
	"sheet.thrill": func(s *said) string {
		return "your sheet contradicts itself: it gives a thrill" + s.at("site") + ", and for " + lower(s.w.Field(s.arg("other"))) + " " + s.standing() +
			". A murmur that the flat hand can feel is 5 or 6 of 6 and no other, so one of the two lines is wrong." + s.wasThere() + s.foundBoth()
	},
	"sheet.murmur": func(s *said) string {
		return "your sheet contradicts itself: it gives a murmur of " + s.value("charted") + s.at("site") + ", and for " + lower(s.w.Field(s.arg("other"))) + " " + s.standing() +
			". What makes a murmur 5 or 6 of 6 is that the flat hand can feel it; without a thrill it is 4 at most." + s.wasThere() + s.foundBoth()
	},
	"finding.normal": func(s *said) string {
		return s.field() + s.at("site") + " was " + s.value("truth") + "; you examined it and charted " + s.charted() +
			". A finding called normal is worse than a gap: nobody will look again." + s.found()
	},
	"finding.blank": func(s *said) string {
		return s.field() + s.at("site") + " was " + s.value("truth") + " when you examined it; nothing about it stands on your sheet. What is not written down is lost to the next person." + s.found()
	},
	"finding.unseen": func(s *said) string {
		return s.field() + s.at("site") + " was " + s.value("truth") + "; none of the steps you did could show it." + s.found()
	},
	"finding.refused": func(s *said) string {
		return s.field() + s.at("site") + " was " + s.value("truth") + "; the animal did not allow the step that shows it." + s.found() + " Settle the animal first, and try again."
	},
	"finding.settled": func(s *said) string {
		return s.field() + s.at("site") + " had settled by the time you last looked, and your sheet says so."
	},
	"finding.unknown": func(s *said) string {
		return "nobody established what " + s.field() + s.at("site") + " was; the other findings share its weight."
	},
	"negative.right": func(s *said) string {
		return s.field() + s.at("site") + " was rightly charted as normal. With this complaint that is worth knowing."
	},
	"negative.partly": func(s *said) string {
		return s.field() + s.at("site") + " was rightly charted as normal at " + s.arg("right") + " of " + s.arg("places") + " places; the others were left open."
	},
	"negative.blank": func(s *said) string {
		return s.field() + s.at("site") + " was examined and was normal, but your sheet does not say so. With this complaint a normal finding there is a finding."
	},
	"negative.unseen": func(s *said) string {
		return s.field() + s.at("site") + " was not examined. With this complaint the next person must know whether it is normal."
	},
	"negative.wrong": func(s *said) string {
		return s.field() + s.at("site") + " was normal, and you charted something else there."
	},
	"false.alarm": func(s *said) string {
		return "you charted " + s.value("charted") + " for " + s.field() + s.at("site") + "; what you examined was " + s.value("truth") +
			". Go back and examine again before you write down something that nobody else will find."
	},
	"charted.unexamined": func(s *said) string {
		return "you charted " + s.value("charted") + " for " + s.field() + " without having examined it. Write " + quote("not examined") + " and why: an invented finding can harm a patient."
	},
	"guard.seen": func(s *said) string {
		return "the steps you did could show " + s.arg("seen") + " % of what was abnormal. Below half, findings count only in proportion."
	},
	"value.unreadable": func(s *said) string {
		return quote(s.arg("charted")) + " could not be read for " + s.field() + ", so it earned nothing. Choose one of the values offered, or write a number with its unit."
	},
	"site.unknown": func(s *said) string {
		return s.field() + " has no site " + quote(s.arg("charted")) + " with this patient, so the line stands there without a site."
	},
	"region.unknown": func(s *said) string {
		if s.arg("charted") != "normal" {
			return "a region can be called normal as a whole and nothing else; " + quote(s.arg("charted")) + " for " + quote(s.w.Region(s.arg("field"))) + " was written nowhere. Chart its lines one by one."
		}
		return "the sheet has no region " + quote(s.arg("field")) + " for this patient, so calling it normal was written nowhere."
	},
	"field.unknown": func(s *said) string {
		return "the sheet has no line " + quote(s.arg("field")) + " for this patient, so " + quote(s.arg("charted")) + " could not be judged."
	},
}

// standing is what the sheet says of the other line of a contradiction.
func (s *said) standing() string {
	if s.arg("stands") == "" {
		return "nothing"
	}
	return s.valueOf("other", "stands")
}

// wasThere is what the examination showed of both lines of a contradiction.
func (s *said) wasThere() string {
	var parts []string
	for _, row := range [2][2]string{{"field", "truth"}, {"other", "otherwas"}} {
		if s.arg(row[1]) != "" {
			parts = append(parts, lower(s.w.Field(s.arg(row[0])))+" "+s.valueOf(row[0], row[1]))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return " What was there when you examined: " + strings.Join(parts, ", ") + "."
}

// foundBoth is by which steps both lines of a contradiction are settled.
func (s *said) foundBoth() string {
	if s.arg("steps") == "" {
		return ""
	}
	return " Both are settled by " + s.list("steps", "and") + ", the hand before the stethoscope."
}

// charted is what stands on the sheet for the finding, in the field where it stands.
func (s *said) charted() string {
	text := s.valueOf("as", "charted")
	if as := s.arg("as"); as != "" && as != s.arg("field") {
		return text + " under " + lower(s.w.Field(as))
	}
	return text
}

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
		return s.field() + " was not measured. It was " + s.quantity("truth") + " at rest, and is measured by " + s.list("steps", "or") + "."
	},
	"reading.unreadable": func(s *said) string {
		return quote(s.arg("charted")) + " could not be read as " + s.field() + ". Write a number with its unit; it was " + s.quantity("truth") + "."
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
			" of a count over " + s.arg("over") + " s. The likely cause is that the first " + event + " was counted as one. Start the watch on a " + event +
			" and call that one zero; the next is one. This note costs no marks."
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
		return "you measured " + s.arg("measured") + " of " + s.arg("required") + " vitals. Below three quarters of them, this domain counts only in proportion."
	},
}

// margin says how far off a reading may be.
func (s *said) margin() string {
	m, err := rubric.ParseMilli(s.arg("tolerance"))
	if err != nil || m == 0 {
		return ""
	}
	switch s.arg("vital") {
	case "temperature":
		return ", give or take " + round(m, 1) + " °C"
	case "weight":
		return ", give or take " + round(m, 1) + " kg"
	case "heart_rate", "resp_rate":
		return ", give or take " + round(m, 1) + "/min"
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
	if low == high {
		return " (normal here: " + Quantity(s.arg("vital"), low) + ")"
	}
	return " (normal here: " + Quantity(s.arg("vital"), low) + " to " + Quantity(s.arg("vital"), high) + ")"
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
