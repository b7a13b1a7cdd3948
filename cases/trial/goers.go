package trial

import (
	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
)

// goer is a robot by its name.
type goer struct {
	name string
	goes func(*subject) []rubric.Act
}

func plain(s robot.Student) func(*subject) []rubric.Act {
	return func(x *subject) []rubric.Act { return s(x.p, x.k) }
}

func typical(level int) func(*subject) []rubric.Act {
	return func(x *subject) []rubric.Act { return robot.Typical(x.p, x.k, level, x.seed) }
}

// The robots, by what is promised of them.
var goers = []goer{
	{"ideal", plain(robot.Ideal)},
	{"reckless", plain(robot.Reckless)},
	{"empty", plain(robot.Empty)},
	{"all normal", plain(robot.AllNormal)},
	{"all abnormal", plain(robot.AllAbnormal)},
	{"invented vitals", plain(robot.Invented)},
	{"every step, all normal", plain(robot.RoutineNormal)},
	{"every step, charted at random", func(s *subject) []rubric.Act { return robot.RandomChart(s.p, s.k, s.seed) }},
	{"typical 5", typical(5)},
	{"typical 4", typical(4)},
	{"typical 3", typical(3)},
	{"typical 2", typical(2)},
	{"typical 1", typical(1)},
	{"random order", func(s *subject) []rubric.Act { return robot.RandomOrder(s.p, s.k, s.seed) }},
}

// subject is one patient with its key and who is to be marked by it.
type subject struct {
	p    *cases.Patient
	r    *rubric.Rubric
	k    rubric.Key
	seed uint64

	had    map[string]rubric.Report // by robot
	visits int
}

// mark plays acts and marks them.
func (s *subject) mark(acts []rubric.Act) (rubric.Report, error) {
	s.visits++
	return mark(s.p, *s.r, s.k, acts)
}

// report is how a robot does, by its name.
func (s *subject) report(name string) (rubric.Report, error) {
	if rep, ok := s.had[name]; ok {
		return rep, nil
	}
	for _, g := range goers {
		if g.name != name {
			continue
		}
		rep, err := s.mark(g.goes(s))
		if s.had == nil {
			s.had = map[string]rubric.Report{}
		}
		s.had[name] = rep
		return rep, err
	}
	panic("trial: no robot " + name)
}
