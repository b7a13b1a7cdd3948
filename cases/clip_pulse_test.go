package cases

import (
	"encoding/binary"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// channels takes the two channels of a clip at the pulse apart.
func channels(t *testing.T, wav []byte) (heart, finger []int) {
	t.Helper()
	require.EqualValues(t, 2, binary.LittleEndian.Uint16(wav[22:]))
	for i := 44; i < len(wav); i += 4 {
		heart = append(heart, int(int16(binary.LittleEndian.Uint16(wav[i:]))))
		finger = append(finger, int(int16(binary.LittleEndian.Uint16(wav[i+2:]))))
	}
	return heart, finger
}

// lifts counts how often the finger is lifted over a level, round the seam.
func lifts(finger []int, over int) int {
	n := 0
	for i, v := range finger {
		if v >= over && finger[(i+len(finger)-1)%len(finger)] < over {
			n++
		}
	}
	return n
}

// pulseSites are where a species' pulse is felt.
func pulseSites(p *Patient) []string {
	if sites := p.cat.Step("pulse.palpate").Sites; len(sites) > 0 {
		return sites
	}
	return []string{""}
}

// In every patient of every species the pulse is felt beside the heart, and what
// is heard is what is heard at the first place for the heart.
func TestPulseIsFeltBesideTheHeart(t *testing.T) {
	l := Builtin()
	species := map[string]bool{}
	for _, k := range l.Cases() {
		p, err := NewPatient(l, k, SeedOf(2))
		require.NoError(t, err)
		for _, site := range pulseSites(p) {
			e := alone(t, p, examine("pulse.palpate", site, 15))
			if e.Outcome.Refused {
				continue
			}
			species[k.Species] = true
			s, err := p.scene(e, 77)
			require.NoError(t, err)
			wav, err := p.Sound(e, 77)
			require.NoError(t, err)
			heart, finger := channels(t, wav)
			require.Equal(t, slices.Max(finger) == 0, s.Pulse.Feel == senses.Absent || len(s.Beats()) == 0, k.ID)
			require.Positive(t, slices.Max(heart))

			near, err := p.scene(alone(t, p, examine("heart.auscultate", p.cat.Step("heart.auscultate").Sites[0], 15)), 77)
			require.NoError(t, err)
			near.Heart.Rate, near.Heart.Breaths = s.Heart.Rate, s.Heart.Breaths // the rates are those of the moment
			require.Equal(t, near.Heart, s.Heart, k.ID)
		}
	}
	require.Len(t, species, len(l.Species()))
}

// An ear and a finger find the deficit, and only where there is one.
func TestDeficitsAreFoundWhereTheyAre(t *testing.T) {
	l := Builtin()
	for id, missing := range map[string]bool{"otho": true, "corbin": true, "quaker": false, "tansy": false, "verity": false} {
		p, err := NewPatient(l, l.Case(id), SeedOf(1))
		require.NoError(t, err)
		for phase := range uint64(4) {
			e := alone(t, p, examine("pulse.palpate", pulseSites(p)[0], 60))
			s, err := p.scene(e, phase*7_777_777)
			require.NoError(t, err)
			wav, err := p.Sound(e, phase*7_777_777)
			require.NoError(t, err)
			_, finger := channels(t, wav)
			deficit := len(s.Beats()) - lifts(finger, 4000)
			if missing {
				require.Greater(t, deficit, len(s.Beats())/10, id)
			} else {
				require.Zero(t, deficit, id)
			}
		}
	}
}

// Left and right thigh are two arteries.
func TestPulseIsThatOfItsSide(t *testing.T) {
	p := librarySeed(t, "tansy", Truth{Field: "pulse.quality", Site: "left", Values: []string{"absent"}}, Truth{Field: "pulse.quality", Site: "right", Values: []string{"bounding"}})
	for site, want := range map[string]senses.Feel{"left": senses.Absent, "right": senses.Bounding} {
		s, err := p.scene(alone(t, p, examine("pulse.palpate", site, 15)), 1)
		require.NoError(t, err)
		require.Equal(t, want, s.Pulse.Feel)
	}
}

// librarySeed is a patient of the library with something else the matter.
func librarySeed(t *testing.T, id string, truth ...Truth) *Patient {
	t.Helper()
	c := *Builtin().Case(id)
	c.Truth = append(slices.Clone(c.Truth), truth...)
	p, err := NewPatient(Builtin(), &c, SeedOf(1))
	require.NoError(t, err)
	return p
}

// How a beat fills is felt and told; whether every beat arrives is for ear and
// finger to find, and is worded only for whoever is given words.
func TestWhatIsFeltIsToldAndADeficitIsNot(t *testing.T) {
	p, err := NewPatient(Builtin(), Builtin().Case("otho"), SeedOf(1))
	require.NoError(t, err)
	e := alone(t, p, examine("pulse.palpate", "left", 15))
	sense := map[string]string{}
	for _, pc := range e.Outcome.Percepts {
		sense[pc.Field] = pc.Sense
	}
	require.Equal(t, map[string]string{"pulse.quality": "words", "pulse.synchrony": "sound"}, sense)
	require.True(t, Heard("pulse.palpate"))
}

// A heart that has stopped lifts no finger.
func TestArrestHasNoPulse(t *testing.T) {
	p, err := NewPatient(Builtin(), Builtin().Case("otho"), SeedOf(1))
	require.NoError(t, err)
	e := alone(t, p, examine("pulse.palpate", "left", 15))
	s, err := p.opens(e.Outcome.State)
	require.NoError(t, err)
	s.ended = arrested
	e.Outcome.State = s.encode()
	wav, err := p.Sound(e, 1)
	require.NoError(t, err)
	_, finger := channels(t, wav)
	require.Zero(t, slices.Max(finger))
	_, err = p.Sound(rubric.Entry{Act: e.Act}, 1)
	require.ErrorIs(t, err, ErrNothingThere)
}
