package study

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// Patient is somebody who can be examined for practice. Nothing of it is told
// but who it is.
type Patient struct {
	ID         string // as the student knows it
	Case       string
	Species    string
	System     string // the first that it is about
	Healthy    bool
	Whole      bool     // the whole animal is asked for, and not what is urgent or complained of
	Difficulty int      // 1 to 5; 0: not said
	Skills     []string // those of what is abnormal in it
}

// Drill is a kind of drill that can be done.
type Drill struct{ ID, Label, Skill string }

// Met is a visit that was begun.
type Met struct {
	Case, Species, System string
	At                    time.Time
}

// World is what offers are made from.
type World struct {
	Now        time.Time
	Skills     []string // ids of all
	Judgements []Judgement
	Patients   []Patient // who may be met: none that is kept for a sitting or an examination
	Drills     []Drill
	Met        []Met  // in the order of time
	Draw       uint64 // chance; the same number gives the same offers
}

// Why something is offered.
type Why string

// The three offers.
const (
	Due   Why = "due"   // met some days ago, and due again
	Weak  Why = "weak"  // not held yet
	Mixed Why = "mixed" // another system, and perhaps a healthy animal
)

// Offer is something to do next: a patient or a drill.
type Offer struct {
	Why     Why
	Skill   Skill  // of a mixed one: none
	Patient string // its id; empty: it is a drill
	Drill   string // its id; empty: it is a patient
	// Forecast is the share that is expected to go right; 0: nothing is known yet.
	Forecast float64
}

// How hard something may be: the share to expect of it. Practice in which nearly
// all or nearly nothing goes right teaches little (derived).
const (
	hardest = .4
	easiest = .8
	aim     = (hardest + easiest) / 2
)

// How much easier a drill is than a patient, and a difficulty than the next, on
// logits; what is expected of somebody of whom nothing is known; and how often a
// patient is healthy, or has something of the very skill (derived: a patient
// offered for a skill must not tell by that what it has).
const (
	drillEase   = 1.0
	stepEase    = .4
	middling    = 3
	unknown     = .35
	oneHealthy  = 4
	oneOther    = 3
	lastSystems = 2
)

// Offers are three things to do next: one that is due, or that somebody has never
// met, one that is weak, and a mixed patient. Where nothing is due or weak another patient takes its place.
// Fewer only where there is nobody else to meet.
func Offers(w World) []Offer {
	o := offering{World: w, skills: SkillsOf(w.Judgements, w.Skills)}
	weak := o.weakest()
	due := cmp.Or(o.unmet(), o.overdue(weak))
	var out []Offer
	for i, row := range []struct {
		why   Why
		skill string
	}{{Due, due}, {Weak, weak}, {Mixed, ""}} {
		if row.why != Mixed && row.skill == "" {
			row.why = Mixed
		}
		if offer, ok := o.offer(row.why, row.skill, mix(w.Draw+uint64(i))); ok {
			out = append(out, offer)
		}
	}
	return out
}

// offering is a set of offers in the making.
type offering struct {
	World
	skills []Skill
	taken  []string // patients and drills that are offered already
}

// weakest is the skill that is weak most surely: of those of which less is expected
// than of the easiest offer, the one whose interval ends lowest. The lowest
// middle would be that of which the least was seen. Empty: none.
func (o *offering) weakest() string {
	best, least := "", math.Inf(1)
	for _, s := range o.skills {
		if s.Lines > 0 && s.Middle < easiest && s.High < least {
			best, least = s.ID, s.High
		}
	}
	return best
}

// unmet is a skill that was not met yet by somebody who has begun: visits that ask
// for a part of the animal only may never come to it.
func (o *offering) unmet() string {
	i := slices.IndexFunc(o.skills, func(s Skill) bool { return s.Lines == 0 })
	if i < 0 || len(o.Judgements) == 0 {
		return ""
	}
	return o.skills[i].ID
}

// overdue is the skill that has been due the longest, another than the weak one.
func (o *offering) overdue(weak string) string {
	best, since := "", time.Time{}
	for _, s := range o.skills {
		if s.ID != weak && !s.Due.IsZero() && !s.Due.After(o.Now) && (best == "" || s.Due.Before(since)) {
			best, since = s.ID, s.Due
		}
	}
	return best
}

func (o *offering) skill(id string) Skill {
	if i := slices.IndexFunc(o.skills, func(s Skill) bool { return s.ID == id }); i >= 0 {
		return o.skills[i]
	}
	return Skill{}
}

// offer finds a drill or a patient. What is due is kept up in two minutes where
// there is a drill; what is weak is met in a patient, unless that is too hard.
func (o *offering) offer(why Why, skill string, draw uint64) (Offer, bool) {
	out := Offer{Why: why, Skill: o.skill(skill)}
	drill, drilled := o.drill(skill)
	p, met := o.patient(skill, draw)
	if drilled && (!met || why == Due || o.forecast(skill, easeOf(p)) < hardest) {
		out.Drill, out.Forecast = drill.ID, o.forecast(skill, drillEase)
		o.taken = append(o.taken, "drill "+drill.ID)
		return out, true
	}
	if !met {
		return Offer{}, false
	}
	out.Patient = p.ID
	if len(o.Judgements) > 0 {
		out.Forecast = o.forecast(skill, easeOf(p))
	}
	o.taken = append(o.taken, p.ID)
	return out, true
}

// drill is a drill of a skill that is not offered yet, now one and now another.
func (o *offering) drill(skill string) (Drill, bool) {
	var fit []Drill
	for _, d := range o.Drills {
		if d.Skill == skill && skill != "" && !slices.Contains(o.taken, "drill "+d.ID) {
			fit = append(fit, d)
		}
	}
	if len(fit) == 0 {
		return Drill{}, false
	}
	return fit[mix(o.Draw)%uint64(len(fit))], true
}

// patient is somebody to meet: one in four healthy, of the others two in three
// with something of the skill; one in whom all is asked for, since to be offered another would tell that it
// has it; never of the last two systems; of the species that
// are being learnt, a mixed one of that met the longest ago; whom one has not met, or met the longest ago; and about as
// hard as it should be.
func (o *offering) patient(skill string, draw uint64) (Patient, bool) {
	fit := keep(o.Patients, func(p Patient) bool { return !slices.Contains(o.taken, p.ID) && (p.Healthy || !o.lately(p.System)) }, nil)
	last := o.lastOfSpecies()
	fit = keep(fit, func(p Patient) bool { return !last[p.Species].IsZero() }, fit)
	healthy, own := draw%oneHealthy == 0, draw/oneHealthy%oneOther != 0
	if skill != "" || len(o.Judgements) == 0 {
		fit = keep(fit, func(p Patient) bool { return p.Whole }, fit)
	}
	fit = keep(fit, func(p Patient) bool { return p.Healthy == healthy }, fit)
	if !healthy && skill != "" {
		fit = keep(fit, func(p Patient) bool { return slices.Contains(p.Skills, skill) == own }, fit)
	}
	if skill == "" && len(fit) > 0 {
		longest := slices.MinFunc(fit, func(a, b Patient) int { return last[a.Species].Compare(last[b.Species]) }).Species
		fit = keep(fit, func(p Patient) bool { return p.Species == longest || len(last) == 0 }, fit)
	}
	if len(fit) == 0 {
		return Patient{}, false
	}
	return slices.MinFunc(fit, func(a, b Patient) int {
		return cmp.Or(o.lastMet(a.Case).Compare(o.lastMet(b.Case)), cmp.Compare(o.off(skill, a), o.off(skill, b)), cmp.Compare(mix(draw^sum(a.ID)), mix(draw^sum(b.ID))))
	}), true
}

// keep is what fits; where nothing does, what is given instead.
func keep(all []Patient, fits func(Patient) bool, instead []Patient) []Patient {
	fit := slices.DeleteFunc(slices.Clone(all), func(p Patient) bool { return !fits(p) })
	if len(fit) == 0 {
		return instead
	}
	return fit
}

// lately says whether one of the last two patients was about this system.
func (o *offering) lately(system string) bool {
	for _, m := range o.Met[max(0, len(o.Met)-lastSystems):] {
		if m.System == system && system != "" {
			return true
		}
	}
	return false
}

// lastOfSpecies is when somebody last met one of each species.
func (o *offering) lastOfSpecies() map[string]time.Time {
	last := map[string]time.Time{}
	for _, m := range o.Met {
		last[m.Species] = m.At
	}
	return last
}

// lastMet is when somebody last met a patient; zero: never.
func (o *offering) lastMet(id string) (at time.Time) {
	for _, m := range o.Met {
		if m.Case == id {
			at = m.At
		}
	}
	return at
}

// off is how far a patient lies from what it should be like: nothing within the
// bounds, so that chance decides among those.
func (o *offering) off(skill string, p Patient) float64 {
	f := o.forecast(skill, easeOf(p))
	if f >= hardest && f <= easiest {
		return 0
	}
	return math.Abs(f - aim)
}

func easeOf(p Patient) float64 {
	if p.Difficulty == 0 {
		return 0
	}
	return stepEase * float64(middling-p.Difficulty)
}

// forecast is the share that is expected to go right in something that is easier
// than the middle by so much; without a skill, of all skills together.
func (o *offering) forecast(skill string, ease float64) float64 {
	m, n := 0.0, 0
	for _, s := range o.skills {
		if s.Lines > 0 && (skill == "" || s.ID == skill) {
			m, n = m+s.Middle, n+1
		}
	}
	if n == 0 {
		m, n = unknown, 1
	}
	m /= float64(n)
	return 1 / (1 + (1-m)/m*math.Exp(-ease))
}

// mix spreads a number over all bits (the finaliser of splitmix64, Steele, Lea
// and Flood 2014, from memory).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// sum makes a number of a text (FNV-1a, from memory).
func sum(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(s) {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return h
}

// DrawFor is the chance of somebody's offers: they stay while nothing new was done.
func DrawFor(person string, done int) uint64 { return mix(sum(person) + uint64(done)) }
