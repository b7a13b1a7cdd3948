package cases

import (
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// notThere are fields of an ear that a species does not have, and why.
var notThere = map[string]string{
	"rabbit heart.timing":    "not told apart at such a rate",
	"rabbit pulse.synchrony": "ear and finger cannot be compared at such a rate",
}

// Every choice of every field that is heard has a row, in every species; and no
// row names what no species has.
func TestEveryChoiceThatIsHeardHasItsRow(t *testing.T) {
	l := Builtin()
	used := map[string]bool{}
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		for _, where := range ears {
			if c.Step(where.step) == nil {
				continue
			}
			for _, id := range slices.Concat(where.fields, where.felt) {
				f := c.Field(id)
				if notThere[species+" "+id] != "" {
					require.Nil(t, f, "%s %s", species, id)
					continue
				}
				require.NotNil(t, f, "%s has no %s, heard at %s", species, id, where.step)
				for _, choice := range f.Of {
					row := toneOf(f, choice.ID)
					require.NotNil(t, row, "%s: %s: %s", species, id, choice.ID)
					require.NotEqual(t, "*", row.choice, "%s: %s: %s has no row of its own", species, id, choice.ID)
					used[row.field+"="+row.choice] = true
				}
			}
		}
	}
	for _, row := range tones {
		require.True(t, row.choice == "*" || used[row.field+"="+row.choice], "no species has %s: %s", row.field, row.choice)
	}
}

// A step with a stethoscope has an ear, and what it reveals is heard.
func TestEveryStethoscopeHasAnEar(t *testing.T) {
	silent := map[string]string{
		"heart.trot":      "what is heard after a trot is told: the rate of a horse that has trotted is not simulated",
		"abdomen.percuss": "a ping is told: it is the sound of a finger, not of the patient",
	}
	l := Builtin()
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		for i := range c.Steps {
			step := &c.Steps[i]
			if step.Instrument != "stethoscope" || silent[step.ID] != "" {
				continue
			}
			at := slices.IndexFunc(ears, func(x ear) bool { return x.step == step.ID })
			require.GreaterOrEqual(t, at, 0, "%s: %s", species, step.ID)
			for _, id := range step.Reveals {
				require.True(t, slices.Contains(ears[at].fields, id) || id == "heart.rate", "%s: %s reveals %s", species, step.ID, id)
			}
			for _, site := range append([]string{""}, step.Sites...) {
				for field, words := range ears[at].near {
					f := c.Field(field)
					if site != "" && site != "base" {
						require.Contains(t, f.Sites, heardAt(f, site, words), "%s: %s at %s", species, field, site)
					}
				}
			}
		}
	}
}

// listens are all the steps and sites at which a patient can be listened to.
func listens(p *Patient) (acts []rubric.Act) {
	for _, where := range ears {
		step := p.cat.Step(where.step)
		if step == nil || !p.Applies(step.ID) {
			continue
		}
		for _, site := range step.Sites {
			acts = append(acts, examine(step.ID, site, 5))
		}
		if len(step.Sites) == 0 {
			acts = append(acts, examine(step.ID, "", 5))
		}
	}
	return acts
}

// alone is the entry of an act that is the first of a visit.
func alone(t testing.TB, p *Patient, act rubric.Act) rubric.Entry {
	t.Helper()
	tr := play(t, p, act)
	return tr[len(tr)-1]
}

// Every patient can be heard wherever a chest piece is put, and no clip tells
// from without what is in it: one length, one header.
func TestEveryPatientIsHeardEverywhere(t *testing.T) {
	l := Builtin()
	headers := map[bool][]byte{false: senses.Scene{}.WAV()[:44], true: senses.Scene{Pulse: senses.Pulse{Feel: senses.Strong}}.WAV()[:44]}
	for _, k := range l.Cases() {
		p, err := NewPatient(l, k, SeedOf(3))
		require.NoError(t, err)
		for _, act := range listens(p) {
			e := alone(t, p, act)
			if e.Outcome.Refused {
				continue
			}
			wav, err := p.Sound(e, 12345)
			require.NoError(t, err, "%s %s", k.ID, act.Step)
			felt := act.Step == "pulse.palpate"
			require.Len(t, wav, map[bool]int{false: 44 + 2*60*8000, true: 44 + 2*2*60*8000}[felt])
			require.Equal(t, headers[felt], wav[:44])
			peak := 0
			for i := 44; i < len(wav); i += 2 {
				v := int(int16(binary.LittleEndian.Uint16(wav[i:])))
				peak = max(peak, v, -v)
			}
			require.Less(t, peak, 32000, "%s %s %s clips", k.ID, act.Step, act.Site)
		}
	}
}

func loudness(wav []byte) float64 {
	sum := 0.0
	for i := 44; i < len(wav); i += 2 {
		v := float64(int16(binary.LittleEndian.Uint16(wav[i:])))
		sum += v * v
	}
	return 10 * math.Log10(sum/float64(len(wav)/2-22))
}

// heartOf is the heart alone, at the first place for it, of a patient.
func heartOf(t *testing.T, p *Patient) senses.Scene {
	t.Helper()
	s, err := p.scene(alone(t, p, examine("heart.auscultate", p.cat.Step("heart.auscultate").Sites[0], 15)), 1)
	require.NoError(t, err)
	return s
}

// One loudness of the earphones serves every patient: clear hearts without a
// murmur are as loud as each other within 3 dB where no fat lies over them, and
// all clips at the heart, with murmurs, breath and purr, within 16 dB.
func TestHeartsAreAboutAsLoud(t *testing.T) {
	l := Builtin()
	var clear, all []float64
	for _, k := range l.Cases() {
		p, err := NewPatient(l, k, SeedOf(1))
		require.NoError(t, err)
		s := heartOf(t, p)
		all = append(all, loudness(s.WAV()))
		if p.fat() || s.Heart.Muffled || s.Heart.Third || s.Air.Extra != (senses.Air{}).Extra || slices.ContainsFunc(s.Heart.Murmurs, func(m senses.Murmur) bool { return m.Grade > 0 }) {
			continue
		}
		s.Air.Loud = 0
		clear = append(clear, loudness(s.WAV()))
	}
	t.Logf("Outside: %d clips at the heart lie within %.1f dB, %d clear hearts alone within %.1f dB", len(all), slices.Max(all)-slices.Min(all), len(clear), slices.Max(clear)-slices.Min(clear))
	require.Greater(t, len(clear), 15)
	require.Less(t, slices.Max(clear)-slices.Min(clear), 3.0)
	require.Less(t, slices.Max(all)-slices.Min(all), 16.0)
}

// Fat over the chest makes the same heart softer and no duller: it is the same
// sound, times a number.
func TestFatMakesTheHeartSofter(t *testing.T) {
	l := Builtin()
	at := func(score string) senses.Scene {
		c := *l.Case("dulcie")
		c.Truth = append(slices.Clone(c.Truth), Truth{Field: "body.condition", Values: []string{score}})
		p, err := NewPatient(l, &c, SeedOf(1))
		require.NoError(t, err)
		s := heartOf(t, p)
		s.Air.Loud = 0
		return s
	}
	lean := at("5")
	require.Equal(t, lean, at("7"))
	for _, score := range []string{"8", "9"} {
		fat := at(score)
		require.False(t, fat.Heart.Muffled)
		require.InDelta(t, 4, loudness(lean.WAV())-loudness(fat.WAV()), .3, "score %s", score)
		fat.Heart.Loud = lean.Heart.Loud
		require.Equal(t, lean.Heart, fat.Heart)
	}
}

// On a scale of five only the highest is as fat as the two highest of nine.
func TestFatOnAScaleOfFive(t *testing.T) {
	l := Builtin()
	for score, want := range map[string]bool{"3": false, "4": false, "5": true} {
		c := *l.Case("buttercup")
		c.Truth = append(slices.Clone(c.Truth), Truth{Field: "body.condition", Values: []string{score}})
		p, err := NewPatient(l, &c, SeedOf(1))
		require.NoError(t, err)
		require.Equal(t, want, p.fat(), score)
	}
}

// murmurAt is the energy of a patient's murmur alone at a site.
func murmurAt(t *testing.T, p *Patient, site string) float64 {
	t.Helper()
	s, err := p.scene(alone(t, p, examine("heart.auscultate", site, 15)), 1)
	require.NoError(t, err)
	s.Air.Loud = 0
	clean := s
	clean.Heart.Murmurs = nil
	a, b := s.WAV(), clean.WAV()
	for i := 44; i < len(a); i += 2 {
		d := int16(binary.LittleEndian.Uint16(a[i:])) - int16(binary.LittleEndian.Uint16(b[i:]))
		binary.LittleEndian.PutUint16(a[i:], uint16(d))
	}
	return loudness(a)
}

// In every patient the same murmur is loudest at its place and, by its energy,
// fainter by 2 dB or more for every grade less elsewhere.
func TestMurmurIsLoudestAtItsPlace(t *testing.T) {
	l := Builtin()
	murmurs := 0
	for _, k := range l.Cases() {
		p, err := NewPatient(l, k, SeedOf(1))
		require.NoError(t, err)
		f := p.cat.Field("heart.murmur")
		peak, most := p.strongest(f)
		if most == 0 {
			continue
		}
		murmurs++
		at := murmurAt(t, p, peak)
		for _, site := range p.cat.Step("heart.auscultate").Sites {
			if less := most - p.gradeAt(f, site); less > 0 {
				require.Greater(t, at, murmurAt(t, p, site)+2*float64(less), "%s: %s beside %s", k.ID, peak, site)
			}
		}
	}
	require.GreaterOrEqual(t, murmurs, 8)
}

// Valves by place and side: at the apex and on the right a murmur of the
// contraction is level, at the left base it rises and falls; one of the pause
// fades (common practice, no source); and it is the same through a lung.
func TestMurmursHaveTheShapeOfTheirValve(t *testing.T) {
	l := Builtin()
	for _, row := range []struct {
		site, timing string
		want         senses.Murmur
	}{
		{"left apex", "systolic", senses.Murmur{Timing: senses.Systolic, Shape: senses.Plateau, Grade: 4}},
		{"left base", "systolic", senses.Murmur{Timing: senses.Systolic, Shape: senses.Diamond, Grade: 4}},
		{"right apex", "systolic", senses.Murmur{Timing: senses.Systolic, Shape: senses.Plateau, Grade: 4}},
		{"left base", "diastolic", senses.Murmur{Timing: senses.Diastolic, Shape: senses.Falling, Grade: 4}},
		{"left base", "continuous", senses.Murmur{Timing: senses.Continuous, Shape: senses.Diamond, Grade: 4}},
	} {
		c := *l.Case("tansy")
		c.Truth = append(slices.Clone(c.Truth), Truth{Field: "heart.murmur", Site: row.site, Values: []string{"4"}}, Truth{Field: "heart.timing", Values: []string{row.timing}})
		p, err := NewPatient(l, &c, SeedOf(1))
		require.NoError(t, err)
		s, err := p.scene(alone(t, p, examine("heart.auscultate", row.site, 15)), 1)
		require.NoError(t, err)
		require.Equal(t, []senses.Murmur{row.want}, s.Heart.Murmurs)
		s, err = p.scene(alone(t, p, examine("lungs.auscultate", "left ventral", 15)), 1)
		require.NoError(t, err)
		require.Equal(t, row.want.Timing, s.Heart.Murmurs[0].Timing)
		require.Equal(t, row.want.Shape, s.Heart.Murmurs[0].Shape)
	}
}

// Who is given words in place of sound reads of a murmur's time only where the
// murmur is; what is true of the heart stays what it is.
func TestTheTimeOfAMurmurIsToldWhereItIs(t *testing.T) {
	l := Builtin()
	p, err := NewPatient(l, l.Case("dibs"), SeedOf(1))
	require.NoError(t, err)
	for site, choice := range map[string]string{"left base": "systolic", "right apex": "none"} {
		e := alone(t, p, examine("heart.auscultate", site, 15))
		require.Equal(t, "systolic", shownAt(e, "heart.timing", ""))
		i := slices.IndexFunc(e.Outcome.Percepts, func(pc rubric.Percept) bool { return pc.Field == "heart.timing" })
		require.Equal(t, "sound", e.Outcome.Percepts[i].Sense)
		require.Equal(t, p.cat.Field("heart.timing").Choice(choice).Cue[0], e.Outcome.Percepts[i].Words)
	}
}

func sceneAt(t *testing.T, id, step, site string, before ...rubric.Act) senses.Scene {
	t.Helper()
	l := Builtin()
	p, err := NewPatient(l, l.Case(id), SeedOf(1))
	require.NoError(t, err)
	tr := play(t, p, append(before, examine(step, site, 15))...)
	s, err := p.scene(tr[len(tr)-1], 1)
	require.NoError(t, err)
	return s
}

func TestFindingsAreHeardWhereTheyAre(t *testing.T) {
	s := sceneAt(t, "fergus", "lungs.auscultate", "left caudodorsal")
	require.Equal(t, 1000, s.Air.Extra[senses.FineCrackles])
	require.Equal(t, senses.Harsh, sceneAt(t, "fergus", "lungs.auscultate", "left cranial").Air.Sound)
	require.Less(t, s.Heart.Loud, 300, "the heart from afar")
	require.Less(t, sceneAt(t, "fergus", "heart.auscultate", "left apex").Air.Loud, 400, "the breath from afar")

	s = sceneAt(t, "mungo", "lungs.auscultate", "left ventral")
	require.Equal(t, senses.Faint, s.Air.Sound)
	require.True(t, s.Heart.Muffled && s.Heart.Third)

	require.Equal(t, senses.Blocked, sceneAt(t, "quaker", "heart.auscultate", "left apex").Heart.Rhythm)
	require.Equal(t, senses.Sinus, sceneAt(t, "tansy", "heart.auscultate", "left apex").Heart.Rhythm)
	require.Positive(t, sceneAt(t, "teasel", "throat.auscultate", "").Air.Extra[senses.Stertor])
	require.Equal(t, senses.Whisper, sceneAt(t, "buttercup", "lungs.auscultate", "left caudodorsal").Air.Sound)
	require.Equal(t, 2, sceneAt(t, "buttercup", "rumen.auscultate", "").Belly.Rolls)
	require.True(t, sceneAt(t, "damson", "rumen.auscultate", "").Belly.Weak)
	require.Zero(t, sceneAt(t, "burdock", "abdomen.auscultate", "left").Belly.Gurgles)
	require.Equal(t, 34, sceneAt(t, "quince", "abdomen.auscultate", "").Belly.Gurgles)
}

// A purr is heard until it is hushed, and as loud over the heart as elsewhere.
func TestPurrIsHushed(t *testing.T) {
	s := sceneAt(t, "pilchard", "heart.auscultate", "left sternal border")
	require.InDelta(t, 1000, s.Air.Extra[senses.Purr]*s.Air.Loud/1000, 10)
	s = sceneAt(t, "pilchard", "heart.auscultate", "left sternal border", handling("hush"))
	require.Zero(t, s.Air.Extra[senses.Purr])
}

// What arrests is silent from then on: neither beat nor breath.
func TestArrestIsSilent(t *testing.T) {
	p := smallPatient(t, 1)
	e := alone(t, p, examine("heart.auscultate", "left apex", 15))
	s, err := p.opens(e.Outcome.State)
	require.NoError(t, err)
	s.ended = arrested
	e.Outcome.State = s.encode()
	scene, err := p.scene(e, 1)
	require.NoError(t, err)
	require.Empty(t, scene.Beats())
	require.Zero(t, scene.Air.Rate)
	wav, err := p.Sound(e, 1)
	require.NoError(t, err)
	require.Less(t, loudness(wav), 40.0)
}
