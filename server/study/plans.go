package study

import (
	"slices"

	"dewclaw/rubric"
)

// Visit is a marked visit, as plans look at it.
type Visit struct {
	Report rubric.Report
	Key    rubric.Key
	Acts   rubric.Transcript
}

// What a visit shows of a plan.
const (
	Kept       = "yes"
	Broken     = "no"
	CannotTell = "" // nothing in the visit could show it
)

// Plan is one sentence that a student may take along to the next patient. To add
// one is to add a row to plans.
type Plan struct {
	ID       string
	Sentence string
	Short    string              // what it is about, for a list
	Fits     func(*Visit) bool   // after this visit it is worth offering
	Kept     func(*Visit) string // Kept, Broken or CannotTell
}

// PlansOffered is how many plans are offered after a visit at most.
const PlansOffered = 4

// plans are the sentences, what keeps the animal safe and the figures true first.
// What each asks for is taught by a rule or a line of the shipped rubrics.
var plans = []Plan{
	{"breaths-first", "Before I touch the animal I count its breaths for 30 s.", "breaths before the first touch",
		either(short("order/rule/count-breaths-first"), short("vitals/resp.rate"), missedVital("resp_rate")), breathsFirst},
	{"watch-first", "Before I touch the animal I watch it from across the room.", "watching first",
		either(short("order/rule/look-first"), short("completeness/distance.observe")), before("distance.observe")},
	{"hold-first", "Before my first touch I settle the animal or choose how it is held.", "settling and hold",
		either(short("order/rule/settle-first"), short("handling/precaution")), handledFirst},
	{"stop-when-warned", "When the animal warns me I stop, and go on only once it is quiet.", "stopping at a warning",
		hurtAfterSign, stoppedWhenWarned},
	{"heart-30", "I listen to the heart for 30 s before I write its rate.", "the heart for 30 s",
		either(short("vitals/heart.rate"), missedVital("heart_rate")), countedFor("heart_rate", 30)},
	{"every-site", "I listen at every place of heart and lungs, on both sides.", "every place of the chest",
		either(short("completeness/heart.auscultate"), short("completeness/lungs.auscultate")), everySite("heart.auscultate", "lungs.auscultate")},
	{"both-sides", "What I examine on one side I examine on the other before I go on.", "both sides",
		oneSided, bothSides},
	{"write-at-once", "I write down what I found before I go on to the next stretch of the animal.", "writing at once",
		either(how("blank"), wroteLate), wroteAtOnce},
	{"no-blanks", "Before I finish I write something in every line that I examined.", "no blank lines",
		either(how("blank"), short("findings/negative")), noBlanks},
	{"figure-and-call", "Beside every figure I say low, normal or high before I go on.", "low, normal or high",
		calledShort, calledAll},
	{"ask-first", "I ask the owner three questions before I touch the animal.", "asking first",
		short("completeness/ask:"), askedFirst},
	{"one-way", "I go over the animal in one direction and do not go back.", "one way over the animal",
		either(short("order/route"), short("order/returns")), oneWay},
	{"quiet-first", "I listen to heart and lungs before I bend or press a joint.", "listening while it is quiet",
		short("order/rule/listen-while-quiet"), byLine("order/rule/listen-while-quiet")},
	{"four-parts", "My report has a situation, a background, an assessment and a request.", "the four parts of a report",
		partsMissing, fourParts},
}

// Plans are all sentences, in their order.
func Plans() []Plan { return slices.Clone(plans) }

// PlanOf is the row of a plan; nil: there is none of this id any more.
func PlanOf(id string) *Plan {
	i := slices.IndexFunc(plans, func(p Plan) bool { return p.ID == id })
	if i < 0 {
		return nil
	}
	return &plans[i]
}

// Fitting are the plans worth offering after a visit: the one that was not kept in
// it, or that it could not show, in front; then those that fit, PlansOffered at most.
func Fitting(v Visit, last string) []Plan {
	var out []Plan
	if p := PlanOf(last); p != nil && p.Kept(&v) != Kept {
		out = append(out, *p)
	}
	for _, p := range plans {
		if len(out) < PlansOffered && (len(out) == 0 || out[0].ID != p.ID) && p.Fits(&v) && p.Kept(&v) != Kept {
			out = append(out, p)
		}
	}
	return out
}
