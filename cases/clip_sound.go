package cases

import (
	"slices"
	"strings"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// ear is a step with a stethoscope: how near heart, breath, upper airway and
// belly are there, in thousandths, and what is heard. Where a field has sites of
// its own that the step has not, near names whose are heard, nearest first.
// Where the other hand is at an artery, lies names the step at whose first site
// the chest piece lies meanwhile, and felt the fields of that artery: what is
// felt moves in the second channel, and is told in words as well.
type ear struct {
	step                     string
	heart, air, upper, belly int
	pants                    senses.Sound // what panting sounds like there
	fields                   []string
	near                     map[string][]string
	lies                     string
	felt                     []string
}

// Heard says whether a step has a sound: Sound gives it for an act that was not refused.
func Heard(step string) bool {
	return slices.ContainsFunc(ears, func(x ear) bool { return x.step == step })
}

// heardAtStep says whether a field is part of what a step hears.
func heardAtStep(step, field string) bool {
	return slices.ContainsFunc(ears, func(x ear) bool { return x.step == step && slices.Contains(x.fields, field) })
}

// ears are the steps that have a sound. The heart is heard through the lungs and
// the breath over the heart, each far fainter than at its own place (the
// figures are derived).
var ears = []ear{
	{step: "heart.auscultate", heart: 1000, air: 300, upper: 350, pants: senses.Pant, fields: ofChest, near: lungsNearHeart},
	{step: "pulse.palpate", heart: 1000, air: 300, upper: 350, pants: senses.Pant, fields: append([]string{"pulse.synchrony"}, ofChest...),
		near: lungsNearHeart, lies: "heart.auscultate", felt: []string{"pulse.quality"}},
	{step: "lungs.auscultate", heart: 160, air: 1000, upper: 250, pants: senses.Rustle, fields: ofChest,
		near: map[string][]string{"heart.murmur": {"apex", "sternal border", "base"}}},
	{step: "throat.auscultate", air: 1000, upper: 800, pants: senses.Pant,
		fields: []string{"resp.effort", "resp.pattern", "resp.noise", "trachea.sounds"}},
	{step: "abdomen.auscultate", air: 110, upper: 200, belly: 1000,
		fields: []string{"resp.effort", "resp.pattern", "resp.noise", "gut.sounds"}},
	{step: "rumen.auscultate", air: 110, belly: 1000,
		fields: []string{"resp.effort", "resp.pattern", "rumen.contractions"}},
}

// ofChest are the fields of heart and breath. The time of a murmur stands before
// the murmur, which is put together by it.
var ofChest = []string{"heart.rhythm", "heart.sounds", "heart.timing", "heart.murmur", "resp.effort", "resp.pattern", "lung.sounds", "resp.noise"}

var lungsNearHeart = map[string][]string{"lung.sounds": {"ventral", "cranial", "caudal"}}

// listening is a scene that is being put together.
type listening struct {
	senses.Scene
	*ear
	large  bool         // horses and cattle, whose healthy lungs are near silent
	hushed bool         // a purr was hushed
	shape  senses.Shape // of a murmur that is loudest where this patient's is
	timing senses.Timing
}

// tone is a row: what a choice of a field changes in the scene. Choice "*" is
// any abnormal one that has no row of its own.
type tone struct {
	field, choice string
	change        func(*listening)
}

// tones are the findings that are heard. What is normal changes nothing, and has
// its row all the same, so that no choice is forgotten.
var tones = []tone{
	{"heart.rhythm", "regular", as},
	{"heart.rhythm", "sinus arrhythmia", func(l *listening) { l.Heart.Rhythm = senses.Sinus }},
	{"heart.rhythm", "left out", func(l *listening) { l.Heart.Rhythm = senses.Blocked }},
	{"heart.rhythm", "dropped beats", func(l *listening) { l.Heart.Rhythm = senses.Early }},
	{"heart.rhythm", "chaotic", func(l *listening) { l.Heart.Rhythm = senses.Irregular }},
	{"heart.rhythm", "*", func(l *listening) { l.Heart.Rhythm = senses.Irregular }},
	{"heart.sounds", "clear", as},
	{"heart.sounds", "muffled", func(l *listening) { l.Heart.Muffled = true }},
	{"heart.sounds", "gallop", func(l *listening) { l.Heart.Third = true }},
	{"heart.sounds", "muffled gallop", func(l *listening) { l.Heart.Third, l.Heart.Muffled = true, true }},
	{"heart.sounds", "third", func(l *listening) { l.Heart.Third = true }},
	{"heart.sounds", "fourth", func(l *listening) { l.Heart.Fourth = true }},
	{"heart.sounds", "split", func(l *listening) { l.Heart.Split = true }},
	{"heart.timing", "none", as},
	{"heart.timing", "systolic", as},
	{"heart.timing", "diastolic", func(l *listening) { l.timing = senses.Diastolic }},
	{"heart.timing", "continuous", func(l *listening) { l.timing = senses.Continuous }},
	{"heart.murmur", "none", as},
	{"heart.murmur", "1", murmur(1)},
	{"heart.murmur", "2", murmur(2)},
	{"heart.murmur", "3", murmur(3)},
	{"heart.murmur", "4", murmur(4)},
	{"heart.murmur", "5", murmur(5)},
	{"heart.murmur", "6", murmur(6)},
	{"pulse.synchrony", "every beat", as},
	{"pulse.synchrony", "missing beats", func(l *listening) { l.Pulse.Misses = true }},
	{"pulse.quality", "strong", feel(senses.Strong)},
	{"pulse.quality", "bounding", feel(senses.Bounding)},
	{"pulse.quality", "weak", feel(senses.Weak)},
	{"pulse.quality", "slow rising", feel(senses.SlowRising)},
	{"pulse.quality", "changing", feel(senses.Changing)},
	{"pulse.quality", "absent", feel(senses.Absent)},
	{"pulse.quality", "faint alike", feel(senses.Slight)},
	{"resp.effort", "none", as},
	{"resp.effort", "mild", effort(1)},
	{"resp.effort", "moderate", effort(2)},
	{"resp.effort", "severe", effort(3)},
	{"resp.effort", "agonal", effort(4)},
	{"resp.pattern", "even", as},
	{"resp.pattern", "panting", func(l *listening) { l.Air.In, l.Air.Out, l.Air.Sound = 480, 480, l.pants }},
	{"resp.pattern", "open mouth", func(l *listening) { l.Air.In, l.Air.Out, l.Air.Sound = 480, 480, l.pants }},
	{"resp.pattern", "rapid shallow", pace(440, 440)},
	{"resp.pattern", "deep both", pace(480, 480)},
	{"resp.pattern", "long in", pace(650, 270)},
	{"resp.pattern", "long out", pace(270, 650)},
	{"resp.pattern", "opposed", as}, // is seen, not heard
	{"lung.sounds", "clear", func(l *listening) {
		if l.large {
			l.Air.Sound = senses.Whisper
		}
	}},
	{"lung.sounds", "harsh", sounds(senses.Harsh)},
	{"lung.sounds", "fine crackles", adds(senses.FineCrackles)},
	{"lung.sounds", "coarse crackles", adds(senses.CoarseCrackles)},
	{"lung.sounds", "wheezes", adds(senses.Wheezes)},
	{"lung.sounds", "absent", sounds(senses.Faint)},
	{"lung.sounds", "rub", adds(senses.Rub)},
	{"resp.noise", "none", as},
	{"resp.noise", "snoring", carries(senses.Stertor)},
	{"resp.noise", "whistling", carries(senses.Stridor)},
	{"resp.noise", "wheezing", carries(senses.Wheezes)},
	{"resp.noise", "purring", func(l *listening) {
		if !l.hushed {
			l.Air.Extra[senses.Purr] = min(1000*1000/l.air, 4000) // as loud everywhere on the trunk
		}
	}},
	{"trachea.sounds", "hollow", sounds(senses.Hollow)},
	{"trachea.sounds", "harsh", func(l *listening) { l.Air.Sound = senses.Hollow; adds(senses.Stridor)(l) }},
	{"trachea.sounds", "rattling", func(l *listening) { l.Air.Sound = senses.Hollow; adds(senses.Stertor)(l) }},
	{"gut.sounds", "now and then", func(l *listening) { l.Belly.Gurgles = 7 }},
	{"gut.sounds", "many", func(l *listening) { l.Belly.Gurgles = 34 }},
	{"gut.sounds", "few", func(l *listening) { l.Belly.Drips = 2 }},
	{"gut.sounds", "none", as},
	{"gut.sounds", "flush", func(l *listening) { l.Belly.Rushes = 2 }},
	{"rumen.contractions", "usual", func(l *listening) { l.Belly.Rolls = 2 }},
	{"rumen.contractions", "few", func(l *listening) { l.Belly.Rolls, l.Belly.Weak = 1, true }},
	{"rumen.contractions", "none", func(l *listening) { l.Belly.Drips = 1 }},
}

// as leaves the scene as it is.
func as(*listening) {}

// murmur is one in its time; one that begins with the second sound fades from
// there on (common practice, no source).
func murmur(grade int) func(*listening) {
	return func(l *listening) {
		shape := l.shape
		if l.timing == senses.Diastolic {
			shape = senses.Falling
		}
		l.Heart.Murmurs = append(l.Heart.Murmurs, senses.Murmur{Timing: l.timing, Shape: shape, Grade: grade})
	}
}

func feel(f senses.Feel) func(*listening) { return func(l *listening) { l.Pulse.Feel = f } }

func effort(much int) func(*listening) { return func(l *listening) { l.Air.Effort = much } }

func pace(in, out int) func(*listening) {
	return func(l *listening) { l.Air.In, l.Air.Out = in, out }
}

func sounds(s senses.Sound) func(*listening) { return func(l *listening) { l.Air.Sound = s } }

func adds(x senses.Extra) func(*listening) { return func(l *listening) { l.Air.Extra[x] = 1000 } }

// carries is a noise of nose or throat, heard further down as well.
func carries(x senses.Extra) func(*listening) {
	return func(l *listening) { l.Air.Extra[x] = max(l.Air.Extra[x], l.upper) }
}

// toneOf is the row of a choice, or nil.
func toneOf(f *Field, choice string) *tone {
	i := slices.IndexFunc(tones, func(t tone) bool { return t.field == f.ID && t.choice == choice })
	if i < 0 && f.Abnormal(choice) {
		i = slices.IndexFunc(tones, func(t tone) bool { return t.field == f.ID && t.choice == "*" })
	}
	if i < 0 {
		return nil
	}
	return &tones[i]
}

// earOf finds where an examine act listens, and the state in which it did.
func (p *Patient) earOf(e rubric.Entry) (*ear, state, error) {
	i := slices.IndexFunc(ears, func(x ear) bool { return x.step == e.Act.Step })
	if i < 0 || p.cat.Step(e.Act.Step) == nil || e.Act.Kind != rubric.Examine || e.Outcome.Refused || len(e.Outcome.State) == 0 {
		return nil, state{}, ErrNothingThere
	}
	s, err := p.opens(e.Outcome.State)
	return &ears[i], s, err
}

// scene is what is audible at an examine act.
func (p *Patient) scene(e rubric.Entry, phase uint64) (senses.Scene, error) {
	where, s, err := p.earOf(e)
	if err != nil {
		return senses.Scene{}, err
	}
	site := p.chestPiece(where, e.Act.Site)
	l := &listening{ear: where, hushed: p.did(&s, "hush"), large: p.cat.Species == "horse" || p.cat.Species == "cattle"}
	l.Phase = phase
	l.Heart = senses.Heart{Rate: p.rateNow(&s, "heart_rate"), Loud: where.heart, Base: strings.Contains(site, "base")}
	l.Air = senses.Air{Rate: p.rateNow(&s, "resp_rate"), Loud: where.air}
	l.Belly.Loud = where.belly
	l.Heart.Breaths = l.Air.Rate
	for _, id := range where.fields {
		p.hears(l, id, site)
	}
	if len(where.felt) > 0 {
		l.Pulse.Feel = senses.Strong
	}
	for _, id := range where.felt {
		p.hears(l, id, e.Act.Site)
	}
	if p.fat() {
		l.Heart.Loud, l.Air.Loud, l.Belly.Loud = l.Heart.Loud*throughFat/1000, l.Air.Loud*throughFat/1000, l.Belly.Loud*throughFat/1000
	}
	return l.Scene, nil
}

// chestPiece is the site at which an ear listens while an act is at another.
func (p *Patient) chestPiece(where *ear, site string) string {
	if where.lies == "" {
		return site
	}
	if step := p.cat.Step(where.lies); step != nil && len(step.Sites) > 0 {
		return step.Sites[0]
	}
	return ""
}

// throughFat is what a thick cover of fat lets through, in thousandths: 4 dB less
// (derived). It makes all softer, and nothing dull.
const throughFat = 630

// fat says whether the body condition is one of the two highest of nine, or the
// highest of a scale of fewer.
func (p *Patient) fat() bool {
	i := slices.IndexFunc(p.cat.Fields, func(f Field) bool { return f.Vital == "body_condition" })
	if i < 0 {
		return false
	}
	f := &p.cat.Fields[i]
	ch, n := f.Band(p.truth.at(rubric.Place{Field: f.ID})), len(f.Of)
	if ch == nil {
		return false
	}
	return ch.ID == f.Of[n-1].ID || n >= 9 && ch.ID == f.Of[n-2].ID
}

// heardHere is the value by whose words a field is heard at a site: the time of
// a murmur is heard only where the murmur is.
func (p *Patient) heardHere(f *Field, value, site string) string {
	murmur := p.cat.Field("heart.murmur")
	if f.ID != "heart.timing" || murmur == nil || len(f.Normal) == 0 {
		return value
	}
	if at, ok := p.somewhere(murmur.ID, site); ok && !murmur.Abnormal(p.truth.at(at)) {
		return f.Normal[0]
	}
	return value
}

// hears changes the scene by one field, as it is at this site or nearest to it.
func (p *Patient) hears(l *listening, id, site string) {
	f := p.cat.Field(id)
	if f == nil {
		return
	}
	at, ok := p.somewhere(id, heardAt(f, site, l.near[id]))
	if !ok {
		return
	}
	if f.Strongest {
		l.shape = p.shapeOf(f)
	}
	if row := toneOf(f, p.truth.at(at)); row != nil {
		row.change(l)
	}
}

// shapeOf is the usual shape of a murmur that is loudest there: rising and
// falling at the base, level elsewhere (common practice, no source).
func (p *Patient) shapeOf(f *Field) senses.Shape {
	if site, _ := p.strongest(f); strings.Contains(site, "base") {
		return senses.Diamond
	}
	return senses.Plateau
}

// heardAt is the site of a field that is heard at a site of the step: the same,
// or the first of the words' on the same side.
func heardAt(f *Field, site string, words []string) string {
	if slices.Contains(f.Sites, site) || len(f.Sites) == 0 {
		return site
	}
	side, _, _ := strings.Cut(site, " ")
	if side != "right" {
		side = "left"
	}
	for _, w := range words {
		for _, there := range []string{side + " " + w, w} {
			if slices.Contains(f.Sites, there) {
				return there
			}
		}
	}
	return site
}

// rateNow is a rate at this moment; that of the dead is nought.
func (p *Patient) rateNow(s *state, vital string) int {
	i := slices.IndexFunc(p.cat.Fields, func(f Field) bool { return f.Vital == vital })
	if i < 0 || s.ended == arrested {
		return 0
	}
	f := &p.cat.Fields[i]
	m, err := rubric.ParseMilli(p.now(s, f, rubric.Place{Field: f.ID}, ""))
	if err != nil {
		return 0
	}
	return int(m / 1000)
}
