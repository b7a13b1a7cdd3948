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
			for _, id := range where.fields {
				f := c.Field(id)
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
	header := senses.Scene{}.WAV()[:44]
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
			require.Len(t, wav, 44+2*60*8000)
			require.Equal(t, header, wav[:44])
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

// Clear hearts without a murmur are about as loud in every patient: within 3 dB.
func TestClearHeartsAreAboutAsLoud(t *testing.T) {
	l := Builtin()
	quiet, loud, n := math.Inf(1), math.Inf(-1), 0
	for _, k := range l.Cases() {
		p, err := NewPatient(l, k, SeedOf(1))
		require.NoError(t, err)
		site := p.cat.Step("heart.auscultate").Sites[0]
		e := alone(t, p, examine("heart.auscultate", site, 15))
		s, err := p.scene(e, 1)
		require.NoError(t, err)
		if s.Heart.Muffled || s.Heart.Third || s.Air.Extra != (senses.Air{}).Extra || slices.ContainsFunc(s.Heart.Murmurs, func(m senses.Murmur) bool { return m.Grade > 0 }) {
			continue
		}
		s.Air.Loud = 0
		v := loudness(s.WAV())
		quiet, loud, n = min(quiet, v), max(loud, v), n+1
	}
	require.Greater(t, n, 15)
	require.Less(t, loud-quiet, 3.0)
}

// The same murmur is loudest at its place and fainter where the case says so.
func TestMurmurIsLoudestAtItsPlace(t *testing.T) {
	l := Builtin()
	p, err := NewPatient(l, l.Case("fergus"), SeedOf(1))
	require.NoError(t, err)
	over := func(site string) float64 {
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
	apex, base, right := over("left apex"), over("left base"), over("right apex")
	require.Greater(t, apex, base+2)
	require.Greater(t, base, right-.1)
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
