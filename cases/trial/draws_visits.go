package trial

import (
	"cmp"
	"context"
	"math/bits"
	"slices"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// levelSkills are the five levels, in thousandths of every skill.
var levelSkills = [...]int{100, 300, 500, 700, 900}

// drawVisits sends students to the patients of a case.
type drawVisits struct {
	ctx    context.Context
	l      *cases.Library
	c      *cases.Case
	r      rubric.Rubric
	ranges normal.Table
	seeds  []cases.Seed
	opts   DrawOptions

	done, of int
	totals   [][]rubric.Points // by patient: of every visit of the borderline student
	drawn    [][]cases.Drawn   // by patient
}

// each calls visit with every patient and its key, and tells how far it is.
func (v *drawVisits) each(visits int, visit func(i int, s *subject) error) error {
	v.of += visits * len(v.seeds)
	for i, seed := range v.seeds {
		if err := v.ctx.Err(); err != nil {
			return err
		}
		p, err := v.patient(seed)
		if err != nil {
			return err
		}
		k, err := p.Key(v.r)
		if err != nil {
			return err
		}
		if err := visit(i, &subject{p: p, r: &v.r, k: k}); err != nil {
			return err
		}
		v.done += visits
		if v.opts.Progress != nil {
			v.opts.Progress(v.done, v.of)
		}
	}
	return nil
}

func (v *drawVisits) patient(seed cases.Seed) (*cases.Patient, error) {
	if v.ranges == nil {
		return cases.NewPatient(v.l, v.c, seed)
	}
	return cases.NewPatientBy(v.l, v.c, seed, v.ranges)
}

// evenly is what a student of even skills earns out of one stream of chance.
func evenly(s *subject, skill int, stream uint64) (rubric.Points, error) {
	rep, err := s.mark(robot.Skilled(s.p, s.k, robot.Skills{
		Order: skill, Completeness: skill, Findings: skill, Vitals: skill, Handling: skill, Conclusions: skill,
	}, stream))
	return rep.Total, err
}

// levels is what the five levels earn. Every patient is visited once by each,
// out of a stream of its own that is the same for all five: a mean over many
// patients and as many streams.
func (v *drawVisits) levels() ([]Level, error) {
	var sums [len(levelSkills)]rubric.Points
	v.drawn = make([][]cases.Drawn, len(v.seeds))
	v.of = v.opts.Least * len(v.seeds) // planned after these
	err := v.each(len(levelSkills), func(i int, s *subject) error {
		v.drawn[i] = s.p.Drawn()
		for j, skill := range levelSkills {
			x, err := evenly(s, skill, uint64(mostVisits+i))
			if err != nil {
				return err
			}
			sums[j] += x
		}
		return nil
	})
	v.of -= v.opts.Least * len(v.seeds)
	var out []Level
	for j, skill := range levelSkills {
		out = append(out, Level{Skill: skill, Mean: rubric.Points(nearest(int64(sums[j]), int64(len(v.seeds))))})
	}
	return out, err
}

// borderline is the skill at which the mean total is the pass mark, on straight
// lines between the levels; the outermost level where it is on none of them.
func borderline(levels []Level, pass rubric.Points) int {
	last := levels[len(levels)-1]
	if levels[0].Mean >= pass {
		return levels[0].Skill
	}
	for i := 1; i < len(levels); i++ {
		a, b := levels[i-1], levels[i]
		if b.Mean >= pass { // and a.Mean below it
			return a.Skill + int(nearest(int64(b.Skill-a.Skill)*int64(pass-a.Mean), int64(b.Mean-a.Mean)))
		}
	}
	return last.Skill
}

// streams orders the streams of chance so that the first few of them hold good
// and bad luck alike: they are sorted by what the student earns out of them with
// the first patient, and then taken from all over, each far from those before
// it (van der Corput's sequence). So few visits earn what many would on average.
func (v *drawVisits) streams(skill int) ([]uint64, error) {
	p, err := v.patient(v.seeds[0])
	if err != nil {
		return nil, err
	}
	k, err := p.Key(v.r)
	if err != nil {
		return nil, err
	}
	s := &subject{p: p, r: &v.r, k: k}
	var earned [mostVisits]rubric.Points
	sorted := make([]uint64, mostVisits)
	for i := range sorted {
		sorted[i] = uint64(i)
		if earned[i], err = evenly(s, skill, uint64(i)); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(sorted, func(a, b uint64) int { return cmp.Compare(earned[a], earned[b]) })
	out := make([]uint64, mostVisits)
	for i := range out {
		out[i] = sorted[bits.Reverse8(uint8(i))>>1^8] // of seven bits; from the middle of each eighth
	}
	return out, nil
}

// measure visits every patient with the borderline student, stream by stream,
// the same streams at every patient, until it can be judged.
func (v *drawVisits) measure(skill int) error {
	streams, err := v.streams(skill)
	if err != nil {
		return err
	}
	v.totals = make([][]rubric.Points, len(v.seeds))
	for n := 0; n < v.opts.Most; {
		round := min(v.opts.Least, v.opts.Most-n)
		err := v.each(round, func(i int, s *subject) error {
			for _, stream := range streams[n : n+round] {
				x, err := evenly(s, skill, stream)
				if err != nil {
					return err
				}
				v.totals[i] = append(v.totals[i], x)
			}
			return nil
		})
		if err != nil {
			return err
		}
		n += round
		if s := spreadOf(v.totals); s.sure() {
			break
		}
	}
	return nil
}
