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
	leastIdeal    = 90.0 // total, in triage, of who does what is right and stops
	leastAhead    = 40.0 // and by so much ahead of the reckless

	PatientsACase = 10 // patients drawn of every case to test a bound
	ordersACase   = 60 // random orders tried on every case
)

// MostRandom is how much of Order who has no order may earn on average.
const MostRandom = 0.15

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

// probe is a promise about one robot: a figure of its visit and the limit of it.
type probe struct {
	robot, what string
	limit       float64
	least       bool // the figure must not be below the limit, else not above
	sum         bool // over several patients the figures add up; else the worst counts
	figure      func(*subject) (float64, error)
	when        func(*subject) bool // nil: always
	why         string              // what is said where it never applies; empty: nothing
}

// nothingWrong is why a promise about findings does not apply.
const nothingWrong = "nothing is abnormal, so that calling everything normal is right"

func somethingWrong(s *subject) bool { return len(s.k.Findings) > 0 }

func inTriage(s *subject) bool { return s.k.Situation == "triage" }

var probes = []probe{
	{robot: "empty", what: "the total", limit: mostUntouched, figure: total("empty")},
	{robot: "all normal", what: "the total", limit: mostUntouched, figure: total("all normal")},
	{robot: "all abnormal", what: "the total", limit: mostUntouched, figure: total("all abnormal")},
	{robot: "invented vitals", what: "the total", limit: mostUntouched, figure: total("invented vitals")},

	{robot: "every step, all normal", what: "the number of visits passed", sum: true,
		figure: passed("every step, all normal"), when: somethingWrong, why: nothingWrong},
	{robot: "every step, all normal", what: "the share of Findings", limit: mostBlind,
		figure: ofFindings("every step, all normal"), when: somethingWrong, why: nothingWrong},
	{robot: "every step, charted at random", what: "the number of visits passed", sum: true,
		figure: passed("every step, charted at random"), when: somethingWrong, why: nothingWrong},
	{robot: "every step, charted at random", what: "the share of Findings", limit: mostBlind,
		figure: ofFindings("every step, charted at random"), when: somethingWrong, why: nothingWrong},

	{robot: "ideal", what: "the total", least: true, limit: leastIdeal, figure: total("ideal"), when: inTriage},
	{robot: "ideal", what: "the lead over the reckless", least: true, limit: leastAhead, figure: lead, when: inTriage},
}

func total(robot string) func(*subject) (float64, error) {
	return func(s *subject) (float64, error) {
		rep, err := s.report(robot)
		return points(rep.Total), err
	}
}

func passed(robot string) func(*subject) (float64, error) {
	return func(s *subject) (float64, error) {
		rep, err := s.report(robot)
		if rep.Pass {
			return 1, err
		}
		return 0, err
	}
}

func ofFindings(robot string) func(*subject) (float64, error) {
	return func(s *subject) (float64, error) {
		rep, err := s.report(robot)
		return share(rep, rubric.DomainFindings), err
	}
}

// lead is by how much who does what is right and stops is ahead of who works
// through the whole animal.
func lead(s *subject) (float64, error) {
	ideal, err := s.report("ideal")
	if err != nil {
		return 0, err
	}
	reckless, err := s.report("reckless")
	return points(ideal.Total - reckless.Total), err
}

// bounds puts every promise to the test on every case, with so many patients
// and visits in random order.
func bounds(l *cases.Library, r rubric.Rubric, over []*cases.Case, patients, orders int) ([]Bound, error) {
	var out []Bound
	for _, c := range over {
		var drawn []*subject
		for seed := range uint64(patients) {
			p, k, err := patient(l, r, c, seed)
			if err != nil {
				return nil, err
			}
			drawn = append(drawn, &subject{p: p, r: &r, k: k, seed: seed})
		}
		list, err := boundsOf(c.ID, drawn, orders)
		if err != nil {
			return nil, fmt.Errorf("trial: case %s: %w", c.ID, err)
		}
		out = append(out, list...)
	}
	return out, nil
}

func boundsOf(id string, drawn []*subject, orders int) ([]Bound, error) {
	var out []Bound
	for i := range probes {
		b, err := probes[i].over(drawn)
		if err != nil {
			return nil, err
		}
		if b.Judged || b.Why != "" {
			b.Case = id
			out = append(out, b)
		}
	}
	b, err := noOrder(drawn, orders)
	b.Case = id
	return append(out, b), err
}

// over is the promise put to the test on several patients of a case.
func (t *probe) over(drawn []*subject) (Bound, error) {
	b := Bound{Robot: t.robot, What: t.what, Limit: t.limit, Least: t.least, Why: t.why}
	for _, s := range drawn {
		if t.when != nil && !t.when(s) {
			continue
		}
		x, err := t.figure(s)
		if err != nil {
			return Bound{}, err
		}
		switch {
		case !b.Judged:
			b.Figure = x
		case t.sum:
			b.Figure += x
		case t.least:
			b.Figure = min(b.Figure, x)
		default:
			b.Figure = max(b.Figure, x)
		}
		b.Judged, b.Why = true, ""
	}
	return b.settled(), nil
}

// noOrder: random order earns little of Order.
func noOrder(drawn []*subject, visits int) (Bound, error) {
	b := Bound{Robot: "random order", What: fmt.Sprintf("the mean share of Order over %d visits", visits), Limit: MostRandom, Judged: true}
	for i := range visits {
		s := drawn[i%len(drawn)]
		rep, err := s.mark(robot.RandomOrder(s.p, s.k, uint64(i)))
		if err != nil {
			return Bound{}, err
		}
		b.Figure += share(rep, rubric.DomainOrder) / float64(visits)
	}
	return b.settled(), nil
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
