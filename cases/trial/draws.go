package trial

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// What is asked of the draws of a case, in thousandths of a point of 100. D of
// a patient is the mean total of the borderline student with it; the limits
// are this project's.
const (
	MostSD      rubric.Points = 1000 // of D over the patients
	MostWidth   rubric.Points = 3000 // from the 5th to the 95th of a hundred patients
	MostOff     rubric.Points = 1500 // a seed whose D is farther from the mean is excluded
	MostSum     rubric.Points = 500  // what the patients of one sitting may be off together
	mostNoise   rubric.Points = 500  // above it chance of the robots hides what a draw does
	closeEnough rubric.Points = 250  // noise below it is no matter, and an SD below it none to look into
)

const (
	mostExcluded = 200 // thousandths of the seeds; above it the spread is at fault
	leastSeeds   = 100 // below it a 5th and a 95th of a hundred mean little
	mostSeeds    = 2000
	leastVisits  = 8
	enoughVisits = 32  // from so many on, noise that may just be judged is small enough
	mostVisits   = 128 // as many streams of chance are tried
)

// Verdict is what the measured draws of a case come to.
type Verdict string

// The verdicts.
const (
	DrawsAccepted Verdict = "accepted"        // any seed is as good as another
	SeedsExcluded Verdict = "seeds excluded"  // accepted once the seeds too far off are left out
	SpreadAtFault Verdict = "spread at fault" // too many are too far off
	NotJudged     Verdict = "not judged"      // too few patients or visits to say
)

// DrawOptions bound a measurement. The zero value is right for a server.
type DrawOptions struct {
	// Least and Most are how often the borderline student visits every patient:
	// Least times, and again in rounds of Least up to Most until the noise is at
	// most a quarter of a point, or half a point from 32 visits on, and SD is
	// plainly above or below its limit. 0: 8 and 128.
	Least, Most int
	// Progress is told after every patient how many visits are done of how many
	// that are planned by now; more may be planned later. Nil: nobody is told.
	Progress func(done, of int)
}

// Level is a student of even skills and what it earns on average.
type Level struct {
	Skill int           `json:"skill"` // thousandths of every skill; robot.Skills
	Mean  rubric.Points `json:"mean"`
}

// Draws says whether the patients that a case draws are equally hard. It holds
// no seed in the open, but the names and values of hidden fields: for staff.
type Draws struct {
	Case   string `json:"case"`
	Rubric string `json:"rubric"`
	Track  string `json:"track"`
	Engine string `json:"engine"`
	Of     string `json:"of"` // DrawsKey: of what this holds

	Seeds  int           `json:"seeds"`
	Visits int           `json:"visits"` // of the borderline student to every patient
	Pass   rubric.Points `json:"pass"`
	Levels []Level       `json:"levels"`
	Skill  int           `json:"skill"` // of the borderline student, thousandths

	Mean     rubric.Points `json:"mean"`   // of D over the patients
	SD       rubric.Points `json:"sd"`     // of D, with the noise taken out
	SDLow    rubric.Points `json:"sd_low"` // SD less and more two standard errors of its square, by chance of the robots
	SDHigh   rubric.Points `json:"sd_high"`
	Noise    rubric.Points `json:"noise"`    // standard error of one patient's D beside the others, by chance of the robots
	Width    rubric.Points `json:"width"`    // from the 5th to the 95th of a hundred patients, with the noise taken out
	Excluded int           `json:"excluded"` // seeds farther off than MostOff
	RestSD   rubric.Points `json:"rest_sd"`  // SD of D over the others

	Verdict Verdict      `json:"verdict"`
	Reasons []string     `json:"reasons"`
	Fields  []FieldShare `json:"fields"` // what D goes with, the greatest share first; empty where D hardly varies

	Table Table `json:"-"`
}

// Measure sends students of five levels to the patients that the seeds draw of
// a case, finds the borderline level, whose mean total is the pass mark, by
// straight lines between the five, and measures D of every patient with it. At
// every patient the student makes its mistakes out of the same streams of chance,
// so that luck cancels between patients; what is left of it is estimated from
// how the streams disagree about the patients, and taken out of SD, Width, the
// table and what fields explain. Nil ranges are those of the library.
//
// The same arguments give the same draws, whatever the processor. It works on
// one core, some 2 ms a visit, and stops with the error of the context. Errors:
// fewer than 2 or more than 2,000 seeds, one of them twice, visits out of
// bounds, and a patient or key that cannot be made.
func Measure(ctx context.Context, l *cases.Library, k *cases.Case, scheme rubric.Rubric, ranges normal.Table, seeds []cases.Seed, opts DrawOptions) (Draws, error) {
	if k == nil || l == nil {
		return Draws{}, errors.New("trial: draws are measured of a case of a library")
	}
	opts, err := opts.checked(seeds)
	if err != nil {
		return Draws{}, fmt.Errorf("trial: draws of case %s: %w", k.ID, err)
	}
	v := &drawVisits{ctx: ctx, l: l, c: k, r: scheme, ranges: ranges, seeds: seeds, opts: opts}
	d := Draws{Case: k.ID, Rubric: scheme.ID, Track: scheme.Track, Engine: rubric.Engine, Seeds: len(seeds), Pass: scheme.Pass}
	d.Of, err = DrawsKey(l, k, scheme, ranges)
	if err == nil {
		d.Levels, err = v.levels()
	}
	if err == nil {
		d.Skill = borderline(d.Levels, scheme.Pass)
		err = v.measure(d.Skill)
	}
	if err != nil {
		return Draws{}, fmt.Errorf("trial: draws of case %s: %w", k.ID, err)
	}
	d.fill(v.totals, v.drawn, seeds)
	return d, nil
}

// checked are the options with what was left open, or what is wrong.
func (o DrawOptions) checked(seeds []cases.Seed) (DrawOptions, error) {
	if o.Least == 0 {
		o.Least = leastVisits
	}
	if o.Most == 0 {
		o.Most = mostVisits
	}
	switch n := len(seeds); {
	case n < 2 || n > mostSeeds:
		return o, fmt.Errorf("%d seeds; right would be 2 to %d", n, mostSeeds)
	case o.Least < 3 || o.Most < o.Least || o.Most > mostVisits:
		return o, fmt.Errorf("%d to %d visits a patient; right would be from 3 to %d, the smaller first", o.Least, o.Most, mostVisits)
	}
	first := map[cases.Seed]int{}
	for i, s := range seeds {
		if at, had := first[s]; had {
			return o, fmt.Errorf("seeds %d and %d are the same; right would be a seed of its own for every patient", at+1, i+1)
		}
		first[s] = i
	}
	return o, nil
}

// DrawsKey names what draws are measured of: case, catalogue, rubric, ranges
// and engine. A table that was stored under another key is of no use.
func DrawsKey(l *cases.Library, k *cases.Case, scheme rubric.Rubric, ranges normal.Table) (string, error) {
	cat := l.Catalogue(k.Species)
	if cat == nil {
		return "", fmt.Errorf("no catalogue for species %q", k.Species)
	}
	text, err := json.Marshal(struct {
		Engine, Case, Catalogue string
		Rubric                  rubric.Rubric
		Ranges                  normal.Table
	}{rubric.Engine, k.Hash, cat.Hash, scheme, ranges})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}
