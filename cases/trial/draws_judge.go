package trial

import (
	"fmt"
	"slices"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// judge says what the figures come to, and why.
func (d *Draws) judge(s *spread, varies bool) {
	d.Verdict, d.Reasons = d.verdict(s, varies)
	if d.Levels != nil && (d.Pass < d.Levels[0].Mean || d.Pass > d.Levels[len(d.Levels)-1].Mean) {
		d.Reasons = append(d.Reasons, fmt.Sprintf("No level of student earns the pass mark of %s on average, so the nearest, of %d in a thousand of every skill, stands for the borderline.", d.Pass, d.Skill))
	}
}

func (d *Draws) verdict(s *spread, varies bool) (Verdict, []string) {
	within := fmt.Sprintf("A borderline student's mean total varies by %s points (SD; at most %s) from one draw to another, and 90 of 100 draws lie within %s points (at most %s).",
		hundredths(d.SD), MostSD, hundredths(d.Width), MostWidth)
	out := fmt.Sprintf("%d of %d seeds (%s) lie more than %s points from the mean.", d.Excluded, d.Seeds, percent(d.Excluded, d.Seeds), MostOff)
	fault := 1000*d.Excluded > mostExcluded*d.Seeds || d.RestSD > MostSD
	switch {
	case !varies && d.SD <= closeEnough:
		return DrawsAccepted, []string{"Nothing of this patient is drawn, so that no draw is harder than another."}
	case fault && d.SDLow <= MostSD:
		return NotJudged, []string{within, fmt.Sprintf("By the robots' own chance that may be anything from %s to %s, so that it cannot be said whether the spread is at fault. Right would be more than %d visits a patient.",
			hundredths(d.SDLow), hundredths(d.SDHigh), d.Visits)}
	case d.Noise > mostNoise && !fault:
		return NotJudged, []string{fmt.Sprintf("The robots' own chance moves a draw by %s points, more than %s, and hides what the draw itself does. Right would be about %d visits a patient instead of %d.",
			hundredths(d.Noise), mostNoise, s.each/int64(mostNoise*mostNoise)+1, d.Visits)}
	case d.Seeds < leastSeeds:
		return NotJudged, []string{fmt.Sprintf("%d seeds are too few to judge; right would be at least %d.", d.Seeds, leastSeeds)}
	case d.SD == 0:
		return DrawsAccepted, []string{fmt.Sprintf("No draw can be told from another by how hard it is: what differs is the robots' own chance (%s points a draw).", hundredths(d.Noise))}
	case 1000*d.Excluded > mostExcluded*d.Seeds:
		return SpreadAtFault, []string{within, out + fmt.Sprintf(" At most %s may.", percent(mostExcluded, 1000)), d.blame()}
	case d.RestSD > MostSD:
		return SpreadAtFault, []string{within, fmt.Sprintf("Without the %d seeds beyond %s points it still varies by %s (SD).", d.Excluded, MostOff, hundredths(d.RestSD)), d.blame()}
	case d.SD > MostSD || d.Width > MostWidth:
		return SeedsExcluded, []string{within, out + " They are not given."}
	case d.Excluded > 0:
		return DrawsAccepted, []string{within, out + " They are not given."}
	}
	return DrawsAccepted, []string{within}
}

// blame names the field that D goes with most.
func (d *Draws) blame() string {
	if len(d.Fields) == 0 {
		return "No single drawn field explains it: several do a little each, or the animal's temper and the times of its acts do."
	}
	f := d.Fields[0]
	hard, easy := f.Values[0], f.Values[0]
	for _, v := range f.Values {
		if v.Off < hard.Off {
			hard = v
		}
		if v.Off > easy.Off {
			easy = v
		}
	}
	return fmt.Sprintf("%s explains most: %s of it. Hardest is %s (%s points), easiest %s (%s points). Narrow its spread.",
		f.Place, percent(f.Share, 1000), hard.Words(), signed(hard.Off), easy.Words(), signed(easy.Off))
}

// varies says whether anything drawn differs between patients.
func varies(drawn [][]cases.Drawn) bool {
	return slices.ContainsFunc(drawn, func(row []cases.Drawn) bool { return !slices.Equal(row, drawn[0]) })
}

// hundredths is a figure with two decimals at most.
func hundredths(p rubric.Points) string {
	return rubric.Points(10 * nearest(int64(p), 10)).String()
}

func signed(p rubric.Points) string {
	if p > 0 {
		return "+" + hundredths(p)
	}
	return hundredths(p)
}

// percent is a share as a percentage with one decimal.
func percent(part, whole int) string {
	n := nearest(1000*int64(part), int64(whole))
	return rubric.Milli(100*n).String() + " %"
}
