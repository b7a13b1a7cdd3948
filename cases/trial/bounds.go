package trial

import (
	"fmt"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
)

// The bounds, as the engine promises them: points of 100, or shares of a domain.
const (
	mostUntouched = 10.0 // total of who touches nothing
	mostBlind     = 0.15 // of Findings, for who does every step and does not look
	mostRandom    = 0.15 // of Order on average, for who has no order
	leastIdeal    = 90.0 // total, in triage, of who does what is right and stops
	leastAhead    = 40.0 // and by so much ahead of the reckless

	PatientsACase = 10 // patients drawn of every case to test a bound
	ordersACase   = 60 // random orders tried on every case
)

// Bound is one promise about a robot without skill, put to the test on one case.
type Bound struct {
	Case   string  `json:"case"`
	Robot  string  `json:"robot"`
	What   string  `json:"what"`   // what is measured
	Figure float64 `json:"figure"` // the worst of the patients drawn, or their mean where What says so
	Least  bool    `json:"least"`  // the figure must not be below Limit, else not above
	Limit  float64 `json:"limit"`
	Judged bool    `json:"judged"` // false: it does not apply, and Why says why
	Holds  bool    `json:"holds"`
	Why    string  `json:"why,omitempty"`
}

// Sentence says the bound in words.
func (b Bound) Sentence() string {
	side := "at most"
	if b.Least {
		side = "at least"
	}
	return fmt.Sprintf("%s, %s: %s is %.2f and should be %s %.2f.", b.Case, b.Robot, b.What, b.Figure, side, b.Limit)
}

// subject is one patient with its key and who is to be marked by it.
type subject struct {
	p    *cases.Patient
	r    *rubric.Rubric
	k    rubric.Key
	seed uint64
}

func (s *subject) mark(acts []rubric.Act) (rubric.Report, error) { return mark(s.p, *s.r, s.k, acts) }

// The robots without skill.
var (
	untouched = []struct {
		name string
		goes robot.Student
	}{{"empty", robot.Empty}, {"all normal", robot.AllNormal}, {"all abnormal", robot.AllAbnormal}, {"invented vitals", robot.Invented}}

	blind = []struct {
		name string
		goes func(*subject) []rubric.Act
	}{
		{"every step, all normal", func(s *subject) []rubric.Act { return robot.RoutineNormal(s.p, s.k) }},
		{"every step, charted at random", func(s *subject) []rubric.Act { return robot.RandomChart(s.p, s.k, s.seed) }},
	}
)

// bounds puts every promise to the test on every case.
func bounds(l *cases.Library, r rubric.Rubric, over []*cases.Case) ([]Bound, error) {
	var out []Bound
	for _, c := range over {
		var drawn []*subject
		for seed := range uint64(PatientsACase) {
			p, k, err := patient(l, r, c, seed)
			if err != nil {
				return nil, err
			}
			drawn = append(drawn, &subject{p, &r, k, seed})
		}
		for _, test := range []func(string, []*subject) ([]Bound, error){touchNothing, lookAtNothing, noOrder, stopInTime} {
			b, err := test(c.ID, drawn)
			if err != nil {
				return nil, fmt.Errorf("trial: case %s: %w", c.ID, err)
			}
			out = append(out, b...)
		}
	}
	return out, nil
}

// touchNothing: who touches nothing gets nothing.
func touchNothing(id string, drawn []*subject) ([]Bound, error) {
	var out []Bound
	for _, who := range untouched {
		b := Bound{Case: id, Robot: who.name, What: "the total", Limit: mostUntouched, Judged: true}
		for _, s := range drawn {
			rep, err := s.mark(who.goes(s.p, s.k))
			if err != nil {
				return nil, err
			}
			b.Figure = max(b.Figure, points(rep.Total))
		}
		out = append(out, b.settled())
	}
	return out, nil
}

// lookAtNothing: who does every step and does not look passes no patient, and
// earns little of Findings where there is something to find.
func lookAtNothing(id string, drawn []*subject) ([]Bound, error) {
	var out []Bound
	for _, who := range blind {
		earns := Bound{Case: id, Robot: who.name, What: "the share of Findings", Limit: mostBlind}
		passes := Bound{Case: id, Robot: who.name, What: "the number of visits passed", Limit: 0}
		for _, s := range drawn {
			if len(s.k.Findings) == 0 {
				continue
			}
			rep, err := s.mark(who.goes(s))
			if err != nil {
				return nil, err
			}
			earns.Judged, passes.Judged = true, true
			earns.Figure = max(earns.Figure, share(rep, rubric.DomainFindings))
			if rep.Pass {
				passes.Figure++
			}
		}
		if !earns.Judged {
			earns.Why = "nothing is abnormal, so that calling everything normal is right"
			passes.Why = earns.Why
		}
		out = append(out, passes.settled(), earns.settled())
	}
	return out, nil
}

// noOrder: random order earns little of Order.
func noOrder(id string, drawn []*subject) ([]Bound, error) {
	b := Bound{Case: id, Robot: "random order", What: fmt.Sprintf("the mean share of Order over %d visits", ordersACase), Limit: mostRandom, Judged: true}
	for i := range ordersACase {
		s := drawn[i%len(drawn)]
		rep, err := s.mark(robot.RandomOrder(s.p, s.k, uint64(i)))
		if err != nil {
			return nil, err
		}
		b.Figure += share(rep, rubric.DomainOrder) / ordersACase
	}
	return []Bound{b.settled()}, nil
}

// stopInTime: in triage, who does what is right and stops is well ahead of who
// works through the whole animal.
func stopInTime(id string, drawn []*subject) ([]Bound, error) {
	if drawn[0].k.Situation != "triage" {
		return nil, nil
	}
	right := Bound{Case: id, Robot: "ideal", What: "the total", Least: true, Limit: leastIdeal, Judged: true, Figure: 100}
	ahead := Bound{Case: id, Robot: "ideal", What: "the lead over the reckless", Least: true, Limit: leastAhead, Judged: true, Figure: 100}
	for _, s := range drawn {
		ideal, err := s.mark(robot.Ideal(s.p, s.k))
		if err != nil {
			return nil, err
		}
		reckless, err := s.mark(robot.Reckless(s.p, s.k))
		if err != nil {
			return nil, err
		}
		right.Figure = min(right.Figure, points(ideal.Total))
		ahead.Figure = min(ahead.Figure, points(ideal.Total-reckless.Total))
	}
	return []Bound{right.settled(), ahead.settled()}, nil
}

// settled says whether the bound holds.
func (b Bound) settled() Bound {
	b.Holds = b.Judged && (b.Figure <= b.Limit && !b.Least || b.Figure >= b.Limit && b.Least)
	return b
}

// points are points of 100.
func points(p rubric.Points) float64 { return float64(p) / 1000 }

// share is a domain's points as a share of its maximum; 0 where it dropped out.
func share(rep rubric.Report, domain string) float64 {
	for _, d := range rep.Domains {
		if d.ID == domain && d.Max > 0 {
			return float64(d.Points) / float64(d.Max)
		}
	}
	return 0
}
