package trial

import (
	"cmp"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// Miss is something that does not hold for a case with a seed.
type Miss struct {
	Case  string
	Seed  uint64 // the first with which it does not hold
	Times int    // how many visits or patients show it
	By    string // rubric and robot; empty for the patient itself
	What  string
	Got   string
	Bound string
}

// String is the miss in one line.
func (m Miss) String() string {
	by := ""
	if m.By != "" {
		by = m.By + ": "
	}
	times := ""
	if m.Times > 1 {
		times = fmt.Sprintf(" (%d times)", m.Times)
	}
	return fmt.Sprintf("%s: seed %d: %s%s: got %s; should be %s%s", m.Case, m.Seed, by, m.What, m.Got, m.Bound, times)
}

// Sweep is what drawing and visiting many patients gave.
type Sweep struct {
	Cases, Seeds     int
	Patients, Visits int // patients are drawn once for every rubric
	Orders           int // visits along accepted orders
	Misses           []Miss
	Gives            []Giveaway
	Random           []RandomOrder
}

// RandomOrder is what visits in random order earn of Order on average. It is held
// to its bound over the whole examinations of a rubric: of the handful of steps
// of a focused one or of a triage chance puts many in order.
type RandomOrder struct {
	Rubric, Species, Situation string
	Visits                     int
	Mean                       float64
}

// Holds says whether everything held.
func (s *Sweep) Holds() bool {
	return len(s.Misses) == 0 && !slices.ContainsFunc(s.Gives, func(g Giveaway) bool { return g.Judged && !g.Holds })
}

// Check draws the patients of some cases with the seeds from 0 to seeds-1,
// sends robots to them under every rubric, and says what does not hold: the
// patient agrees with itself (cases.Patient.Faults), who does all rightly gets
// every point in every accepted order and stops where it should, who has no
// skill stays under the bounds, and no number gives away what is abnormal. The
// same arguments give the same sweep.
func Check(l *cases.Library, over []*cases.Case, rubrics []rubric.Rubric, seeds int) (Sweep, error) {
	if seeds < 1 {
		return Sweep{}, fmt.Errorf("trial: %d seeds; right would be at least 1", seeds)
	}
	swept, errs := make([]*caseSweep, len(over)), make([]error, len(over))
	next := make(chan int)
	var crew sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		crew.Go(func() {
			for i := range next {
				swept[i] = &caseSweep{l: l, c: over[i], watched: newWatcher()}
				errs[i] = swept[i].run(rubrics, seeds)
			}
		})
	}
	for i := range over {
		next <- i
	}
	close(next)
	crew.Wait()
	if err := errors.Join(errs...); err != nil {
		return Sweep{}, err
	}
	out := Sweep{Cases: len(over), Seeds: seeds}
	watched := newWatcher()
	for _, s := range swept {
		out.Patients += s.patients
		out.Visits += s.visits
		out.Orders += s.orders
		out.Misses = append(out.Misses, s.misses...)
		watched.join(s.watched)
	}
	out.Gives = watched.giveaways()
	out.randomOrder(rubrics, swept)
	return out, nil
}

// randomOrder gathers what random order earned and holds it to its bound.
func (s *Sweep) randomOrder(rubrics []rubric.Rubric, swept []*caseSweep) {
	for i := range rubrics {
		whole := RandomOrder{Rubric: rubrics[i].ID, Species: overAll, Situation: "routine"}
		for _, c := range swept {
			at := s.randomRow(rubrics[i].ID, c.c.Species, c.c.Situation)
			at.add(c.random[i], s.Seeds)
			if c.c.Situation == whole.Situation {
				whole.add(c.random[i], s.Seeds)
			}
		}
		s.Random = append(s.Random, whole)
		if whole.Visits >= leastOrders && whole.Mean > MostRandom {
			s.Misses = append(s.Misses, Miss{
				Case: "all routine cases", By: whole.Rubric + ", random order", What: fmt.Sprintf("mean share of Order over %d visits", whole.Visits),
				Got: fmt.Sprintf("%.3f", whole.Mean), Bound: fmt.Sprintf("at most %.3f", MostRandom),
			})
		}
	}
}

func (s *Sweep) randomRow(rubric, species, situation string) *RandomOrder {
	for i := range s.Random {
		if r := &s.Random[i]; r.Rubric == rubric && r.Species == species && r.Situation == situation {
			return r
		}
	}
	s.Random = append(s.Random, RandomOrder{Rubric: rubric, Species: species, Situation: situation})
	return &s.Random[len(s.Random)-1]
}

// add takes in the sum of some visits.
func (r *RandomOrder) add(sum float64, visits int) {
	r.Mean = (r.Mean*float64(r.Visits) + sum) / float64(r.Visits+visits)
	r.Visits += visits
}

// caseSweep is the sweep of one case.
type caseSweep struct {
	l       *cases.Library
	c       *cases.Case
	watched *watcher
	misses  []Miss
	random  []float64 // by rubric: the sum of what random order earned

	patients, visits, orders int
}

func (s *caseSweep) run(rubrics []rubric.Rubric, seeds int) error {
	s.random = make([]float64, len(rubrics))
	for seed := range uint64(seeds) {
		for i := range rubrics {
			share, err := s.visit(&rubrics[i], seed, i == 0)
			if err != nil {
				return fmt.Errorf("trial: case %s, seed %d, %s: %w", s.c.ID, seed, rubrics[i].ID, err)
			}
			s.random[i] += share
		}
	}
	slices.SortStableFunc(s.misses, func(a, b Miss) int { return cmp.Compare(a.Seed, b.Seed) })
	return nil
}

// leastOrders is from how many random orders on their mean says something: they
// spread by some .12, so that the mean of so many is right to about .006.
const leastOrders = 400

// miss notes what does not hold, once for all seeds and orders with which it does not.
func (s *caseSweep) miss(seed uint64, by, what, got, bound string) {
	for i := range s.misses {
		m := &s.misses[i]
		if m.What == what && family(m.By) == family(by) && (m.Got == got || by != "") {
			m.Times++
			return
		}
	}
	s.misses = append(s.misses, Miss{Case: s.c.ID, Seed: seed, Times: 1, By: by, What: what, Got: got, Bound: bound})
}

// family is the rubric and the robot without the way that it took.
func family(by string) string {
	who, _, _ := strings.Cut(by, " by ")
	return who
}

// visit draws the patient and sends every robot. It returns what random order earns.
func (s *caseSweep) visit(r *rubric.Rubric, seed uint64, first bool) (float64, error) {
	p, k, err := patient(s.l, *r, s.c, seed)
	if err != nil {
		return 0, err
	}
	s.patients++
	if first {
		for _, f := range p.Faults() {
			s.miss(seed, "", f.What, f.Got, f.Bound)
		}
		if seed < wordSeeds {
			if err := s.watched.watch(s.c, p, &k, seed < mediaSeeds); err != nil {
				return 0, err
			}
		}
	}
	x := &subject{p: p, r: r, k: k, seed: seed}
	defer func() { s.visits += x.visits }()
	if err := s.rightly(x); err != nil {
		return 0, err
	}
	for i := range probes {
		if err := s.probe(x, &probes[i]); err != nil {
			return 0, err
		}
	}
	rep, err := x.report("random order")
	return share(rep, rubric.DomainOrder), err
}

// probe puts one promise to the test.
func (s *caseSweep) probe(x *subject, t *probe) error {
	b, err := t.over([]*subject{x})
	if err != nil || !b.Judged || b.Holds {
		return err
	}
	side := "at most"
	if b.Least {
		side = "at least"
	}
	s.miss(x.seed, x.r.ID+", "+t.robot, t.what, fmt.Sprintf("%.2f", b.Figure), fmt.Sprintf("%s %.2f", side, b.Limit))
	return nil
}
