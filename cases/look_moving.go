package cases

import (
	"slices"
	"strings"

	"dewclaw/cases/senses"
)

// movingLooks are the pictures that move. A refill shows the gum in its own
// colour, which is seen wherever it is pressed.
var movingLooks = []look{
	{"breathing", []string{"resp.rate", "resp.pattern", "resp.effort"}, true, func(v *view) senses.Picture { return v.breath().Picture() }},
	{"refill", []string{"crt", "mm.colour"}, true, func(v *view) senses.Picture { return v.refill().Picture() }},
	{"tent", []string{"skin.turgor"}, true, func(v *view) senses.Picture { return v.moving("skin.turgor").tent.Picture() }},
	{"pupils", []string{"pupil.size", "pupil.light", "pupil.consensual", "lens.clarity", "iris.look"}, true, func(v *view) senses.Picture { return v.pupils().Picture() }},
	{"gait", []string{"lameness", "gait.coordination"}, true, func(v *view) senses.Picture { return v.gait().Picture() }},
}

// scenery is a picture that is being put together.
type scenery struct {
	breath senses.Breath
	tent   senses.Tent
	pupils senses.Pupils
	gait   senses.Gait
	limb   int // that is watched, in the order of a Gait's
}

// sight is a row: what a choice of a field changes in its picture.
type sight struct {
	field, choice string
	change        func(*scenery)
}

// sights are the findings that are seen to move. What is normal changes nothing,
// and has its row all the same, so that no choice is forgotten. The time that a
// fold takes is derived: the trade grades it by category.
var sights = []sight{
	{"resp.pattern", "even", asDrawn},
	{"resp.pattern", "panting", breathes(480, 480, senses.Quick, func(b *senses.Breath) { b.Open = true })},
	{"resp.pattern", "open mouth", breathes(480, 480, senses.Quick, func(b *senses.Breath) { b.Open = true })},
	{"resp.pattern", "rapid shallow", breathes(440, 440, senses.Shallow)},
	{"resp.pattern", "deep both", breathes(480, 480, senses.Deep)},
	{"resp.pattern", "long in", breathes(650, 270, senses.Usual)},
	{"resp.pattern", "long out", breathes(270, 650, senses.Usual, func(b *senses.Breath) { b.Push = true })},
	{"resp.pattern", "opposed", breathes(0, 0, senses.Usual, func(b *senses.Breath) { b.Opposed = true })},
	{"resp.effort", "none", asDrawn},
	{"resp.effort", "mild", labours(1)},
	{"resp.effort", "moderate", labours(2)},
	{"resp.effort", "severe", labours(3)},
	{"resp.effort", "agonal", labours(4)},
	{"skin.turgor", "at once", tents(200, false)},
	{"skin.turgor", "slight delay", tents(1200, false)},
	{"skin.turgor", "slow", tents(3200, false)},
	{"skin.turgor", "stays", tents(0, true)},
	{"pupil.size", "middling", asDrawn},
	{"pupil.size", "wide with fear", rests(senses.PupilKeyedUp)},
	{"pupil.size", "wide", rests(senses.PupilWide)},
	{"pupil.size", "narrow", rests(senses.PupilNarrow)},
	{"pupil.light", "brisk", asDrawn},
	{"pupil.light", "slow", answers(senses.AnswerSlow)},
	{"pupil.light", "none", answers(senses.AnswerFixed)},
	{"pupil.consensual", "follows", func(s *scenery) { s.pupils.Follows = true }},
	{"pupil.consensual", "stays wide", asDrawn},
	{"lens.clarity", "clear", asDrawn},
	{"lens.clarity", "blue haze", lens(senses.LensHaze)},
	{"lens.clarity", "white patch", lens(senses.LensPatch)},
	{"lens.clarity", "white", lens(senses.LensWhite)},
	{"iris.look", "even", asDrawn},
	{"iris.look", "brown specks", iris(senses.IrisSpecks)},
	{"iris.look", "lacy edge", iris(senses.IrisLacy)},
	{"iris.look", "rusty", iris(senses.IrisRusty)},
	{"lameness", "0", asDrawn},
	{"lameness", "1", lame(1)},
	{"lameness", "2", lame(2)},
	{"lameness", "3", lame(3)},
	{"lameness", "4", lame(4)},
	{"lameness", "5", lame(5)},
	{"gait.coordination", "sure", asDrawn},
	{"gait.coordination", "swaying", goes(senses.Swaying)},
	{"gait.coordination", "knuckling", goes(senses.Knuckled)},
	{"gait.coordination", "stiff", goes(senses.Stiff)},
	{"gait.coordination", "splayed", goes(senses.Splayed)},
	{"gait.coordination", "climbs", goes(senses.Climbing)},
}

// asDrawn leaves the picture as it is.
func asDrawn(*scenery) {}

func breathes(in, out int, depth senses.Depth, more ...func(*senses.Breath)) func(*scenery) {
	return func(s *scenery) {
		s.breath.In, s.breath.Out, s.breath.Depth = in, out, depth
		for _, f := range more {
			f(&s.breath)
		}
	}
}

func labours(effort int) func(*scenery) { return func(s *scenery) { s.breath.Effort = effort } }

func tents(millis int, stays bool) func(*scenery) {
	return func(s *scenery) { s.tent = senses.Tent{Millis: millis, Stays: stays} }
}

func rests(w senses.Width) func(*scenery)    { return func(s *scenery) { s.pupils.Size = w } }
func answers(a senses.Answer) func(*scenery) { return func(s *scenery) { s.pupils.Direct = a } }
func lens(l senses.Lens) func(*scenery)      { return func(s *scenery) { s.pupils.Lens = l } }
func iris(i senses.Iris) func(*scenery)      { return func(s *scenery) { s.pupils.Iris = i } }
func goes(m senses.Gaited) func(*scenery)    { return func(s *scenery) { s.gait.Manner = m } }

func lame(grade int) func(*scenery) { return func(s *scenery) { s.gait.Lame[s.limb] = grade } }

// sightOf is the row of a choice, or nil.
func sightOf(field, choice string) *sight {
	i := slices.IndexFunc(sights, func(s sight) bool { return s.field == field && s.choice == choice })
	if i < 0 {
		return nil
	}
	return &sights[i]
}

// moving is what the given fields change at the site that is looked at: what the
// step does not show there is drawn as if it were normal.
func (v *view) moving(fields ...string) scenery {
	s := scenery{}
	if strings.HasSuffix(v.site, "hind") {
		s.limb = 2
	}
	for _, f := range fields {
		if row := sightOf(f, v.seen(f)); row != nil {
			row.change(&s)
		}
	}
	return s
}

// breath is the chest that is watched; that of the dead stands still.
func (v *view) breath() senses.Breath {
	b := v.moving("resp.pattern", "resp.effort").breath
	b.Species, b.Dry, b.Rate, b.Phase = v.species(), v.dry(), v.p.rateNow(&v.state, "resp_rate"), v.phase
	return b
}

func (v *view) refill() senses.Refill {
	return senses.Refill{Species: v.species(), Millis: v.milli("crt"), Colour: v.choice("mm.colour")}
}

func (v *view) pupils() senses.Pupils {
	p := v.moving("pupil.size", "pupil.light", "pupil.consensual", "lens.clarity", "iris.look").pupils
	p.Species, p.Right = v.species(), v.site == "right"
	return p
}

// gait shows the side of the limb that is watched, and no other limb's lameness.
func (v *view) gait() senses.Gait {
	g := v.moving("lameness", "gait.coordination").gait
	g.Species, g.Dry, g.Right = v.species(), v.dry(), strings.HasPrefix(v.site, "right")
	return g
}
