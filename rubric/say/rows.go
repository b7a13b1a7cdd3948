package say

import "strings"

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
		return s.list("before", "and") + s.verb("before", " belongs", " belong") + " before " + s.list("after", "and") + "; you did it the other way round. " + s.why()
	},
	"rule.share": func(s *said) string {
		return s.list("before", "and") + s.verb("before", " belongs", " belong") + " before " + s.list("after", "and") + "; " + s.arg("right") + " of " +
			some(s.int("pairs"), "pair", "pairs") + " of steps stood in that order. " + s.why()
	},
	"habit.kept": func(s *said) string {
		return "a good habit: " + s.list("before", "and") + " before " + s.list("after", "and") + ". " + s.why() + " It carries no marks."
	},
	"habit.broken": func(s *said) string {
		return "many examiners put " + s.list("before", "and") + " before " + s.list("after", "and") + ". " + s.why() + " It costs no marks."
	},
	"route.fit": func(s *said) string {
		return "of the steps in different stretches of the animal, " + s.arg("with") + " of " + some(s.int("pairs"), "pair", "pairs") +
			" stood as in the nearest accepted route. A fixed way over the animal is what keeps anything from being forgotten."
	},
	"route.full": func(s *said) string {
		if s.int("pairs") == 1 {
			return "the only two steps in different stretches of the animal follow an accepted route. Keep to it with the next patient."
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
		return s.list("steps", "and") + " came last. Late is better than not at all, so the order was marked as if " + s.verb("steps", "it", "they") + " had not been out of place. Next time do " +
			s.verb("steps", "it", "them") + " where " + s.verb("steps", "it belongs", "they belong") + "."
	},
}

// why is the reason of a rule with its source.
func (s *said) why() string {
	why := s.arg("why")
	switch src := s.arg("source"); {
	case src == "":
		return why
	case strings.ContainsAny(src, "()"): // no brackets within brackets
		return why + " Source: " + src + "."
	default:
		return strings.TrimSuffix(why, ".") + " (" + src + ")."
	}
}

var completeness = map[string]row{
	"step.done": func(s *said) string { return s.item(s.arg("step")) + " was done as it should be." },
	"step.partly": func(s *said) string {
		return s.item(s.arg("step")) + " was done properly at " + s.arg("done") + " of " + s.arg("sites") + " sites: " + s.gaps() + ". What was not examined cannot be called normal."
	},
	"step.oneside": func(s *said) string {
		return s.item(s.arg("step")) + " was done on one side only, and properly at " + s.arg("done") + " of " + s.arg("sites") + " sites: " + s.gaps() +
			". The other side is this animal's own yardstick; without it a small difference goes unseen, and a large one cannot be measured."
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
		return s.item(s.arg("step")) + " was not done. It belongs to the examination of this patient."
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
		return "you did not ask about " + lower(s.w.Topic(s.arg("topic"))) + ". The answer can change where to look and what to think of."
	},
}

// gaps names the sites that were left out and those that were too brief. Older
// lines hold the first site left out only.
func (s *said) gaps() string {
	left := s.sites("left")
	if len(left) == 0 {
		left = s.sites("site")
	}
	text := enumerate(left, "and") + verbOf(len(left), " was", " were") + " left out"
	if short := s.sites("short"); len(short) > 0 {
		text += ", and " + enumerate(short, "and") + verbOf(len(short), " was", " were") + " shorter than the " + s.arg("least") + " s that it takes"
	}
	return text
}

func (s *said) sites(name string) []string {
	var words []string
	for _, site := range strings.Split(s.arg(name), "|") {
		if site != "" {
			words = append(words, quote(s.w.Site(site)))
		}
	}
	return words
}

func verbOf(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func (s *said) how() string { return quote(lower(s.w.Handling(s.arg("how")))) }

var findings = map[string]row{
	"finding.caught": func(s *said) string {
		if s.arg("charted") == s.arg("truth") && s.arg("as") == s.arg("field") && s.arg("at") == s.arg("site") {
			return "you found it: " + s.there() + ", and your sheet says so." + s.unmarked()
		}
		return "you found it: " + s.there() + ". You charted " + s.charted() + s.at("at") + "." + s.unmarked()
	},
	"finding.partly": func(s *said) string {
		return "you noticed it: " + s.there() + ". You charted " + s.charted() + s.at("at") + "; " + s.missing() + " a finding." + s.unmarked() + s.found()
	},
	"finding.swapped": func(s *said) string {
		return "you found it, and wrote it on the other side: " + s.there() + ". You charted " + s.charted() + s.at("at") +
			". Whoever treats or operates next goes by the side on your sheet. Left and right are the animal's own: say the side aloud with your hand still on it, then write." + s.unmarked() + s.found()
	},
	"finding.misplaced": func(s *said) string {
		return "you found it, and wrote it at another site: " + s.there() + ". You charted " + s.charted() + s.at("at") +
			". Go back over the sites once you have something, and write down the one where it is plainest." + s.unmarked() + s.found()
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
		return "you called a finding normal: " + s.there() + ". You examined it and charted " + s.charted() +
			". That is worse than a gap, for nobody will look again." + s.found()
	},
	"finding.blank": func(s *said) string {
		return "you left a finding blank: " + s.there() + " when you examined it. Nothing about it stands on your sheet, and what is not written down is lost to the next person." + s.found()
	},
	"finding.unseen": func(s *said) string {
		return "you did not come upon it: " + s.there() + ". None of the steps you did could show it." + s.honest() + s.found()
	},
	"finding.refused": func(s *said) string {
		return "you did not come upon it: " + s.there() + ". The animal did not allow the step that shows it." + s.honest() + s.found() + " Settle the animal first, and try again."
	},
	"finding.settled": func(s *said) string {
		return "by the time you last looked, " + s.field() + s.at("site") + " had settled, and your sheet says so."
	},
	"finding.unknown": func(s *said) string {
		return "nobody established what " + s.field() + s.at("site") + " was; the other findings share its weight."
	},
	"negative.right": func(s *said) string {
		return "you rightly charted " + s.field() + s.at("site") + " as normal. With this patient that is worth knowing."
	},
	"negative.partly": func(s *said) string {
		return "you rightly charted " + s.field() + s.at("site") + " as normal at " + s.arg("right") + " of " + s.arg("places") + " places; the others were left open."
	},
	"negative.blank": func(s *said) string {
		return "you examined " + s.field() + s.at("site") + " and found nothing wrong, but your sheet does not say so. With this patient a normal finding there is a finding."
	},
	"negative.unseen": func(s *said) string {
		return "you did not examine " + s.field() + s.at("site") + ". With this patient the next person must know whether all is normal there."
	},
	"negative.wrong": func(s *said) string {
		return "you charted something abnormal for " + s.field() + s.at("site") + ", where all was normal. With this patient that sends the next person the wrong way."
	},
	"false.alarm": func(s *said) string {
		return "you charted " + s.value("charted") + " for " + s.field() + s.at("site") + "; what you examined was " + s.value("truth") +
			". Go back and examine again before you write down something that nobody else will find."
	},
	"charted.unexamined": func(s *said) string {
		return "you charted " + s.value("charted") + " for " + s.field() + s.at("site") + " without having examined it. Write " + quote("not examined") + " and why: an invented finding can harm a patient."
	},
	"guard.seen": func(s *said) string {
		return "the steps you did could show " + s.arg("seen") + " % of what was abnormal. Below half, findings count only in proportion."
	},
	"value.unreadable": func(s *said) string {
		return "what you wrote for " + s.field() + ", " + quote(s.arg("charted")) + ", could not be read, so it earned nothing. Choose one of the values offered, or write a number with its unit."
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

// there is what was there: the field with its site, and the value.
func (s *said) there() string { return s.field() + s.at("site") + ", " + s.value("truth") }

// missing says which part of a finding was not right.
func (s *said) missing() string {
	site := s.arg("at") != s.arg("site")
	value := s.arg("as") == s.arg("field") && s.arg("charted") != s.arg("truth") && s.unmarked() == ""
	switch {
	case site && value:
		return "where it is, and of what kind or grade, are part of"
	case site:
		return "side and site are part of"
	}
	return "its kind or grade is part of"
}

// unmarked says that the grade was not marked, and why; nothing where it was.
func (s *said) unmarked() string {
	w, ok := s.w.(Unmarked)
	if !ok {
		return ""
	}
	why := w.GradeUnmarked(s.arg("field"))
	if why == "" {
		return ""
	}
	return " " + why
}

// honest says that the sheet owns to a gap.
func (s *said) honest() string {
	if s.arg("gap") == "" {
		return ""
	}
	return " Your sheet says that it was not examined, and why: an honest gap can be closed."
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
