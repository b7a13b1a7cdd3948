// Package robot holds simulated students. They act only through the patient:
// they examine, read what is sensed, and chart it. None of them looks at a
// hidden truth. A good one proves that a case can be examined rightly; the ones
// without skill prove that luck, guessing and touching nothing do not pass; a
// middling one makes data to look at.
package robot

import (
	"math/rand/v2"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// Student is a way to go through a visit: it returns the acts, in order.
type Student func(p *cases.Patient, k rubric.Key) []rubric.Act

// style is what a student is like. Chances are per mille.
type style struct {
	seed     uint64
	every    bool // does every step of the catalogue, required or not
	shuffle  int  // chance that a step is moved elsewhere
	forget   int  // chance to leave a step, a site or a question out
	hasty    int  // chance to spend half the seconds
	misread  int  // chance to chart something sensed as normal, or one off
	miscount int  // chance to count one event more or less
	careless int  // chance to leave a precaution out
	deaf     bool // pays no heed to what the animal shows
	rough    bool // firm hands, no precautions, no oxygen
	chart    charting
	muddled  int  // chance to conclude something else
	way      *Way // nil: the first accepted route
}

// charting is how a student fills the sheet.
type charting int

const (
	faithful charting = iota
	allNormal
	guessing
)

// Ideal does every required step in an accepted order with enough contact,
// counts rates from what it hears and sees, charts what it senses, heeds the
// animal and concludes rightly. In triage it does what is required and stops.
func Ideal(p *cases.Patient, k rubric.Key) []rubric.Act {
	return visit(p, k, style{})
}

// RoutineNormal does every step in order and charts everything as normal.
func RoutineNormal(p *cases.Patient, k rubric.Key) []rubric.Act {
	return visit(p, k, style{every: true, chart: allNormal})
}

// RandomChart does every step in order and charts at random.
func RandomChart(p *cases.Patient, k rubric.Key, seed uint64) []rubric.Act {
	return visit(p, k, style{seed: seed, every: true, chart: guessing})
}

// RandomOrder does what Ideal does in random order.
func RandomOrder(p *cases.Patient, k rubric.Key, seed uint64) []rubric.Act {
	return visit(p, k, style{seed: seed, shuffle: 1000})
}

// Reckless works through the whole animal with firm hands and heeds nothing.
func Reckless(p *cases.Patient, k rubric.Key) []rubric.Act {
	return visit(p, k, style{every: true, rough: true, deaf: true})
}

// levels are the middling students, from 1, a beginner, to 5, nearly there.
var levels = [...]style{
	{shuffle: 300, forget: 350, hasty: 400, misread: 400, miscount: 500, careless: 700, muddled: 700},
	{shuffle: 200, forget: 230, hasty: 280, misread: 280, miscount: 400, careless: 500, muddled: 500},
	{shuffle: 120, forget: 140, hasty: 180, misread: 180, miscount: 280, careless: 300, muddled: 320},
	{shuffle: 50, forget: 70, hasty: 90, misread: 100, miscount: 160, careless: 150, muddled: 160},
	{shuffle: 15, forget: 25, hasty: 30, misread: 40, miscount: 80, careless: 50, muddled: 60},
}

// Typical is a student at a level from 1 to 5 who forgets, hurries, miscounts
// and misses; the seed makes one student differ from another.
func Typical(p *cases.Patient, k rubric.Key, level int, seed uint64) []rubric.Act {
	s := levels[min(max(level, 1), len(levels))-1]
	s.seed = seed
	return visit(p, k, s)
}

// chance draws.
type chance struct{ *rand.PCG }

func newChance(seed uint64) chance { return chance{rand.NewPCG(seed, 0x6465776c6177)} }

// below draws from 0..n-1.
func (c chance) below(n int) int {
	if n <= 1 {
		return 0
	}
	return int(c.Uint64() % uint64(n))
}

// one says whether something with a chance per mille happens. It draws nothing
// where it cannot.
func (c chance) one(perMille int) bool { return perMille > 0 && c.below(1000) < perMille }
