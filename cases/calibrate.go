package cases

import "slices"

// The scale of stress and of tension runs from 0 to 1000. Stress is what heart,
// breathing and temperature follow; tension is how much of the patience for
// being handled is used up. An ordinary visit of a wary animal brings a stress
// of about usualStress.
const usualStress = 400

// reaction says how far the vital signs of a species move with stress: in
// thousandths of the value at rest at usualStress, and in thousandths of a
// degree. Every figure has its source.
type reaction struct {
	species string
	heart   int
	breath  int
	degrees int
	source  string
}

// The first row is taken for a species that has none of its own.
var reactions = []reaction{
	{species: "dog", heart: 110, breath: 370, degrees: 150,
		source: "Heart: 11 % higher in hospital than at home, Bragg et al., J Am Vet Med Assoc 2015;246:212 (from memory). " +
			"Breathing: 19 a minute awake at home, Rishniw et al., Res Vet Sci 2012;93:965, against 26, the middle of the " +
			"resting range 18 to 34 met in clinics (Merck table, from memory). Temperature: less than 1 % higher, Bragg (from memory)."},
	{species: "cat", heart: 169, breath: 556, degrees: 60,
		source: "Heart 160 at home, 187 in hospital; breathing 45 and 70: Conti et al., J Feline Med Surg 2017;19:165. " +
			"Temperature not reported as differing: Quimby et al., J Feline Med Surg 2011;13:733."},
	{species: "horse", heart: 150, breath: 300, degrees: 100, source: "Common practice, no source."},
	{species: "cattle", heart: 150, breath: 300, degrees: 100, source: "Common practice, no source."},
	{species: "rabbit", heart: 100, breath: 300, degrees: 200, source: "Common practice, no source."},
}

func reactionOf(species string) reaction {
	i := slices.IndexFunc(reactions, func(r reaction) bool { return r.species == species })
	return reactions[max(i, 0)]
}

// temper is how an animal of a demeanour takes to being handled. The figures
// are ours: they are tuned so that a friendly animal bears a whole orderly
// examination, a wary one shows that it has enough, and a fearful one refuses
// unless it is given time (common practice, no source).
type temper struct {
	demeanour string
	base      int // stress to which it settles in the room
	arrives   int // stress when the student comes in
	gain      int // per mille by which a step's stress counts
	bites     bool
}

var tempers = []temper{
	{demeanour: "calm", base: 10, arrives: 30, gain: 2000},
	{demeanour: "friendly", base: 30, arrives: 80, gain: 2400},
	{demeanour: "wary", base: 150, arrives: 220, gain: 3600, bites: true},
	{demeanour: "fearful", base: 260, arrives: 360, gain: 5000, bites: true},
	{demeanour: "defensive", base: 220, arrives: 320, gain: 5600, bites: true},
}

func temperOf(demeanour string) temper {
	i := slices.IndexFunc(tempers, func(t temper) bool { return t.demeanour == demeanour })
	return tempers[max(i, 0)]
}

// frailty is how an unstable animal worsens while hands are on it: its reserve
// of 1000 falls by so many a second of handling. Ours, tuned so that a short
// examination on oxygen is safe and a whole one without it is not (no source;
// that restraint may kill such an animal is common teaching).
type frailty struct {
	word    string
	loses   int // a second of handling
	regains int // a second of peace
}

var frailties = []frailty{
	{word: ""},
	{word: "moderate", loses: 2, regains: 2},
	{word: "severe", loses: 4, regains: 1},
}

func frailtyOf(word string) frailty {
	i := slices.IndexFunc(frailties, func(f frailty) bool { return f.word == word })
	return frailties[max(i, 0)]
}

// Half of what is above the base is gone after these seconds of peace (ours).
const (
	stressHalves  = 120
	tensionHalves = 75
)

// Thresholds of tension: first a sign, then a plainer one, then refusal, then teeth.
const (
	tensionSign   = 350
	tensionPlain  = 520
	tensionRefuse = 700
	tensionBite   = 820
)

// Thresholds of the reserve of a fragile animal.
const (
	reserveFull  = 1000
	reserveWorse = 700
	reserveLow   = 350
	reserveFloor = 60 // not below this before a sign was shown
)

// What oxygen leaves of the loss of reserve, per mille; what a hold that the
// animal resists multiplies it by, per mille.
const (
	onOxygen   = 250
	underForce = 2500
)

// What a manner makes of a step's stress, per mille.
var manners = map[string]int{"": 1000, "gentle": 600, "firm": 2000}

// How far the rates of a fragile animal rise as its reserve goes, per mille at
// none left (ours; the direction is the common teaching).
const (
	worseHeart  = 100
	worseBreath = 250
)
