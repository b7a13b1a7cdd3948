package cases

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// at gives the vital signs of an animal at a stress, from values at rest.
func at(species string, stress int, heart, breath, degrees rubric.Milli) (h, b, d rubric.Milli) {
	p := &Patient{reacts: reactionOf(species)}
	s := &state{stress: stress * scale, reserve: reserveFull * scale}
	return p.heartNow(s, "", heart), p.breathNow(s, "", breath), p.warmthNow(s, "rectal", degrees)
}

// Conti et al., J Feline Med Surg 2017;19:165-70: 30 healthy cats, means at
// home and in hospital: heart 160 and 187, breathing 45 and 70. Quimby et al.,
// J Feline Med Surg 2011;13:733-7: temperature not reported as differing.
func TestCatInClinicAgainstHome(t *testing.T) {
	h, b, d := at("cat", usualStress, 160_000, 45_000, 38_000)
	require.InDelta(t, 187_000, int64(h), 1000)
	require.InDelta(t, 70_000, int64(b), 1000)
	require.InDelta(t, 38_000, int64(d), 100)
	h, b, d = at("cat", 0, 160_000, 45_000, 38_000)
	require.EqualValues(t, []rubric.Milli{160_000, 45_000, 38_000}, []rubric.Milli{h, b, d})
}

// Dijkstra, Teske, Szatmari, Vet J 2018;234:96-101: 88 healthy cats in a
// consulting room breathed 28 to 176 times a minute. The most upset cat stays
// below that.
func TestCatAtItsWorstBreathesAsCatsInClinicsDo(t *testing.T) {
	_, b, _ := at("cat", 1000, 160_000, 45_000, 38_000)
	require.Less(t, b, rubric.Milli(176_000))
	require.Greater(t, b, rubric.Milli(64_000), "above the median")
}

// Rishniw et al., Res Vet Sci 2012;93:965-9: awake at home 19 a minute; the
// clinic's resting range is 18 to 34 (Merck table, from memory). Bragg et al.,
// J Am Vet Med Assoc 2015;246:212, from memory: heart 11 % and temperature less
// than 1 % higher in hospital than at home.
func TestDogInClinicAgainstHome(t *testing.T) {
	h, b, d := at("dog", usualStress, 100_000, 19_000, 38_300)
	require.InDelta(t, 111_000, int64(h), 500)
	require.InDelta(t, 26_000, int64(b), 500)
	require.Greater(t, d, rubric.Milli(38_300))
	require.Less(t, d, rubric.Milli(38_300*101/100))
}

func TestEveryReactionHasASource(t *testing.T) {
	for _, r := range reactions {
		require.NotEmpty(t, r.source, r.species)
		require.Positive(t, r.heart)
		require.Positive(t, r.breath)
	}
	require.Equal(t, "dog", reactionOf("unheard of").species)
}

func TestEveryDemeanourIsRougherThanTheOneBefore(t *testing.T) {
	for i := 1; i < len(tempers); i++ {
		require.Greater(t, tempers[i].gain, tempers[i-1].gain)
	}
	for _, d := range []string{"calm", "friendly", "wary", "fearful", "defensive"} {
		require.Equal(t, d, temperOf(d).demeanour)
	}
	require.Less(t, tensionSign, tensionPlain)
	require.Less(t, tensionPlain, tensionRefuse)
	require.Less(t, tensionRefuse, tensionBite)
}

// Stress halves in the stated time, give or take the rounding of a second.
func TestStressHalves(t *testing.T) {
	p := smallPatient(t, 1)
	s := p.start()
	s.stress, s.tension = 1000*scale, 1000*scale
	base := p.temper.base * scale
	p.pass(&s, stressHalves)
	require.InEpsilon(t, base+(1000*scale-base)/2, s.stress, .01)
	s.tension = 1000 * scale
	p.pass(&s, tensionHalves)
	require.InEpsilon(t, 500*scale, s.tension, .01)
}
