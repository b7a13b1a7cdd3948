package senses

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// beating is a clear heart at its apex.
func beating(rate int, change ...func(*Scene)) Scene {
	s := Scene{Phase: uint64(rate) * 7919, Heart: Heart{Rate: rate, Loud: 1000}}
	for _, f := range change {
		f(&s)
	}
	return s
}

func with(timing Timing, shape Shape, grade int) func(*Scene) {
	return func(s *Scene) { s.Heart.Murmurs = append(s.Heart.Murmurs, Murmur{timing, shape, grade}) }
}

func breathing(s *Scene) {
	s.Air = Air{Rate: 24, Loud: 300}
	s.Heart.Breaths = 24
}

// The rate that is heard is the rate that was meant, found by envelope and
// autocorrelation (textbook signal processing), within two in a hundred.
func TestOutsideHeartRateIsInTheSound(t *testing.T) {
	var off span
	defer off.tell(t, "rate by autocorrelation, per cent off", "2")
	for rate := 20; rate <= 400; rate += 19 {
		for name, s := range map[string]Scene{
			"apex":   beating(rate),
			"base":   beating(rate, func(s *Scene) { s.Heart.Base = true }, breathing),
			"murmur": beating(rate, with(Systolic, Plateau, 4), breathing),
			"dull":   beating(rate, func(s *Scene) { s.Heart.Muffled = true }),
		} {
			got := byAutocorrelation(envelope(hear(t, s), 3), 200)
			off.take(100 * math.Abs(got/float64(rate)-1))
			require.InEpsilon(t, rate, got, .02, "rate %d, %s", rate, name)
		}
	}
}

// An uneven heart has a mean rate: its thuds are counted in the envelope over the
// whole minute, two a beat.
func TestOutsideUnevenHeartKeepsItsMeanRateInTheSound(t *testing.T) {
	var off span
	defer off.tell(t, "uneven rate by thuds, per cent off", "2")
	for rhythm := Sinus; rhythm <= Blocked; rhythm++ {
		for rate := 20; rate <= 400; rate += 20 {
			s := beating(rate, func(s *Scene) { s.Heart.Rhythm, s.Heart.Breaths = rhythm, 24 })
			smooth := 8
			if rate > 200 {
				smooth = 3 // thuds of a fast heart are short and close
			}
			n := thuds(envelope(hear(t, s), smooth))
			off.take(100 * math.Abs(float64(n)/float64(2*rate)-1))
			require.InEpsilon(t, 2*rate, n, .02, "rhythm %d rate %d", rhythm, rate)
		}
	}
}

func gaps(s Scene) (out []float64) {
	at := s.Beats()
	for k := range at {
		out = append(out, float64((at[(k+1)%len(at)]-at[k]+samples-1)%samples+1))
	}
	return out
}

func scatterOf(x []float64) float64 { return rms(centred(x)) / rms(x) }

func TestRhythmsDiffer(t *testing.T) {
	of := func(r Rhythm) []float64 {
		return gaps(beating(120, breathing, func(s *Scene) { s.Heart.Rhythm = r }))
	}
	require.Less(t, scatterOf(of(Regular)), .01)
	require.InDelta(t, .15, scatterOf(of(Sinus)), .06)
	require.Greater(t, scatterOf(of(Irregular)), .2, "gaps without a pattern")
	early, blocked := of(Early), of(Blocked)
	require.InDelta(t, 4000*.65, slices.Min(early), 2)
	require.InDelta(t, 4000*1.35, slices.Max(early), 2)
	require.InDelta(t, 2, slices.Max(blocked)/slices.Min(blocked), .01, "a pause of two beats")
	for k, gap := range early {
		if gap < 3000 {
			require.Greater(t, early[(k+1)%len(early)], 5000.0, "a pause follows")
		}
	}
}

// Respiratory sinus arrhythmia is faster on inspiration (clinical reviews of
// the coughing dog; see clinical figures in the library's notes).
func TestSwayingHeartQuickensAsABreathIsDrawn(t *testing.T) {
	for phase := range uint64(12) {
		s := beating(100, breathing, func(s *Scene) { s.Heart.Rhythm = Sinus; s.Phase = phase * 999983 })
		period := samples / 24
		var in, out []float64
		beats := s.Beats()
		for k, gap := range gaps(s) {
			mid := (beats[k] + int(gap)/2 - breathStart(s.Phase) + samples) % samples
			if turn := mid % period; turn < period*2/5 {
				in = append(in, gap)
			} else if turn > period*3/5 && turn < period*9/10 {
				out = append(out, gap)
			}
		}
		require.Greater(t, rms(out), 1.15*rms(in), "phase %d", phase)
	}
}

func TestHeartHasAsManyBeatsAsItsRateSays(t *testing.T) {
	for rhythm := Regular; rhythm <= Blocked; rhythm++ {
		for rate := 1; rate <= 400; rate += 7 {
			h := Heart{Rate: rate, Rhythm: rhythm, Phase: uint64(rate) * 104729, Breaths: rate % 50}
			beats := h.Beats()
			require.Len(t, beats, rate, "rhythm %d", rhythm)
			require.True(t, slices.IsSorted(beats))
			require.GreaterOrEqual(t, beats[0], 0)
			require.Less(t, beats[rate-1], samples)
		}
	}
	require.Empty(t, Heart{}.Beats())
}

// sounds cuts one first and one second sound out of a clip without anything else.
func sounds(t *testing.T, s Scene) (first, second []float64) {
	quiet := s
	quiet.Heart.Loud = 0
	x := only(t, s, quiet)
	plan := s.Heart.plan(samples / s.Heart.Rate)
	at := s.Beats()[3]
	return x[at : at+len(plan.first)], x[at+plan.systole : at+plan.systole+len(plan.second)]
}

// The first sound is lower and longer (teaching notes on canine heart sounds);
// mostly 20 to 150 Hz against 50 to 200 Hz (from memory).
func TestOutsideFirstSoundIsLowerAndLonger(t *testing.T) {
	var low, high, longer span
	defer low.tell(t, "first sound, centre in Hz", "below the second's")
	defer high.tell(t, "second sound, centre in Hz", "above the first's")
	defer longer.tell(t, "first by second, length", "over 1.3")
	for _, rate := range []int{40, 90, 140, 200} {
		first, second := sounds(t, beating(rate))
		require.Less(t, centre(first), centre(second)-20, "rate %d", rate)
		a, b := sounding(first, loudest(first)/10, 200)[0], sounding(second, loudest(second)/10, 200)[0]
		low.take(centre(first))
		high.take(centre(second))
		longer.take(float64(a[1]-a[0]) / float64(b[1]-b[0]))
		require.Greater(t, float64(a[1]-a[0]), 1.3*float64(b[1]-b[0]), "rate %d", rate)
	}
	first, second := sounds(t, beating(90))
	require.Greater(t, part(first, 20, 150), .6)
	require.Greater(t, part(second, 50, 200), .6)
}

// A phone's loudspeaker gives little below 150 Hz (common practice, no source):
// both sounds reach it with enough above.
func TestOutsideBothSoundsReachASmallLoudspeaker(t *testing.T) {
	var ones, twos span
	defer ones.tell(t, "first sound, part above 150 Hz", "over .08")
	defer twos.tell(t, "second sound, part above 150 Hz", "over .15")
	for _, muffled := range []bool{false, true} {
		first, second := sounds(t, beating(100, func(s *Scene) { s.Heart.Muffled = muffled }))
		ones.take(part(first, 150, 4000))
		twos.take(part(second, 150, 4000))
		require.Greater(t, part(first, 150, 4000), .08, "muffled %v", muffled)
		require.Greater(t, part(second, 150, 4000), .15, "muffled %v", muffled)
	}
}

// A phone's loudspeaker falls off below 300 to 400 Hz (from memory), by 12 dB an
// octave. Behind it, beside the breath of a quiet patient, first and second
// sound still stand out of the pause by 12 dB and more.
func TestOutsideBothSoundsComeOutOfAPhone(t *testing.T) {
	for hertz, bound := range map[float64]float64{300: 15, 400: 12} {
		var ones, twos span
		for rate := 40; rate <= 240; rate += 40 {
			s := beating(rate, breathing)
			x := highPassed(hear(t, s), hertz)
			plan, period := s.Heart.plan(samples/rate), samples/rate
			first, second, pause := 0.0, 0.0, 0.0
			for _, at := range s.Beats()[1 : rate-1] {
				mean := func(from, n int) float64 { return math.Pow(rms(x[at+from:at+from+n]), 2) }
				first += mean(0, len(plan.first)*2/3)
				second += mean(plan.systole, len(plan.second)*2/3)
				rest := plan.systole + len(plan.second)
				pause += mean(rest+(period-rest)/4, (period-rest)/2)
			}
			ones.take(10 * math.Log10(first/pause))
			twos.take(10 * math.Log10(second/pause))
		}
		ones.tell(t, fmt.Sprintf("first sound over the pause above %v Hz, dB", hertz), fmt.Sprintf("over %v", bound))
		twos.tell(t, fmt.Sprintf("second sound over the pause above %v Hz, dB", hertz), fmt.Sprintf("over %v", bound))
		require.Greater(t, min(ones.least, twos.least), bound, "%v Hz", hertz)
	}
}

// The first is louder at the apex, the second at the base (teaching notes on
// canine heart sounds).
func TestEachSoundIsLoudestAtItsPlace(t *testing.T) {
	first, second := sounds(t, beating(100))
	require.Greater(t, loudest(first), 1.2*loudest(second))
	first2, second2 := sounds(t, beating(100, func(s *Scene) { s.Heart.Base = true }))
	require.Greater(t, loudest(second2), 1.2*loudest(first2))
	require.Greater(t, loudest(first), loudest(first2))
	require.Greater(t, loudest(second2), loudest(second))
}

// energies is what a murmur alone puts into systole and into the pause.
func energies(t *testing.T, change func(*Scene)) (systole, pause float64) {
	s := beating(90, breathing)
	loud := s
	change(&loud)
	x := only(t, loud, s)
	beats := s.Beats()
	plan := s.Heart.plan(samples / 90)
	for _, at := range beats {
		for j := at; j < at+samples/90; j++ {
			v := x[j%samples]
			if j < at+plan.systole {
				systole += v * v
			} else {
				pause += v * v
			}
		}
	}
	return systole, pause
}

// Systolic is between the first and the second sound, diastolic after the
// second (the words' meaning, any textbook).
func TestOutsideMurmursKeepTheirTime(t *testing.T) {
	var systolic, diastolic span
	defer systolic.tell(t, "systolic murmur, energy in systole by pause", "over 50")
	defer diastolic.tell(t, "diastolic murmur, energy in pause by systole", "over 50")
	var continuous span
	defer continuous.tell(t, "continuous murmur, energy in systole by pause", "1/6 to 6")
	for grade := 1; grade <= 6; grade++ {
		for shape := Plateau; shape <= Falling; shape++ {
			s, d := energies(t, with(Systolic, shape, grade))
			systolic.take(s / (d + 1))
			require.Greater(t, s, 50*d, "systolic, shape %d grade %d", shape, grade)
			s, d = energies(t, with(Diastolic, shape, grade))
			diastolic.take(d / (s + 1))
			require.Greater(t, d, 50*s, "diastolic, shape %d grade %d", shape, grade)
		}
		s, d := energies(t, with(Continuous, Plateau, grade))
		continuous.take(s / d)
		require.Less(t, max(s, d), 6*min(s, d), "continuous, grade %d", grade)
	}
}

// Mitral regurgitation lies at 100 to 600 Hz (textbook, from memory).
func TestMurmurOfRegurgitationHasItsPitch(t *testing.T) {
	x := only(t, beating(90, with(Systolic, Plateau, 5)), beating(90))
	require.Greater(t, part(x, 100, 600), .95)
}

func TestShapesOfMurmurs(t *testing.T) {
	thirds := func(shape Shape) (out [3]float64) {
		s := beating(60)
		x := only(t, beating(60, with(Systolic, shape, 4)), s)
		plan := s.Heart.plan(samples / 60)
		opens := len(plan.first) * 2 / 3
		for _, at := range s.Beats() {
			for j := range plan.systole - opens {
				v := x[(at+opens+j)%samples]
				out[j*3/(plan.systole-opens)] += v * v
			}
		}
		return out
	}
	flat, peaked, falls := thirds(Plateau), thirds(Diamond), thirds(Falling)
	require.InEpsilon(t, flat[0], flat[2], .35)
	require.Greater(t, peaked[1], 4*peaked[0])
	require.Greater(t, peaked[1], 4*peaked[2])
	require.Greater(t, falls[0], 2*falls[1])
	require.Greater(t, falls[1], 2*falls[2])
}

// Two is quieter than the heart sounds, three about as loud, four louder
// (wording of the UK heart-screening cardiologists).
func TestGradesBesideTheHeartSounds(t *testing.T) {
	for _, rate := range []int{60, 100, 160} {
		first, second := sounds(t, beating(rate))
		beside := (rms(first) + rms(second)) / 2
		loud := make([]float64, 7)
		plan := beating(rate).Heart.plan(samples / rate)
		for grade := 1; grade <= 6; grade++ {
			s := beating(rate, with(Systolic, Plateau, grade))
			x := only(t, s, beating(rate))
			at := s.Beats()[3] + len(plan.first)*2/3
			loud[grade] = decibels(rms(x[at:s.Beats()[3]+plan.systole]), beside)
		}
		require.Less(t, loud[1], -14.0, "rate %d: %v", rate, loud)
		require.Less(t, loud[2], -6.0, "rate %d: %v", rate, loud)
		require.InDelta(t, 0, loud[3], 4, "rate %d: %v", rate, loud)
		require.Greater(t, loud[4], 0.0, "rate %d: %v", rate, loud)
		for grade := 2; grade <= 6; grade++ {
			require.Greater(t, loud[grade], loud[grade-1]+1.5, "rate %d: %v", rate, loud)
		}
	}
}

// The third sound is early in the pause, the fourth just before the first; both
// brief and lower than the heart sounds (20 to 70 Hz, from memory, enriched).
func TestExtraSounds(t *testing.T) {
	s := beating(120)
	plan := s.Heart.plan(4000)
	for name, row := range map[string]struct {
		change    func(*Scene)
		low, high int // after the first sound
	}{
		"third":  {func(s *Scene) { s.Heart.Third = true }, plan.systole + len(plan.second), 3500},
		"fourth": {func(s *Scene) { s.Heart.Fourth = true }, 4000 - len(plan.extra) - 400, 4000},
		"split":  {func(s *Scene) { s.Heart.Split = true }, plan.systole + 160, plan.systole + 3*len(plan.second)},
	} {
		x := only(t, beating(120, row.change), s)
		at := s.Beats()[3]
		all := sounding(x[at:at+4000], loudest(x)/20, 200)
		require.Len(t, all, 1, name)
		require.GreaterOrEqual(t, all[0][0], row.low, name)
		require.LessOrEqual(t, all[0][1], row.high, name)
		if name != "split" {
			first, _ := sounds(t, s)
			require.Less(t, centre(x[at+all[0][0]:at+all[0][1]]), centre(first), name)
			require.Less(t, all[0][1]-all[0][0], len(plan.first))
		}
	}
}

// Like hearts are about as loud over the whole clip, whatever their rate, and
// nothing clips however much sounds together.
func TestOutsideLoudnessAndRoom(t *testing.T) {
	var loud, peaks span
	defer loud.tell(t, "like hearts at 40 to 280, root mean square", "3 dB")
	defer peaks.tell(t, "highest sample, everything together", "32000")
	for rate := 40; rate <= 280; rate += 20 {
		loud.take(rms(hear(t, beating(rate, breathing))))
	}
	require.Less(t, decibels(loud.most, loud.least), 3.0)
	for _, rate := range []int{20, 60, 120, 240, 600} {
		for x := range extras {
			s := beating(rate, with(Systolic, Diamond, 6), with(Diastolic, Falling, 4), func(s *Scene) {
				s.Heart.Rhythm, s.Heart.Third, s.Heart.Fourth, s.Heart.Split = Irregular, true, true, true
				s.Air = Air{Rate: 30, Loud: 350, Sound: Harsh, Effort: 4}
				s.Air.Extra[x] = 1000
			})
			high := loudest(hear(t, s))
			peaks.take(high)
			require.Less(t, high, 32000.0, fmt.Sprint(rate, " ", x))
		}
	}
}

// A heart is never counted better through a lung field than at its own place:
// what stands out of the rest of the sound is less there.
func TestTheSameHeartIsFainterElsewhere(t *testing.T) {
	for _, rate := range []int{60, 120, 200} {
		near := beating(rate, breathing)
		far := beating(rate, func(s *Scene) { s.Heart.Loud = 200; s.Air = Air{Rate: 24, Loud: 1000} })
		clear := func(s Scene) float64 { return standsOut(envelope(hear(t, s), 3), rate) }
		require.Greater(t, clear(near), 2*clear(far), "rate %d", rate)
	}
}
